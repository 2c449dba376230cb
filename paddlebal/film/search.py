"""Where a film shows the target's markers: each frame is searched near where they were."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.film.markers import DISC, STRIP, found_markers
from paddlebal.film.video import LONGEST, Film
from paddlebal.language import _

MARGIN, ACROSS, ENOUGH = 0.6, 3.5, 3
"""Sides of a marker around where markers were: how far they may move from frame to frame, and how
far the disc's others may be while no more of them than ENOUGH were seen."""


SEEN = (*DISC, *STRIP)


AGAIN = 8
"""Frames without a marker after which the whole frame is searched again."""


TWICE = 3
"""Frames that show one marker twice from which there are two targets."""


@dataclass(frozen=True, eq=False)
class Sightings:
    """Where the markers were seen.

    Parameters
    ----------
    name : str
        Of the film.
    time : ndarray (n,)
        s, of each frame.
    corners : ndarray (n, 8, 4, 2)
        Column and row [pixels] of the corners of `SEEN`, as the sensor saw them; nan where a
        marker was not.
    shape : tuple of int
        Height and width of a frame.
    turned : int
        Quarter turns counterclockwise after which a frame stands upright.
    rate : float
        Frames a second, the median.
    filmed_at : float, optional
        Frames a second at which it was filmed, where the file says so.
    """

    name: str
    time: Array
    corners: Array
    shape: tuple[int, int]
    turned: int
    rate: float
    filmed_at: float | None = None


class Search:
    """Search a film for the markers: iterate over it, then ask what was `found`.

    Iterating gives the share of the film that is done, frame by frame.

    Parameters
    ----------
    path : str or Path
    threads, name
        As for `Film`.

    Raises
    ------
    InputError
        As for `Film`.
    """

    def __init__(self, path: str | Path, threads: int = 0, name: str | None = None) -> None:
        self._film = Film(path, threads, name)
        self._times: list[float] = []
        self._corners: list[Any] = []
        self._shape = (0, 0)
        self._near: Any = np.full((len(SEEN), 2, 2), np.nan)  # least and greatest column and row
        self._lost = self._twice = 0
        self._mirrored = False

    def __iter__(self) -> Iterator[float]:
        length = self._film.duration or LONGEST
        for time, grey in self._film.frames():
            self._shape = grey.shape[0], grey.shape[1]
            self._times.append(time)
            self._corners.append(self._look(grey))
            self._refuse_what_is_useless(time)
            yield min((time - self._times[0]) / length, 1.0)

    def _look(self, grey):
        """Corners (8, 4, 2) in one frame, and where to look in the next."""
        low, high = self._region()
        corners: Any = np.full((len(SEEN), 4, 2), np.nan)
        squares, numbers = found_markers(grey[low[1] : high[1], low[0] : high[0]])
        for square, number in zip(squares, numbers, strict=True):
            corners[number] = square + low
        self._twice += len(numbers) > len(set(numbers))
        at = np.isfinite(corners[:, 0, 0])
        self._near[at, 0], self._near[at, 1] = corners[at].min(axis=1), corners[at].max(axis=1)
        self._lost = 0 if at[list(DISC)].any() else self._lost + 1
        if not np.isfinite(self._near).any() and self._lost % AGAIN == 1:
            self._mirrored = len(found_markers(grey[:, ::-1])[1]) > 1
        return corners

    def _region(self):
        """Least and greatest column and row of the part to search."""
        seen = np.isfinite(self._near[list(DISC), 0, 0])
        whole = np.zeros(2, int), np.array(self._shape[::-1])
        if not seen.any() or self._lost % AGAIN == AGAIN - 1:
            return whole
        least, greatest = (self._near[np.isfinite(self._near[:, i, 0]), i] for i in (0, 1))
        side = (self._near[list(DISC)][seen, 1] - self._near[list(DISC)][seen, 0]).max()
        room = (MARGIN if seen.sum() > ENOUGH else ACROSS) * side
        return (
            np.maximum(least.min(axis=0) - room, 0).astype(int),
            np.minimum(greatest.max(axis=0) + room, whole[1]).astype(int),
        )

    def _refuse_what_is_useless(self, time):
        if self._mirrored:
            raise InputError(
                _("is mirrored, as front cameras do: film with the rear camera"),
                file=self._film.name,
            )
        if self._twice >= TWICE:
            raise InputError(
                _("shows the same marker in two places: only one paddle's target may be in view"),
                file=self._film.name,
            )
        if time - self._times[0] > LONGEST:
            raise InputError(
                _("is longer than {most:.0f} s: film one swing").format(most=LONGEST),
                file=self._film.name,
            )

    @property
    def found(self) -> Sightings:
        """Where the markers were seen: `Sightings`.

        Raises
        ------
        InputError
            If there are no frames.
        """
        if len(self._times) < 2:
            raise InputError(_("holds no film, fewer than two pictures"), file=self._film.name)
        time = np.array(self._times)
        return Sightings(
            self._film.name,
            time - time[0],
            np.array(self._corners),
            self._shape,
            self._film.turned,
            1 / float(np.median(np.diff(time))),
            self._film.filmed_at,
        )
