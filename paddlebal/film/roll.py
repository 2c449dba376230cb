"""From the markers' corners in a film to the disc's roll angle in each frame.

The disc turns in its own plane. So one map from that plane to the picture serves all frames, and
between frames the corners only turn, and shift where a shaft rolls along rails. The map is fitted
to all frames: it takes out a camera that stands askew, and with it the time at which each row of
a frame is read (rolling shutter).
"""

from __future__ import annotations

import math
from copy import copy
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.film.markers import DISC, SQUARE, STRIP, disc_corners, strip_corners
from paddlebal.film.search import Sightings
from paddlebal.language import _
from paddlebal.units import DEG, MM

FITTED = 300
"""Frames by which the map is fitted, at most."""


ASKEW = 25 * DEG
"""How far the camera may look askew."""


MOVED = 3 * MM
"""How far the axis may move that should stay."""


SMALL = 12.0
"""Side of a marker [pixels] below which it is lost in motion."""


FEW = 30
"""Frames with a marker without which there is no record."""


OUTLIER = 4.0
"""Times the usual misfit of the corners at which a frame is left out."""


LOST = 0.4
"""Share of frames without a marker at which it is told."""


CORNER_U = 0.2
"""Standard uncertainty of where a corner that stands still is found [pixels], as drawn frames
show."""


@dataclass(frozen=True, eq=False)
class FilmedRoll:
    """Roll angles that a film shows.

    Parameters
    ----------
    time : ndarray (n,)
        s, when the middle of the markers was read.
    roll : ndarray (n,)
        rad, the disc's 0° from the picture's level to the right, counterclockwise.
    roll_u : ndarray (n,)
        Standard uncertainty of each by itself [rad].
    plumb, plumb_u : float
        By how much the strip that hangs plumb is turned in the picture, counterclockwise, and
        the standard uncertainty of where its corners are found [rad]; 0 and inf without it.
    tilt : float
        rad, by which the camera looks askew.
    readout : float
        s, from a frame's first row to its last.
    side : float
        Of a marker in the picture [pixels].
    frames : int
        In the film, with or without a marker.
    doubts : tuple of str
    """

    time: Array
    roll: Array
    roll_u: Array
    plumb: float
    plumb_u: float
    tilt: float
    readout: float
    side: float
    frames: int
    doubts: tuple[str, ...]


def _applied(plane, places):
    """A map (3, 3) of places (..., 2)."""
    mapped = places @ plane[:, :2].T + plane[:, 2]
    return mapped[..., :2] / mapped[..., 2:]


def _turn_of(places, seen, corners):
    """Angle (n,), shift (n, 2) and misfit (n, k, 2) of corners (k, 2) turned to places (n, k, 2)
    of which only some are seen (n, k)."""
    weight = seen / seen.sum(axis=1, keepdims=True)
    middle = np.einsum("nk,nkj->nj", weight, places)
    centre = weight @ corners
    away = np.where(seen[..., None], places - middle[:, None], 0.0)
    own = corners - centre[:, None]
    along = np.sum(away * own, axis=(1, 2))
    across = np.sum(own[..., 0] * away[..., 1] - own[..., 1] * away[..., 0], axis=1)
    angle = np.arctan2(across, along)
    c, s = np.cos(angle), np.sin(angle)
    turn = np.moveaxis(np.array([(c, -s), (s, c)]), 2, 0)
    shift = middle - np.einsum("nij,nj->ni", turn, centre)
    misfit = places - np.einsum("nij,kj->nki", turn, corners) - shift[:, None]
    return angle, shift, np.where(seen[..., None], misfit, 0.0)


class _Disc:
    """All corners of the disc in the frames that show any, upright and up upward."""

    def __init__(self, sightings):
        corners = _upright(sightings)
        seen = np.isfinite(corners[:, list(DISC), 0, 0])
        self.used = seen.any(axis=1)
        self.time = sightings.time[self.used]
        self.corners = disc_corners().reshape(-1, 2)
        shape = int(self.used.sum()), len(self.corners)
        self.seen = np.repeat(seen[self.used], 4, axis=1)
        self.pixels = np.where(
            self.seen[..., None], corners[self.used][:, list(DISC)].reshape(*shape, 2), 0.0
        )
        rows = sightings.corners[self.used, :, :, 1][:, list(DISC)].reshape(shape)
        rows = np.where(self.seen, rows, 0.0) / sightings.shape[0]
        self.rows = rows.sum(axis=1) / self.seen.sum(axis=1)
        self.row = np.where(self.seen, rows - self.rows[:, None], 0.0)

    def first_plane(self):
        """A map from the disc's plane to pixels, from the frame with the most markers."""
        import cv2

        best = int(np.argmax(self.seen.sum(axis=1)))
        own = self.seen[best]
        return cv2.findHomography(self.corners[own], self.pixels[best][own])[0]

    def chosen(self, good):
        """Some of the frames (n,)."""
        some = copy(self)
        for name in ("time", "seen", "pixels", "rows", "row"):
            setattr(some, name, getattr(self, name)[good])
        return some

    def places(self, plane):
        return _applied(np.linalg.inv(plane), self.pixels)

    def still(self, places, shift, rate, readout):
        """Places (n, k, 2) as they were when the middle row was read."""
        away = places - shift[:, None]
        ahead = (rate[:, None] * self.row * readout)[..., None]
        return places - ahead * np.stack([-away[..., 1], away[..., 0]], axis=-1)


def _upright(sightings):
    """Corners (n, 8, 4, 2) in the frame as it stands upright, up upward."""
    x, y = sightings.corners[..., 0], -sightings.corners[..., 1]
    for _quarter in range(sightings.turned):
        x, y = -y, x
    return np.stack([x, y], axis=-1)


def _bent(plane, unknowns):
    """The map after a stretch and a perspective of the disc's plane."""
    a, b, c, d, e = unknowns
    return plane @ np.array([(1 + a, b, 0), (b, 1 + c, 0), (d, e, 1)])


def _rates(time, angle):
    return np.gradient(np.unwrap(angle), time) if time.size > 1 else np.zeros(1)


def _fitted(disc):
    """The map, the readout [s], and angles, shifts and misfit by them."""
    plane, readout = disc.first_plane(), 0.0
    if plane is None:
        return None
    angle, shift, _misfit = _turn_of(disc.places(plane), disc.seen, disc.corners)
    chosen = np.unique(np.linspace(0, disc.time.size - 1, FITTED).astype(int))
    scale = np.array([1e-2, 1e-2, 1e-2, 1e-1, 1e-1, 1e-2])
    for _again in range(2):
        rate = _rates(disc.time + readout * disc.rows, angle)

        def off(unknowns, plane=plane, shift=shift, rate=rate):
            """Misfit [mm on the disc]; as the corners keep their size, no map can shrink it."""
            *bend, late = unknowns * scale
            places = disc.still(disc.places(_bent(plane, bend)), shift, rate, late)
            return _turn_of(places[chosen], disc.seen[chosen], disc.corners)[2].ravel() / MM

        found = least_squares(off, np.zeros(6), x_scale="jac", max_nfev=20)
        *bend, readout = found.x * scale
        plane = _bent(plane, bend)
        places = disc.places(plane)
        _angle, shift, _misfit = _turn_of(places, disc.seen, disc.corners)
        angle, shift, misfit = _turn_of(
            disc.still(places, shift, rate, readout), disc.seen, disc.corners
        )
    return plane, float(readout), angle, shift, misfit


def _scatter(disc, misfit, rate):
    """Standard uncertainty (n,) of each angle: what the corners scatter, more in motion."""
    count = disc.seen.sum(axis=1)
    weight = disc.seen / count[:, None]
    own = disc.corners - (weight @ disc.corners)[:, None]
    size = np.sum(np.where(disc.seen[..., None], own, 0.0) ** 2, axis=(1, 2))
    spare = np.maximum(2 * count - 3, 1)
    squares = np.sum(misfit**2, axis=(1, 2)) / spare
    moving = np.column_stack([np.ones_like(rate), rate**2])
    typical, by_rate = np.linalg.lstsq(moving, squares)[0]
    still, moved = max(typical, float(np.median(squares)) / 4), max(by_rate, 0.0)
    return np.sqrt((still + moved * rate**2) / size)


def _scales(plane, middle):
    """Pixels per metre of the disc at its middle: the most and the least in any direction."""
    step = 1 * MM
    x, y = (_applied(plane, middle + step * each) for each in np.eye(2))
    across = (np.column_stack([x, y]) - _applied(plane, middle)[:, None]) / step
    return np.linalg.svd(across, compute_uv=False)


def _up(sightings, plane, middle):
    """Directions in the disc's plane [rad] of the picture's up and of the strip's up, and the
    standard uncertainty of where a corner is found in the latter; inf without the strip."""
    strip = _upright(sightings)[:, list(STRIP)].reshape(-1, 8, 2)
    there = np.isfinite(strip).all(axis=(1, 2))
    inverse = np.linalg.inv(plane)
    axis = _applied(plane, middle)
    above, below = _applied(inverse, np.array([axis + (0, 1), axis]))
    level = math.atan2(*(above - below)[::-1])
    if there.sum() < FEW:
        return level, level, math.inf
    own = strip_corners().reshape(-1, 2)
    hung = np.median(strip[there], axis=0)
    angle, _shift, _misfit = _turn_of(_applied(inverse, hung)[None], np.ones((1, 8), bool), own)
    lever = np.sqrt(np.sum((hung - hung.mean(axis=0)) ** 2))
    return level, float(angle[0]) + math.pi / 2, float(CORNER_U / lever)


def _moved(disc, angle, shift, up, support):
    """Greatest distance [m] by which the disc's middle leaves the circle on which its hole, a
    little beside the axis, must go."""
    c, s, one = np.cos(angle), np.sin(angle), np.ones_like(angle)
    rows = np.concatenate([np.column_stack([c, -s, one, 0 * one]),
                           np.column_stack([s, c, 0 * one, one])])  # fmt: skip
    off = np.concatenate([shift[:, 0], shift[:, 1]])
    left = (off - rows @ np.linalg.lstsq(rows, off)[0]).reshape(2, -1).T
    if support == "rails":  # it goes to and fro, but neither up nor down
        rise = np.array([math.cos(up), math.sin(up)])
        rows = np.column_stack([c, s, one])
        off = shift @ rise
        left = (off - rows @ np.linalg.lstsq(rows, off)[0])[:, None]
    far = np.linalg.norm(left, axis=1)
    near = 15
    if far.size < 3 * near:
        return float(np.median(far))
    runs = np.lib.stride_tricks.sliding_window_view(far, near)
    return float(np.median(runs, axis=1).max())


def filmed_roll(sightings: Sightings, support: str = "rollers") -> FilmedRoll:
    """The disc's roll angle in each frame that shows a marker of it.

    Parameters
    ----------
    sightings : Sightings
    support : str
        'rollers', on which the axis stays in place, or 'rails', on which the shaft rolls.

    Returns
    -------
    FilmedRoll

    Raises
    ------
    InputError
        If too few frames show a marker, the camera looks too far askew or moved.
    """
    disc = _Disc(sightings)
    if disc.time.size == 0:
        raise InputError(
            _(
                "shows no marker of the target: is the disc's printed side toward the camera, in "
                "light, sharp and large enough?"
            ),
            file=sightings.name,
        )
    if disc.time.size < FEW:
        raise InputError(
            _(
                "shows a marker in {seen} of {all} frames only, expected {few} or more: more "
                "light, or nearer"
            ).format(seen=disc.time.size, all=sightings.time.size, few=FEW),
            file=sightings.name,
        )
    fitted = _fitted(disc)
    if fitted is None:
        raise InputError(_("shows no marker well enough to find the disc"), file=sightings.name)
    plane, readout, angle, shift, misfit = fitted
    size = np.sqrt(np.sum(misfit**2, axis=(1, 2)) / disc.seen.sum(axis=1))
    good = size < OUTLIER * np.median(size)
    disc, angle, shift, misfit = disc.chosen(good), angle[good], shift[good], misfit[good]
    middle = np.median(shift, axis=0)
    most, least = _scales(plane, middle)
    tilt = math.acos(min(least / most, 1.0))  # the disc is foreshortened
    if tilt > ASKEW:
        raise InputError(
            _(
                "is filmed {tilt:.0f}° beside the shaft's line, expected at most {most:.0f}°: the "
                "camera must look along the shaft"
            ).format(tilt=tilt / DEG, most=ASKEW / DEG),
            file=sightings.name,
        )
    level, up, plumb_u = _up(sightings, plane, middle)
    moved = _moved(disc, angle, shift, up, support)
    if moved > MOVED:
        raise InputError(
            _(
                "shows the shaft's middle {off:.0f} mm from where it should stay: the camera was "
                "moved, or the paddle jumped"
            ).format(off=moved / MM),
            file=sightings.name,
        )
    time = disc.time + readout * disc.rows
    roll = np.unwrap(angle) - level + math.pi / 2
    roll -= 2 * math.pi * round(float(np.median(roll)) / (2 * math.pi))
    side = float(math.sqrt(most * least)) * SQUARE
    return FilmedRoll(
        time=time,
        roll=roll,
        roll_u=_scatter(disc, misfit, _rates(time, roll)),
        plumb=math.remainder(up - level, 2 * math.pi),
        plumb_u=plumb_u,
        tilt=tilt,
        readout=readout,
        side=side,
        frames=sightings.time.size,
        doubts=tuple(_doubts(sightings, disc, side)),
    )


def _doubts(sightings, disc, side):
    lost = 1 - disc.time.size / sightings.time.size
    if lost > LOST:
        yield _("In {lost:.0%} of the frames no marker was found: more light, or nearer.").format(
            lost=lost
        )
    if side < SMALL:
        yield _(
            "The markers are {side:.0f} pixels large, expected {small:.0f} or more: go nearer, or "
            "film with more pixels."
        ).format(side=side, small=SMALL)
