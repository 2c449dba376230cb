"""The best counterweights for a motion, not only for rest.

With O's motion given and moments taken about O, the hands' roll torque is linear in the mass
properties, and these are linear in the masses of pieces at given places. So the pieces that make
the torque least are found by a linear programme (mean or peak of its size), or by linear programmes
whose cuts close in on the mean square (J. E. Kelley, The cutting-plane method for solving convex
programs, J. SIAM 8, 1960, 703-712); whole pieces and their number by binaries. Each gives a bound
that no other choice of pieces can pass. Pieces are points: their own moment of inertia is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from paddlebal.arrays import Array
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.language import marked
from paddlebal.paddle import Counterweight, KeepOut, Paddle
from paddlebal.placement import fitted_pair
from paddlebal.stroke import Motion
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM
from paddlebal.work import driven, stroke_torque

AIMS = ("mean", "mean square", "peak")
"""What is made least, of the size of the hands' roll torque over the cycle."""


PROPERTIES = 8
"""First moment across the shaft (2) and upper half of the inertia (6): what roll depends on."""


SAMPLES = 240
"""Instants of a cycle in the programme."""


CLOSE = 1e-4
"""Share by which the mean square may lie above its bound."""


CUTS = 200


SMALLEST = 0.05 * GRAM
"""A piece below that is none."""


NEIGHBOURS = 3 * DEG
"""Pieces at one station nearer than that in angle are made as one."""


MOTION_CAUTION = marked(
    "A calculation: nothing of this was tried on the water. Weights far out on the shaft swing "
    "past water, hull and face, and make the paddle slower to swing. Where hands, knees and hull "
    "come must stay free, and every piece needs two fastenings."
)
"""What goes with every set of pieces for a motion."""


@dataclass(frozen=True)
class MotionLimits:
    """Which pieces may go on.

    Parameters
    ----------
    total_mass : float
        Of all pieces [kg].
    stations : tuple of float
        Places along the shaft [m].
    arms : tuple of float
        The arm at each station [m].
    angle_step : float
        Between the angles of the programme [rad]; refined afterwards unless masses are whole.
    pieces : int, optional
        How many at most.
    mass_step : float
        Masses are whole multiples of it [kg]; 0 for any.
    swing_inertia : float, optional
        Most that is added to I_zz about O [kg·m²].
    balance_shift : float, optional
        How far the balance point may move along the shaft [m].
    stays : bool
        Whether the paddle must also stay at rest at any roll angle.
    stays_within : float
        Unbalance that may then be left [kg·m], such as friction holds.
    """

    total_mass: float = 0.2
    stations: tuple[float, ...] = (-0.5, -0.25, 0.0, 0.25, 0.5)
    arms: tuple[float, ...] = (0.06,) * 5
    angle_step: float = 10 * DEG
    pieces: int | None = None
    mass_step: float = 0.0
    swing_inertia: float | None = None
    balance_shift: float | None = None
    stays: bool = False
    stays_within: float = 1e-6

    def __post_init__(self):
        if len(self.arms) != len(self.stations) or not self.stations:
            raise InputError(
                f"{len(self.stations)} stations and {len(self.arms)} arms were given, expected an "
                "arm for each station"
            )
        for name in ("total_mass", "angle_step", "stays_within"):
            if not 0 < getattr(self, name) < math.inf:
                raise InputError("expected a number above 0", field=name)
        if not all(0 < arm < 1 for arm in self.arms):
            raise InputError("expected arms above 0 and below 1 m")
        if self.mass_step < 0 or (self.pieces is not None and self.pieces < 1):
            raise InputError("expected at least one piece, and a step of the mass of 0 or more")

    @classmethod
    def for_paddle(
        cls, paddle: Paddle, arm: float, stations: Sequence[float], **stated: object
    ) -> MotionLimits:
        """Limits with one arm [m] at those stations [m] that a paddle's keep-outs leave free.

        Parameters
        ----------
        paddle : Paddle
        arm : float
        stations : sequence of float
        **stated
            Further fields.

        Returns
        -------
        MotionLimits

        Raises
        ------
        InputError
            If no station is free.
        """
        free = tuple(float(x) for x in stations if not _kept_out(paddle.keep_outs, x))
        if not free:
            raise InputError("every station lies where no weight may go, expected others")
        return cls(stations=free, arms=(arm,) * len(free), **stated)  # type: ignore[arg-type]


def _kept_out(keep_outs: Sequence[KeepOut], x: float) -> bool:
    return any(each.start <= x <= each.stop for each in keep_outs)


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
        What no other pieces of the programme's angles can go below [N·m].
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


def motion_rows(motions: Sequence[Motion], samples: int = SAMPLES) -> Array:
    """Roll torque of the hands for each mass property by itself.

    Parameters
    ----------
    motions : sequence of Motion
    samples : int
        Instants of each cycle.

    Returns
    -------
    ndarray (8, samples * motions)
        N·m for each unit of S_y, S_z [kg·m], I_xx, I_xy, I_xz, I_yy, I_yz, I_zz [kg·m²].
    """
    return np.hstack([
        np.stack(np.broadcast_arrays(*numeric("roll_moment_rows")(
            *driven(motion.state(motion.times(samples)))
        )))
        for motion in motions
    ])  # fmt: skip


def properties_of(paddle: Paddle) -> Array:
    """The mass properties on which the roll torque depends.

    Parameters
    ----------
    paddle : Paddle

    Returns
    -------
    ndarray (8,)
        As in `motion_rows`.
    """
    return np.concatenate([paddle.first_moment()[1:], paddle.inertia()[np.triu_indices(3)]])


def piece_properties(x: Array, arm: Array, angle: Array) -> Array:
    """Mass properties of one kilogram at each of several places.

    Parameters
    ----------
    x, arm, angle : ndarray (n,)
        m, m and rad.

    Returns
    -------
    ndarray (8, n)
        As in `motion_rows`, for each kilogram.
    """
    y, z = arm * np.cos(angle), arm * np.sin(angle)
    return np.stack([y, z, y**2 + z**2, -x * y, -x * z, x**2 + z**2, -y * z, x**2 + y**2])


def gram_matrix(rows: Array) -> Array:
    """The matrix G (8, 8) with which the mean square of the torque is p' G p.

    Parameters
    ----------
    rows : ndarray (8, n)
        Of `motion_rows`.

    Returns
    -------
    ndarray (8, 8)
    """
    return rows @ rows.T / rows.shape[1]


def mean_square_many(properties: Array, gram: Array) -> Array:
    """Root mean square of the roll torque [N·m] of many paddles.

    Parameters
    ----------
    properties : ndarray (n, 8)
        Of each paddle, as `properties_of` gives them.
    gram : ndarray (8, 8)
        Of `gram_matrix`.

    Returns
    -------
    ndarray (n,)
    """
    return np.sqrt(np.einsum("ni,ij,nj->n", properties, gram, properties))


class _Programme:
    """Least torque over masses at places; its unknowns are masses, what they make, and more."""

    def __init__(self, paddle, rows, weights, limits, places, aim):
        self.paddle, self.rows, self.limits, self.aim = paddle, rows, limits, aim
        self.places, self.weights = places, weights
        self.base = properties_of(paddle)
        # The solver's tolerances expect numbers of order one: grams, and scaled properties.
        self.unit = GRAM * piece_properties(*places)
        self.scale = np.maximum(np.abs(self.base), 1e-3)
        self.count = places[0].size

    @cached_property
    def _held(self):
        """Rows (k, count) of limits on the masses [g], with their least and greatest."""
        x, arm, angle = self.places
        limits, mass = self.limits, self.paddle.mass
        rows = [np.ones(self.count)]
        low, high = [-np.inf], [limits.total_mass / GRAM]
        if limits.swing_inertia is not None:
            rows.append(1e3 * self.unit[7])
            low.append(-np.inf)
            high.append(1e3 * limits.swing_inertia)
        if limits.balance_shift is not None:
            # |sum m (x - X)| <= shift (M + sum m), X the balance point now
            away = x - self.paddle.balance_point
            for sign in (1, -1):
                rows.append(sign * away - limits.balance_shift)
                low.append(-np.inf)
                high.append(limits.balance_shift * mass / GRAM)
        if limits.stays:
            U, within = self.paddle.unbalance(), limits.stays_within
            turns = np.arange(16) * 2 * np.pi / 16
            for along in np.column_stack([np.cos(turns), np.sin(turns)]):
                rows.append(1e3 * along @ self.unit[:2])
                low.append(-np.inf)
                high.append(1e3 * (within - along @ U))
        return np.array(rows), np.array(low), np.array(high)

    def _masses(self, counted):
        """The unknowns' bounds and kinds: masses [g] or steps, and whether a piece is there."""
        limits = self.limits
        most = limits.total_mass / GRAM
        step = limits.mass_step / GRAM if limits.mass_step else 1.0
        chosen = self.count if limits.pieces is not None and counted else 0
        whole = 1 if limits.mass_step and counted else 0
        return most, step, chosen, whole

    def solve(self, cuts=(), counted=True):
        """Masses [kg] (count,), the least value [N·m] found, and its bound.

        cuts: points p (8,) at which the mean square is bounded from below by its tangent.
        """
        from scipy import sparse
        from scipy.optimize import Bounds, LinearConstraint, milp

        most, step, chosen, whole = self._masses(counted)
        n, k = self.count, self.rows.shape[1]
        extra = {"mean": k, "peak": 1, "mean square": 1}[self.aim]
        size = n + PROPERTIES + chosen + extra
        at = n + PROPERTIES + chosen
        rows, low, high = [], [], []

        def add(block, least, greatest):
            rows.append(block)
            low.append(np.broadcast_to(least, block.shape[0]))
            high.append(np.broadcast_to(greatest, block.shape[0]))

        def placed(parts):
            """A block of rows from (start, matrix) parts."""
            height = parts[0][1].shape[0]
            columns = sparse.lil_matrix((height, size))
            for start, matrix in parts:
                columns[:, start : start + matrix.shape[1]] = matrix
            return columns.tocsr()

        made = step * self.unit / self.scale[:, None]
        add(placed([(0, made), (n, -np.eye(PROPERTIES))]), 0.0, 0.0)
        held, least, greatest = self._held
        add(placed([(0, step * held)]), least, greatest)
        if chosen:
            add(placed([(0, step * np.eye(n)), (n + PROPERTIES, -most * np.eye(n))]), -np.inf, 0.0)
            add(placed([(n + PROPERTIES, np.ones((1, n)))]), -np.inf, self.limits.pieces)
        torque, base = (self.rows * self.scale[:, None]).T, self.base @ self.rows
        cost = np.zeros(size)
        if self.aim == "mean square":
            gram = (self.rows * self.weights) @ self.rows.T
            for point in cuts:
                value, slope = point @ gram @ point, 2 * gram @ point
                # z >= value + slope (base + p - point)
                line = np.concatenate([slope * self.scale])[None]
                add(placed([(n, line), (at, -np.ones((1, 1)))]), -np.inf,
                    -(value + slope @ (self.base - point)))  # fmt: skip
            cost[at] = 1.0
        else:
            ones = sparse.eye(k) if self.aim == "mean" else np.ones((k, 1))
            for sign in (1, -1):
                add(placed([(n, sign * torque), (at, -ones)]), -np.inf, -sign * base)
            cost[at:] = self.weights if self.aim == "mean" else 1.0
        lower = np.concatenate([np.zeros(n), np.full(PROPERTIES, -np.inf), np.zeros(chosen),
                                np.zeros(extra)])  # fmt: skip
        upper = np.concatenate([np.full(n, most / step), np.full(PROPERTIES, np.inf),
                                np.ones(chosen), np.full(extra, np.inf)])  # fmt: skip
        kinds = np.concatenate([np.full(n, whole), np.zeros(PROPERTIES), np.ones(chosen),
                                np.zeros(extra)])  # fmt: skip
        found = milp(
            cost, integrality=kinds, bounds=Bounds(lower, upper),
            constraints=LinearConstraint(sparse.vstack(rows), np.concatenate(low),
                                         np.concatenate(high)),
            options={"mip_rel_gap": 1e-4, "time_limit": 20.0},
        )  # fmt: skip
        if found.x is None:
            return None
        bound = found.mip_dual_bound if kinds.any() else found.fun
        return found.x[:n] * step * GRAM, float(found.fun), float(bound)

    def best(self, counted=True):
        """Masses [kg] and the bound [N·m], for the mean square its root."""
        if self.aim != "mean square":
            found = self.solve(counted=counted)
            return None if found is None else (found[0], found[2])
        gram = (self.rows * self.weights) @ self.rows.T
        cuts, best, bound = [self.base], None, 0.0
        for _again in range(CUTS):
            found = self.solve(cuts, counted)
            if found is None:
                return None
            masses, _value, least = found
            point = self.base + piece_properties(*self.places) @ masses
            value, bound = float(point @ gram @ point), max(bound, least)
            if best is None or value < best[1]:
                best = masses, value
            if best[1] - bound <= CLOSE * best[1]:
                break
            cuts.append(point)
        assert best is not None
        return best[0], math.sqrt(max(bound, 0.0))


def balance_for_motion(
    paddle: Paddle,
    motions: Motion | Sequence[Motion],
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
    motions : Motion or sequence of Motion
        The same for the paddle with and without pieces.
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
    several = [motions] if isinstance(motions, Motion) else list(motions)
    rows = motion_rows(several)
    part = np.full(len(several), 1.0) if shares is None else np.asarray(shares, dtype=float)
    if part.size != len(several) or np.any(part < 0) or not part.sum() > 0:
        raise InputError("expected a share, 0 or more, for each motion")
    weights = np.repeat(part / part.sum() / SAMPLES, SAMPLES)
    coarse = np.arange(0, 2 * np.pi - 1e-9, limits.angle_step)
    places = _places(limits, [coarse] * len(limits.stations))
    found = _Programme(paddle, rows, weights, limits, places, aim).best()
    if found is None:
        raise InputError(_why_not(paddle, rows, weights, limits, places, aim))
    masses, bound = found
    if not limits.mass_step:
        places, masses, bound = _refined(paddle, rows, weights, limits, aim, places, masses, bound)
    pieces = _pieces(limits, places, masses)
    loaded = paddle.with_counterweights(*pieces)
    before, after = (_value(properties_of(each) @ rows, weights, aim) for each in (paddle, loaded))
    return MotionBalance(pieces, aim, before, after, min(bound, after), loaded)


def _places(limits, angles):
    """Places as (x, arm, angle), each (n,), with some angles at each station."""
    x = np.concatenate([np.full(a.size, s) for a, s in zip(angles, limits.stations, strict=True)])
    arm = np.concatenate([np.full(a.size, r) for a, r in zip(angles, limits.arms, strict=True)])
    return x, arm, np.concatenate(angles)


def _refined(paddle, rows, weights, limits, aim, places, masses, bound):
    """Finer angles about those that are used, twice; the bound is that of the last programme."""
    step = limits.angle_step
    for _again in range(2):
        step /= 5
        used = masses > SMALLEST
        near = step * np.arange(-5, 6)
        angles = []
        for x in limits.stations:
            own = places[2][used & (places[0] == x)]
            angles.append(np.unique(np.round((own[:, None] + near).ravel(), 9)))
        finer = _places(limits, angles)
        found = _Programme(paddle, rows, weights, limits, finer, aim).best()
        if found is None:
            break
        places, (masses, bound) = finer, found
    return places, masses, bound


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


def _why_not(paddle, rows, weights, limits, places, aim):
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
        if _Programme(paddle, rows, weights, wider, places, aim).solve([]) is None:
            continue
        if name == "the total mass":
            least = _least_mass(paddle, rows, weights, wider, places)
            return (
                f"no pieces keep these limits: with {limits.total_mass / GRAM:.0f} g in all it "
                f"cannot stay at rest, which takes {least / GRAM:.0f} g or more on these arms"
            )
        return f"no pieces keep these limits: {name} binds, without it there would be some"
    return "no pieces keep these limits, and loosening one of them alone does not help"


def _least_mass(paddle, rows, weights, limits, places):
    """The least total mass [kg] with which it can stay at rest."""
    low, high = 0.0, limits.total_mass
    while high - low > 0.5 * GRAM:
        middle = (low + high) / 2
        tried = replace(limits, total_mass=middle)
        if _Programme(paddle, rows, weights, tried, places, "peak").solve() is None:
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
    motions: Motion | Sequence[Motion],
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


class SetRow(NamedTuple):
    """One row of a table of sets of pieces on a motion.

    Parameters
    ----------
    name : str
    mass, swing_inertia : float
        Of the pieces: kg, and added to I_zz [kg·m²].
    mean, peak : float
        Of the size of the hands' roll torque [N·m].
    work : float
        Positive work of the hands in a cycle [J].
    left : float
        Size of the unbalance at rest [kg·m].
    """

    name: str
    mass: float
    swing_inertia: float
    mean: float
    peak: float
    work: float
    left: float


def set_row(name: str, bare: Paddle, paddle: Paddle, motion: Motion) -> SetRow:
    """What a set of pieces does and costs on a motion.

    Parameters
    ----------
    name : str
    bare, paddle : Paddle
        Without and with the pieces.
    motion : Motion

    Returns
    -------
    SetRow
    """
    torque = stroke_torque(paddle, motion)
    size = np.abs(torque.torque)
    return SetRow(
        name,
        float(paddle.mass - bare.mass),
        float(paddle.inertia()[2, 2] - bare.inertia()[2, 2]),
        float(size.mean()),
        float(size.max()),
        torque.sums().full_positive,
        float(magnitude(paddle.unbalance())),
    )


def compared_sets(
    paddle: Paddle, motion: Motion, limits: MotionLimits, aim: str = "mean"
) -> tuple[SetRow, ...]:
    """Bare, balanced at rest by one weight and by the pair, and the best pieces: of the same mass,
    of half of it, and of the same that stay at rest.

    Parameters
    ----------
    paddle : Paddle
        Without counterweights.
    motion : Motion
    limits : MotionLimits
        The one weight takes the arm that its total mass needs.
    aim : str
        One of AIMS.

    Returns
    -------
    tuple of SetRow
    """
    U, mass = paddle.unbalance(), limits.total_mass
    away = float(np.arctan2(-U[1], -U[0]))
    one = Counterweight(mass, float(magnitude(U)) / mass, away)
    sets = {
        "bare": paddle,
        "one weight, at rest": paddle.with_counterweights(one),
        "pair, at rest": paddle.with_counterweights(*fitted_pair(paddle, mass)),
    }
    for name, more in (
        ("best", {}), ("best, half the mass", {"total_mass": mass / 2}),
        ("best that stays", {"stays": True}),
    ):  # fmt: skip
        sets[name] = balance_for_motion(paddle, motion, replace(limits, **more), aim).paddle
    return tuple(set_row(name, paddle, each, motion) for name, each in sets.items())
