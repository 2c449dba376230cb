"""Unbalance and roll inertia from recorded swings, bare and with known masses.

One swing tells the stiffness, ``g |U| / I``, and where the paddle comes to rest. A known mass on a
known arm changes both in a known way, so that two records or more give the unbalance in both
components and the roll inertia, with neither scale nor lever.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import chi2

from paddlebal.arrays import Array
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.record import RIVAL, UNKNOWNS, SwingRecordFit, fit_swing_record
from paddlebal.compiled import numeric
from paddlebal.errors import InputError
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, STANDARD_GRAVITY


@dataclass(frozen=True, eq=False)
class KnownMass:
    """A mass put on the paddle for a record; without one the paddle is bare.

    Parameters
    ----------
    mass, arm : float
        kg, and m from the shaft axis.
    angle : float
        rad, as that of a counterweight.
    inertia : float
        The mass's own, about its middle along the shaft [kg·m²]; m d² / 8 of a cylinder of the
        diameter d that lies along the shaft.
    mass_u, arm_u, angle_u : float
        Standard uncertainties [kg, m, rad].
    """

    mass: float = 0.0
    arm: float = 0.0
    angle: float = 0.0
    inertia: float = 0.0
    mass_u: float = 0.1 * GRAM
    arm_u: float = 0.3 * MM
    angle_u: float = 0.5 * DEG

    def __post_init__(self):
        for name in ("mass", "arm", "inertia"):
            if not 0 <= getattr(self, name) < np.inf:
                raise InputError("expected a number, 0 or more", field=name)
        for name in ("mass_u", "arm_u", "angle_u"):
            if not 0 < getattr(self, name) < np.inf:
                raise InputError("expected a number above 0", field=name)


BARE = KnownMass()
"""No known mass on the paddle."""


@dataclass(frozen=True, eq=False)
class FilmsFit:
    """What several recorded swings of one paddle say together.

    Parameters
    ----------
    unbalance : ndarray (2,)
        kg·m, without the known masses.
    inertia : float
        Roll inertia [kg·m²] about the shaft axis, without them.
    camera : float
        Roll of the camera [rad]: what all recorded angles are too large by.
    covariance : ndarray (4, 4)
        Of U_y, U_z, the inertia and the camera's roll.
    records : tuple of SwingRecordFit
    masses : tuple of KnownMass
    chi_square, freedom : float, int
        By how much the records disagree, and how many more they say than is needed.
    other : ndarray (2,), optional
        Another unbalance that explains the records hardly worse.
    """

    unbalance: Array
    inertia: float
    camera: float
    covariance: Array
    records: tuple[SwingRecordFit, ...]
    masses: tuple[KnownMass, ...]
    chi_square: float
    freedom: int
    other: Array | None = None

    @property
    def uncertainties(self) -> Array:
        """Standard uncertainties of U_y, U_z [kg·m], the inertia [kg·m²] and the camera [rad]."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def friction_moments(self) -> tuple[float, ...]:
        """Dry friction moment [N·m] of each record."""
        sizes = (float(magnitude(self.unbalance + _added(each))) for each in self.masses)
        pairs = zip(self.records, sizes, strict=True)
        return tuple(each.friction * STANDARD_GRAVITY * size for each, size in pairs)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What makes the result doubtful, a tuple of sentences."""
        told = [f"Record {i}: {each}" for i, fit in enumerate(self.records, 1)
                for each in fit.doubts]  # fmt: skip
        if self.freedom and chi2.sf(self.chi_square, self.freedom) < UNLIKELY:
            told.append(
                "The records disagree by more than their uncertainties allow: look at each mass, "
                "its arm and its angle, and at the end from which it was filmed."
            )
        if abs(self.camera) > ROLLED:
            told.append(
                f"The camera would be rolled by {self.camera / DEG:+.0f}°. Was it filmed from the "
                "paddle's right end, is the mass's angle right, and does roll 0 stand where the "
                "control hand's power face is upright?"
            )
        if self.other is not None:
            words = ", ".join(f"{part / GRAM_MM:,.0f}" for part in self.other)
            told.append(
                f"Another unbalance, ({words}) g·mm, explains the records hardly worse: record one "
                "more with the mass at another angle."
            )
        return tuple(told)


UNLIKELY = 0.003
"""Chance of a disagreement at which it is told."""


ROLLED = 15 * DEG
"""rad; a camera held by hand is hardly rolled more."""


TRIALS = 60
"""Sizes of the unbalance from which the fit begins."""


def _vector(mass, arm, angle):
    return mass * arm * np.array([np.cos(angle), np.sin(angle)])


def _added(known):
    return _vector(known.mass, known.arm, known.angle)


def _expected(U, inertia, put, mass, radius):
    """Stiffness [1/s²] and rest angle [rad] of the paddle with a mass, arm, angle and own inertia
    put on it."""
    added, arm, angle, own = put
    loaded = U + _vector(added, arm, angle)
    whole = inertia + added * arm**2 + own
    size = magnitude(loaded)
    stiffness = numeric("small_swing")(size, whole, mass + added, radius, STANDARD_GRAVITY)
    return float(stiffness), float(rest_angle(loaded))


def _covariance(record):
    """Covariance (2, 2) of a record's stiffness and rest angle."""
    picked = [UNKNOWNS.index(name) for name in ("stiffness", "rest")]
    return record.covariance[np.ix_(picked, picked)]


class _Together:
    """Misfit of all records, each weighted by its own uncertainty, and of what was stated."""

    def __init__(self, records, masses, mass, camera_u):
        self._records, self._masses, self._mass, self._camera_u = records, masses, mass, camera_u
        self._whiten = [np.linalg.inv(np.linalg.cholesky(_covariance(each))) for each in records]
        self.loaded = [i for i, each in enumerate(masses) if each.mass]
        self.scale = np.array([1e-2, 1e-2, 1e-3, 1.0])

    def __call__(self, unknowns):
        U_y, U_z, inertia, camera = unknowns[:4] * self.scale
        moved = dict(zip(self.loaded, unknowns[4:].reshape(-1, 3), strict=True))
        found = []
        for i, (record, known) in enumerate(zip(self._records, self._masses, strict=True)):
            by = moved.get(i, np.zeros(3))
            put = (
                known.mass + by[0] * known.mass_u,
                known.arm + by[1] * known.arm_u,
                known.angle + by[2] * known.angle_u,
                known.inertia,
            )
            stiffness, rest = _expected(
                np.array([U_y, U_z]), inertia, put, self._mass, record.radius
            )
            apart = (
                record.stiffness - stiffness,
                math.remainder(record.rest - rest - camera, 2 * math.pi),
            )
            found += [*(self._whiten[i] @ apart), *(by if i in moved else ())]
        if np.isfinite(self._camera_u):
            found.append(camera / self._camera_u)
        return np.array(found)

    def starts(self):
        """Unknowns to begin with, for many sizes of the first record's unbalance."""
        record, known = self._records[0], self._masses[0]
        down = -(record.rest + np.pi / 2)
        for size in np.geomspace(1e-3, 0.3, TRIALS):
            loaded = size * np.array([np.cos(down), np.sin(down)])
            inertia, *_ = numeric("small_swing_inertia")(
                record.stiffness, size, self._mass + known.mass, record.radius, STANDARD_GRAVITY
            )
            inertia -= known.mass * known.arm**2 + known.inertia
            if inertia > 0:
                U = loaded - _added(known)
                begin = np.array([*U, inertia, 0.0]) / self.scale
                yield np.concatenate([begin, np.zeros(3 * len(self.loaded))])


def fit_films(
    records: Sequence[SwingRecord],
    masses: Sequence[KnownMass],
    mass: float,
    camera_u: float = np.inf,
) -> FilmsFit:
    """Unbalance and roll inertia from recorded swings, at least one with a known mass.

    Each record is fitted by itself, with a friction of its own; their stiffnesses and rest angles
    are then explained together. A mass straight up or down looks the same from either end of the
    paddle, so that a record from the left end is not found out.

    Parameters
    ----------
    records : sequence of SwingRecord
        All filmed by one camera that did not move, from the paddle's right end.
    masses : sequence of KnownMass
        What was on the paddle for each, `BARE` for none.
    mass : float
        The bare paddle's [kg]; it matters on rails only.
    camera_u : float
        Standard uncertainty [rad] of the camera's roll, with a plumb line in view; by default
        it is unknown.

    Returns
    -------
    FilmsFit

    Raises
    ------
    InputError
        If there are fewer than two records, or as many masses as records are missing, or the
        masses are all the same.
    """
    records, masses = list(records), list(masses)
    if len(records) < 2 or len(masses) != len(records):
        raise InputError(
            f"{len(records)} records and {len(masses)} known masses were given, expected two "
            "records or more and a mass for each, 0 where the paddle was bare"
        )
    loads = [_added(each) for each in masses]
    if max(float(magnitude(one - loads[0])) for one in loads) < 1e-5:
        raise InputError(
            "every record has the same mass on the same place: the unbalance shows only by the "
            "difference, so put a known mass on for one of them"
        )
    if not mass > 0:
        raise InputError("expected a number above 0", field="mass")
    fits = tuple(fit_swing_record(each) for each in records)
    together = _Together(fits, masses, mass, camera_u)
    begun = sorted(together.starts(), key=lambda each: float(np.sum(together(each) ** 2)))
    found = [least_squares(together, start, x_scale="jac") for start in begun[:8:2]]
    found = [each for each in found if each.x[2] > 0]
    if not found:
        raise InputError("no unbalance explains these records: look at the masses and their arms")
    best = min(found, key=lambda each: each.cost)
    inverse = np.linalg.pinv(best.jac.T @ best.jac)[:4, :4]
    covariance = inverse * np.outer(together.scale, together.scale)
    value = best.x[:4] * together.scale
    rivals = [
        each.x[:2] * together.scale[:2]
        for each in found
        if 2 * (each.cost - best.cost) < RIVAL
        and np.hypot(*(each.x[:2] * together.scale[:2] - value[:2]))
        > 4 * np.sqrt(np.trace(covariance[:2, :2]))
    ]
    freedom = 2 * len(records) - 4 + bool(np.isfinite(camera_u))
    return FilmsFit(
        value[:2],
        float(value[2]),
        math.remainder(value[3], 2 * math.pi),
        covariance,
        fits,
        tuple(masses),
        2 * float(best.cost),
        freedom,
        rivals[0] if rivals else None,
    )


def best_angle(fit: FilmsFit, known: KnownMass, mass: float, step: float = 15 * DEG) -> float:
    """The angle [rad] at which a known mass, put on for one more record, would tell most.

    Parameters
    ----------
    fit : FilmsFit
    known : KnownMass
        Its mass and arm; its angle is sought.
    mass : float
        kg, of the bare paddle.
    step : float
        rad, between the angles that are compared.

    Returns
    -------
    float
        The new record is taken to be as good as the first.
    """
    first = fit.records[0]
    weight = np.linalg.inv(_covariance(first))
    now = np.linalg.inv(fit.covariance)
    value = np.array([*fit.unbalance, fit.inertia, fit.camera])

    def left(angle):
        def seen(unknowns):
            put = known.mass, known.arm, angle, known.inertia
            stiffness, rest = _expected(unknowns[:2], unknowns[2], put, mass, first.radius)
            return np.array([stiffness, rest + unknowns[3]])

        steps = 1e-4 * np.array([np.hypot(*value[:2])] * 2 + [value[2], 1.0])
        slopes = [
            (seen(value + move) - seen(value - move)) / (2 * size)
            for move, size in zip(np.diag(steps), steps, strict=True)
        ]
        after = np.linalg.inv(now + np.array(slopes) @ weight @ np.transpose(slopes))
        return float(np.trace(after[:2, :2]))

    angles = np.arange(-np.pi, np.pi, step)
    return float(angles[np.argmin([left(angle) for angle in angles])])
