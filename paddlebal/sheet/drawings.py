"""The fitting sheet's drawings to scale: the paddle end-on, along the shaft, the template.

Each is painted on axes whose data unit is one millimetre of paper; lengths of the paddle come
in metres and are divided by the drawing's scale. Seen from the right blade's end +y points to
the right of the page and +z up, so that angles from +y toward +z run counterclockwise.
"""

import math
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass

import numpy as np
from matplotlib import rcParams
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Circle, Ellipse, Rectangle
from matplotlib.textpath import text_to_path

from paddlebal.errors import InputError
from paddlebal.paddle import SIDES
from paddlebal.units import MM, turn_deg

ACCENT, INK, GREY, PALE = "#c2410c", "#111111", "#555555", "#dddddd"


POINT = 25.4 / 72
"""Millimetres in a typographic point."""


SMALL = 8.0
"""Size of the smallest text on the sheet [pt]."""


END_ON, ALONG, TEMPLATE = (90.0, 86.0), (186.0, 27.5), (112.0, 38.0)


END_ON_SCALES, ALONG_SCALES = (2, 2.5, 3, 4, 5), (10, 12.5, 15, 20)


TURN = 11.5
"""Distance of the arc that shows the angle from the shaft's surface [mm]."""


LABEL = 60.0
"""Width [mm] above which a keep-out is numbered on the drawing and named beside it."""


STRIP, RULER = 23.0, 100.0
"""Width of the template strip and length of the check ruler [mm]."""


SMALLEST_SHAFT = 24.0
"""Diameter [mm] below which the template's words no longer fit its length."""


@dataclass(frozen=True)
class Drawing:
    """A drawing of `size` (width, height) [mm]: `paint(axes)` draws it, `words` describe it.

    numbered tells that it names things by their number, for want of room.
    """

    key: str
    size: tuple[float, float]
    words: str
    paint: Callable
    numbered: bool = False


LOST: ContextVar[str] = ContextVar("lost", default="")
"""Letters that no font of the present sheet has."""


def printable(text):
    """A text with a sign in the place of each letter that no font has."""
    return text.translate(dict.fromkeys(map(ord, LOST.get()), "\N{REPLACEMENT CHARACTER}"))


def plain():
    """The present sheet's font."""
    return FontProperties(family=rcParams["font.family"])


def bold():
    return FontProperties(family=rcParams["font.family"], weight="bold")


def text_width(text, size, font):
    """Width [mm] of one line of text at `size` [pt]; `font` is a FontProperties."""
    font = font.copy()
    font.set_size(size)
    return text_to_path.get_text_width_height_descent(printable(text), font, False)[0] * POINT


def write(axes, x, y, text, size=SMALL, **style):
    """Text at (x, y) [mm] on a drawing; never read as mathematics, whatever it holds."""
    return axes.text(x, y, printable(text), size=size, parse_math=False, **{"color": INK, **style})


def _line(axes, start, stop, **style):
    (x0, y0), (x1, y1) = start, stop
    style = {"color": INK, "linewidth": 0.7, "solid_capstyle": "butt", **style}
    axes.plot([x0, x1], [y0, y1], **style)


def _arrow(axes, start, stop, **style):
    arrow = {"arrowstyle": "-|>", "shrinkA": 0, "shrinkB": 0, "color": INK, "lw": 0.7, **style}
    axes.annotate("", xy=stop, xytext=start, arrowprops=arrow)


def _direction(angle):
    return np.array([math.cos(angle), math.sin(angle)])


def _blade_ends(paddle):
    """For each side the two edges of its blade as seen end-on, ndarray (2,) each [m]."""
    ends = {}
    for side in SIDES:
        half = getattr(paddle, side).width / 2
        across = half * _direction(paddle.blade_angle(side) + math.pi / 2)
        centre = paddle.blade_centre(side)[1:]
        ends[side] = centre + across, centre - across
    return ends


def _end_on_scale(corners):
    """The scale at which these points (n, 2) [m] fit, and where the shaft axis then is [mm]."""
    low, high = np.min(corners, axis=0) / MM, np.max(corners, axis=0) / MM
    size, room = high - low, np.array(END_ON) - (4, 18)
    for scale in END_ON_SCALES:
        if np.all(size / scale <= room):
            return scale, (np.array(END_ON) + (0, 8) - (low + high) / scale) / 2
    most = room * END_ON_SCALES[-1]
    raise InputError(
        f"end-on, the paddle and its weight are {size[0]:.0f} mm by {size[1]:.0f} mm, "
        f"expected at most {most[0]:.0f} mm by {most[1]:.0f} mm to draw them to scale"
    )


def end_on(paddle, weight):
    """The paddle seen from the right blade's end, the control blade's power face upright.

    Raises InputError if it is too large to draw to scale.
    """
    spot, ends = _direction(weight.angle) * weight.arm, _blade_ends(paddle)
    shaft = paddle.shaft.radius + 11 * MM
    corners = [s * np.full(2, shaft) for s in (-1, 1)]
    corners += [spot + s * np.full(2, weight.diameter / 2) for s in (-1, 1)]
    scale, origin = _end_on_scale([*corners, *ends["left"], *ends["right"]])

    def paint(axes):
        def paper(place):
            return origin + np.asarray(place) / MM / scale

        edges = {side: [paper(end) for end in ends[side]] for side in SIDES}
        for side in SIDES:
            colour = INK if side == paddle.control else GREY
            _line(axes, *edges[side], color=colour, linewidth=3.5)
        radius, piece = (r / MM / scale for r in (paddle.shaft.radius, weight.diameter / 2))
        middle = paper(spot)
        _line(axes, origin, middle, color=ACCENT, linewidth=1.6)
        axes.add_patch(Circle(middle, piece, fc=ACCENT, ec=INK, lw=0.7))
        axes.add_patch(Circle(origin, radius, fc="white", ec=INK, lw=1.0))
        _line(axes, origin - [1, 0], origin + [1, 0])
        _line(axes, origin - [0, 1], origin + [0, 1])
        _quarters(axes, origin, radius)
        reference, blade = (
            origin + [radius + TURN, 0],
            paper((paddle.blade_centre(paddle.control)[1], 0)),
        )
        if blade[0] > reference[0]:
            _line(axes, reference, blade, linestyle=(0, (6, 2, 1, 2)))
        _turn(axes, origin, radius + TURN, math.radians(turn_deg(weight.angle)))
        _name_blades(axes, edges, paddle.control)
        _name_weight(axes, middle, piece, middle[1] >= origin[1], weight)
        write(axes, 0, 5, f"Scale 1:{scale:g}. You look at the end of the right blade;")
        write(axes, 0, 1, "the paddler is on the left and faces right.")

    words = (
        f"Paddle seen from the right blade's end at scale 1 to {scale:g}: the {paddle.control} "
        f"blade's power face upright; the weight {weight.arm / MM:.1f} mm from the shaft axis "
        f"at {turn_deg(weight.angle):.1f} degrees counterclockwise from the direction in "
        f"which the back of the {paddle.control} blade points."
    )
    return Drawing("end-on", END_ON, words, paint)


def _quarters(axes, origin, radius):
    """Marks on the shaft at 0, 90, 180 and 270 degrees."""
    places = (("left", "center"), ("center", "bottom"), ("right", "center"), ("center", "top"))
    for quarter, (ha, va) in enumerate(places):
        tick = _direction(quarter * math.pi / 2)
        _line(axes, origin + tick * radius, origin + tick * (radius + 2))
        x, y = origin + tick * (radius + 2.8)
        write(axes, x, y, f"{90 * quarter}°", ha=ha, va=va)


def _turn(axes, origin, radius, angle):
    """The arc from the reference to the weight, with an arrowhead."""
    if angle * radius < 4:
        return
    path = origin + radius * np.array([_direction(a) for a in np.linspace(0, angle, 91)])
    axes.plot(*path[:-3].T, color=ACCENT, linewidth=0.9)
    _arrow(axes, path[-6], path[-1], color=ACCENT)


def _name_blades(axes, ends, control):
    """Each blade's name beyond one of its ends, the two names far apart."""
    other = next(side for side in SIDES if side != control)
    first = max(ends[control], key=lambda end: end[1])
    second = max(ends[other], key=lambda end: np.hypot(*(end - first)))
    names = ((first, f"{control} blade (control)", 18), (second, f"{other} blade", 10))
    middle = np.mean([end[1] for pair in ends.values() for end in pair])
    for end, name, half in names:
        x = min(max(end[0], half), END_ON[0] - half)
        up = end[1] >= middle
        y = end[1] + (1.5 if up else -1.5)
        write(axes, x, y, name, ha="center", va="bottom" if up else "top")
    veil = {"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1}
    write(axes, first[0] - 1.5, first[1] - 2, "power face", ha="right", va="top", bbox=veil)


def _name_weight(axes, middle, piece, above, weight):
    """The weight's arm and angle above it, below it or, at the bottom, beside it."""
    text = f"weight\n{weight.arm / MM:.1f} mm, {turn_deg(weight.angle):.1f}°"
    veil = {"fc": "white", "ec": "none", "pad": 1}
    style = {"color": ACCENT, "weight": "bold", "linespacing": 1.1, "bbox": veil}
    x, y = middle
    if above:
        x = min(max(x, 14), END_ON[0] - 14)
        write(axes, x, y + piece + 1, text, ha="center", va="bottom", **style)
    elif y - piece > 20:
        x = min(max(x, 14), END_ON[0] - 14)
        write(axes, x, y - piece - 1, text, ha="center", va="top", **style)
    else:
        side, ha = (1, "left") if x < END_ON[0] / 2 else (-1, "right")
        write(axes, x + side * (piece + 1.5), y, text, ha=ha, va="center", **style)


def along(paddle, weight):
    """The shaft from its side: blades cut off, keep-outs hatched, the weight on its arm.

    Where the names of the keep-outs find no room they are numbered. Raises InputError if
    something is too large to draw to scale.
    """
    scale = _along_scale(paddle, weight)
    names = [" ".join(each.name.split()) for each in paddle.keep_outs]
    rows = _label_rows(paddle.keep_outs, names, scale)
    numbered = max(rows, default=0) > 1 or any(text_width(n, SMALL, plain()) > LABEL for n in names)
    if numbered:
        names = [str(number) for number in range(1, len(names) + 1)]
        rows = _label_rows(paddle.keep_outs, names, scale)
    below = 3.6 * max(rows, default=0)
    width, height, axis = ALONG[0], ALONG[1] + below, 9 + below
    middle, radius = width / 2, paddle.shaft.radius / MM / scale

    def paint(axes):
        def place(x):
            return middle + x / MM / scale

        def box(start, stop, low, high, **style):
            axes.add_patch(Rectangle((start, low), stop - start, high - low, lw=0.8, **style))

        for side in SIDES:
            blade = getattr(paddle, side)
            size = blade.length / MM / scale, blade.width / MM / scale
            axes.add_patch(Ellipse((place(blade.x), axis), *size, fc=PALE, ec=GREY, lw=0.8))
        half = paddle.shaft.length / 2
        box(place(-half), place(half), axis - radius, axis + radius, fc="white", ec=INK)
        for keep_out, label, row in zip(paddle.keep_outs, names, rows, strict=True):
            ends = place(keep_out.start), place(keep_out.stop)
            low, high, level = axis - radius - 1, axis + radius + 1, axis - radius - 4 - 3.6 * row
            box(*ends, low, high, fc="white", ec=GREY, hatch="//////")
            name = _inside(sum(ends) / 2, label)
            _line(axes, (sum(ends) / 2, low), (name, level), color=GREY)
            write(axes, name, level, label, ha="center", va="top")
        x, level = place(weight.x), axis + weight.arm / MM / scale
        wide, tall = weight.length / 2 / MM / scale, weight.diameter / 2 / MM / scale
        _line(axes, (x, axis + radius), (x, level), color=ACCENT, linewidth=1.6)
        box(x - wide, x + wide, level - tall, level + tall, fc=ACCENT, ec=INK)
        _line(axes, (middle, axis - 5), (middle, height - 6), linestyle=(0, (6, 2, 1, 2)))
        _distance(axes, middle, x, height - 7, weight.x)
        left, right = (f"{s} blade{' (control)' * (s == paddle.control)}" for s in SIDES)
        write(axes, 0, height, left, va="top", weight="bold")
        write(axes, width, height, right, va="top", ha="right", weight="bold")
        write(axes, 0, height - 4, f"Scale 1:{scale:g}, arm turned up.", va="top")
        write(axes, width, height - 4, "Hatched: no weight there.", va="top", ha="right")

    words = (
        f"The shaft from its side at scale 1 to {scale:g}: the weight {position(weight.x)}; "
        "hatched stretches where no weight may sit: "
        + ("; ".join(map(keep_out_words, paddle.keep_outs)) or "none")
        + "."
    )
    return Drawing("along", (width, height), words, paint, numbered)


def _along_scale(paddle, weight):
    """The scale at which the shaft and the weight on its arm fit."""
    length, reach = paddle.shaft.length / MM, (weight.arm + weight.diameter / 2) / MM
    if abs(weight.x) / MM > length / 2:
        raise InputError(
            f"the weight sits {abs(weight.x) / MM:.0f} mm from the shaft's middle, expected at "
            f"most {length / 2:.0f} mm, the end of the shaft"
        )
    wide, tall = ALONG[0] - 28, 10.5
    for scale in ALONG_SCALES:
        if length <= wide * scale and reach <= tall * scale:
            return scale
    raise InputError(
        f"the shaft is {length:.0f} mm long and the weight reaches {reach:.0f} mm from its axis, "
        f"expected at most {wide * scale:.0f} mm and {tall * scale:.0f} mm to draw them to scale"
    )


def _distance(axes, middle, x, level, distance):
    """The distance of the weight from the shaft's middle, with its arrow."""
    if abs(x - middle) < 3:
        write(axes, middle + 1.5, level + 1, "middle of the shaft", va="bottom")
        return
    _line(axes, (x, level - 1.5), (x, level + 1.5), color=ACCENT)
    _arrow(axes, (middle, level), (x, level), color=ACCENT)
    text = f"{abs(distance) / MM:.0f} mm"
    outward = 1.5 if x > middle else -1.5
    ha = "left" if x > middle else "right"
    write(axes, x + outward, level, text, ha=ha, va="center", color=ACCENT, weight="bold")
    opposite = "right" if ha == "left" else "left"
    write(axes, middle - outward, level, "middle of the shaft", ha=opposite, va="center")


def _inside(centre, text):
    half = text_width(text, SMALL, plain()) / 2
    return min(max(centre, half), ALONG[0] - half)


def _label_rows(keep_outs, names, scale):
    """For each keep-out the row of its name, so that names in a row keep apart."""
    ends: list[list[tuple]] = []
    rows = []
    for keep_out, name in zip(keep_outs, names, strict=True):
        wide = text_width(name, SMALL, plain())
        middle = (keep_out.start + keep_out.stop) / 2 / MM / scale + ALONG[0] / 2
        start = _inside(middle, name) - wide / 2 - 1
        stop = start + wide + 2
        row = next(
            (r for r, taken in enumerate(ends) if all(b < start or stop < a for a, b in taken)),
            len(ends),
        )
        if row == len(ends):
            ends.append([])
        ends[row].append((start, stop))
        rows.append(row)
    return rows


def position(x):
    """A place along the shaft in words."""
    distance = round(abs(x) / MM)
    if distance == 0:
        return "at the middle of the shaft"
    return f"{distance} mm from the middle of the shaft toward the {toward(x)} blade"


def toward(x):
    """The side, 'left' or 'right', on which a place along the shaft lies."""
    return "left" if x < 0 else "right"


def keep_out_words(keep_out):
    """A keep-out's name and stretch in words."""
    start, stop = (f"{abs(x) / MM:.0f} mm {toward(x)}" for x in (keep_out.start, keep_out.stop))
    return f"{keep_out.name} from {start} to {stop}"


def template(paddle, weight):
    """The strip to wrap round the shaft, as long as the shaft is round, and a ruler."""
    width, height = TEMPLATE
    diameter = 2 * paddle.shaft.radius / MM
    length = math.pi * diameter
    largest = (width - 2) / math.pi
    if not SMALLEST_SHAFT <= diameter <= largest:
        raise InputError(
            f"the shaft is {diameter:.1f} mm across and its template {length:.0f} mm long, "
            f"expected {SMALLEST_SHAFT:.0f} to {largest:.0f} mm across to print it on the sheet"
        )
    angle = turn_deg(weight.angle)

    def paint(axes):
        bottom, top = height - 1 - STRIP, height - 1
        left, right = 1.0, 1.0 + length
        axes.add_patch(Rectangle((left, bottom), length, STRIP, fc="none", ec=INK, lw=0.6))
        _scale_of_degrees(axes, left, length, bottom, angle)
        for end in (left, right):
            _line(axes, (end, bottom), (end, top), linewidth=1.2)
        edge = "this edge toward the right blade"
        write(axes, (left + right) / 2, top - 1, edge, ha="center", va="top")
        for x in (left + 3, right - 3):
            _arrow(axes, (x, top - 4), (x, top - 0.5))
        blade = f"0: back of {paddle.control} blade"
        line = left + angle / 360 * length
        _line(axes, (line, bottom), (line, top - 5), color=ACCENT, linewidth=1.6)
        style = {"size": 9, "weight": "bold", "color": ACCENT, "va": "bottom"}
        late = angle > 180
        x, ha = (line - 1.2, "right") if late else (line + 1.2, "left")
        write(axes, x, bottom + 13.5, f"WEIGHT {angle:.1f}°", ha=ha, **style)
        x, ha = (left + 1.5, "left") if late else (right - 1.5, "right")
        write(axes, x, bottom + 9, blade, ha=ha, va="bottom")
        _ruler(axes)

    words = (
        f"Template to wrap round the shaft, {length:.1f} mm long for a shaft {diameter:.1f} mm "
        f"across, marked every 5 degrees, with the reference line at 0 and the weight's line at "
        f"{angle:.1f} degrees; below it a ruler of {RULER:.0f} mm."
    )
    return Drawing("template", TEMPLATE, words, paint)


def _scale_of_degrees(axes, left, length, bottom, angle):
    """Ticks every 5 and 10 degrees, figures every 30 where the weight's line leaves room."""
    for degrees in range(0, 361, 5):
        x = left + degrees / 360 * length
        tall = 4.5 if degrees % 30 == 0 else 3 if degrees % 10 == 0 else 1.8
        _line(axes, (x, bottom), (x, bottom + tall), linewidth=0.5)
        if degrees % 30 == 0 and abs(degrees - angle) > 10:
            ha = {0: "left", 360: "right"}.get(degrees, "center")
            inward = {0: 1, 360: -1}.get(degrees, 0)
            write(axes, x + inward, bottom + 5, f"{degrees % 360}", ha=ha, va="bottom")


def _ruler(axes):
    left, level = 1.0, 8.0
    _line(axes, (left, level), (left + RULER, level), linewidth=0.9)
    for mm in range(0, round(RULER) + 1, 5):
        tall = 3 if mm % 10 == 0 else 1.8
        _line(axes, (left + mm, level), (left + mm, level - tall), linewidth=0.5)
        if mm % 20 == 0:
            text = f"{mm} mm" if mm == RULER else f"{mm}"
            write(axes, left + mm, level - 3.5, text, ha="center", va="top")
