"""The printed target: a disc with square markers on the shaft, and a strip that hangs plumb.

The markers are of opencv's ArUco kind, a black square with bits that name it (S. Garrido-Jurado
et al., Automatic generation and detection of highly reliable fiducial markers under occlusion,
Pattern Recognition 2014, 47(6):2280-2292). Places on the disc are in metres from its middle: y to
the right and z up as the right blade's end sees the disc when its 0° points to the right, so that
the disc's degrees are those of a counterweight.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.units import MM

RADIUS = 95 * MM
"""Of the disc."""


SQUARE, RING = 34 * MM, 58 * MM
"""Side of a disc's marker, and how far its middle is from the axis."""


DISC = tuple(range(6))
"""Numbers of the disc's markers, every sixth of a turn from 0° on."""


STRIP = (6, 7)
"""Numbers of the markers on the strip that hangs plumb, the upper one first."""


STRIP_SQUARE, STRIP_APART = 28 * MM, 80 * MM
"""Side of a strip's marker, and from middle to middle."""


CELLS = 6
"""Cells along a marker's side, its black border among them."""


@cache
def dictionary():
    """The set of markers of which the target takes the first."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


@cache
def detector():
    """What finds the markers in a grey picture, their corners to parts of a pixel."""
    import cv2

    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    return cv2.aruco.ArucoDetector(dictionary(), settings)


def found_markers(grey: NDArray[np.uint8]) -> tuple[list[Array], list[int]]:
    """Squares (4, 2) [pixels] of the target's markers in a picture, and their numbers.

    Parameters
    ----------
    grey : ndarray (height, width) of uint8

    Returns
    -------
    squares : list of ndarray
    numbers : list of int
        A number stands twice if the picture shows it in two places.
    """
    squares, numbers, _rejected = detector().detectMarkers(np.ascontiguousarray(grey))
    told = [] if numbers is None else np.ravel(numbers).tolist()
    found = [(square.reshape(4, 2), number) for square, number in zip(squares, told, strict=True)
             if number in (*DISC, *STRIP)]  # fmt: skip
    return [square for square, _number in found], [number for _square, number in found]


def cells(number: int) -> NDArray[np.bool_]:
    """A marker's cells, upper row first: bool (CELLS, CELLS), True for white."""
    import cv2

    picture = cv2.aruco.generateImageMarker(dictionary(), number, CELLS)
    return np.asarray(picture) > 0


def _square(middle, side, turned=0.0):
    """Corners (4, 2) of a square: upper left, upper right, lower right, lower left of it."""
    half = side / 2
    corners = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
    c, s = np.cos(turned), np.sin(turned)
    return corners @ np.array([(c, s), (-s, c)]) + middle


def disc_corners() -> Array:
    """Corners of the disc's markers (6, 4, 2) [m], each marker's upper edge away from the axis."""
    angles = np.arange(len(DISC)) * 2 * np.pi / len(DISC)
    return np.array([
        _square(RING * np.array([np.cos(a), np.sin(a)]), SQUARE, a - np.pi / 2) for a in angles
    ])  # fmt: skip


def strip_corners() -> Array:
    """Corners of the strip's markers (2, 4, 2) [m] from the middle between them, up upward."""
    half = STRIP_APART / 2
    return np.array([_square((0.0, side * half), STRIP_SQUARE) for side in (1, -1)])
