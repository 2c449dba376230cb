"""From an unbalance and limits to a counterweight: mass, arm, angle, place along the shaft."""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from paddlebal.arrays import Array, Side
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.limits import Holder, Limits, material_densities
from paddlebal.outside import AnyPaddle
from paddlebal.paddle import SIDES, Counterweight, KeepOut, Paddle
from paddlebal.unbalance import magnitude, weight_errors
from paddlebal.units import GRAM_MM, turn_deg


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
    holder : Holder, optional
        What holds it.
    """

    mass: float
    arm: float
    angle: float
    x: float
    residual: Array
    density: float
    diameter: float
    length: float
    holder: Holder | None = None

    @property
    def counterweights(self) -> tuple[Counterweight, ...]:
        """The piece, and its holder if there is one, as parts of a paddle."""
        if self.holder is None:
            return (self.counterweight,)
        mass, arm, lead, density = astuple(self.holder)
        return self.counterweight, Counterweight(mass, arm, self.angle + lead, self.x, density)

    @property
    def counterweight(self) -> Counterweight:
        """The piece as a part of a paddle."""
        return Counterweight(self.mass, self.arm, self.angle, self.x, self.density)

    def __str__(self):
        side, off = "right" if self.x > 0 else "left", round(1e3 * abs(self.x))
        place = (
            _("{off} mm {side} of the middle").format(off=off, side=_(side))
            if off
            else _("at the middle")
        )
        return _(
            "{mass:.1f} g on an arm of {arm:.1f} mm, at {angle:.1f} degrees, {place}; leaves "
            "{residual:.0f} g·mm"
        ).format(
            mass=1e3 * self.mass,
            arm=1e3 * self.arm,
            angle=turn_deg(self.angle),
            place=place,
            residual=magnitude(self.residual) / GRAM_MM,
        )

    @property
    def swing_inertia(self) -> float:
        """What it adds to I_zz about O [kg·m²]."""
        return self.mass * (self.x**2 + (self.arm * math.cos(self.angle)) ** 2)

    def covariance(self, mass_u: float, arm_u: float, angle_u: float) -> Array:
        """Covariance (2, 2) [(kg·m)²] of the unbalance of the piece as it is fitted.

        From the standard uncertainties with which the workshop keeps its mass [kg], arm [m] and
        angle [rad], to first order; `placement_tolerance` shows what they do at full length.
        """
        errors = weight_errors(self.mass, self.arm, self.angle, mass_u, arm_u, angle_u)
        for each in self.counterweights[1:]:  # weighed, and turned as one with the piece
            errors += weight_errors(each.mass, each.arm, each.angle, 0.0, 0.0, angle_u)
        return errors.T @ errors

    def balance_shift(self, paddle: AnyPaddle) -> float:
        """How far it moves the paddle's balance point along x [m]."""
        return paddle.with_counterweights(*self.counterweights).balance_point - paddle.balance_point


def place_counterweight(
    U: ArrayLike,
    limits: Limits,
    *,
    mass: float | None = None,
    arm: float | None = None,
    x: float | None = None,
    paddle: AnyPaddle | None = None,
) -> Placement:
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
    size, lead = _beside_the_holder(float(magnitude(U)), limits.holder)
    mass, arm = _mass_and_arm(size, limits, mass, arm)
    angle = _whole_steps(math.atan2(-U[1], -U[0]) - lead, limits.angle_step)
    diameter = float(limits.diameter(mass))
    length = limits.slenderness * diameter
    along = paddle.mass * paddle.balance_point if paddle is not None else 0.0
    added = mass + (limits.holder.mass if limits.holder else 0.0)
    place = _place(limits, length, 0.0 - along / added if added else 0.0, x)
    piece = Placement(mass, arm, angle, place, U, limits.density, diameter, length, limits.holder)
    return replace(piece, residual=U + sum(each.unbalance for each in piece.counterweights))


def _beside_the_holder(size, holder):
    """Mass times arm [kg·m] that the piece itself needs, and the angle [rad] from its direction
    to that of piece and holder together."""
    if holder is None:
        return size, 0.0
    along, across = (holder.mass * holder.arm * f(holder.angle) for f in (math.cos, math.sin))
    if abs(across) > size or math.sqrt(size**2 - across**2) < along:
        raise InputError(
            _("the holder alone, {mass} at {arm}, is more than the unbalance needs").format(
                mass=_g(holder.mass), arm=_mm(holder.arm)
            )
        )
    return math.sqrt(size**2 - across**2) - along, math.asin(across / size) if size else 0.0


def leaving_less(
    U: ArrayLike, limits: Limits, chosen: Placement, paddle: AnyPaddle | None = None
) -> Placement | None:
    """The lightest counterweight that leaves less than half of what a chosen one leaves.

    Coarse steps can make the lightest one leave more than a heavier one would.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance vector [kg·m] in body axes.
    limits : Limits
    chosen : Placement
        By the same limits.
    paddle : AnyPaddle, optional
        As for `place_counterweight`.

    Returns
    -------
    Placement or None
        None if there is none, or the arm has no steps.
    """
    step = limits.arm_step
    if not step:
        return None
    left = float(magnitude(chosen.residual))
    for count in range(_down(chosen.arm / step), 0, -1):
        try:
            other = place_counterweight(U, limits, arm=count * step, paddle=paddle)
        except InputError:
            continue
        if magnitude(other.residual) < left / 2:
            return other
    return None


def _whole_steps(value, step, rounding=round):
    return step * rounding(value / step) if step else value


def _up(count):
    return math.ceil(count - 1e-9)


def _down(count):
    return math.floor(count + 1e-9)


def _mass_and_arm(size, limits, mass, arm):
    """Mass and arm of product `size`, checked against the limits."""
    if mass is not None and arm is not None:
        raise InputError(_("prescribe the mass or the arm, not both: their product is fixed"))
    for name, value in (("mass", mass), ("arm", arm)):
        if value is not None and not 0 < value < math.inf:
            raise InputError(
                _("the prescribed {name} is {value}, expected it above 0").format(
                    name=name, value=value
                )
            )
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
            _("{mass} needs an arm of {arm}, the limit is {limit}").format(
                mass=_g(mass), arm=_mm(arm), limit=_mm(limits.arm[1])
            )
        )
    if mass > limits.mass[1] * slack:
        kind = _("the longest arm") if math.isclose(arm, limits.arm[1]) else _("an arm")
        raise InputError(
            _("needs {mass} at {kind} of {arm}, the limit is {limit}").format(
                mass=_g(mass), kind=kind, arm=_mm(arm), limit=_g(limits.mass[1])
            )
        )
    if mass * slack < limits.mass[0]:
        raise InputError(
            _("needs only {mass} at an arm of {arm}, the least is {limit}").format(
                mass=_g(mass), arm=_mm(arm), limit=_g(limits.mass[0])
            )
        )
    least = limits.least_arm(mass)
    if arm * slack < least:
        raise InputError(
            _(
                "a piece of {mass} would sit at an arm of {arm}, the least is {least} (the "
                "shaft's radius and half the piece, or the least arm stated)"
            ).format(mass=_g(mass), arm=_mm(arm), least=_mm(least))
        )


def _place(limits, length, ideal, prescribed):
    """Free place along the shaft nearest to the ideal one, or the prescribed one if free."""
    free = limits.free_places(length)
    if not free:
        raise InputError(
            _(
                "a piece {length} long finds no free place on the shaft between {start} and {stop} "
                "outside the keep-outs"
            ).format(length=_mm(length), start=_mm(limits.x[0]), stop=_mm(limits.x[1]))
        )
    wanted = ideal if prescribed is None else prescribed
    nearest = [min(max(wanted, low), high) for low, high in free]
    best = min(nearest, key=lambda x: (round(abs(x - wanted), 12), round(abs(x), 12), -x))
    if prescribed is not None and abs(best - prescribed) > 1e-9:
        raise InputError(
            _(
                "a piece {length} long does not fit at x = {prescribed}: {obstacle} is in the "
                "way, the nearest free place is {best}"
            ).format(
                length=_mm(length),
                prescribed=_mm(prescribed),
                obstacle=_in_the_way(limits, length, prescribed),
                best=_mm(best),
            )
        )
    return best


def _in_the_way(limits, length, x):
    """Names of the keep-outs that a piece at x would reach into, or the end of the free shaft."""
    low, high = x - length / 2, x + length / 2
    names = [f"'{k.name}'" for k in limits.keep_outs if k.start < high and low < k.stop]
    return _(" and ").join(names) or _("the end of the free shaft")


def place_pair(
    U: ArrayLike,
    limits: Limits,
    *,
    mass: float | None = None,
    arm: float | None = None,
    paddle: AnyPaddle | None = None,
) -> tuple[Placement, ...]:
    """Two equal counterweights that balance U, one either side of where a single one would go.

    For a middle that must stay free, such as a ferrule: a single piece then sits off-centre and
    moves the balance point, a pair need not. Where the middle is free the two sit side by side.
    mass [kg] is that of both together. Parameters, order of choice and errors otherwise as for
    `place_counterweight`.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance [kg·m].
    limits : Limits
    mass, arm : float, optional
        kg of both together, m.
    paddle : Paddle, optional

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
    along = paddle.mass * paddle.balance_point if paddle is not None else 0.0
    added = 2 * sum(each.mass for each in one.counterweights)
    ideal = 0.0 - along / added if added else 0.0
    split = replace(each, keep_outs=(*each.keep_outs, KeepOut(_("between the pair"), ideal, ideal)))
    free = split.free_places(one.length)
    left = max((high for low, high in free if high <= ideal), default=None)
    right = min((low for low, high in free if low >= ideal), default=None)
    if left is None or right is None:
        raise InputError(
            _(
                "a pair of pieces {length} long finds no free places either side of x = {ideal}"
            ).format(length=_mm(one.length), ideal=_mm(ideal))
        )
    if ideal - left < right - ideal:
        left = _place(split, one.length, 2 * ideal - right, None)
    else:
        right = _place(split, one.length, 2 * ideal - left, None)
    return tuple(replace(one, x=x, residual=2 * one.residual) for x in (left, right))


LONGEST_FITTED, HEAVIEST_FITTED = 0.17, 0.38
"""m and kg; the most that `fitted_pair` allows, more than a workshop would."""


def fitted_pair(paddle: Paddle, mass: float, share: float = 1.0) -> list[Counterweight]:
    """Counterweights for a share of the unbalance, one either side of the balancing place.

    Both together would have `mass` [kg] for the whole unbalance, which sets their arm; a share
    keeps the arm and takes that share of the mass. No counterweights for a share of 0.

    Parameters
    ----------
    paddle : Paddle
    mass : float
        kg.
    share : float
        0 to 1.

    Returns
    -------
    list of Counterweight
    """
    U = paddle.unbalance()
    if share == 0:
        return []
    limits = Limits.for_paddle(paddle, arm=(0, LONGEST_FITTED), mass=(0, HEAVIEST_FITTED))
    pair = place_pair(share * U, limits, arm=float(magnitude(U)) / mass, paddle=paddle)
    return [piece.counterweight for piece in pair]


def half_unbalance(paddle: Paddle, side: Side) -> Array:
    """Unbalance (2,) [kg·m] of one half: its blade and the counterweights that turn with it.

    Parameters
    ----------
    paddle : Paddle
    side : {'left', 'right'}

    Returns
    -------
    ndarray (2,)
        kg·m in body axes.
    """
    total = getattr(paddle, side).mass * paddle.blade_centre(side)[1:]
    for weight in paddle.counterweights:
        if paddle.half(weight.x) == side:
            total += weight.unbalance
    return total


def split_by_halves(paddle: Paddle, limits: Limits) -> tuple[Placement, ...]:
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
    weighted = paddle.with_counterweights(*placed[first].counterweights)
    placed[other] = place_counterweight(
        half_unbalance(paddle, other), halves[other], paddle=weighted
    )
    return tuple(placed[side] for side in SIDES)


@dataclass(frozen=True, eq=False)
class Trade:
    """Mass against arm, and the size of the piece in each material.

    arm and mass are (n,) [m, kg]; diameter, length and clearance [m] are (k, n), one row for
    each of the k materials. clearance is the gap from the shaft to the piece: where it is
    negative the piece does not fit.
    """

    materials: tuple[str, ...]
    arm: Array
    mass: Array
    diameter: Array
    length: Array
    clearance: Array


def mass_against_arm(U: ArrayLike, limits: Limits, arms: ArrayLike | None = None) -> Trade:
    """Mass against arm at the fixed product ``|U|``, with the size of the piece in each material.

    arms [m] default to 101 from the shaft's surface to the greatest arm of the limits.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance [kg·m].
    limits : Limits
    arms : array_like (n,), optional
        m.

    Returns
    -------
    Trade
    """
    if arms is None:
        arms = np.linspace(max(limits.shaft_radius, limits.arm[0]), limits.arm[1], 101)
    arm = np.asarray(arms, dtype=float)
    mass = magnitude(U) / arm
    names = tuple(material_densities())
    diameter = np.array([replace(limits, material=name).diameter(mass) for name in names])
    clearance = arm - limits.shaft_radius - diameter / 2
    return Trade(names, arm, mass, diameter, limits.slenderness * diameter, clearance)


def _g(mass):
    return f"{1e3 * mass:.4g} g"


def _mm(length):
    return f"{1e3 * length:.4g} mm"
