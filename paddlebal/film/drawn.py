"""Drawn films: what a camera would see of the target on a paddle that rolls.

They show what distance, blur, light and a camera that stands askew do to the angle, where the truth
is known. The camera is a pinhole; a frame is the mean of what is seen while its shutter is open,
row by row where the rows are read one after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.film.markers import (
    CELLS,
    DISC,
    RADIUS,
    STRIP,
    cells,
    disc_corners,
    found_markers,
    strip_corners,
)
from paddlebal.units import DEG, MM

Grey: TypeAlias = NDArray[np.uint8]
"""A frame, 0 for black to 255."""


DOT = 0.25 * MM
"""Of the target as it is drawn."""


SHAFT = 15 * MM
"""Radius of the hole in the disc."""


@dataclass(frozen=True)
class Camera:
    """A phone on a stand that looks along the shaft at the disc.

    Parameters
    ----------
    width, height : int
        Of a frame [pixels].
    focal : float
        Focal length [pixels]; some 0.8 of the width without zoom.
    distance : float
        From the disc [m].
    roll, pitch, yaw : float
        rad; by which the camera is turned counterclockwise, stands too high and too far to the
        right.
    exposure, readout : float
        s; for how long the shutter is open, and from the first row to the last.
    dark, bright, noise : float
        Grey of black and of white paper, 0 to 255, and the noise of a pixel.
    """

    width: int = 1280
    height: int = 720
    focal: float = 1100.0
    distance: float = 1.2
    roll: float = 0.0
    pitch: float = 0.0
    yaw: float = 0.0
    exposure: float = 1 / 250
    readout: float = 0.0
    dark: float = 40.0
    bright: float = 200.0
    noise: float = 3.0

    def plane(self) -> Array:
        """From places (y, z, 1) [m] of the disc's plane to pixels (column, row, 1), (3, 3)."""
        c, s = np.cos(self.pitch), np.sin(self.pitch)
        pitch = np.array([(1, 0, 0), (0, c, -s), (0, s, c)])
        c, s = np.cos(self.yaw), np.sin(self.yaw)
        yaw = np.array([(c, 0, s), (0, 1, 0), (-s, 0, c)])
        c, s = np.cos(self.roll), np.sin(self.roll)
        roll = np.array([(c, s, 0), (-s, c, 0), (0, 0, 1)])
        turned = roll @ pitch @ yaw  # columns: where y, z and x of the paddle point for the camera
        seen = np.column_stack([turned[:, 0], turned[:, 1], (0, 0, self.distance)])
        seen[2, :2] *= -1  # what is turned toward the camera is nearer
        lens = np.array([
            (self.focal, 0, self.width / 2), (0, -self.focal, self.height / 2), (0, 0, 1)
        ])  # fmt: skip
        return lens @ seen


def _painted(size, corners, numbers):
    """White paper of a size (2,) [m] about its middle with markers on it: grey 0 or 1."""
    dots = np.round(np.asarray(size) / DOT).astype(int)
    paper = np.ones((dots[1], dots[0]), dtype=np.float32)
    x = (np.arange(dots[0]) + 0.5 - dots[0] / 2) * DOT
    y = (dots[1] / 2 - np.arange(dots[1]) - 0.5) * DOT
    places = np.stack(np.meshgrid(x, y), axis=-1)
    for square, number in zip(corners, numbers, strict=True):
        right, down = square[1] - square[0], square[3] - square[0]
        across, along = (
            ((places - square[0]) @ side / (side @ side) * CELLS) for side in (right, down)
        )
        inside = (across >= 0) & (across < CELLS) & (along >= 0) & (along < CELLS)
        white = cells(number)
        paper[inside] = white[along[inside].astype(int), across[inside].astype(int)]
    return paper


def _onto_paper(size):
    """From dots (column, row, 1) of a painted paper to places [m], (3, 3)."""
    return np.array([
        (DOT, 0, -size[0] / 2 + DOT / 2), (0, -DOT, size[1] / 2 - DOT / 2), (0, 0, 1)
    ])  # fmt: skip


@cache
def _papers():
    """Disc and strip: painted grey, and where there is paper, each with its size [m]."""
    disc_size = (2 * RADIUS, 2 * RADIUS)
    disc = _painted(disc_size, disc_corners(), DISC)
    middle = (np.arange(len(disc)) + 0.5) * DOT - RADIUS
    out = np.hypot(*np.meshgrid(middle, middle))
    strip_size = (40 * MM, 130 * MM)
    strip = _painted(strip_size, strip_corners(), STRIP)
    held = ((out < RADIUS) & (out > SHAFT)).astype(np.float32)
    return (disc, held, disc_size), (strip, np.ones_like(strip), strip_size)


@cache
def _softened(paper, blur):
    """Both layers of a paper as a lens blurs what its pixels cannot hold; blur in dots."""
    import cv2

    layers = _papers()[paper][:2]
    return layers if not blur else tuple(cv2.GaussianBlur(each, (0, 0), blur) for each in layers)


STRIP_PLACE = np.array([0.16, 0.0])
"""m; where the middle of the hanging strip is, from the axis."""


def _rolled(angle, middle=(0.0, 0.0)):
    c, s = np.cos(angle), np.sin(angle)
    return np.array([(c, -s, middle[0]), (s, c, middle[1]), (0, 0, 1)])


BLADE = 0.45
"""m; how much nearer to the camera than the disc the blade's silhouette is drawn."""


def _blade_outline(angle):
    """Outline (n, 2) [m] of a curved blade seen from its end, its back toward the angle."""
    across = np.linspace(-0.08, 0.08, 15)
    back = 0.06 - 3.2 * across**2
    outline = np.vstack([np.c_[back + 0.004, across], np.c_[back - 0.004, across][::-1]])
    return outline @ _rolled(angle)[:2, :2].T


def frame(
    camera: Camera,
    roll: Callable[[Array], Array],
    time: float = 0.0,
    *,
    blade: float | None = None,
    plumb: bool = True,
    middle: Callable[[Array], Array] | None = None,
    steps: int = 6,
    rng: np.random.Generator | None = None,
) -> Grey:
    """One grey frame of a paddle that rolls.

    Parameters
    ----------
    camera : Camera
    roll : callable
        Roll angle [rad] at times (n,) [s].
    time : float
        s, when the shutter opens for the first row.
    blade : float, optional
        Angle [rad] on the disc toward which the blade before it turns its back; without it none
        is drawn.
    plumb : bool
        Whether the strip hangs beside the disc.
    middle : callable, optional
        Place (n, 2) [m] of the axis at times (n,), for a shaft that rolls along.
    steps : int
        Pictures of which a frame is the mean.
    rng : numpy.random.Generator, optional
        Of the noise; without it there is none.

    Returns
    -------
    ndarray (height, width) of uint8
    """
    import cv2

    plane, size = camera.plane(), (camera.width, camera.height)
    bands = _bands(camera) if camera.readout else [(0, camera.height)]
    mean = np.empty((camera.height, camera.width), dtype=np.float32)
    still = np.full((camera.height, camera.width), 0.45, dtype=np.float32)
    if plumb:
        hung = _rolled(0.0, STRIP_PLACE)
        _lay(still, 1, plane @ hung, (0, camera.height), size)
    for low, high in bands:
        opened = time + camera.readout * (low + high) / 2 / camera.height
        times = opened + camera.exposure * (np.arange(steps) + 0.5) / steps
        angles = np.asarray(roll(times))
        places = np.zeros((steps, 2)) if middle is None else middle(times)
        total = np.zeros((high - low, camera.width), dtype=np.float32)
        for angle, place in zip(angles, places, strict=True):
            seen = still[low:high].copy()
            _lay(seen, 0, plane @ _rolled(angle, place), (low, high), size)
            if blade is not None:
                near = plane @ np.diag([1, 1, 1 - BLADE / camera.distance])
                outline = np.c_[_blade_outline(angle + blade) + place, np.ones(30)] @ near.T
                pixels = (outline[:, :2] / outline[:, 2:] - (0, low)) * 16
                cv2.fillPoly(seen, [np.round(pixels).astype(np.int32)], 0.1, cv2.LINE_AA, 4)
            total += seen
        mean[low:high] = total / steps
    grey = camera.dark + (camera.bright - camera.dark) * mean
    if rng is not None:
        grey += camera.noise * rng.standard_normal(grey.shape, dtype=np.float32)
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)


BANDS = 24
"""Groups of rows that are taken to be read at one time."""


def _bands(camera):
    edges = np.linspace(0, camera.height, BANDS + 1).astype(int)
    return list(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True))


def _lay(seen, paper, plane, rows, size):
    """Lay a paper, 0 the disc and 1 the strip, over what is seen in some rows; plane (3, 3): from
    its places to pixels."""
    import cv2

    paper_size = _papers()[paper][2]
    corners = np.array([(s * paper_size[0] / 2, t * paper_size[1] / 2, 1)
                        for s in (-1, 1) for t in (-1, 1)]) @ plane.T  # fmt: skip
    pixels = corners[:, :2] / corners[:, 2:]
    left, top = np.maximum(np.floor(pixels.min(axis=0)).astype(int) - 1, (0, rows[0]))
    right, low = np.minimum(np.ceil(pixels.max(axis=0)).astype(int) + 2, (size[0], rows[1]))
    if left >= right or top >= low:
        return
    shift = np.array([(1, 0, -left), (0, 1, -top), (0, 0, 1.0)])
    whole = shift @ plane @ _onto_paper(paper_size)
    small = abs(np.linalg.det(whole[:2, :2] / whole[2, 2])) ** 0.5  # pixels a dot
    blur = round(0.5 / small, 1) if small < 0.7 else 0.0
    box = int(right - left), int(low - top)
    ink, there = (
        cv2.warpPerspective(each, whole, box, flags=cv2.INTER_LINEAR)
        for each in _softened(paper, blur)
    )
    part = seen[top - rows[0] : low - rows[0], left:right]
    part[:] = there * ink + (1 - there) * part


def seen_angle(camera: Camera, grey: Grey) -> float | None:
    """The disc's angle in one drawn frame [rad], where the camera's place is known.

    Parameters
    ----------
    camera : Camera
    grey : ndarray (height, width) of uint8

    Returns
    -------
    float or None
        None if no marker of the disc is found.
    """
    import cv2

    plane, corners = np.linalg.inv(camera.plane()), disc_corners() @ np.array([1, 1j])
    turned = 0j
    for square, number in zip(*found_markers(grey), strict=True):
        if number in DISC:
            places = cv2.perspectiveTransform(square[None].astype(float), plane)[0]
            seen, own = places @ np.array([1, 1j]), corners[number]
            turned += np.sum((seen - seen.mean()) * np.conj(own - own.mean()))
    return float(np.angle(turned)) if turned else None


def write_film(
    path: str | Path,
    frames: Iterable[Grey],
    times: Iterable[float],
    codec: str = "libx264",
    quality: int = 20,
) -> None:
    """Write grey frames as a film.

    Parameters
    ----------
    path : str or Path
        Its ending, .mp4 or .mov, tells the form.
    frames : iterable of ndarray (height, width) of uint8
    times : iterable of float
        s, of each frame; they need not be even.
    codec : str
        'libx264' or 'libx265'.
    quality : int
        Of the compression, 0 without loss to 51.
    """
    import av

    options = {"crf": str(quality), "preset": "veryfast", "x265-params": "log-level=error"}
    with av.open(str(path), "w") as container:
        stream: Any = container.add_stream(codec, rate=60, options=options)
        stream.pix_fmt, stream.time_base = "yuv420p", Fraction(1, 90_000)
        stream.codec_context.time_base = Fraction(1, 90_000)
        stream.codec_context.thread_count = 1  # more of them would make other bytes
        for picture, time in zip(frames, times, strict=False):
            if not stream.codec_context.is_open:
                stream.height, stream.width = picture.shape
            image: Any = av.VideoFrame.from_ndarray(picture, format="gray").reformat(
                format="yuv420p"
            )
            image.pts, image.time_base = round(time * 90_000), Fraction(1, 90_000)
            container.mux(stream.encode(image))
        container.mux(stream.encode(None))


def frames_of(
    camera: Camera, roll: Callable[[Array], Array], times: Iterable[float], **options: Any
) -> Iterator[Grey]:
    """The frames at times (n,) [s], one after the other; options as for `frame`."""
    for time in times:
        yield frame(camera, roll, float(time), **options)


def swing_of(
    start: float = 50 * DEG, period: float = 0.7, rest: float = 0.0, fade: float = 3.0
) -> Callable[[Array], Array]:
    """A swing that fades, as a function of time; enough to see how well an angle is found.

    Parameters
    ----------
    start : float
        Angle from rest at which it begins [rad].
    period : float
        Of a whole swing [s].
    rest : float
        Where it rests [rad].
    fade : float
        In which it fades to 37 % [s].

    Returns
    -------
    callable
        Times (n,) [s] to roll angles (n,) [rad].
    """

    def roll(time: Array) -> Array:
        return rest + start * np.exp(-time / fade) * np.cos(2 * np.pi * time / period)

    return roll
