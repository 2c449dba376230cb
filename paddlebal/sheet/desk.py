"""Drawings for the desk and the bench form: the paddle end-on with gauge and lever, readings
against the angle, the bench to scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.bench.scatter import REGION
from paddlebal.book.alike import Prediction
from paddlebal.language import _
from paddlebal.placement import Placement
from paddlebal.sheet.canvas import ACCENT, GREY, INK, PALE, Canvas
from paddlebal.sheet.drawings import Drawing, drawing
from paddlebal.unbalance import roll_torque
from paddlebal.units import GRAM_MM, MM

END_ON, CURVES, BENCH = (124.0, 126.0), (124.0, 70.0), (180.0, 84.0)


CENTRE, DIAL, INNER = (62.0, 68.0), 44.0, 30.0
"""mm: the shaft axis, the ring on which the mark stands, and the longest arrow."""


class EndOn(NamedTuple):
    """What the picture shows, beyond a shaft: the gauge's sense (+1 counterclockwise), the sense in
    which the pull turns, roll angles that were read and that are next, the rest angle as seen, the
    faces' backs by side [rad], the fit, the pieces, and what the paddles before say."""

    sense: float = 1.0
    turns: float | None = 1.0
    read: Sequence[float] = ()
    following: float | None = None
    rest: float | None = None
    backs: dict[str, float] | None = None
    control: str = "right"
    fit: BenchFit | None = None
    pieces: Sequence[Placement] = ()
    before: Prediction | None = None


def _at(angle, radius):
    return CENTRE[0] + radius * math.cos(angle), CENTRE[1] + radius * math.sin(angle)


def end_on(shown: EndOn) -> Drawing:
    """The shaft seen from the right blade's end at roll 0, with the dial on which the mark runs."""
    canvas = Canvas("desk-end-on", END_ON)
    canvas.circle(CENTRE, DIAL, color=PALE)
    for gauge in range(0, 360, 30):
        angle = shown.sense * math.radians(gauge)
        canvas.line(_at(angle, DIAL - 1), _at(angle, DIAL + 1), GREY)
        place = _at(angle, DIAL + 5)
        canvas.words(place, f"{gauge}°", 9, at="middle", color=GREY, up=0.5)
    for angle in shown.read:
        canvas.circle(_at(angle, DIAL), 1.3, INK, INK)
    if shown.following is not None:
        canvas.circle(_at(shown.following, DIAL), 2.4, "none", ACCENT, 0.9)
    for side, angle in (shown.backs or {}).items():
        own = side == shown.control
        canvas.line(CENTRE, _at(angle, 24), INK if own else GREY, 0.9, None if own else (2, 1))
        words = _("back of the right blade") if side == "right" else _("back of the left blade")
        _beside(canvas, angle, 25, words, INK if own else GREY)
    _region(canvas, shown.fit, shown.before)
    largest = max((piece.arm for piece in shown.pieces), default=0.0)
    for piece in shown.pieces[:1]:
        spot = _at(piece.angle, INNER * piece.arm / largest * 0.8)
        canvas.line(CENTRE, spot, INK, 0.5)
        canvas.circle(spot, 3, "white", INK, 0.7)
    canvas.circle(CENTRE, 6, "white", INK, 0.5)
    canvas.line(_at(0, 4), _at(0, 8), INK, 1.6)
    if shown.turns is not None:
        _lever(canvas, shown.turns)
    if shown.rest is not None:
        _rest(canvas, shown.rest)
    canvas.words((0, 122), _("Seen from the end of the right blade."), 9)
    canvas.words((0, 11), _("The paddler faces right. At 0° the mark points away from them."), 9)
    _key(canvas, shown)
    return drawing(canvas, _words(shown))


def _key(canvas, shown):
    """What the signs mean that are drawn now."""
    x, y = 1.5, 5.2

    def dot(radius, fill, color, width):
        return lambda: canvas.circle((x, y), radius, fill, color, width)

    signs = (
        (bool(shown.read), _("read"), dot(1.2, INK, INK, 0.3)),
        (shown.following is not None, _("next"), dot(1.5, "none", ACCENT, 0.9)),
        (shown.rest is not None, _("rests"), lambda: _wedge(canvas, (x, y + 2), math.pi / 2)),
        (
            shown.fit is not None, _("unbalance"),
            lambda: canvas.arrow((x - 1.5, y), (x + 1, y), ACCENT, 0.7),
        ),
        (bool(shown.pieces), _("counterweight"), dot(1.5, "white", INK, 0.7)),
        (
            shown.before is not None, _("before"),
            lambda: canvas.path(
                [(x - 1.5, y - 1), (x + 1.5, y - 1), (x + 1.5, y + 1), (x - 1.5, y + 1)], GREY, 0.4,
                (1, 0.7), closed=True,
            ),
        ),
    )  # fmt: skip
    for drawn, words, draw in signs:
        if drawn:
            draw()
            canvas.words((x + 3, y), words, 8.5, up=0.5)
            x += 9 + 1.75 * len(words)


def _wedge(canvas, corner, angle):
    """A small wedge with its point at a corner, pointing out at an angle."""
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    base = np.array(corner) - 4 * along
    canvas.path((corner, base + 1.6 * across, base - 1.6 * across), INK, 0.3, fill=INK, closed=True)


def _beside(canvas, angle, radius, words, color):
    x, y = _at(angle, radius)
    at = "start" if math.cos(angle) > 0.3 else "end" if math.cos(angle) < -0.3 else "middle"
    canvas.words((x, y), words, 8.5, at=at, color=color, up=0.5 - 0.5 * math.sin(angle))


def _lever(canvas, turns):
    """The pull on the side on which it turns the shaft that way."""
    end = CENTRE[0] + 36 * turns
    canvas.line((CENTRE[0] + 6 * turns, CENTRE[1]), (end, CENTRE[1]), GREY, 1.2)
    canvas.arrow((end, CENTRE[1]), (end, CENTRE[1] + 12), INK, 0.6)
    canvas.words((end, CENTRE[1] + 14), _("pull"), 9, at="middle")


def _rest(canvas, rest):
    """The mark's place when the paddle has come to rest by itself."""
    _wedge(canvas, _at(rest, DIAL - 2), rest)


def _edge(unbalance, covariance):
    """The edge (2, n) of the 95 % region of an unbalance."""
    values, axes = np.linalg.eigh(covariance)
    turn = np.linspace(0, 2 * np.pi, 61)
    radii = np.sqrt(REGION * np.clip(values, 0, None))[:, None]
    return unbalance[:, None] + axes @ (radii * [np.cos(turn), np.sin(turn)])


def _region(canvas, fit, before):
    """The unbalance as an arrow with its 95 % region, as long as there is room; dashed the region
    of the paddles before."""
    edges: list[tuple[Any, str, str, tuple[float, int] | None]] = []
    if before is not None:
        edges.append((_edge(before.unbalance, before.normal), GREY, "none", (1.5, 1)))
    if fit is not None and np.any(fit.unbalance):
        edges.append((_edge(fit.unbalance, fit.unbalance_covariance), ACCENT, "#fde3d3", None))
    if not edges:
        return
    scale = INNER / max(float(np.hypot(*edge).max()) for edge, *_style in edges)
    for edge, color, fill, dash in reversed(edges):
        places = np.array(CENTRE)[:, None] + scale * edge
        canvas.path(places.T, color, 0.4, dash, fill=fill, closed=True)
    if edges[-1][1] == ACCENT and fit is not None:
        canvas.arrow(CENTRE, np.array(CENTRE) + scale * fit.unbalance, ACCENT, 0.9)


def _words(shown):
    parts = [_("The shaft seen from the right blade's end, the gauge's numbers round it.")]
    if shown.fit is not None:
        size, direction, _size_u, _direction_u = shown.fit.polar
        parts.append(
            _("The unbalance, {size:.0f} g·mm, points to {angle:.0f}°.").format(
                size=size / GRAM_MM, angle=math.degrees(shown.sense * direction) % 360
            )
        )
    if shown.following is not None:
        angle = math.degrees(shown.sense * shown.following) % 360
        parts.append(_("Next to read: {angle:.0f}°.").format(angle=angle))
    return " ".join(parts)


def curves(readings: LeverReadings, fit: BenchFit, sense: float) -> Drawing:
    """Moments that turn the paddle either way against the gauge's angle, as read and as fitted."""
    canvas = Canvas("desk-curves", CURVES)
    left, bottom, width, height = 16.0, 12.0, 104.0, 50.0
    circle = np.linspace(0, 2 * np.pi, 91)
    ways = np.sign(readings.arm) * readings.turning
    lines, points = [], []
    for way in (1, -1):
        friction = way * (fit.friction or 0.0)
        lines.append(friction - roll_torque(fit.unbalance, sense * circle))
        mine = ways == way
        roll = readings.roll[mine]
        moment = friction - roll_torque(fit.unbalance, roll) + fit.residuals[mine]
        points.append((np.mod(sense * roll, 2 * np.pi), moment))
    most = 1.1 * max(
        np.abs(each).max() for each in (*lines, *(part for _angle, part in points if part.size))
    )

    def place(angle, moment):
        return left + width * angle / (2 * np.pi), bottom + height * (moment / most + 1) / 2

    canvas.box((left, bottom), (left + width, bottom + height), color=PALE)
    canvas.line(place(0, 0), place(2 * np.pi, 0), GREY, 0.2)
    for gauge in range(0, 361, 90):
        x, _y = place(math.radians(gauge), 0)
        canvas.words((x, bottom - 4.5), f"{gauge}°", 9, at="middle", color=GREY)
    for share in (-1, 0, 1):
        value = share * most / 1.1
        canvas.words(
            (left - 1.5, place(0, value)[1]), f"{1e3 * value:.0f}", 9, at="end", color=GREY, up=0.5
        )
    for line, (angle, moment), dash, fill in zip(
        lines, points, (None, (2, 1)), (ACCENT, "white"), strict=True
    ):
        canvas.path(np.transpose(place(circle, line)), GREY, 0.4, dash)
        for spot in np.transpose(place(angle, moment)):
            canvas.circle(spot, 1.1, fill, ACCENT, 0.4)
    canvas.words(
        (0, 66), _("Moment that turns it [mN·m]: full counterclockwise, open clockwise"), 9
    )
    canvas.words((left + width, 2.5), _("gauge"), 9, at="end", color=GREY)
    return drawing(canvas, _("Moments read and fitted against the gauge's angle."))


def bench(lever: float, string: bool = False) -> Drawing:
    """The bench from the front and from the right blade's end, to scale; lever [m]."""
    canvas = Canvas("bench", BENCH)
    # Along the shaft, 1:20: the paddle on two trestles, bearings some 500 mm apart.
    middle, axis = 62.0, 48.0
    canvas.words((0, 80), _("From the front, 1:20"), 9, bold=True)
    canvas.box((middle - 60, axis - 0.7), (middle + 60, axis + 0.7), "white", INK)
    for side in (-1, 1):
        end = middle + side * 60
        canvas.ellipse((end - side * 12, axis + 1.2), (12.5, 4.3), "white", INK)
        foot = middle + side * 12.5
        canvas.circle((foot, axis - 1.6), 0.9, "white", INK, 0.4)
        canvas.line((foot, axis - 2.5), (foot, 10), INK, 0.8)
        canvas.line((foot - 6, 10), (foot + 6, 10), INK, 0.8)
    canvas.line((0, 10), (122, 10), PALE, 0.6)
    canvas.box((middle + 17, axis - 1.4), (middle + 19, axis + 1.4), GREY, INK)
    canvas.words((middle, axis + 8), _("shaft level: check with a spirit level"), 8.5, at="middle")
    canvas.words((middle + 21, axis - 6), _("lever"), 8.5)
    canvas.words((0, 70), _("Bearings 500 mm apart, where the shaft is round and straight"), 8.5)
    canvas.words((0, 3), _("Keep people and things one metre clear of the blades."), 8.5)
    # From the right blade's end, 1:5.
    hub = (142.0, 34.0)
    scale = next((scale for scale in (10, 20) if lever / MM / scale <= 34), 50)
    reach = lever / MM / scale
    title = _("From the right blade's end, lever 1:{scale}").format(scale=scale)
    canvas.words((112, 80), title, 9, bold=True)
    for side in (-1, 1):
        canvas.circle((hub[0] + side * 3.2, hub[1] - 4.2), 2.2, "white", INK, 0.4)
    canvas.circle(hub, 2.9, "white", INK, 0.5)
    canvas.line((hub[0] + 2.9, hub[1]), (hub[0] + 4.6, hub[1]), ACCENT, 1.2)
    canvas.line((hub[0], hub[1] + 2.9), (hub[0], hub[1] + 22), GREY, 0.3, (1, 1))
    canvas.words((hub[0], hub[1] + 23.5), _("plumb line or gauge"), 8.5, at="middle", color=GREY)
    if string:
        canvas.arrow((hub[0], hub[1] + 2.9), (hub[0] - 20, hub[1] + 2.9), INK, 0.5)
        canvas.words((hub[0] - 12, hub[1] + 6), _("level string"), 8.5, at="middle")
    else:
        canvas.box((hub[0] + 2.9, hub[1] - 1), (hub[0] + reach, hub[1] + 1), "none", INK)
        canvas.arrow((hub[0] + reach, hub[1] + 1), (hub[0] + reach, hub[1] + 18), INK, 0.6)
        canvas.words((hub[0] + reach, hub[1] + 19.5), _("scale"), 8.5, at="middle")
        canvas.line((hub[0], hub[1] - 9), (hub[0] + reach, hub[1] - 9), GREY, 0.3)
        canvas.words(
            (hub[0] + reach / 2, hub[1] - 13.5),
            _("lever {length:.0f} mm").format(length=1e3 * lever), 8.5, at="middle",
        )  # fmt: skip
    canvas.words((128, 10), _("orange: the mark; drawn at 0°"), 8.5, color=ACCENT)
    return drawing(canvas, _("The bench from the front and from the right blade's end."))
