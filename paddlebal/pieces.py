"""The best counterweight out of whole pieces: discs, drilled slugs, strip in whole steps.

A small integer programme: how many pieces of each kind go to each place so that the residual
unbalance is least. The size of the residual vector enters by its greatest component along N
evenly spread directions, which is between cos(pi/N) and 1 times its true size, so the choice
leaves at most 1 / cos(pi/N) times the least residual possible, or times what was stated to be
enough (0.5 % more for N = 32), plus what the price on mass is worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.errors import InputError
from paddlebal.limits import Limits
from paddlebal.paddle import Counterweight
from paddlebal.units import GRAM_MM

DIRECTIONS = 32
"""N, the directions along which the residual is measured."""


@dataclass(frozen=True)
class Piece:
    """A kind of piece in stock: a disc, a slug, or one step of strip.

    Parameters
    ----------
    name : str
    mass : float
        Of one [kg].
    stock : int
        How many there are.
    across, along : float
        Size across and along the shaft [m].
    """

    name: str
    mass: float
    stock: int
    across: float = 0.0
    along: float = 0.0

    def __post_init__(self):
        if not 0 < self.mass < np.inf or self.stock < 0:
            raise InputError(
                f"the piece '{self.name}' has mass {self.mass} kg and stock {self.stock}, "
                "expected a mass above 0 and a stock of at least 0"
            )


@dataclass(frozen=True)
class Place:
    """Where pieces can sit, and how much the place can carry.

    Parameters
    ----------
    arm : float
        m.
    angle : float
        rad.
    x : float
        m.
    capacity : float
        kg.
    """

    arm: float
    angle: float
    x: float = 0.0
    capacity: float = np.inf


@dataclass(frozen=True, eq=False)
class Choice:
    """How many pieces go where: counts (kinds, places) int, and what they come to.

    counterweights has one entry for each place in use; mass [kg] is their total; residual
    (2,) [kg·m] the true unbalance left. optimal is false if the time ran out first.
    """

    counts: np.ndarray
    counterweights: tuple[Counterweight, ...]
    mass: float
    residual: np.ndarray
    optimal: bool


def choose_pieces(
    U: ArrayLike,
    kinds: Sequence[Piece],
    places: Sequence[Place],
    limits: Limits,
    enough: float = 1e-5,
    mass_price: float = 1e-5,
    time_limit: float = 10.0,
) -> Choice:
    """The combination of whole pieces that leaves the least residual unbalance.

    Minimises the residual's greatest component along the directions, or `enough` where it is
    less, plus mass_price times the total mass, by scipy.optimize.milp: of all combinations
    that are good enough it takes the lightest.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance to balance [kg·m].
    kinds : sequence of Piece
    places : sequence of Place
    limits : Limits
        A piece goes only where its arm and x are allowed and it clears the shaft and the
        keep-outs; the total mass stays at or below the greatest. The density is that of the
        pieces. The least mass and the steps are not used.
    enough : float
        Residual [kg·m] below which less is no better; 0 for the very least, which can take
        long to prove.
    mass_price : float
        Residual [kg·m] that a kilogram is worth; 1e-5 trades 100 g for 1 g·mm.
    time_limit : float
        s.

    Returns
    -------
    Choice

    Raises
    ------
    InputError
        If no piece may go to any place, or no combination was found in time.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    U = np.asarray(U, dtype=float)
    if U.shape != (2,) or not np.all(np.isfinite(U)):
        raise InputError(f"the unbalance is {U.tolist()}, expected two finite numbers")
    most = np.array([[_most(kind, place, limits) for place in places] for kind in kinds])
    if not most.any():
        raise InputError("none of the pieces may go to any of the places within the limits")
    masses = np.repeat([kind.mass for kind in kinds], len(places))
    arms = np.array(
        [place.arm * np.array([np.cos(place.angle), np.sin(place.angle)]) for place in places]
    )
    moments = masses[:, None] * np.tile(arms, (len(kinds), 1))

    # The unknowns are the counts, kind by kind, and the residual's measure. The solver's
    # tolerances are absolute and expect numbers of order one: grams and gram millimetres.
    turns = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    directions = np.column_stack([np.cos(turns), np.sin(turns)]) / GRAM_MM
    measure = np.column_stack([directions @ moments.T, -np.ones(DIRECTIONS)])
    of_kind = np.kron(np.eye(len(kinds)), np.ones(len(places)))
    in_place = np.tile(np.eye(len(places)), len(kinds)) * masses * 1e3
    held = np.vstack([of_kind, in_place, masses * 1e3])
    most_held = [
        *(kind.stock for kind in kinds),
        *(place.capacity * 1e3 for place in places),
        limits.mass[1] * 1e3,
    ]
    result = milp(
        np.append(mass_price * masses / GRAM_MM, 1.0),
        constraints=[
            LinearConstraint(measure, ub=-directions @ U),
            LinearConstraint(np.column_stack([held, np.zeros(len(held))]), ub=most_held),
        ],
        bounds=Bounds(
            np.append(np.zeros(most.size), enough / GRAM_MM), np.append(most.ravel(), np.inf)
        ),
        integrality=np.append(np.ones(most.size), 0),
        options={"time_limit": time_limit, "mip_rel_gap": 0.0},
    )
    if result.x is None:
        raise InputError(f"no combination of pieces was found ({result.message})")
    counts = np.rint(result.x[:-1]).astype(int)
    return Choice(
        counts=counts.reshape(most.shape),
        counterweights=_counterweights(counts.reshape(most.shape), kinds, places, limits.density),
        mass=float(masses @ counts),
        residual=U + counts @ moments,
        optimal=result.status == 0,
    )


def _most(kind, place, limits):
    """How many pieces of a kind may go to a place by its limits and the stock."""
    clears = limits.arm[0] <= place.arm <= limits.arm[1]
    clears &= place.arm - kind.across / 2 >= limits.shaft_radius
    free = any(low <= place.x <= high for low, high in limits.free_places(kind.along))
    return kind.stock if clears and free else 0


def _counterweights(counts, kinds, places, density):
    """One point mass for each place in use."""
    masses = np.array([kind.mass for kind in kinds]) @ counts
    return tuple(
        Counterweight(float(mass), place.arm, float(place.angle), place.x, density)
        for mass, place in zip(masses, places, strict=True)
        if mass > 0
    )
