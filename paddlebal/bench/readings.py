"""What was read at the bench, in SI."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.language import _

SUPPORTS = ("rollers", "rails")


PULL_DIRECTIONS = ("vertical", "tangential", "hung")


TURNING = {"with": 1.0, "against": -1.0}


SENSES = {sense: word for word, sense in TURNING.items()}
"""The words of TURNING by their number."""


@dataclass(frozen=True, eq=False)
class LeverReadings:
    """Pulls that turn the paddle slowly, the shaft level. All SI; arrays (n,).

    Parameters
    ----------
    roll : ndarray
        Roll angle [rad].
    arm : ndarray
        Arm of the pull from the shaft axis [m]; positive if the pull turns the paddle about
        +x. A vertical pull goes up, on a lever that is clamped level at each reading, forward
        (+) or backward (-). A tangential pull goes level over the top of the shaft, backward
        (+) or forward (-), and its arm is the shaft's radius. So it is for masses hung on a
        string round the shaft, which hang down behind (+) or in front (-).
    pull : ndarray
        What the scale shows, or the weight of the masses hung on [N].
    turning : ndarray
        +1 while the paddle turns with the pull, -1 while it turns against it.
    support : str
        'rollers', on which the shaft axis stays in place, or 'rails', on which it rolls.
    pull_direction : str
        'vertical', 'tangential' or 'hung'.
    radius : float
        Shaft radius [m].
    clamp_mass, clamp_arm : float
        Mass [kg] of lever and clamp, and the distance [m] of its centre from the shaft axis
        towards the pull.
    scale_u, angle_u : float
        Standard uncertainty of each pull [N], and of each angle [rad] as it was set: readings
        that follow each other at one angle share its error.
    arm_u, angle_zero_u, clamp_arm_u : float
        Standard uncertainty, common to all readings, of the arm [m] from the shaft axis, of
        what the angles count from, such as a pointer that is not plumb [rad], and of the
        clamp's arm [m].
    gain_u : float
        Standard uncertainty of the scale's gain, a share of the pull, common to all readings.
    zero_u : float, optional
        Standard uncertainty of a scale that was set to zero [N]; by default what it shows
        without a pull is an unknown of the fit.
    rest : float, optional
        Roll angle [rad] at which the paddle comes to rest by itself, from one look.
    row : ndarray (n,), optional
        Row of the file in which each reading stands.
    left_out : tuple of str
        Readings that were left out, in words.
    paddle : str
        Name of the paddle's data file, if given.
    """

    roll: Array
    arm: Array
    pull: Array
    turning: Array
    support: str
    pull_direction: str
    radius: float
    clamp_mass: float
    clamp_arm: float
    scale_u: float
    angle_u: float
    arm_u: float
    angle_zero_u: float
    clamp_arm_u: float
    gain_u: float = 0.0
    zero_u: float | None = None
    rest: float | None = None
    row: Array | None = None
    left_out: tuple[str, ...] = ()
    paddle: str = ""

    def without(self, left_out: NDArray[np.bool_]) -> LeverReadings:
        """The readings but those that an array of bool (n,) leaves out."""
        columns = {name: getattr(self, name)[~left_out] for name in _COLUMNS}
        row = None if self.row is None else self.row[~left_out]
        gone = zip(self.row_names(left_out), self.roll[left_out], strict=True)
        words = tuple(
            _("{name} at {angle:.0f}°").format(name=name, angle=math.degrees(roll))
            for name, roll in gone
        )
        return replace(self, row=row, left_out=self.left_out + words, **columns)

    def row_names(self, chosen: NDArray[np.bool_]) -> list[str]:
        """How chosen readings (n,) are called: by their row, or by their number.

        Where a row holds two readings, the sense of turning tells them apart.
        """
        if self.row is None:
            return [
                _("reading {number}").format(number=number) for number in np.flatnonzero(chosen) + 1
            ]
        if np.unique(self.row).size == self.row.size:
            return [_("row {number:.0f}").format(number=number) for number in self.row[chosen]]
        return [
            (
                _("row {number:.0f}, turning with")
                if sense > 0
                else _("row {number:.0f}, turning against")
            ).format(number=number)
            for number, sense in zip(self.row[chosen], self.turning[chosen], strict=True)
        ]


_COLUMNS = ("roll", "arm", "pull", "turning")


@dataclass(frozen=True, eq=False)
class SwingReadings:
    """Timed swings about rest. All SI; arrays (n,).

    amplitude [rad]: the mean of the first and the last amplitude, from rest to the turning
    point, or the first one if that alone was read. periods: how many were timed. time [s] they
    took. time_u [s], amplitude_u [rad]: standard uncertainty of each time and of each of these
    amplitudes.
    """

    amplitude: Array
    periods: Array
    time: Array
    support: str
    time_u: float
    amplitude_u: float
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class AddOnReadings:
    """Trials in which a mass on an arm made the paddle stay at any angle. SI; arrays (n,).

    mass [kg] at the distance arm [m] from the shaft axis, in the direction angle [rad] from
    +y toward +z in body axes. mass_u [kg], arm_u [m], angle_u [rad]: standard uncertainties,
    common to all trials. every_side: whether the trials came to the balance from every side.
    rest: as for `LeverReadings`.
    """

    mass: Array
    arm: Array
    angle: Array
    mass_u: float
    arm_u: float
    angle_u: float
    every_side: bool = False
    rest: float | None = None
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class SwingRecord:
    """Roll angle against time of one swing, from a video or a logger. SI; arrays (n,).

    time [s] grows and need not be even. roll [rad] as everywhere, or from any other zero.
    support: 'rollers', on which the shaft axis stays in place, or 'rails', on which it rolls.
    radius: of the shaft [m]; it matters on rails only. angle_u [rad]: standard uncertainty of
    each angle by itself, one for all or (n,). paddle: name of the paddle's data file, if given.
    """

    time: Array
    roll: Array
    support: str
    radius: float
    angle_u: float | Array
    paddle: str = ""


@dataclass(frozen=True, eq=False)
class FilmReadings:
    """Swings of one paddle, bare and with known masses on it. All SI; arrays (n,), one each swing.

    Parameters
    ----------
    stiffness, rest_roll, friction : ndarray
        As in SwingRecordFit: g |U| over the moment of inertia [1/s²], the recorded angle at
        which the unbalance points down [rad], dry friction moment over g |U|.
    covariance : ndarray (n, 3, 3)
        Of these three.
    mass, arm, angle, inertia : ndarray
        Of the known mass: kg, m from the shaft axis, rad as that of a counterweight, and its own
        moment of inertia about its middle along the shaft [kg·m²]. Mass 0: the bare paddle.
    from_left : ndarray of bool
        Whether the paddle lay turned end for end, so that the camera saw its left end.
    support : str
        'rollers' or 'rails'.
    radius : float
        Of the shaft [m]; it matters on rails only.
    paddle_mass : float
        Of the bare paddle [kg]; it matters on rails only.
    mass_u, arm_u, angle_u : float
        Standard uncertainties of each known mass [kg, m, rad].
    camera_u : float
        Standard uncertainty [rad] of what all angles count from: of a plumb line in view, or inf
        where the camera's roll is an unknown.
    slope_u : float
        Standard uncertainty of the rails' level, across the shaft [rad].
    rest : float, optional
        As for `LeverReadings`: where the bare paddle comes to rest, from one look.
    told : tuple of str
        What was doubtful about the films.
    paddle : str
        Name of the paddle's data file, if given.
    """

    stiffness: Array
    rest_roll: Array
    friction: Array
    covariance: Array
    mass: Array
    arm: Array
    angle: Array
    inertia: Array
    from_left: NDArray[np.bool_]
    support: str
    radius: float
    paddle_mass: float
    mass_u: float
    arm_u: float
    angle_u: float
    camera_u: float = math.inf
    slope_u: float = math.radians(0.2)
    rest: float | None = None
    told: tuple[str, ...] = ()
    paddle: str = ""


Readings: TypeAlias = LeverReadings | SwingReadings | SwingRecord | AddOnReadings | FilmReadings


SWINGS = SwingReadings | SwingRecord
"""Readings of one swing: they tell the roll inertia and not the unbalance."""
