"""The fitting sheet's drawings to scale: the paddle end-on, along the shaft, the template.

Lengths of the paddle come in metres and are divided by the drawing's scale. Seen from the right
blade's end +y points to the right of the page and +z up, so that angles from +y toward +z run
counterclockwise.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.paddle import SIDES, Paddle
from paddlebal.sheet.canvas import ACCENT, GREY, INK, PALE, Canvas
from paddlebal.units import MM, turn_deg

END_ON, ALONG, TEMPLATE = (90.0, 90.0), (186.0, 30.0), (124.0, 31.0)


END_ON_SCALES, ALONG_SCALES = (2, 2.5, 3, 4, 5), (10, 12.5, 15, 20)


TURN = 11.5
"""Distance of the arc that shows the angle from the shaft's surface [mm]."""


STRIP, RULER = 23.0, 100.0
"""Width of the template strip and length of the check ruler [mm]."""


SMALLEST_SHAFT = 24.0
"""Diameter [mm] below which the template's words no longer fit its length."""


RAY = 0.085
"""Length [m] of the lines along which blades point whose size is not known."""


@dataclass(frozen=True)
class Drawing:
    """A drawing of `size` (width, height) [mm] as `svg`; `words` describe it."""

    key: str
    size: tuple[float, float]
    words: str
    svg: str


def drawing(canvas, words):
    return Drawing(canvas.key, canvas.size, words, canvas.svg(words))


def _direction(angle):
    return np.array([math.cos(angle), math.sin(angle)])


def _blade_named(side, control):
    if side == control:
        return _("left blade (control)") if side == "left" else _("right blade (control)")
    return _("left blade") if side == "left" else _("right blade")


def start_of_angles(paddle):
    """What the angles of weights count from, in words."""
    if isinstance(paddle, Paddle):
        return _("the back of the {control} blade").format(control=_(paddle.control))
    return _("the mark")


def named(piece, pieces):
    """The name of a piece: 'weight', or 'left weight' and so on if there are several."""
    return (
        _("weight")
        if len(pieces) == 1
        else _("weight {number}").format(number=pieces.index(piece) + 1)
    )


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
    size, room = high - low, np.array(END_ON) - (6, 24)
    for scale in END_ON_SCALES:
        if np.all(size / scale <= room):
            return scale, (np.array(END_ON) + (0, 8) - (low + high) / scale) / 2
    most = room * END_ON_SCALES[-1]
    raise InputError(
        _(
            "end-on, the paddle and its weight are {wide:.0f} mm by {tall:.0f} mm, expected "
            "at most {most_wide:.0f} mm by {most_tall:.0f} mm to draw them to scale"
        ).format(wide=size[0], tall=size[1], most_wide=most[0], most_tall=most[1])
    )


def end_on(paddle, pieces):
    """The paddle seen from the right blade's end at roll angle 0.

    Raises InputError if it is too large to draw to scale.
    """
    spots = [_direction(piece.angle) * piece.arm for piece in pieces]
    ends = _blade_ends(paddle) if isinstance(paddle, Paddle) else {}
    shaft = paddle.shaft.radius + 11 * MM
    corners = [s * np.full(2, shaft) for s in (-1, 1)]
    for spot, piece in zip(spots, pieces, strict=True):
        corners += [spot + s * np.full(2, piece.diameter / 2) for s in (-1, 1)]
    if not ends and paddle.faces_known:
        corners += [RAY * _direction(paddle.blade_angle(side)) for side in SIDES]
    scale, origin = _end_on_scale([*corners, *(end for pair in ends.values() for end in pair)])
    canvas = Canvas("end-on", END_ON)

    def paper(place):
        return origin + np.asarray(place) / MM / scale

    if ends:
        edges = {side: [paper(end) for end in ends[side]] for side in SIDES}
        for side in SIDES:
            first, last = edges[side]
            canvas.line(first, last, INK if side == paddle.control else GREY, 1.2)
        _name_blades(canvas, edges, paddle.control, [paper(spot) for spot in spots])
    elif paddle.faces_known:
        _rays(canvas, origin, scale, paddle)
    radii = [d / 2 / MM / scale for d in paddle.shaft.diameters]
    for spot, piece in zip(spots, pieces, strict=True):
        canvas.line(origin, paper(spot), ACCENT, 0.6)
        canvas.circle(paper(spot), piece.diameter / 2 / MM / scale, ACCENT, INK)
    canvas.ellipse(origin, radii, "white", INK, 0.35)
    canvas.line(origin - [1, 0], origin + [1, 0])
    canvas.line(origin - [0, 1], origin + [0, 1])
    _quarters(canvas, origin, radii)
    if not ends:
        canvas.line(origin + [radii[0] - 1.5, 0], origin + [radii[0] + 1, 0], INK, 1.2)
    for count, (spot, piece, name) in enumerate(_seen(spots, pieces)):
        _turn(canvas, origin, max(radii) + TURN + 3 * count, math.radians(turn_deg(piece.angle)))
        _name_weight(canvas, origin, paper(spot), piece, scale, name)
    canvas.words(
        (0, 5), _("Scale 1:{scale:g}. You look at the end of the right blade;").format(scale=scale)
    )
    canvas.words((0, 1), _("the paddler is on the left and faces right."))
    weights = "; ".join(
        _("the {pieces} {arm:.1f} mm from the shaft axis at {angle:.1f} degrees").format(
            pieces=named(piece, pieces), arm=piece.arm / MM, angle=turn_deg(piece.angle)
        )
        for piece in pieces
    )
    return drawing(
        canvas,
        _(
            "Paddle seen from the right blade's end at scale 1 to {scale:g}, at roll angle "
            "0: {weights}, counterclockwise from where {start_of_angles} points."
        ).format(scale=scale, weights=weights, start_of_angles=start_of_angles(paddle)),
    )


def _rays(canvas, origin, scale, paddle):
    """Where the backs of blades point whose size is not known."""
    for side in SIDES:
        way = _direction(paddle.blade_angle(side))
        stop = origin + RAY / MM / scale * way
        control = side == paddle.control
        canvas.line(origin, stop, INK if control else GREY, 0.4, (3, 1))
        at = "middle" if abs(way[0]) < 0.7 else "end" if way[0] > 0 else "start"
        x = min(max(stop[0], 14), END_ON[0] - 14) if at == "middle" else stop[0]
        above = way[1] >= 0
        place = (x, stop[1] + (1.5 if above else -1.5))
        canvas.words(
            place, _("back of {side} blade").format(side=_(side)), at=at, up=0.0 if above else 1.0
        )


def _seen(spots, pieces):
    """Spot, piece and name of each weight that is seen end-on; those behind it share the name."""
    seen: list[tuple[Any, Any, str]] = []
    for spot, piece in zip(spots, pieces, strict=True):
        name = named(piece, pieces)
        before = next((i for i, (s, *_) in enumerate(seen) if np.hypot(*(s - spot)) < MM), None)
        if before is None:
            seen.append((spot, piece, name))
        else:
            seen[before] = (*seen[before][:2], f"{seen[before][2]}, {name.removeprefix('weight ')}")
    return seen


def _quarters(canvas, origin, radii):
    """Marks on the shaft at 0, 90, 180 and 270 degrees."""
    places = (("start", 0.5), ("middle", 0.0), ("end", 0.5), ("middle", 1.0))
    for quarter, (at, up) in enumerate(places):
        tick, radius = _direction(quarter * math.pi / 2), radii[quarter % 2]
        canvas.line(origin + tick * radius, origin + tick * (radius + 2))
        canvas.words(origin + tick * (radius + 2.8), f"{90 * quarter}°", at=at, up=up)


def _turn(canvas, origin, radius, angle):
    """The arc from the zero of the angles to the weight, with an arrowhead."""
    if angle * radius < 4:
        return
    path = origin + radius * np.array([_direction(a) for a in np.linspace(0, angle, 91)])
    canvas.path(path[:-3], ACCENT, 0.3)
    canvas.arrow(path[-6], path[-1], ACCENT, 0.3)


def _name_blades(canvas, ends, control, spots):
    """Each blade's name beyond one of its ends, the two names far apart, clear of the weights'."""
    other = next(side for side in SIDES if side != control)

    def clear(end):
        return all(np.hypot(*(end - spot)) > 24 for spot in spots)

    first = max(ends[control], key=lambda end: (clear(end), end[1]))
    second = max(ends[other], key=lambda end: np.hypot(*(end - first)))
    middle = np.mean([end[1] for pair in ends.values() for end in pair])
    for end, name, half in (
        (first, _blade_named(control, control), 19),
        (second, _blade_named(other, control), 11),
    ):
        x = min(max(end[0], half), END_ON[0] - half)
        above = end[1] >= middle
        canvas.words(
            (x, end[1] + (1.5 if above else -1.5)), name, at="middle", up=0.0 if above else 1.0
        )
    inward = -3 if first[1] >= middle else 3
    up = 1.0 if inward < 0 else 0.0
    canvas.words((first[0] - 1.5, first[1] + inward), _("power face"), at="end", up=up)


def _name_weight(canvas, origin, middle, piece, scale, name):
    """The weight's name, arm and angle beyond it, as seen from the shaft."""
    half = piece.diameter / 2 / MM / scale
    lines = name, f"{piece.arm / MM:.1f} mm, {turn_deg(piece.angle):.1f}°"
    x = min(max(middle[0], 15), END_ON[0] - 15)
    above = middle[1] >= origin[1]
    if not above and middle[1] - half < 18:  # no room below: beside it
        x = min(max(middle[0] + half + 16, 15), END_ON[0] - 15)
        y = middle[1] + 1
    else:
        y = middle[1] + half + 4.6 if above else middle[1] - half - 3.6
    for line, text in enumerate(lines):
        canvas.words((x, y - 3.6 * line), text, at="middle", color=ACCENT, bold=True)


def along(paddle, pieces):
    """The shaft from its side: keep-outs hatched and numbered, the weights on their arms.

    Raises InputError if something is too large to draw to scale.
    """
    scale = _along_scale(paddle, pieces)
    canvas = Canvas("along", ALONG)
    (width, height), axis = ALONG, 11.0
    middle, radius = width / 2, paddle.shaft.radius / MM / scale

    def place(x):
        return middle + x / MM / scale

    if isinstance(paddle, Paddle):
        for side in SIDES:
            blade = getattr(paddle, side)
            size = blade.length / 2 / MM / scale, blade.width / 2 / MM / scale
            canvas.ellipse((place(blade.x), axis), size, PALE, GREY)
    half = paddle.shaft.length / 2
    canvas.box((place(-half), axis - radius), (place(half), axis + radius), "white", INK, 0.3)
    levels = _levels(paddle.keep_outs, place)
    for number, (keep_out, level) in enumerate(zip(paddle.keep_outs, levels, strict=True), 1):
        ends = place(keep_out.start), place(keep_out.stop)
        canvas.hatched((ends[0], axis - radius - 1), (ends[1], axis + radius + 1))
        centre = sum(ends) / 2
        canvas.line((centre, axis - radius - 1), (centre, axis - radius - 2), GREY)
        foot = (centre, axis - radius - 2.3 - 3.2 * level)
        canvas.words(foot, f"{number}", 7.0, at="middle", up=1.0)
    for piece in pieces:
        x, level = place(piece.x), axis + piece.arm / MM / scale
        wide, tall = (part / 2 / MM / scale for part in (piece.length, piece.diameter))
        canvas.line((x, axis + radius), (x, level), ACCENT, 0.6)
        canvas.box((x - wide, level - tall), (x + wide, level + tall), ACCENT, INK)
    canvas.line((middle, axis - 4), (middle, height - 6), GREY, 0.2, (2, 1, 0.5, 1))
    for count, piece in enumerate(pieces):
        _distance(canvas, middle, place(piece.x), height - 6 - 3.4 * (count % 2), piece.x)
    left, right = (_blade_named(side, paddle.control) for side in SIDES)
    canvas.words((0, height), left, up=1.0, bold=True)
    canvas.words((width, height), right, at="end", up=1.0, bold=True)
    canvas.words(
        (0, height - 4), _("Scale 1:{scale:g}, arm turned up.").format(scale=scale), up=1.0
    )
    canvas.words((width, height - 4), _("Hatched: no weight there."), at="end", up=1.0)
    zones = "; ".join(map(keep_out_words, paddle.keep_outs)) or _("none")
    spots = "; ".join(
        _("the {pieces} {x}").format(pieces=named(piece, pieces), x=position(piece.x))
        for piece in pieces
    )
    return drawing(
        canvas,
        _(
            "The shaft from its side at scale 1 to {scale:g}: {spots}; hatched stretches "
            "where no weight may sit: {zones}."
        ).format(scale=scale, spots=spots, zones=zones),
    )


def _levels(keep_outs, place):
    """For each keep-out the row of its number, so that numbers in a row keep apart."""
    last: list[float] = []
    levels = []
    for keep_out in keep_outs:
        centre = place((keep_out.start + keep_out.stop) / 2)
        row = next((r for r, x in enumerate(last) if abs(centre - x) > 4), len(last))
        last[row : row + 1] = [centre]
        levels.append(min(row, 2))
    return levels


def _along_scale(paddle, pieces):
    """The scale at which the shaft and the weights on their arms fit."""
    length = paddle.shaft.length / MM
    reach = max(piece.arm + piece.diameter / 2 for piece in pieces) / MM
    for piece in pieces:
        if abs(piece.x) / MM > length / 2:
            raise InputError(
                _(
                    "the weight sits {x:.0f} mm from the shaft's middle, expected at most "
                    "{length:.0f} mm, the end of the shaft"
                ).format(x=abs(piece.x) / MM, length=length / 2)
            )
    wide, tall = ALONG[0] - 28, 11.0
    for scale in ALONG_SCALES:
        if length <= wide * scale and reach <= tall * scale:
            return scale
    raise InputError(
        _(
            "the shaft is {length:.0f} mm long and the weight reaches {reach:.0f} mm from "
            "its axis, expected at most {most_wide:.0f} mm and {most_tall:.0f} mm to draw them to "
            "scale"
        ).format(length=length, reach=reach, most_wide=wide * scale, most_tall=tall * scale)
    )


def _distance(canvas, middle, x, level, distance):
    """The distance of the weight from the shaft's middle, with its arrow."""
    if abs(x - middle) < 3:
        canvas.words((middle + 1.5, level + 1), _("middle of the shaft"))
        return
    canvas.line((x, level - 1.5), (x, level + 1.5), ACCENT)
    canvas.arrow((middle, level), (x, level), ACCENT)
    text = f"{abs(distance) / MM:.0f} mm"
    if abs(x - middle) > 36:  # beyond it stand the blade's name and the scale
        place, at = (x + middle) / 2, "middle"
    else:
        place, at = (x + 1.5, "start") if x > middle else (x - 1.5, "end")
    canvas.words((place, level), text, at=at, color=ACCENT, bold=True, up=0.5)


def position(x):
    """A place along the shaft in words."""
    distance = round(abs(x) / MM)
    if distance == 0:
        return _("at the middle of the shaft")
    return _("{distance} mm from the middle of the shaft toward the {x} blade").format(
        distance=distance, x=_(toward(x))
    )


def toward(x):
    """The side, 'left' or 'right', on which a place along the shaft lies."""
    return "left" if x < 0 else "right"


def keep_out_words(keep_out):
    """A keep-out's name and stretch in words."""
    start, stop = (f"{abs(x) / MM:.0f} mm {_(toward(x))}" for x in (keep_out.start, keep_out.stop))
    return _("{keep_out} from {start} to {stop}").format(
        keep_out=keep_out.name, start=start, stop=stop
    )


def arc(diameters, angle):
    """Way [m] round a shaft from 0 to an angle [rad] of its surface, from 0 to a full turn.

    diameters: in the direction of 0 and across it. On an oval shaft equal angles are not equal
    ways.
    """
    from scipy.special import ellipe, ellipeinc

    along_zero, across = (d / 2 for d in diameters)
    quarters, rest = divmod(angle, math.pi / 2)
    # The ellipse's own parameter t counts from 0; its arc is that of E from the other axis.
    modulus = 1 - (along_zero / across) ** 2
    whole = across * ellipe(modulus)
    t = math.atan2(along_zero * math.sin(rest), across * math.cos(rest))
    way = across * ellipeinc(t, modulus)
    if quarters % 2:
        t = math.atan2(along_zero * math.cos(rest), across * math.sin(rest))
        way = whole - across * ellipeinc(t, modulus)
    return quarters * whole + way


def template(paddle, piece, pieces):
    """The strip to wrap round the shaft, as long as the shaft is round."""
    diameters = paddle.shaft.diameters
    length = arc(diameters, math.tau) / MM
    width, height = TEMPLATE
    across = max(diameters) / MM
    if not (min(diameters) / MM >= SMALLEST_SHAFT and length <= width - 2):
        raise InputError(
            _(
                "the shaft is {across:.1f} mm across and its template {length:.0f} mm long, "
                "expected {SMALLEST_SHAFT:.0f} to {width:.0f} mm across to print it on the sheet"
            ).format(
                across=across,
                length=length,
                SMALLEST_SHAFT=SMALLEST_SHAFT,
                width=(width - 2) / math.pi,
            )
        )
    angle, name = turn_deg(piece.angle), named(piece, pieces)
    canvas = Canvas(f"template-{pieces.index(piece) + 1}", TEMPLATE)
    bottom, top, left, right = 4.0, 4.0 + STRIP, 1.0, 1.0 + length

    def place(degrees):
        return left + arc(diameters, math.radians(degrees)) / MM

    canvas.box((left, bottom), (right, top))
    degree_marks(canvas, place, bottom, angle)
    for end in (left, right):
        canvas.line((end, bottom), (end, top), INK, 0.42)
    edge = _("this edge toward the right blade")
    canvas.words(((left + right) / 2, top - 1), edge, at="middle", up=1.0)
    for x in (left + 3, right - 3):
        canvas.arrow((x, top - 4), (x, top - 0.5))
    line, late = place(angle), angle > 180
    canvas.line((line, bottom), (line, top - 5), ACCENT, 0.56)
    x, at = (line - 1.2, "end") if late else (line + 1.2, "start")
    text = f"{name.upper()} {angle:.1f}°"
    canvas.words((x, bottom + 13.5), text, 9.0, at, ACCENT, bold=True)
    x, at = (left + 1.5, "start") if late else (right - 1.5, "end")
    zero = _("0: mark")
    if isinstance(paddle, Paddle):
        zero = _("0: back of {side} blade").format(side=_(paddle.control))
    canvas.words((x, bottom + 9), zero, at=at)
    return drawing(
        canvas,
        _(
            "Template to wrap round the shaft, {length:.1f} mm long for a shaft {diameters} "
            "across, marked every 5 degrees, with the reference line at 0 and the line of "
            "the {name} at {angle:.1f} degrees."
        ).format(length=length, diameters=shaft_words(diameters), name=name, angle=angle),
    )


def degree_marks(canvas, place, bottom, free=math.inf):
    """Marks at every 5 degrees; place(degrees) is where. No number stands near `free`."""
    for degrees in range(0, 361, 5):
        tall = 4.5 if degrees % 30 == 0 else 3 if degrees % 10 == 0 else 1.8
        canvas.line((place(degrees), bottom), (place(degrees), bottom + tall), INK, 0.18)
        if degrees % 30 == 0 and abs(degrees - free) > 10:
            at = {0: "start", 360: "end"}.get(degrees, "middle")
            inward = {0: 1, 360: -1}.get(degrees, 0)
            canvas.words((place(degrees) + inward, bottom + 5), f"{degrees % 360}", at=at)


def shaft_words(diameters):
    """The diameters of a shaft in words."""
    first, second = (f"{d / MM:.1f} mm" for d in diameters)
    return first if first == second else f"{first} by {second}"


def ruler():
    """A ruler to check the print."""
    canvas = Canvas("ruler", (RULER + 12, 9.0))
    rule(canvas, 1.0, 8.0)
    return drawing(canvas, _("A ruler of {RULER:.0f} mm.").format(RULER=RULER))


def rule(canvas, left, level):
    """A ruler from a place on."""
    canvas.line((left, level), (left + RULER, level), INK, 0.3)
    for mm in range(0, round(RULER) + 1, 5):
        tall = 3 if mm % 10 == 0 else 1.8
        canvas.line((left + mm, level), (left + mm, level - tall), INK, 0.18)
        if mm % 20 == 0:
            text = f"{mm} mm" if mm == RULER else f"{mm}"
            canvas.words((left + mm, level - 3.5), text, at="middle", up=1.0)
