"""Unbalance and roll inertia from filmed swings, bare and with known masses.

One swing tells the stiffness, ``g |U| / I``, and where the paddle comes to rest. A known mass on a
known arm changes both in a known way, so that two swings or more give the unbalance in both
components and the roll inertia, with neither scale nor lever.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray  # noqa: F401 for the hints that FilmsFit inherits
from scipy.optimize import least_squares
from scipy.stats import chi2

from paddlebal.arrays import Array
from paddlebal.bench.doubts import SCATTERED, rest_doubts
from paddlebal.bench.readings import FilmReadings, SwingRecord
from paddlebal.bench.record import RIVAL, UNKNOWNS, fit_swing_record
from paddlebal.bench.result import BenchFit
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, STANDARD_GRAVITY

MASS_U, ARM_U, ANGLE_U = 0.1 * GRAM, 0.3 * MM, 0.5 * DEG
"""Standard uncertainties with which a known mass is weighed and put on: assumed, no source."""


@dataclass(frozen=True, eq=False)
class KnownMass:
    """A mass put on the paddle for a swing; without one the paddle is bare.

    Parameters
    ----------
    mass, arm : float
        kg, and m from the shaft axis to the middle of all that is put on.
    angle : float
        rad, as that of a counterweight.
    inertia : float
        The mass's own, about its middle along the shaft [kg·m²]; m d² / 8 of a cylinder of the
        diameter d that lies along the shaft.
    """

    mass: float = 0.0
    arm: float = 0.0
    angle: float = 0.0
    inertia: float = 0.0

    def __post_init__(self):
        for name in ("mass", "arm", "inertia"):
            if not 0 <= getattr(self, name) < np.inf:
                raise InputError("expected a number, 0 or more", field=name)

    @classmethod
    def cylinder(cls, mass: float, arm: float, angle: float, diameter: float) -> KnownMass:
        """A cylinder along the shaft of a diameter [m]; the rest as in `KnownMass`."""
        return cls(mass, arm, angle, mass * diameter**2 / 8)

    @property
    def vector(self) -> Array:
        """Its unbalance (2,) [kg·m]."""
        return _vector(self.mass, self.arm, self.angle)


BARE = KnownMass()
"""No known mass on the paddle."""


@dataclass(frozen=True, eq=False, kw_only=True)
class FilmsFit(BenchFit):
    """What several filmed swings of one paddle say together; its unbalance is that without the
    known masses, its friction the mean.

    Parameters
    ----------
    unbalance, covariance, friction, zero, residuals, birge, enlarged, spare, doubts, wrong, without
        As in `BenchFit`.
    inertia, inertia_u : float
        Roll inertia about the shaft axis without the known masses, and its standard uncertainty
        [kg·m²].
    camera, camera_u : float
        Roll of the camera, what all recorded angles are too large by, and its standard
        uncertainty [rad].
    moments : ndarray (n,)
        Dry friction moment in each film [N·m].
    together : ndarray (5, 5)
        Covariance of U_y, U_z, the inertia, the camera's roll and the rails' slope.
    """

    inertia: float
    inertia_u: float
    camera: float
    camera_u: float
    moments: Array
    together: Array


UNLIKELY = 0.003
"""Chance of a disagreement at which it is told."""


PLUMB_U = 0.2 * DEG
"""Standard uncertainty of a strip that hangs plumb: assumed, no source."""


TOUCHED = 2 * DEG
"""How far a camera may turn between films before it is told."""


ROLLED = 15 * DEG
"""rad; a camera held by hand is hardly rolled more."""


ALIKE = 3.0
"""Standard uncertainties within which two swings look the same."""


HIDES = 20 * DEG
"""How near to the mark, or opposite it, a mass hides from which end it was filmed."""


WIDEST = 130 * MM
"""Radius of gyration that no paddle exceeds: about its blades' half width and offset."""


TRIALS = 60
"""Sizes of the unbalance from which the fit begins."""


def _vector(mass, arm, angle):
    return mass * arm * np.array([np.cos(angle), np.sin(angle)])


def of_swing(covariance: Array) -> Array:
    """Of a record's covariance (6, 6) that of stiffness, rest and friction (3, 3)."""
    picked = [UNKNOWNS.index(name) for name in ("stiffness", "rest", "friction")]
    return covariance[np.ix_(picked, picked)]


@dataclass(frozen=True, eq=False)
class OneSwing:
    """What one filmed swing says by itself.

    Parameters
    ----------
    stiffness, rest, friction : float
        As in SwingRecordFit.
    covariance : ndarray (3, 3)
        Of these three.
    support : str
        'rollers' or 'rails'.
    radius : float
        Of the shaft [m].
    plumb, plumb_u : float
        By how much the camera is rolled, what the rest angle is too large by, and the standard
        uncertainty of how well that was seen in the film [rad]; 0 and inf without a plumb line.
    told : tuple of str
        What is doubtful about it, in sentences.
    """

    stiffness: float
    rest: float
    friction: float
    covariance: Array
    support: str
    radius: float
    plumb: float = 0.0
    plumb_u: float = math.inf
    told: tuple[str, ...] = ()


def one_swing(
    record: SwingRecord,
    plumb: float = 0.0,
    plumb_u: float = math.inf,
    told: Sequence[str] = (),
) -> OneSwing:
    """Fit the record of a swing by itself, with a friction of its own.

    Parameters
    ----------
    record : SwingRecord
    plumb, plumb_u, told
        As in `OneSwing`.

    Returns
    -------
    OneSwing

    Raises
    ------
    InputError
        If the record is too short.
    """
    fit = fit_swing_record(record)
    strange = fit.birge is not None and fit.birge > SCATTERED
    scatter = (
        [_("The angles leave a free swing's by {birge:.0f} times their uncertainty: did a hand or "
           "the wind touch it, or does the disc slip?").format(birge=fit.birge)]
        if strange else []
    )  # fmt: skip
    return OneSwing(
        fit.stiffness, fit.rest, fit.friction, of_swing(fit.covariance),
        record.support, record.radius, plumb, plumb_u, (*told, *fit.doubts, *scatter),
    )  # fmt: skip


def film_readings(
    swings: Sequence[OneSwing],
    masses: Sequence[KnownMass],
    *,
    paddle_mass: float | None = None,
    from_left: Sequence[bool] | None = None,
    mass_u: float = MASS_U,
    arm_u: float = ARM_U,
    angle_u: float = ANGLE_U,
    camera_u: float | None = None,
    slope_u: float = 0.2 * DEG,
    rest: float | None = None,
    paddle: str = "",
) -> FilmReadings:
    """Swings of one paddle together, what was on it for each, and from where they were filmed.

    Where a plumb line hangs in all films and tells that the camera did not move, they share its
    roll; where it moved, each film is turned by its own.

    Parameters
    ----------
    swings : sequence of OneSwing
    masses : sequence of KnownMass
        What was on the paddle for each, `BARE` for none.
    paddle_mass : float, optional
        Of the bare paddle [kg]; needed on rails.
    from_left : sequence of bool, optional
        Whether each was filmed from the paddle's left end, the paddle turned end for end.
    mass_u, arm_u, angle_u
        As in `FilmReadings`.
    camera_u : float, optional
        Standard uncertainty [rad] of the camera's roll; by default that of the plumb line,
        `PLUMB_U` beside how well it was seen, or inf without one.
    slope_u, rest, paddle
        As in `FilmReadings`.

    Returns
    -------
    FilmReadings

    Raises
    ------
    InputError
        If films, masses and benches don't go together.
    """
    swings, masses = list(swings), list(masses)
    if len(swings) < 2 or len(masses) != len(swings):
        raise InputError(
            _("{films} films and {masses} known masses were given, expected two films or more and "
              "a mass for each, 0 where the paddle was bare").format(
                films=len(swings), masses=len(masses)
            )
        )  # fmt: skip
    benches = {(each.support, each.radius) for each in swings}
    if len(benches) > 1:
        raise InputError(_("the films are of different supports, expected one bench for all"))
    support, radius = benches.pop()
    if support == "rails" and paddle_mass is None:
        raise InputError(_("on rails the paddle's mass matters, expected it"))
    left = np.zeros(len(swings), dtype=bool) if from_left is None else np.array(from_left, bool)
    rests, covariance = (np.array([getattr(each, name) for each in swings])
                         for name in ("rest", "covariance"))  # fmt: skip
    turned, own_u, plumb_u, moved = _plumb(swings)
    covariance[:, 1, 1] += own_u**2
    mirror = np.where(left[:, None], (1, -1, 1), 1)
    return FilmReadings(
        stiffness=np.array([each.stiffness for each in swings]),
        rest_roll=np.where(left, np.pi - (rests - turned), rests - turned),
        friction=np.array([each.friction for each in swings]),
        covariance=covariance * mirror[:, :, None] * mirror[:, None, :],
        mass=np.array([each.mass for each in masses]),
        arm=np.array([each.arm for each in masses]),
        angle=np.array([each.angle for each in masses]),
        inertia=np.array([each.inertia for each in masses]),
        from_left=left, support=support, radius=radius, paddle_mass=paddle_mass or 1.0,
        mass_u=mass_u, arm_u=arm_u, angle_u=angle_u,
        camera_u=plumb_u if camera_u is None else camera_u, slope_u=slope_u, rest=rest,
        told=(*moved, *(
            _("Film {number}: {words}").format(number=i, words=words)
            for i, each in enumerate(swings, 1) for words in each.told
        )),
        paddle=paddle,
    )  # fmt: skip


def _plumb(swings):
    """By how much to turn each film [rad], the standard uncertainty of that for each (n,) and for
    all alike, and sentences if the camera moved."""
    plumb, seen_u = (np.array([getattr(each, name) for each in swings])
                     for name in ("plumb", "plumb_u"))  # fmt: skip
    still = np.zeros(len(swings))
    if np.isinf(seen_u).all():
        return still, still, math.inf, ()
    if np.isinf(seen_u).any():
        raise InputError(
            _("the strip hangs in some films only, expected it in all of them or in none")
        )
    common = math.hypot(PLUMB_U, float(seen_u.max()))
    if np.ptp(plumb) <= 2 * seen_u.max():
        return still + plumb.mean(), still, common, ()
    moved = (
        [_("The camera was turned by {angle:.1f}° between the films.").format(
            angle=np.ptp(plumb) / DEG)]
        if np.ptp(plumb) > TOUCHED else []
    )  # fmt: skip
    return plumb, seen_u, PLUMB_U, moved


def loaded_swing(
    U: ArrayLike,
    inertia: float,
    put: tuple[float, float, float, float],
    paddle_mass: float,
    radius: float,
) -> tuple[float, float, float]:
    """How a paddle with a mass on it swings: stiffness [1/s²], rest angle [rad] and the size of its
    unbalance [kg·m].

    Parameters
    ----------
    U : array_like (2,)
        Unbalance of the bare paddle [kg·m].
    inertia, paddle_mass : float
        Its roll inertia [kg·m²] and mass [kg].
    put : tuple of float
        Mass [kg], arm [m], angle [rad] and own inertia [kg·m²] of what is put on.
    radius : float
        Of a shaft that rolls on rails [m]; 0 on rollers.

    Returns
    -------
    tuple of float
    """
    mass, arm, angle, own = put
    loaded = np.asarray(U) + _vector(mass, arm, angle)
    size, whole = float(magnitude(loaded)), inertia + mass * arm**2 + own
    stiffness = numeric("small_swing")(size, whole, paddle_mass + mass, radius, STANDARD_GRAVITY)
    return float(stiffness), float(rest_angle(loaded)), size


class _Put:
    """What was on the paddle for one swing, and what is expected of that swing."""

    def __init__(self, readings, i):
        self.mass, self.arm = float(readings.mass[i]), float(readings.arm[i])
        self.angle, self.inertia = float(readings.angle[i]), float(readings.inertia[i])
        self.radius = readings.radius if readings.support == "rails" else 0.0
        self.paddle_mass = readings.paddle_mass
        self.way = -1.0 if readings.from_left[i] else 1.0

    def expected(self, unknowns, off=(0.0, 0.0, 0.0)):
        """Stiffness [1/s²] and recorded rest angle [rad]; off: of its mass, arm and angle."""
        *U, inertia, camera, slope = unknowns
        mass, arm, angle = self.mass + off[0], self.arm + off[1], self.angle + off[2]
        put = mass, arm, angle, self.inertia
        stiffness, rest, size = loaded_swing(U, inertia, put, self.paddle_mass, self.radius)
        aslant = slope * (self.paddle_mass + mass) * self.radius / size
        return stiffness, rest + self.way * (camera + aslant)


class _Together:
    """Misfit of all swings, each weighted by its own uncertainty, and of what was stated."""

    def __init__(self, readings):
        self.readings = readings
        self.puts = [_Put(readings, i) for i in range(readings.stiffness.size)]
        self._whiten = [np.linalg.inv(np.linalg.cholesky(each[:2, :2]))
                        for each in readings.covariance]  # fmt: skip
        self.loaded = np.flatnonzero(readings.mass)
        self._u = np.array([readings.mass_u, readings.arm_u, readings.angle_u])
        # The rails' slope counts in its own uncertainty, so that it can be known exactly.
        self.scale = np.array([1e-2, 1e-2, 1e-3, 1.0, max(readings.slope_u, 1e-9)])

    def __call__(self, unknowns):
        of_paddle = unknowns[:5] * self.scale
        by = np.zeros((len(self.puts), 3))
        by[self.loaded] = unknowns[5:].reshape(-1, 3)
        found = []
        for i, put in enumerate(self.puts):
            stiffness, rest = put.expected(of_paddle, by[i] * self._u)
            apart = (
                self.readings.stiffness[i] - stiffness,
                math.remainder(self.readings.rest_roll[i] - rest, 2 * math.pi),
            )
            found += [self._whiten[i] @ apart]
        stated = [*unknowns[5:], unknowns[4]]
        if np.isfinite(self.readings.camera_u):
            stated.append(of_paddle[3] / self.readings.camera_u)
        return np.concatenate([*found, stated])

    def starts(self):
        """Unknowns to begin with, for many sizes of the first swing's unbalance."""
        put, readings = self.puts[0], self.readings
        down = -(readings.rest_roll[0] + np.pi / 2)
        for size in np.geomspace(1e-3, 0.3, TRIALS):
            loaded = size * np.array([np.cos(down), np.sin(down)])
            inertia, *_slopes = numeric("small_swing_inertia")(
                readings.stiffness[0], size, put.paddle_mass + put.mass, put.radius,
                STANDARD_GRAVITY,
            )  # fmt: skip
            inertia -= put.mass * put.arm**2 + put.inertia
            if inertia > 0:
                U = loaded - _vector(put.mass, put.arm, put.angle)
                begin = np.array([*U, inertia, 0.0, 0.0]) / self.scale
                yield np.concatenate([begin, np.zeros(3 * self.loaded.size)])


def fit_films(readings: FilmReadings) -> FilmsFit:
    """Unbalance and roll inertia from filmed swings, at least one with a known mass.

    A mass at the mark or opposite it looks the same from either end of the paddle, so that films
    from the wrong end are then not found out.

    Parameters
    ----------
    readings : FilmReadings

    Returns
    -------
    FilmsFit

    Raises
    ------
    InputError
        If the known masses are all the same, or no unbalance explains the swings.
    """
    added = np.array([_vector(*put) for put in zip(readings.mass, readings.arm, readings.angle,
                                                   strict=True)])  # fmt: skip
    if np.hypot(*(added - added[0]).T).max() < 1e-5:
        raise InputError(
            _("every film has the same mass on the same place: the unbalance shows only by the "
              "difference, so put a known mass on for one of them")
        )  # fmt: skip
    if not readings.paddle_mass > 0:
        raise InputError("expected a number above 0", field="paddle_mass")
    together = _Together(readings)
    begun = sorted(together.starts(), key=lambda each: float(np.sum(together(each) ** 2)))
    found = [least_squares(together, start, x_scale="jac") for start in begun[:8:2]]
    found = [each for each in found if each.x[2] > 0]
    if not found:
        raise InputError(
            _("no unbalance explains these films: look at the masses, their arms and their angles")
        )
    best = min(found, key=lambda each: each.cost)
    covariance = np.linalg.pinv(best.jac.T @ best.jac)[:5, :5]
    covariance *= np.outer(together.scale, together.scale)
    value = best.x[:5] * together.scale
    U = value[:2]
    sizes = magnitude(U + added)
    moments = STANDARD_GRAVITY * readings.friction * sizes
    own = STANDARD_GRAVITY * sizes * np.sqrt(readings.covariance[:, 2, 2])
    friction_u = math.hypot(float(np.std(moments)), float(np.sqrt(np.mean(own**2))))
    whole = np.zeros((3, 3))
    whole[:2, :2], whole[2, 2] = covariance[:2, :2], friction_u**2
    count = readings.stiffness.size
    spare = 2 * count - 4 + bool(np.isfinite(readings.camera_u))
    fit = FilmsFit(
        unbalance=U,
        covariance=whole,
        friction=float(np.mean(moments)),
        zero=None,
        residuals=best.fun[: 2 * count].reshape(count, 2),
        birge=math.sqrt(2 * float(best.cost) / spare) if spare else None,
        spare=spare,
        inertia=float(value[2]),
        inertia_u=math.sqrt(covariance[2, 2]),
        camera=math.remainder(value[3], 2 * math.pi),
        camera_u=math.sqrt(covariance[3, 3]),
        moments=moments,
        together=covariance,
    )
    others = [each.x[:2] * together.scale[:2] for each in found
              if 2 * (each.cost - best.cost) < RIVAL]  # fmt: skip
    doubts = tuple(_doubts(readings, fit, 2 * float(best.cost), others))
    return replace(fit, doubts=doubts)


def _doubts(readings, fit, chi_square, others):
    """What makes the result doubtful, in sentences."""
    yield from readings.told
    if _look_alike(readings):
        yield _("The films with and without the known mass look the same: was it on?")
    if fit.spare and chi2.sf(chi_square, fit.spare) < UNLIKELY:
        yield _(
            "The films disagree by more than their uncertainties allow: look at each mass, its "
            "arm and its angle, and at the end from which it was filmed."
        )
    if abs(fit.camera) > ROLLED:
        yield _(
            "The camera would be rolled by {angle:+.0f}°. Was it filmed from the paddle's right "
            "end, is the mass's angle right, and does the disc's 0° stand at the mark?"
        ).format(angle=fit.camera / DEG)
    if not fit.spare and readings.rest is None:
        yield _(
            "Nothing is to spare, a mistake would not show: hang the strip beside the disc, film "
            "once more with the mass at another angle, or look where the bare paddle comes to "
            "rest."
        )
    apart = 4 * np.sqrt(np.trace(fit.unbalance_covariance))
    for other in others:
        if np.hypot(*(other - fit.unbalance)) > apart:
            words = ", ".join(f"{part / GRAM_MM:,.0f}" for part in other)
            yield _(
                "Another unbalance, ({words}) g·mm, explains the films hardly worse: film once "
                "more with the mass at another angle."
            ).format(words=words)
            break
    if not fit.direction_open:
        yield from rest_doubts(readings.rest, fit.unbalance, fit.polar.direction_u)


def _look_alike(readings):
    """Whether a swing with a known mass is the same as one of the bare paddle."""
    for i in np.flatnonzero(readings.mass):
        for j in np.flatnonzero(readings.mass == 0):
            if readings.from_left[i] != readings.from_left[j]:
                continue
            apart = np.array(
                [
                    readings.stiffness[i] - readings.stiffness[j],
                    math.remainder(readings.rest_roll[i] - readings.rest_roll[j], 2 * math.pi),
                ]
            )
            spread = (readings.covariance[i] + readings.covariance[j])[:2, :2]
            if np.all(np.abs(apart) < ALIKE * np.sqrt(np.diag(spread))):
                return True
    return False


def end_seen(readings: FilmReadings) -> bool:
    """Whether films from the wrong end of the paddle would be found out.

    Parameters
    ----------
    readings : FilmReadings

    Returns
    -------
    bool
        False if every known mass is about at the mark or opposite it, which looks the same from
        either end, or nothing is to spare.
    """
    aside = np.abs(np.sin(readings.angle[readings.mass > 0])) > np.sin(HIDES)
    known = 2 * readings.stiffness.size > 4 or np.isfinite(readings.camera_u)
    return bool(aside.any() and known)


def pace_doubts(fit: FilmsFit, mass: float) -> Sequence[str]:
    """Sentences if a paddle of this mass [kg] cannot have such a roll inertia."""
    radius = math.sqrt(fit.inertia / mass)
    least = float(magnitude(fit.unbalance)) / mass
    if least <= radius <= WIDEST:
        return ()
    return (
        _(
            "By its roll inertia the paddle's mass would be {radius:.0f} mm from the axis, which "
            "cannot be: does the film play slower than it was filmed, was the known mass on, and "
            "is its arm right?"
        ).format(radius=radius / MM),
    )


def best_angle(readings: FilmReadings, fit: FilmsFit, step: float = 15 * DEG) -> float:
    """The angle [rad] at which the heaviest known mass, put on for one more film, tells most.

    Parameters
    ----------
    readings : FilmReadings
    fit : FilmsFit
        Of them.
    step : float
        rad, between the angles that are compared.

    Returns
    -------
    float
        Where it also shows the end from which it was filmed. The new film is taken to be as good
        as the first.
    """
    put = _Put(readings, int(np.argmax(readings.mass * readings.arm)))
    put.way = 1.0
    own_u = np.diag([readings.mass_u, readings.arm_u, readings.angle_u])
    now = np.linalg.pinv(fit.together)
    value = np.array([*fit.unbalance, fit.inertia, fit.camera, 0.0])
    steps = 1e-4 * np.array([*[float(magnitude(fit.unbalance))] * 2, fit.inertia, 1.0, 1.0])

    def left(angle):
        put.angle = angle
        slopes = np.array(
            [
                np.subtract(put.expected(value + move), put.expected(value - move)) / (2 * size)
                for move, size in zip(np.diag(steps), steps, strict=True)
            ]
        )
        errors = np.array(
            [np.subtract(put.expected(value, u), put.expected(value, -u)) / 2 for u in own_u]
        )
        weight = np.linalg.inv(readings.covariance[0][:2, :2] + errors.T @ errors)
        after = np.linalg.pinv(now + slopes @ weight @ slopes.T)
        return float(np.trace(after[:2, :2]))

    angles = np.arange(-np.pi, np.pi, step)
    angles = angles[np.abs(np.sin(angles)) > np.sin(HIDES)]
    return float(angles[np.argmin([left(angle) for angle in angles])])
