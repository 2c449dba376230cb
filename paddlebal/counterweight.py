"""From an unbalance and the workshop's limits to a counterweight, its tolerance and its cost.

A counterweight of mass m on an arm r along the unit vector e balances U when m r e = -U. Only
the product m r is fixed: half the mass needs twice the arm. A piece is taken as a cylinder
along the shaft; the mass of whatever holds it is not counted.
"""

import math
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.paddle import SIDES, STANDARD_GRAVITY, Counterweight, KeepOut
from paddlebal.published import published
from paddlebal.unbalance import GRAM_MM, catch_torque, cycle_lift, magnitude, weight_errors

CAUTIONS = (
    "Lead is toxic: wear gloves, do not sand, drill or melt it bare, wash your hands, keep it "
    "from children, seal it in and take scraps to a collection point. Some waters and venues "
    "restrict lead; ask before you use it.",
    "A weight that comes loose can hurt someone: fasten it so that it cannot slide, turn or fly "
    "off, and check the fastening before every outing.",
    "Keep weights clear of the hands, the knees, the boat and the ferrule over the whole stroke.",
    "A heavier paddle may no longer float: check the flotation left, and test it in shallow water.",
    "Check the current rules of your federation and your event before you race with a "
    "counterweight; they were not consulted here.",
)
"""What to say beside every counterweight, whatever the numbers."""


@cache
def _table():
    rows = published("materials", numbers=("density_kg_m3",))
    return {row["name"]: row["density_kg_m3"] for row in rows}


def materials():
    """Densities [kg/m³] by the material's name, from data/published/materials.csv."""
    return dict(_table())


@dataclass(frozen=True)
class Limits:
    """What the workshop can make and the paddle can carry.

    Parameters
    ----------
    material : str or float
        A name of `materials()`, or a density [kg/m³].
    mass, arm : tuple of float
        Least and greatest mass [kg] and arm [m]. The arm runs from the shaft axis to the middle
        of the piece; its greatest value is what hands, knees and boat leave clear, and it is
        never less than `least_arm`.
    x : tuple of float
        Stretch of shaft [m along x] within which the whole piece must lie.
    keep_outs : tuple of KeepOut
        Stretches of it that the piece must leave free.
    shaft_radius : float
        m.
    mass_step, arm_step, angle_step : float
        The workshop's steps [kg, m, rad]; 0 for none.
    slenderness : float
        Length over diameter of the piece.
    """

    material: str | float = "brass"
    mass: tuple[float, float] = (0.0, 0.4)
    arm: tuple[float, float] = (0.0, 0.06)
    x: tuple[float, float] = (-0.7, 0.7)
    keep_outs: tuple[KeepOut, ...] = ()
    shaft_radius: float = 0.0146
    mass_step: float = 0.0
    arm_step: float = 0.0
    angle_step: float = 0.0
    slenderness: float = 2.0

    def __post_init__(self):
        if isinstance(self.material, str) and self.material not in _table():
            known = ", ".join(_table())
            raise InputError(f"the material '{self.material}' is not one of {known}")
        for name in ("mass", "arm", "x"):
            least, greatest = getattr(self, name)
            if not least <= greatest:
                raise InputError(f"the least {name} {least:g} is above the greatest {greatest:g}")
        for name in ("density", "slenderness", "shaft_radius"):
            if not 0 < getattr(self, name) < math.inf:
                raise InputError(f"the {name} is {getattr(self, name)}, expected it above 0")
        if self.mass[0] < 0 or self.arm[0] < 0 or not 0 < self.arm[1] < math.inf:
            raise InputError("masses and arms are at least 0, the greatest arm above 0 and finite")
        steps = self.mass_step, self.arm_step, self.angle_step
        if not all(0 <= step < math.inf for step in steps) or self.arm_step > self.arm[1]:
            raise InputError("a step is at least 0 (0 for none), that of the arm below the arm")

    @classmethod
    def for_paddle(cls, paddle, reach=math.inf, **stated):
        """Limits with a paddle's keep-outs, shaft radius and free shaft, the rest as stated.

        The free shaft ends where a blade begins, where the shaft ends, or at a distance `reach`
        [m] from mid-shaft. Weights that are on the paddle keep others out, each taken as a
        cylinder of the usual slenderness.
        """
        half, left, right = paddle.shaft.length / 2, paddle.left, paddle.right
        own = {
            "x": (
                max(-half, -reach, left.x + left.length / 2),
                min(half, reach, right.x - right.length / 2),
            ),
            "keep_outs": (*paddle.keep_outs, *map(_taken, paddle.counterweights)),
            "shaft_radius": paddle.shaft.radius,
        }
        return cls(**(own | stated))

    @property
    def density(self):
        """kg/m³."""
        return _table()[self.material] if isinstance(self.material, str) else self.material

    def diameter(self, mass):
        """Diameter [m] of the cylinder of that mass [kg]; arrays broadcast."""
        return _diameter(mass, self.slenderness, self.density)

    def least_arm(self, mass):
        """Shaft radius plus half the piece [m], or the stated least arm if that is longer."""
        return max(self.arm[0], self.shaft_radius + float(self.diameter(mass)) / 2)

    def free_places(self, length):
        """Intervals (from, to) of x [m] where the middle of a piece of that length may sit."""
        start, stop = self.x[0] + length / 2, self.x[1] - length / 2
        free = []
        for keep_out in sorted(self.keep_outs, key=lambda k: k.start):
            free.append((start, min(stop, keep_out.start - length / 2)))
            start = max(start, keep_out.stop + length / 2)
        return [(low, high) for low, high in [*free, (start, stop)] if low <= high]


def _diameter(mass, slenderness, density):
    return np.cbrt(4 * mass / (np.pi * slenderness * density))


def _taken(weight):
    """The stretch of shaft that a weight on the paddle takes."""
    length = Limits.slenderness * float(_diameter(weight.mass, Limits.slenderness, weight.density))
    return KeepOut("a weight that is on", weight.x - length / 2, weight.x + length / 2)


@dataclass(frozen=True, eq=False)
class Placement:
    """A counterweight placed.

    Parameters
    ----------
    mass, arm, angle, x : float
        As for `Counterweight`.
    residual : ndarray (2,)
        What unbalance it leaves [kg·m].
    density : float
        kg/m³.
    diameter, length : float
        Of the piece [m].
    """

    mass: float
    arm: float
    angle: float
    x: float
    residual: np.ndarray
    density: float
    diameter: float
    length: float

    @property
    def counterweight(self):
        """The piece as a part of a paddle."""
        return Counterweight(self.mass, self.arm, self.angle, self.x, self.density)

    def __str__(self):
        side, off = "right" if self.x > 0 else "left", round(1e3 * abs(self.x))
        place = f"{off} mm {side} of the middle" if off else "at the middle"
        return (
            f"{1e3 * self.mass:.1f} g on an arm of {1e3 * self.arm:.1f} mm, at "
            f"{math.degrees(self.angle) % 360:.1f} degrees, {place}; "
            f"leaves {magnitude(self.residual) / GRAM_MM:.0f} g·mm"
        )

    @property
    def swing_inertia(self):
        """What it adds to I_zz about O [kg·m²]."""
        return self.mass * (self.x**2 + (self.arm * math.cos(self.angle)) ** 2)

    def covariance(self, mass_u, arm_u, angle_u):
        """Covariance (2, 2) [(kg·m)²] of the unbalance of the piece as it is fitted.

        From the standard uncertainties with which the workshop keeps its mass [kg], arm [m] and
        angle [rad], to first order; `tolerance` shows what they do at full length.
        """
        errors = weight_errors(self.mass, self.arm, self.angle, mass_u, arm_u, angle_u)
        return errors.T @ errors

    def balance_shift(self, paddle):
        """How far it moves the paddle's balance point along x [m]."""
        return paddle.with_counterweights(self.counterweight).balance_point - paddle.balance_point


def place_counterweight(U, limits, *, mass=None, arm=None, x=None, paddle=None):
    """The counterweight that balances U within the limits.

    The mass is the smallest the limits allow, hence the arm the longest, unless one of them is
    prescribed. A whole step of mass is rounded up and the arm shortened to suit, so that only
    steps of arm and angle, or steps of mass on a prescribed arm, leave a residual. Along the
    shaft the piece goes where it brings the balance point nearest to the shaft's mid-length;
    among equals where it adds the least swing inertia, then to the right.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance vector [kg·m] in body axes.
    limits : Limits
    mass, arm, x : float, optional
        Prescribed mass [kg] or arm [m], not both; prescribed place along the shaft [m].
    paddle : Paddle, optional
        Whose first moment along x is to be evened out; without it, taken as already even.

    Returns
    -------
    Placement

    Raises
    ------
    InputError
        One sentence saying which limit fails and by how much.
    """
    U = np.asarray(U, dtype=float)
    if U.shape != (2,) or not np.all(np.isfinite(U)):
        raise InputError(f"the unbalance is {U.tolist()}, expected two finite numbers")
    if x is not None and not math.isfinite(x):
        raise InputError(f"the prescribed place is {x}, expected a finite number")
    mass, arm = _mass_and_arm(float(magnitude(U)), limits, mass, arm)
    angle = _whole_steps(math.atan2(-U[1], -U[0]), limits.angle_step)
    diameter = float(limits.diameter(mass))
    length = limits.slenderness * diameter
    along = float(paddle.first_moment()[0]) if paddle is not None else 0.0
    place = _place(limits, length, 0.0 - along / mass if mass else 0.0, x)
    residual = U + Counterweight(mass, arm, angle).unbalance
    return Placement(mass, arm, angle, place, residual, limits.density, diameter, length)


def _whole_steps(value, step, rounding=round):
    return step * rounding(value / step) if step else value


def _up(count):
    return math.ceil(count - 1e-9)


def _down(count):
    return math.floor(count + 1e-9)


def _mass_and_arm(size, limits, mass, arm):
    """Mass and arm of product `size`, checked against the limits."""
    if mass is not None and arm is not None:
        raise InputError("prescribe the mass or the arm, not both: their product is fixed")
    for name, value in (("mass", mass), ("arm", arm)):
        if value is not None and not 0 < value < math.inf:
            raise InputError(f"the prescribed {name} is {value}, expected it above 0")
    if arm is not None:
        mass = _whole_steps(size / arm, limits.mass_step)
    elif mass is not None:
        arm = _whole_steps(size / mass, limits.arm_step)
    else:
        longest = _whole_steps(limits.arm[1], limits.arm_step, _down)
        mass = _whole_steps(max(size / longest, limits.mass[0]), limits.mass_step, _up)
        arm = min(longest, _whole_steps(size / mass, limits.arm_step)) if mass else longest
    _check(limits, mass, arm)
    return mass, arm


def _check(limits, mass, arm):
    slack = 1 + 1e-9
    if arm > limits.arm[1] * slack:
        raise InputError(
            f"{_g(mass)} needs an arm of {_mm(arm)}, the limit is {_mm(limits.arm[1])}"
        )
    if mass > limits.mass[1] * slack:
        kind = "the longest arm" if math.isclose(arm, limits.arm[1]) else "an arm"
        raise InputError(
            f"needs {_g(mass)} at {kind} of {_mm(arm)}, the limit is {_g(limits.mass[1])}"
        )
    if mass * slack < limits.mass[0]:
        raise InputError(
            f"needs only {_g(mass)} at an arm of {_mm(arm)}, the least is {_g(limits.mass[0])}"
        )
    least = limits.least_arm(mass)
    if arm * slack < least:
        raise InputError(
            f"a piece of {_g(mass)} would sit at an arm of {_mm(arm)}, the least is {_mm(least)}"
            " (the shaft's radius and half the piece, or the least arm stated)"
        )


def _place(limits, length, ideal, prescribed):
    """Free place along the shaft nearest to the ideal one, or the prescribed one if free."""
    free = limits.free_places(length)
    if not free:
        raise InputError(
            f"a piece {_mm(length)} long finds no free place on the shaft between "
            f"{_mm(limits.x[0])} and {_mm(limits.x[1])} outside the keep-outs"
        )
    wanted = ideal if prescribed is None else prescribed
    nearest = [min(max(wanted, low), high) for low, high in free]
    best = min(nearest, key=lambda x: (round(abs(x - wanted), 12), round(abs(x), 12), -x))
    if prescribed is not None and abs(best - prescribed) > 1e-9:
        raise InputError(
            f"a piece {_mm(length)} long does not fit at x = {_mm(prescribed)}: "
            f"{_in_the_way(limits, length, prescribed)} is in the way, "
            f"the nearest free place is {_mm(best)}"
        )
    return best


def _in_the_way(limits, length, x):
    """Names of the keep-outs that a piece at x would reach into, or the end of the free shaft."""
    low, high = x - length / 2, x + length / 2
    names = [f"'{k.name}'" for k in limits.keep_outs if k.start < high and low < k.stop]
    return " and ".join(names) or "the end of the free shaft"


def place_pair(U, limits, *, mass=None, arm=None, paddle=None):
    """Two equal counterweights that balance U, one either side of where a single one would go.

    For a middle that must stay free, such as a ferrule: a single piece then sits off-centre and
    moves the balance point, a pair need not. Where the middle is free the two sit side by side.
    mass [kg] is that of both together. Parameters, order of choice and errors otherwise as for
    `place_counterweight`.

    Returns
    -------
    tuple of Placement
        Left and right; each one's residual is what the two together leave. On an adjustable
        ferrule they balance this feather only, see `split_by_halves`.
    """
    U = np.asarray(U, dtype=float)
    half_mass = mass / 2 if mass is not None else None
    each = replace(limits, mass=(limits.mass[0] / 2, limits.mass[1] / 2))
    one = place_counterweight(U / 2, each, mass=half_mass, arm=arm)
    along = float(paddle.first_moment()[0]) if paddle is not None else 0.0
    ideal = 0.0 - along / (2 * one.mass) if one.mass else 0.0
    split = replace(each, keep_outs=(*each.keep_outs, KeepOut("between the pair", ideal, ideal)))
    free = split.free_places(one.length)
    left = max((high for low, high in free if high <= ideal), default=None)
    right = min((low for low, high in free if low >= ideal), default=None)
    if left is None or right is None:
        raise InputError(
            f"a pair of pieces {_mm(one.length)} long finds no free places either side of "
            f"x = {_mm(ideal)}"
        )
    if ideal - left < right - ideal:
        left = _place(split, one.length, 2 * ideal - right, None)
    else:
        right = _place(split, one.length, 2 * ideal - left, None)
    return tuple(replace(one, x=x, residual=2 * one.residual) for x in (left, right))


def trimmed(weight, residual):
    """The counterweight that would have left nothing.

    Parameters
    ----------
    weight : Counterweight
        As it was fitted.
    residual : array_like (2,)
        The unbalance measured with it on [kg·m].

    Returns
    -------
    Counterweight
        Another mass at another angle; arm, place and material stay.

    Raises
    ------
    InputError
        If the weight has no arm.
    """
    if not weight.arm > 0:
        raise InputError("a weight without an arm balances nothing, expected one above 0")
    wanted = weight.unbalance - np.asarray(residual, dtype=float)
    angle = math.atan2(wanted[1], wanted[0])
    return replace(weight, mass=float(magnitude(wanted)) / weight.arm, angle=angle)


def half_unbalance(paddle, side):
    """Unbalance (2,) [kg·m] of one half: its blade and the counterweights that turn with it."""
    total = getattr(paddle, side).mass * paddle.blade_centre(side)[1:]
    for weight in paddle.counterweights:
        if paddle.half(weight.x) == side:
            total += weight.unbalance
    return total


def split_by_halves(paddle, limits):
    """Two counterweights, each on its own half and balancing that half: good at every feather.

    On the same arm two equal blades of feather phi need 1 / cos(phi / 2) times the mass of a
    single counterweight. The half towards which the balance point lies gets its piece as near
    the middle as it may go; the other piece evens out what is left.

    Parameters
    ----------
    paddle : Paddle
    limits : Limits

    Returns
    -------
    tuple of Placement
        Left and right; each one's residual is that of its own half.

    Raises
    ------
    InputError
        If a half's piece cannot be placed, see `place_counterweight`.
    """
    halves = {
        "left": replace(limits, x=(limits.x[0], min(limits.x[1], paddle.ferrule_x))),
        "right": replace(limits, x=(max(limits.x[0], paddle.ferrule_x), limits.x[1])),
    }
    first, other = SIDES if paddle.balance_point < 0 else SIDES[::-1]
    placed = {first: place_counterweight(half_unbalance(paddle, first), halves[first])}
    weighted = paddle.with_counterweights(placed[first].counterweight)
    placed[other] = place_counterweight(
        half_unbalance(paddle, other), halves[other], paddle=weighted
    )
    return tuple(placed[side] for side in SIDES)


def residual_against_feather(paddle, feathers_deg):
    """Size of the unbalance [kg·m] at each feather [deg], ndarray of the same shape.

    Each counterweight turns with the half on which it sits.
    """
    feathers = np.asarray(feathers_deg, dtype=float)
    sizes = [magnitude(paddle.with_feather(feather).unbalance()) for feather in feathers.flat]
    return np.reshape(sizes, feathers.shape)


@dataclass(frozen=True, eq=False)
class Trade:
    """Mass against arm, and the size of the piece in each material.

    arm and mass are (n,) [m, kg]; diameter, length and clearance [m] are (k, n), one row for
    each of the k materials. clearance is the gap from the shaft to the piece: where it is
    negative the piece does not fit.
    """

    materials: tuple[str, ...]
    arm: np.ndarray
    mass: np.ndarray
    diameter: np.ndarray
    length: np.ndarray
    clearance: np.ndarray


def trade(U, limits, arms=None):
    """Mass against arm at the fixed product |U|, with the size of the piece in each material.

    arms [m] default to 101 from the shaft's surface to the greatest arm of the limits.
    """
    if arms is None:
        arms = np.linspace(max(limits.shaft_radius, limits.arm[0]), limits.arm[1], 101)
    arm = np.asarray(arms, dtype=float)
    mass = magnitude(U) / arm
    names = tuple(materials())
    diameter = np.array([replace(limits, material=name).diameter(mass) for name in names])
    clearance = arm - limits.shaft_radius - diameter / 2
    return Trade(names, arm, mass, diameter, limits.slenderness * diameter, clearance)


@dataclass(frozen=True, eq=False)
class Tolerance:
    """Spread of the residual's size over errors of mass, arm, angle and feather.

    quantiles (k,) [kg·m] belong to probabilities (k,); alone gives the quantiles with the
    errors of one input only; counts (n,) of the draws lie between edges (n + 1,) [kg·m].
    """

    draws: int
    probabilities: np.ndarray
    quantiles: np.ndarray
    alone: dict[str, np.ndarray]
    edges: np.ndarray
    counts: np.ndarray


_CHUNK = 2**16
"""Draws at a time: small enough for the processor's cache."""


def tolerance(
    placement,
    U,
    mass_u,
    arm_u,
    angle_u,
    draws=1_000_000,
    rng=None,
    probabilities=(0.5, 0.95, 0.99),
    feather_u=0.0,
    far_half=(0.0, 0.0),
):
    """Residual of a placement whose mass, arm and angle are a little off, by Monte Carlo.

    Propagation of distributions as in JCGM 101:2008, all errors normal and independent.
    The draws are made in chunks and kept as a histogram of 20 000 equal bins that reach eight
    standard uncertainties out; a quantile is good to one bin.

    Parameters
    ----------
    placement : Placement
    U : array_like (2,)
        The unbalance it is to balance [kg·m].
    mass_u, arm_u, angle_u : float
        Standard uncertainties [kg, m, rad].
    draws : int
    rng : numpy.random.Generator, optional
    probabilities : sequence of float
    feather_u : float
        Standard uncertainty of the feather set on an adjustable ferrule [rad].
    far_half : array_like (2,)
        Unbalance [kg·m] of the half on which the counterweight does not sit, see
        `half_unbalance`: an error of the feather turns it against the counterweight.

    Returns
    -------
    Tolerance
    """
    rng = np.random.default_rng() if rng is None else rng
    if min(mass_u, arm_u, angle_u, feather_u) < 0 or draws < 1:
        raise InputError("the uncertainties are at least 0 and the draws at least 1")
    nominal = placement.mass * placement.arm
    # Vectors as complex numbers, the real axis along the counterweight's arm: turning is a product.
    back = _unit(-placement.angle)
    unbalance, far = (complex(*vector) * back for vector in (U, far_half))

    def residual(mass=0.0, arm=0.0, angle=1.0, feather=1.0):
        product = (placement.mass + mass) * (placement.arm + arm)
        return np.abs(unbalance + product * angle + far * (feather - 1))

    reach = (placement.mass + 8 * mass_u) * (placement.arm + 8 * arm_u) - nominal
    reach += nominal * min(8 * angle_u, 2) + abs(far) * min(8 * feather_u, 2)
    edges = np.linspace(0, (residual() + reach) or 1.0, 20_001)
    inputs = {"mass": mass_u, "arm": arm_u, "angle": angle_u, "feather": feather_u}
    counts = {case: np.zeros(edges.size - 1, dtype=np.int64) for case in ("all", *inputs)}
    for start in range(0, draws, _CHUNK):
        drawn = min(_CHUNK, draws - start)
        errors = {name: u * rng.standard_normal(drawn) for name, u in inputs.items()}
        errors |= {name: _unit(errors[name]) for name in ("angle", "feather")}
        for case, count in counts.items():
            sizes = residual(**errors) if case == "all" else residual(**{case: errors[case]})
            bins = np.minimum((sizes / edges[1]).astype(np.int64), count.size - 1)
            count += np.bincount(bins, minlength=count.size)
    probabilities = np.asarray(probabilities, dtype=float)
    quantiles = {
        case: np.interp(probabilities * draws, np.append(0, np.cumsum(count)), edges)
        for case, count in counts.items()
    }
    total = quantiles.pop("all")
    return Tolerance(draws, probabilities, total, quantiles, edges, counts["all"])


def _unit(angle):
    return np.cos(angle) + 1j * np.sin(angle)


def angle_error_residual(U, angle_error):
    """Residual [kg·m] of a counterweight right but for its angle: 2 |U| |sin(error / 2)|.

    U (..., 2) [kg·m] and the error [rad] broadcast.
    """
    return numeric("angle_error_residual")(magnitude(U), angle_error)


@dataclass(frozen=True)
class Cost:
    """What counterweights change, after minus before, and what they leave.

    mass [kg]; swing_inertia (I_zz) and roll_inertia (I_xx) about O [kg·m²]; balance_shift
    along x [m]; flotation [kg] that the paddle still carries afterwards, negative when it
    sinks; lifting_work [J] to lift the added mass by lift_height [m] once a stroke;
    roll_work_saved [J] of lifting in roll saved a cycle, from one catch to the other and back;
    holding_torque_before and _after [N·m], the greater of the two catches.
    """

    mass: float
    swing_inertia: float
    roll_inertia: float
    balance_shift: float
    flotation: float
    lift_height: float
    lifting_work: float
    roll_work_saved: float
    holding_torque_before: float
    holding_torque_after: float

    @property
    def sinks(self):
        """Whether the paddle no longer floats in fresh water."""
        return self.flotation < 0

    @property
    def work_saved(self):
        """Lifting work saved a cycle of two strokes [J]; negative: the counterweight costs."""
        return self.roll_work_saved - 2 * self.lifting_work

    @property
    def verdict(self):
        """Which wins on joules, and what the hand gains, in plain sentences."""
        saved = self.work_saved
        joules = (
            f"saves {saved:.3f} J of lifting a cycle"
            if saved > 0
            else f"costs {-saved:.3f} J of lifting a cycle"
        )
        text = (
            f"On joules the counterweight {joules}: {2 * self.lifting_work:.3f} J more to lift "
            f"{1e3 * self.mass:.0f} g by {1e3 * self.lift_height:.0f} mm twice, "
            f"{self.roll_work_saved:.3f} J less to roll from catch to catch and back. "
            f"The torque to hold the paddle at the catch goes from "
            f"{self.holding_torque_before:.3f} to {self.holding_torque_after:.3f} N·m."
        )
        if self.sinks:
            text += f" The paddle no longer floats: it lacks {-1e3 * self.flotation:.0f} g of lift."
        return text


def cost(before, after, lift_height=0.1, measured=None):
    """What the counterweights of `after` cost against `before`.

    Gravity gives back what it takes: work is counted here only where the hands lift, and the
    way down is not set against it. The height by which a stroke lifts the paddle is the
    reader's to state; the default is an assumption, no source.

    Parameters
    ----------
    before, after : Paddle
    lift_height : float
        How far one stroke lifts the added mass [m].
    measured : array_like (2,), optional
        Unbalance of `before` as a bench found it [kg·m], in place of the one that its masses
        and offsets make.

    Returns
    -------
    Cost
    """
    U = before.unbalance() if measured is None else np.asarray(measured, dtype=float)
    U_after = U + after.unbalance() - before.unbalance()
    added = after.mass - before.mass
    inertia = after.inertia() - before.inertia()
    return Cost(
        mass=added,
        swing_inertia=float(inertia[2, 2]),
        roll_inertia=float(inertia[0, 0]),
        balance_shift=float(after.balance_point - before.balance_point),
        flotation=after.flotation,
        lift_height=lift_height,
        lifting_work=added * STANDARD_GRAVITY * lift_height,
        roll_work_saved=cycle_lift(before, U) - cycle_lift(after, U_after),
        holding_torque_before=catch_torque(before, U),
        holding_torque_after=catch_torque(after, U_after),
    )


def _g(mass):
    return f"{1e3 * mass:.4g} g"


def _mm(length):
    return f"{1e3 * length:.4g} mm"
