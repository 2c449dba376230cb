"""The page to print for filming a swing: disc, hanging strip, ruler, a strip of degrees, and how to
film."""

from __future__ import annotations

import json
import math
from importlib.resources import files

import numpy as np

from paddlebal.errors import InputError
from paddlebal.film.markers import (
    DISC,
    RADIUS,
    STRIP,
    cells,
    disc_corners,
    strip_corners,
)
from paddlebal.language import _, spoken
from paddlebal.sheet.canvas import GREY, INK, PALE, Canvas
from paddlebal.sheet.drawings import RULER, degree_marks, drawing, rule
from paddlebal.sheet.fonts import typst_fonts
from paddlebal.units import MM

PAGE = (190.0, 277.0)
"""mm; an A4 page within its margins."""


AXIS = (95.0, 181.0)
"""mm: the disc's middle on the page."""


HUNG = (68.0, 52.0)
"""mm: the strip's middle on the page, on which it lies on its side."""


STRIP_SIZE = (130.0, 40.0)


SLIT = 270
"""Degrees at which the disc is slit, between two markers."""


SETUP = (180.0, 62.0)


THINNEST, THICKEST = 15 * MM, 50 * MM
"""Diameters of the shafts that the disc is made for."""


def target_page(shaft: float) -> bytes:
    """The page as PDF, to be printed at true scale.

    Parameters
    ----------
    shaft : float
        Diameter of the shaft [m].

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If the disc cannot be made for such a shaft.
    """
    import typst

    if not THINNEST <= shaft <= THICKEST:
        raise InputError(
            _("the shaft is {shaft:.0f} mm across, expected {thin:.0f} to {thick:.0f} mm").format(
                shaft=shaft / MM, thin=THINNEST / MM, thick=THICKEST / MM
            )
        )
    target, degrees, setup = _target(shaft), _degrees(shaft), _setup()
    content = {
        "language": spoken(), "title": _("The target to film"),
        "drawing": target.svg, "size": target.size, "alt": target.words,
        "strip": degrees.svg, "strip_size": degrees.size, "strip_alt": degrees.words,
        "setup": setup.svg, "setup_size": setup.size, "setup_alt": setup.words,
        "parts": film_notes(),
    }  # fmt: skip
    source = files("paddlebal.sheet").joinpath("target.typ").read_bytes()
    pdf: bytes = typst.compile(
        source, sys_inputs={"target": json.dumps(content)}, font_paths=typst_fonts(),
        format="pdf", pdf_standards="ua-1", timestamp=0,
    )  # fmt: skip
    return pdf


def film_notes() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """How to build and film it, as titled lists of sentences."""
    return (
        (_("Make it"), (
            _("Print at 100 % and measure the ruler: {RULER:.0f} mm.").format(RULER=RULER),
            _("Glue the page on stiff card, cut out disc and strip, cut the slit and the hole. A "
              "round disc adds no unbalance; its roll inertia stays on and is part of what is "
              "found."),
            _("Slip the disc on the shaft between the right blade and its support, the printed "
              "side toward the right blade, its 0° at the mark on the shaft. Tape it on both "
              "sides of the slit; it must not slip."),
            _("Hang the strip on a thread through its upper hole, a coin taped low in its middle, "
              "beside the disc and close to its plane, facing the camera. It is the plumb line: "
              "leave it hanging in every film."),
        )),
        (_("Film it"), (
            _("The phone stands on a stand, at the height of the shaft, beyond the right blade's "
              "end, and looks along the shaft; rear camera, at least 1080 lines high and 60 frames "
              "a second, no slow motion. A marker should be 40 pixels large or more: go near or "
              "zoom in. Four markers beside the blade are plenty."),
            _("Bright light, so that the shutter is short: a moving marker must look sharp."),
            _("Do not touch the phone between the films. Turn the paddle some 50° from rest, let "
              "go without a push, and film until it stands still."),
            _("First bare. Then with a known mass, some 100 g on an arm of some 60 mm, anywhere "
              "along the shaft: weigh it with its clip, measure the arm from the shaft's axis to "
              "the middle of all that is put on, and read its angle by the strip of degrees below, "
              "0 at the mark, as the disc counts. Neither near 0° nor near 180°: there it would "
              "hide a film from the wrong end."),
            _("On rails, film it once more turned end for end, disc and strip too: that shows "
              "rails that are not level."),
        )),
        (_("Take care"), (
            _("Nobody and no phone within the sweep of the blades. End stops beside the bearings: "
              "a paddle that falls breaks."),
            _("Tie the known mass on twice, each tie strong enough alone, and let the first swing "
              "be a small one."),
        )),
    )  # fmt: skip


def _target(shaft):
    canvas = Canvas("target", PAGE)
    canvas.circle(AXIS, RADIUS / MM, "white", INK, 0.3)
    for degrees in range(0, 360, 5):
        tall = 5 if degrees % 30 == 0 else 3.5 if degrees % 10 == 0 else 2
        canvas.line(_at(degrees, RADIUS / MM - 0.3), _at(degrees, RADIUS / MM - tall), INK, 0.2)
        if degrees % 30 == 0 and degrees != SLIT:
            canvas.words(_at(degrees, RADIUS / MM - 8.5), f"{degrees}°", 9, "middle", up=0.5)
    for number, corners in zip(DISC, disc_corners(), strict=True):
        _marker(canvas, number, corners / MM + AXIS)
    canvas.circle(AXIS, shaft / 2 / MM, "white", INK, 0.3)
    canvas.line(_at(SLIT, shaft / 2 / MM), _at(SLIT, RADIUS / MM), INK, 0.3, (2, 1))
    canvas.line(_at(0, shaft / 2 / MM), _at(0, shaft / 2 / MM + 8), INK, 0.8)
    canvas.words((AXIS[0] + shaft / 2 / MM + 1, AXIS[1] + 1.5), _("0° at the mark"), 6)
    for height, words in (
        (33, _("this side to the camera,")),
        (29.5, _("toward the right blade")),
    ):
        canvas.words((AXIS[0], AXIS[1] + height), words, 7, "middle")
    low = HUNG[0] - STRIP_SIZE[0] / 2, HUNG[1] - STRIP_SIZE[1] / 2
    canvas.box(low, (low[0] + STRIP_SIZE[0], low[1] + STRIP_SIZE[1]), "white", INK, 0.3)
    aside = strip_corners() @ np.array([(0, -1), (1, 0)])  # it lies on its side, up to the right
    for number, corners in zip(STRIP, aside, strict=True):
        _marker(canvas, number, corners / MM + HUNG)
    canvas.line((low[0], HUNG[1]), (low[0] + STRIP_SIZE[0], HUNG[1]), GREY, 0.15, (1, 2))
    canvas.circle((low[0] + STRIP_SIZE[0] - 5, HUNG[1]), 1.2, "white", INK, 0.3)
    canvas.words((HUNG[0], HUNG[1] + 15), _("hangs plumb, this hole up"), 7, "middle")
    canvas.words((142, 66), _("Cut out along the lines."), 8)
    canvas.words((142, 60), _("Slit: the dashed line."), 8)
    canvas.words((0, 22), _("Print at 100 %: the ruler must be {RULER:.0f} mm.").format(
        RULER=RULER), 8)  # fmt: skip
    rule(canvas, 1.0, 18.0)
    return drawing(
        canvas,
        _(
            "To scale: a disc of {size:.0f} mm with six square markers, degrees along its rim, a "
            "hole of {hole:.1f} mm and a slit; a strip with two markers; a ruler of "
            "{RULER:.0f} mm."
        ).format(size=2 * RADIUS / MM, hole=shaft / MM, RULER=RULER),
    )


def _at(degrees, radius):
    angle = math.radians(degrees)
    return AXIS[0] + radius * math.cos(angle), AXIS[1] + radius * math.sin(angle)


def _marker(canvas, number, corners):
    """A marker's black square and its white cells."""
    canvas.path(corners, "none", 0, fill="#000000", closed=True)
    white = cells(number)
    count = len(white)
    right, down = (corners[1] - corners[0]) / count, (corners[3] - corners[0]) / count
    for row, column in np.argwhere(white):
        start = corners[0] + column * right + row * down
        places = start, start + right, start + right + down, start + down
        canvas.path(places, "#ffffff", 0.02, fill="#ffffff", closed=True)


def _setup():
    """The paddle on its bench from the side with disc, strip and phone; not to scale."""
    canvas = Canvas("setup", SETUP)
    level, floor = 36.0, 8.0
    for left in (0, 118):
        canvas.box((left, floor), (left + 26, 60), PALE, PALE, 0.1)
        canvas.words((left + 13, floor + 3), _("keep out"), 7, "middle")
    canvas.line((10, level), (140, level), INK, 1.4)
    for middle in (12, 132):
        canvas.ellipse((middle, level - 4), (11, 6), "white", INK, 0.5)
    for foot in (42, 104):
        canvas.line((foot, level - 1), (foot, floor), GREY, 1.6)
        canvas.circle((foot, level - 2.2), 1.6, "white", INK, 0.5)
        canvas.words((foot, floor - 5), _("support, end stops"), 7, "middle")
    canvas.box((110, level - 13), (111.4, level + 13), "#000000", INK, 0.2)
    canvas.words((109, level + 15), _("disc"), 8, "end")
    canvas.line((114.5, 60), (114.5, 46), GREY, 0.25)
    canvas.box((114, 30), (115, 46), "#000000", INK, 0.2)
    canvas.words((113.4, 56), _("strip on a thread"), 8, "end")
    canvas.box((70, level - 9), (78, level - 3), "white", INK, 0.5)
    canvas.words((74, level - 14), _("known mass, tied twice"), 8, "middle")
    canvas.box((166, level - 5), (168, level + 7), INK, INK, 0.3)
    canvas.line((167, level - 5), (167, floor), GREY, 0.8)
    canvas.words((167, 50), _("phone"), 8, "middle")
    canvas.line((165, level + 1), (116, level + 12), GREY, 0.25, (2, 1))
    canvas.line((165, level + 1), (116, level - 12), GREY, 0.25, (2, 1))
    return drawing(
        canvas,
        _(
            "The bench from the side, not to scale: the paddle on two supports, the known mass on "
            "the shaft, the disc between the right support and the right blade, the strip hanging "
            "beside it, the phone beyond the right blade's end, outside the blades' sweep."
        ),
    )


def _degrees(shaft):
    """A strip to wrap round the shaft, with its degrees."""
    length = math.pi * shaft / MM
    canvas = Canvas("degrees", (length + 14, 22.0))
    left, bottom, top = 7.0, 4.0, 18.0
    canvas.box((left, bottom), (left + length, top))
    degree_marks(canvas, lambda degrees: left + length * degrees / 360, bottom)
    words = _("0 at the mark · this edge toward the right blade")
    canvas.words((left + length / 2, top - 1), words, 6.0, "middle", up=1.0)
    return drawing(
        canvas,
        _("A strip of degrees to wrap round a shaft {diameter:.1f} mm across.").format(
            diameter=shaft / MM
        ),
    )
