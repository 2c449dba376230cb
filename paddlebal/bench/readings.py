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
    each angle by itself. paddle: name of the paddle's data file, if given.
    """

    time: Array
    roll: Array
    support: str
    radius: float
    angle_u: float
    paddle: str = ""


Readings: TypeAlias = LeverReadings | SwingReadings | SwingRecord | AddOnReadings


SWINGS = SwingReadings | SwingRecord
"""Readings of a swing: they tell the roll inertia and not the unbalance."""
