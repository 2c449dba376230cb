"""The frames of a film, grey, one after the other, with the times that the file gives them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.language import _

LARGEST, LONGEST = 2e9, 180.0
"""Bytes and seconds of a film; a swing takes some ten seconds."""


SLOWEST = 24.0
"""Frames a second below which a swing is not followed."""


def refuse_too_large(size: int, name: str) -> None:
    """Refuse a film of so many bytes, by its name, if it is too large.

    Raises
    ------
    InputError
    """
    if size > LARGEST:
        raise InputError(
            _("is {size:.1f} GB long, expected at most {most:g} GB: film one swing").format(
                size=size / 1e9, most=LARGEST / 1e9
            ),
            file=name,
        )


class Film:
    """An opened film.

    Parameters
    ----------
    path : str or Path
    threads : int
        With which it is decoded; 0 for as many as there are processors.
    name : str, optional
        What it is called in sentences; by default its path.

    Attributes
    ----------
    name : str
    duration : float
        s, as the file states it.
    filmed_at : float or None
        Frames a second at which it was filmed, where the file says so: more in slow motion.
    turned : int
        Quarter turns counterclockwise after which a frame stands upright; known from the first
        frame on.

    Raises
    ------
    InputError
        If it cannot be read as a film, or is too large or too long.
    """

    def __init__(self, path: str | Path, threads: int = 0, name: str | None = None) -> None:
        import av

        self.name, self.turned = name or str(path), 0
        try:
            size = os.stat(path).st_size
        except OSError as error:
            raise InputError(
                _("cannot be read ({why})").format(why=error.strerror), file=self.name
            ) from error
        refuse_too_large(size, self.name)
        try:
            self._container = av.open(str(path), metadata_errors="replace")
        except (av.FFmpegError, OSError, ValueError) as error:
            raise InputError(_("is no film that can be read"), file=self.name) from error
        streams = self._container.streams.video
        if not streams:
            raise InputError(_("holds no pictures, expected a film"), file=self.name)
        self._stream = streams[0]
        self._stream.thread_type = "AUTO"
        self._stream.codec_context.thread_count = threads
        stated, one = self._stream.duration, self._stream.time_base
        self.duration = float(stated * one) if stated and one else 0.0
        if self.duration > LONGEST:
            raise InputError(
                _("is {seconds:.0f} s long, expected at most {most:.0f} s: film one swing").format(
                    seconds=self.duration, most=LONGEST
                ),
                file=self.name,
            )
        said = self._container.metadata | self._stream.metadata
        self.filmed_at = _number(said.get("com.android.capture.fps"))

    def frames(self) -> Iterator[tuple[float, Array]]:
        """Time [s] and grey picture (height, width) of each frame, as the sensor saw it.

        Raises
        ------
        InputError
            If it breaks off before its end.
        """
        import av

        last = -np.inf
        with self._container as container:
            try:
                for frame in container.decode(self._stream):
                    time = frame.time
                    if time is None or time <= last:
                        continue
                    last = time
                    self.turned = round(frame.rotation / 90) % 4
                    yield float(time), _grey(frame)
            except av.FFmpegError as error:
                raise InputError(_("breaks off: it is not a whole film"), file=self.name) from error


PLANAR = ("yuv420p", "yuvj420p", "nv12", "yuv422p", "yuvj422p", "yuv444p", "gray")
"""Forms of a frame whose first plane is grey, a byte a pixel."""


def _grey(frame):
    if frame.format.name not in PLANAR:
        frame = frame.reformat(format="gray")
    plane = frame.planes[0]
    rows = np.frombuffer(plane, np.uint8).reshape(plane.height, plane.line_size)
    return rows[:, : plane.width]


def _number(text):
    try:
        return float(text)
    except (TypeError, ValueError):
        return None
