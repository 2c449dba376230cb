"""A bench form to print: the angles to read, boxes for the pulls, the bench to scale, how to build
it and how to read mark, face and plumb."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from importlib.resources import files

from paddlebal.language import _, spoken
from paddlebal.sheet.canvas import plain
from paddlebal.sheet.desk import bench
from paddlebal.sheet.fonts import typst_fonts
from paddlebal.units import STANDARD_GRAVITY

BLANK_ROWS = 3


def bench_notes(weight: float = 0.0) -> tuple[str, ...]:
    """How to build the bench and read it, in sentences.

    weight: what the lever should carry so that the scale stays pulled all round [N].
    """
    hang = math.ceil(1e3 * weight / STANDARD_GRAVITY / 10) * 10
    heavy = _(
        "If the scale goes slack at some angles, hang any weight on the lever's end and leave "
        "it there for all readings; it needs no number."
    )
    if hang:
        heavy += " " + _("Some {grams} g will do here.").format(grams=hang)
    return (
        _("Four small ball bearings in two pairs, or two straight rails, level both ways: check "
          "with a spirit level along and across. They stand on trestles or a table's "
          "edge, clamped."),
        _("Lever: a straight strip of wood with a clamp or a hose clip round the shaft, a hook at "
          "its end. Measure from the shaft's axis to the hook. At each reading it is clamped "
          "anew, level, and the scale pulls straight up."),
        heavy,
        _("Mark: a strip of tape along the shaft. The angle of the mark is read by a plumb line "
          "and a protractor, or by a phone's level on the blade. 0° is where the mark points "
          "level and away from the paddler."),
        _("Let the paddle go once, without lever, and write down where the mark comes to rest."),
        _("Pull slowly. Turning with the pull: the shaft just begins to turn the way the scale "
          "pulls. Turning against it: you let the scale down and the shaft just begins to turn "
          "back. Friction lies between the two."),
        _("Face: hold a level against the control blade's power face; when it is plumb, read the "
          "gauge. Left and right are those of the paddler."),
        _("Care: keep hands, faces and bystanders out of the blades' sweep; the paddle swings when "
          "it is let go. Fasten the lever so that it cannot fly off. A paddle that falls off the "
          "bearings breaks: put end stops beside them."),
    )  # fmt: skip


def bench_form(
    name: str, angles: Sequence[float], unit: str, lever: float, weight: float, string: bool
) -> bytes:
    """The form as PDF: angles to read [degrees on the gauge], the scale's unit, the lever [m]."""
    import typst

    drawing = bench(lever, string)
    blank = [""] * BLANK_ROWS
    rows = [
        [str(i), text, "", "", ""]
        for i, text in enumerate([*(f"{a:g}°" for a in angles), *blank], 1)
    ]
    content = {
        "language": spoken(),
        "title": _("Bench form"),
        "words": plain(
            _(
                "Paddle: {name}. Read each angle twice, turning with the pull and against it."
            ).format(name=name)
        ),
        "fields": [
            _("date"), _("read by"), _("mass of all of it [g]"), _("length over all [mm]"),
            _("balance, from the left blade's end [mm]"), _("shaft's diameter [mm]"),
            _("feather [°]"), _("gauge when the face is plumb [°]"), _("lever [mm]"),
            _("comes to rest at [°]"),
        ],
        "head": [
            "#", _("angle"), _("turning with [{unit}]").format(unit=unit),
            _("turning against [{unit}]").format(unit=unit), _("remarks"),
        ],
        "rows": rows,
        "bench_title": _("The bench"),
        "drawing": drawing.svg,
        "width": drawing.size[0],
        "alt": drawing.words,
        "notes_title": _("How to build the bench and read it"),
        "notes": bench_notes(weight),
    }  # fmt: skip
    source = files("paddlebal.sheet").joinpath("bench_form.typ").read_bytes()
    pdf: bytes = typst.compile(
        source, sys_inputs={"form": json.dumps(content)}, font_paths=typst_fonts(),
        format="pdf", pdf_standards="ua-1", timestamp=0,
    )  # fmt: skip
    return pdf
