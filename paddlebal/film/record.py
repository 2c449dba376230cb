"""From a film to the record of its free swing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.films import OneSwing, one_swing
from paddlebal.bench.readings import SwingRecord
from paddlebal.errors import InputError
from paddlebal.film.roll import FilmedRoll, filmed_roll
from paddlebal.film.search import Search, Sightings
from paddlebal.film.video import SLOWEST
from paddlebal.language import _
from paddlebal.units import DEG, MM

HELD, FREE = 0.97, 0.9
"""Shares of the greatest angle from rest: above the first the hand may still hold the paddle, below
the second it is off."""


SMALLEST = 4 * DEG
"""Angle from rest below which a swing is not followed: there friction is another than in motion."""


@dataclass(frozen=True, eq=False)
class FilmedSwing:
    """The free swing in a film.

    Parameters
    ----------
    record : SwingRecord
    filmed : FilmedRoll
    doubts : tuple of str
    """

    record: SwingRecord
    filmed: FilmedRoll
    doubts: tuple[str, ...]

    def fitted(self) -> OneSwing:
        """The swing as `one_swing` fits it, with the film's plumb line and doubts."""
        return one_swing(self.record, self.filmed.plumb, self.filmed.plumb_u, self.doubts)


def film_record(
    path: str | Path,
    support: str = "rollers",
    radius: float = 15 * MM,
    frame_rate: float | None = None,
    track: Callable[[Iterable[float]], Iterable[float]] = iter,
) -> FilmedSwing:
    """The record of the free swing in a film of the printed target.

    Parameters
    ----------
    path : str or Path
        MP4 or MOV, filmed along the shaft from the paddle's right end.
    support : str
        'rollers' or 'rails'.
    radius : float
        Of the shaft [m].
    frame_rate : float, optional
        Frames a second at which it was filmed, if the film plays slower.
    track : callable
        Wraps the shares of the film that are done, to show progress; such as tqdm.

    Returns
    -------
    FilmedSwing

    Raises
    ------
    InputError
        One sentence on a file that is no film, a film without the target, and whatever else
        makes it useless.
    """
    search = Search(path)
    for _share in track(search):
        pass
    return swing_from(search.found, support, radius, frame_rate)


def swing_from(
    sightings: Sightings, support: str, radius: float, frame_rate: float | None = None
) -> FilmedSwing:
    """As `film_record`, from what was seen in a film."""
    sightings, doubts = _in_true_time(sightings, frame_rate)
    if sightings.rate < SLOWEST:
        raise InputError(
            _(
                "holds {rate:.0f} frames a second, expected {least:.0f} or more to follow a swing"
            ).format(rate=sightings.rate, least=SLOWEST),
            file=sightings.name,
        )
    filmed = filmed_roll(sightings, support)
    free = free_swing(filmed.time, filmed.roll)
    if not free.any():
        raise InputError(_("shows no swing: the disc hardly turns"), file=sightings.name)
    record = SwingRecord(
        filmed.time[free] - filmed.time[free][0], filmed.roll[free], support, radius,
        filmed.roll_u[free],
    )  # fmt: skip
    return FilmedSwing(record, filmed, (*doubts, *filmed.doubts))


def _in_true_time(sightings, frame_rate):
    """The sightings at the rate at which they were filmed, and a sentence if that is open."""
    if frame_rate is not None:
        stretch = sightings.rate / frame_rate
        true = replace(sightings, time=sightings.time * stretch, rate=frame_rate)
        return true, ()
    said = sightings.filmed_at
    if said is None or abs(said / sightings.rate - 1) < 0.1:
        return sightings, ()
    return sightings, (
        _(
            "The film plays at {rate:.0f} frames a second, its file says it was filmed at "
            "{said:.0f}: is it slow motion? State the rate at which it was filmed."
        ).format(rate=sightings.rate, said=said),
    )


def free_swing(time: Array, roll: Array) -> Array:
    """Which angles (n,) belong to the free swing: after the hand is off, until it is small.

    Parameters
    ----------
    time, roll : ndarray (n,)
        s and rad.

    Returns
    -------
    ndarray (n,) of bool
    """
    away = np.abs(roll - _rest(roll))
    greatest = away.max()
    if greatest < SMALLEST:
        return np.zeros(time.size, dtype=bool)
    held = np.flatnonzero(away >= HELD * greatest)[-1]
    below = np.flatnonzero(away[held:] < FREE * greatest)
    if not below.size:
        return np.zeros(time.size, dtype=bool)
    begun = held + below[0]
    ended = np.flatnonzero(away >= min(SMALLEST, greatest / 5))[-1]
    places = np.arange(time.size)
    return (places >= begun) & (places <= ended)


def _rest(roll):
    """About where the paddle comes to rest: the middle of its last two turning points."""
    turns = np.flatnonzero(np.diff(np.sign(np.diff(roll))))
    late = roll[turns[-2] :] if turns.size > 1 else roll
    return (late.max() + late.min()) / 2
