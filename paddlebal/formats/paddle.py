"""A paddle's data file: of what it is made, or what is known of it from outside."""

from __future__ import annotations

import math
from pathlib import Path

from paddlebal.errors import InputError, refuse
from paddlebal.files.saving import write_text
from paddlebal.files.text import read_text
from paddlebal.files.toml import Table, parse_toml, tidy
from paddlebal.outside import AnyPaddle, OutsidePaddle, OutsideShaft
from paddlebal.paddle import HEAVIEST, SIDES, Blade, Counterweight, KeepOut, Paddle, Shaft
from paddlebal.units import DEG, GRAM, MM

_CM3 = 1e-6


_LONG, _HEAVY = 10_000, round(HEAVIEST / GRAM)
"""mm, and g or cm³: more is a slip of the pen."""


def load_any_paddle(path: str | Path) -> AnyPaddle:
    """Read a paddle, known by its parts or only from outside, from its TOML file.

    A file that states the mass, length or balance point of the whole paddle is of one that is
    known only from outside.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Paddle or OutsidePaddle

    Raises
    ------
    InputError
        One sentence naming file, field and what was expected.
    """
    return parse_paddle(read_text(path, "a TOML file"), Path(path))


def load_paddle(path: str | Path) -> Paddle:
    """Read a paddle that is known by its parts from its TOML file.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Paddle

    Raises
    ------
    InputError
        One sentence naming file, field and what was expected.
    """
    paddle = load_any_paddle(path)
    if not isinstance(paddle, Paddle):
        problem = "is of a paddle known only from outside, expected one with its blades"
        raise InputError(problem, file=path)
    return paddle


def parse_paddle(text, file=None, tell=refuse):
    """The paddle that a file's text describes.

    tell(error) takes each InputError. By default it raises; if it returns, the reading goes on
    so that all is told, and the paddle returned is of no use.
    """
    top = Table(file, "", parse_toml(text, file, "is"), tell)
    top.table("book")  # what a workshop's book keeps beside it
    return (_outside_from if top.data.keys() & _WHOLE else _paddle_from)(top)


_WHOLE = {"mass_g", "length_mm", "balance_mm"}
"""Fields of a paddle that is known only from outside."""


def _outside_from(top):
    length = top.number("length_mm", MM, low=100, high=_LONG)
    half_mm = length / MM / 2
    shaft = top.table("shaft")
    face = top.optional("face_deg", DEG, low=-360, high=360)
    paddle = OutsidePaddle(
        name=top.text("name"),
        note=top.text("note", default=""),
        mass=top.number("mass_g", GRAM, low=1, high=_HEAVY),
        balance_point=top.number("balance_mm", MM, low=-half_mm, high=half_mm),
        shaft=OutsideShaft(length, _diameters(shaft)),
        control=top.text("control", choices=SIDES),
        feather=top.optional("feather_deg", DEG, low=-180, high=180),
        face=face,
        face_u=top.number(
            "face_u_deg", DEG, low=0, high=180, default=0.0 if face is None else None
        ),
        volume=top.optional("volume_cm3", _CM3, low=1, high=_HEAVY),
        keep_outs=tuple(map(_keep_out_from, top.tables("keep_out"))),
        counterweights=tuple(map(_counterweight_from, top.tables("counterweight"))),
    )
    for table in (shaft, top):
        table.finish()
    return paddle


def _diameters(table):
    """The two diameters [m] of a shaft; the second is the same as the first if it is not stated."""
    stated = table.get("diameter_mm")
    if not isinstance(stated, list):
        return (table.number("diameter_mm", MM, above=0, high=_LONG),) * 2
    if len(stated) != 2:
        table.complain("diameter_mm", "expected one number, or two for an oval shaft")
        return math.nan, math.nan
    each = (Table(table.file, table.name, {"diameter_mm": one}, table.tell) for one in stated)
    first, second = (one.number("diameter_mm", MM, above=0, high=_LONG) for one in each)
    return first, second


def _paddle_from(top):
    shaft_table, ferrule, blades = top.table("shaft"), top.table("ferrule"), top.table("blades")
    shaft = Shaft(
        mass=shaft_table.number("mass_g", GRAM, low=0, high=_HEAVY),
        length=shaft_table.number("length_mm", MM, low=100, high=_LONG),
        radius=shaft_table.number("radius_mm", MM, above=0, high=_LONG),
        volume=shaft_table.number("volume_cm3", _CM3, low=0, high=_HEAVY),
    )
    half_mm = shaft.length / MM / 2
    left, right = (_blade_from(blades.table(side), side) for side in SIDES)
    feather_range = None
    kind = ferrule.text("kind", choices=("fixed", "adjustable"))
    if kind == "adjustable":
        lowest = ferrule.number("feather_min_deg", DEG, low=-180, high=180)
        highest = ferrule.number("feather_max_deg", DEG, low=-180, high=180)
        if highest < lowest:
            ferrule.complain("feather_max_deg", "is below feather_min_deg")
        feather_range = (lowest, highest)
    paddle = Paddle(
        name=top.text("name"),
        note=top.text("note", default=""),
        shaft=shaft,
        left=left,
        right=right,
        feather=top.number("feather_deg", DEG, low=-180, high=180),
        control=top.text("control", choices=SIDES),
        ferrule_x=ferrule.number("x_mm", MM, default=0.0, low=-half_mm, high=half_mm),
        feather_range=feather_range,
        keep_outs=tuple(map(_keep_out_from, top.tables("keep_out"))),
        counterweights=tuple(map(_counterweight_from, top.tables("counterweight"))),
    )
    if kind:  # on which depends what else belongs there
        ferrule.finish()
    for table in (shaft_table, blades, top):
        table.finish()
    return paddle


def _blade_from(table, side):
    distance = table.number("distance_mm", MM, above=0, high=_LONG)
    blade = Blade(
        mass=table.number("mass_g", GRAM, low=1, high=_HEAVY),
        x=-distance if side == "left" else distance,
        offset=table.number("offset_mm", MM, low=-_LONG, high=_LONG),
        length=table.number("length_mm", MM, above=0, high=_LONG),
        width=table.number("width_mm", MM, above=0, high=_LONG),
        volume=table.number("volume_cm3", _CM3, low=0, high=_HEAVY),
        across=table.number("across_mm", MM, default=0.0, low=-_LONG, high=_LONG),
    )
    table.finish()
    return blade


def _keep_out_from(table):
    start, stop = (table.number(k, MM, low=-_LONG, high=_LONG) for k in ("from_mm", "to_mm"))
    keep_out = KeepOut(table.text("name"), start, stop)
    if keep_out.stop <= keep_out.start:
        table.complain("to_mm", "is not to the right of from_mm")
    table.finish()
    return keep_out


def _counterweight_from(table):
    weight = Counterweight(
        mass=table.number("mass_g", GRAM, above=0, high=_HEAVY),
        arm=table.number("arm_mm", MM, above=0, high=_LONG),
        angle=table.number("angle_deg", DEG, low=-3600, high=3600),
        x=table.number("x_mm", MM, default=0.0, low=-_LONG, high=_LONG),
        density=table.number("density_kg_m3", above=0, high=100_000),
    )
    table.finish()
    return weight


def save_paddle(paddle: AnyPaddle, path: str | Path, overwrite: bool = False) -> None:
    """Write a paddle to a TOML file that `load_any_paddle` reads back.

    A file is replaced as a whole or not at all. A blade's own inertia is not part of the file:
    a flat plate of its length and width is taken on reading.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
    path : str or Path
    overwrite : bool
        Whether a file that exists may be replaced.

    Raises
    ------
    InputError
        If the file exists and may not be replaced, if it cannot be written, or if the paddle
        is one that `load_any_paddle` would refuse.
    """
    text = paddle_text(paddle)
    parse_paddle(text, path)  # a file that could not be read back is not written
    write_text(path, text, overwrite=overwrite)


def paddle_text(paddle):
    """The text of a paddle's TOML file."""
    import tomli_w

    own = _parts(paddle) if isinstance(paddle, Paddle) else _outside(paddle)
    data = {
        "name": paddle.name,
        "note": paddle.note,
        "control": paddle.control,
        **own,
        "keep_out": [
            {"name": k.name, "from_mm": tidy(k.start / MM), "to_mm": tidy(k.stop / MM)}
            for k in paddle.keep_outs
        ],
        "counterweight": [
            {
                "mass_g": tidy(w.mass / GRAM),
                "arm_mm": tidy(w.arm / MM),
                "angle_deg": tidy(w.angle / DEG),
                "x_mm": tidy(w.x / MM),
                "density_kg_m3": w.density,
            }
            for w in paddle.counterweights
        ],
    }
    return tomli_w.dumps(data)


def _parts(paddle):
    """What the file of a paddle tells of its parts."""

    def blade(part):
        return {
            "mass_g": tidy(part.mass / GRAM),
            "distance_mm": tidy((-part.x if part is paddle.left else part.x) / MM),
            "offset_mm": tidy(part.offset / MM),
            "across_mm": tidy(part.across / MM),
            "length_mm": tidy(part.length / MM),
            "width_mm": tidy(part.width / MM),
            "volume_cm3": tidy(part.volume / _CM3),
        }

    shaft, ferrule = paddle.shaft, {"kind": "fixed", "x_mm": tidy(paddle.ferrule_x / MM)}
    if paddle.feather_range:
        lowest, highest = (tidy(limit / DEG) for limit in paddle.feather_range)
        ferrule |= {"kind": "adjustable", "feather_min_deg": lowest, "feather_max_deg": highest}
    return {
        "feather_deg": tidy(paddle.feather / DEG),
        "shaft": {
            "mass_g": tidy(shaft.mass / GRAM),
            "length_mm": tidy(shaft.length / MM),
            "radius_mm": tidy(shaft.radius / MM),
            "volume_cm3": tidy(shaft.volume / _CM3),
        },
        "ferrule": ferrule,
        "blades": {"left": blade(paddle.left), "right": blade(paddle.right)},
    }


def _outside(paddle):
    """What the file of a paddle known from outside tells; what is not known is left out."""
    known = {
        "mass_g": (paddle.mass, GRAM),
        "length_mm": (paddle.shaft.length, MM),
        "balance_mm": (paddle.balance_point, MM),
        "feather_deg": (paddle.feather, DEG),
        "face_deg": (paddle.face, DEG),
        "face_u_deg": (paddle.face_u, DEG),
        "volume_cm3": (paddle.volume, _CM3),
    }
    told = {name: tidy(value / unit) for name, (value, unit) in known.items() if value is not None}
    return told | {"shaft": {"diameter_mm": [tidy(d / MM) for d in paddle.shaft.diameters]}}
