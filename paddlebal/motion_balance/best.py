"""The best counterweights for a motion, not only for rest.

With O's motion given and moments taken about O, the hands' roll torque is linear in the mass
properties, and these are linear in the masses of pieces at given places: see `programme`. Pieces
are points: their own moment of inertia is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.motion_balance.limits import MotionLimits
from paddlebal.motion_balance.programme import AIMS, Programme
from paddlebal.motion_balance.rows import motion_rows, properties_of
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.stroke import Motion
from paddlebal.units import DEG, GRAM

AnyMotion = Motion | Array
"""A motion, or its rows as of `motion_rows`."""


SMALLEST = 0.05 * GRAM
"""A piece below that is none."""


NEIGHBOURS = 3 * DEG
"""Pieces at one station nearer than that in angle are made as one."""


@dataclass(frozen=True, eq=False)
class MotionBalance:
    """The pieces that are best for a motion.

    Parameters
    ----------
    pieces : tuple of Counterweight
    aim : str
        One of AIMS.
    before, after : float
        What was made least, without and with the pieces [N·m]; of the mean square its root.
    bound : float
        What no other pieces at these stations and arms can go below [N·m], whatever their angles;
        where they are counted or in whole steps, none at the angles that were tried.
    paddle : Paddle
        With the pieces.
    """

    pieces: tuple[Counterweight, ...]
    aim: str
    before: float
    after: float
    bound: float
    paddle: Paddle

    @property
    def mass(self) -> float:
        """Of all pieces [kg]."""
        return float(sum(piece.mass for piece in self.pieces))

    @property
    def swing_inertia(self) -> float:
        """What the pieces add to I_zz about O [kg·m²]."""
        return float(sum(p.mass * (p.x**2 + (p.arm * math.cos(p.angle)) ** 2) for p in self.pieces))


def balance_for_motion(
    paddle: Paddle,
    motions: AnyMotion | Sequence[AnyMotion],
    limits: MotionLimits,
    aim: str = "mean",
    shares: Sequence[float] | None = None,
) -> MotionBalance:
    """Pieces that make the hands' roll torque in a motion least.

    What makes this a linear problem: O's motion is given and does not change with the pieces,
    moments are taken about O, places are fixed, and a piece is a point. It is a calculation:
    nothing here was tried on the water, where weights far out swing past water, hull and face.

    Parameters
    ----------
    paddle : Paddle
        Without the pieces; weights that are on it stay.
    motions : Motion or ndarray (8, k), or a sequence of these
        The same for the paddle with and without pieces; an array holds rows as of `motion_rows`,
        such as those of a logger.
    limits : MotionLimits
    aim : str
        One of AIMS.
    shares : sequence of float, optional
        How much each motion counts; by default alike. The peak is that of all.

    Returns
    -------
    MotionBalance

    Raises
    ------
    InputError
        If no pieces keep the limits; the sentence names the one that binds.
    """
    if aim not in AIMS:
        raise InputError(f"the aim is {aim!r}, expected one of {', '.join(AIMS)}")
    several = [motions] if isinstance(motions, Motion | np.ndarray) else list(motions)
    each = [motion_rows([motion]) for motion in several]
    rows = np.hstack(each)
    part = np.full(len(several), 1.0) if shares is None else np.asarray(shares, dtype=float)
    if part.size != len(several) or np.any(part < 0) or not part.sum() > 0:
        raise InputError("expected a share, 0 or more, for each motion")
    counts = [own.shape[1] for own in each]
    weights = np.repeat(part / part.sum() / counts, counts)
    found = Programme(paddle, rows, weights, limits, aim).best()
    if found is None:
        raise InputError(_why_not(paddle, rows, weights, limits, aim))
    pieces = _pieces(limits, found.places, found.masses)
    loaded = paddle.with_counterweights(*pieces)
    before, after = (_value(properties_of(each) @ rows, weights, aim) for each in (paddle, loaded))
    return MotionBalance(pieces, aim, before, after, min(found.bound, after), loaded)


def _pieces(limits, places, masses):
    """The counterweights; neighbours in angle at a station are one piece at their middle."""
    made = []
    for x in limits.stations:
        here = (places[0] == x) & (masses > SMALLEST)
        order = np.argsort(places[2][here])
        groups: list[list[tuple[float, complex, float]]] = []
        for mass, arm, angle in zip(*(each[here][order] for each in (masses, *places[1:])),
                                    strict=True):  # fmt: skip
            part = mass, mass * arm * np.exp(1j * angle), angle
            if groups and angle - groups[-1][-1][2] < NEIGHBOURS:
                groups[-1].append(part)
            else:
                groups.append([part])
        for group in groups:
            mass, moment = (float(sum(part[0] for part in group)), sum(part[1] for part in group))
            arm, angle = abs(moment) / mass, float(np.angle(moment))
            made.append(Counterweight(mass, float(arm), angle, x))
    return tuple(made)


def _value(torque, weights, aim):
    size = np.abs(torque)
    if aim == "mean":
        return float(size @ weights)
    return float(size.max() if aim == "peak" else np.sqrt(size**2 @ weights))


def _why_not(paddle, rows, weights, limits, aim):
    """Which limit leaves no pieces, in a sentence."""
    loose = {
        "the total mass": {"total_mass": 100 * limits.total_mass},
        "the swing inertia": {"swing_inertia": None},
        "the balance point": {"balance_shift": None},
        "the number of pieces": {"pieces": None},
        "the steps of the mass": {"mass_step": 0.0},
        "to stay at rest": {"stays": False},
    }
    for name, change in loose.items():
        wider = replace(limits, **change)
        if Programme(paddle, rows, weights, wider, aim).best() is None:
            continue
        if name == "the total mass":
            least = _least_mass(paddle, rows, weights, wider)
            return (
                f"no pieces keep these limits: with {limits.total_mass / GRAM:.0f} g in all it "
                f"cannot stay at rest, which takes {least / GRAM:.0f} g or more on these arms"
            )
        return f"no pieces keep these limits: {name} binds, without it there would be some"
    return "no pieces keep these limits, and loosening one of them alone does not help"


def _least_mass(paddle, rows, weights, limits):
    """The least total mass [kg] with which it can stay at rest."""
    low, high = 0.0, limits.total_mass
    while high - low > 0.5 * GRAM:
        middle = (low + high) / 2
        tried = replace(limits, total_mass=middle)
        if Programme(paddle, rows, weights, tried, "peak").best() is None:
            low = middle
        else:
            high = middle
    return high


@dataclass(frozen=True, eq=False)
class Front:
    """What more of something buys: the best pieces for each value, from none on.

    Parameters
    ----------
    masses : ndarray (n,)
        Greatest total mass of each [kg].
    found : tuple of MotionBalance
    """

    masses: Array
    found: tuple[MotionBalance, ...]

    @property
    def torque(self) -> Array:
        """What was made least, (n,) [N·m]."""
        return np.array([each.after for each in self.found])

    @property
    def swing_inertia(self) -> Array:
        """What the pieces add to I_zz, (n,) [kg·m²]."""
        return np.array([each.swing_inertia for each in self.found])


def mass_front(
    paddle: Paddle,
    motions: AnyMotion | Sequence[AnyMotion],
    limits: MotionLimits,
    masses: Sequence[float],
    aim: str = "mean",
) -> Front:
    """The best pieces for each total mass [kg].

    Parameters
    ----------
    paddle, motions, limits
        As for `balance_for_motion`; the total mass in `limits` is not used.
    masses : sequence of float
        Above 0.
    aim : str
        One of AIMS.

    Returns
    -------
    Front
    """
    found = tuple(
        balance_for_motion(paddle, motions, replace(limits, total_mass=mass), aim)
        for mass in masses
    )
    return Front(np.asarray(masses, dtype=float), found)
