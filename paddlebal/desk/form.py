"""The desk's form: what is asked, in which unit, and what an empty field means."""

from __future__ import annotations

from dataclasses import dataclass

from paddlebal.language import _
from paddlebal.limits import material_densities

NUMBER, RANGE, TEXT, CHOICE = "number", "range", "text", "choice"


@dataclass(frozen=True)
class Field:
    """A field: the unit beside it and its SI unit ('' for a plain number), limits in that unit.

    preset: the text it holds at first. optional: whether it may be empty, which means not known.
    """

    name: str
    label: str
    unit: str = ""
    si: str = ""
    kind: str = NUMBER
    low: float | None = None
    high: float | None = None
    preset: str = ""
    optional: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""


@dataclass(frozen=True)
class Part:
    """A titled part of the form; folded: whether its fields are shown only when asked for."""

    name: str
    title: str
    fields: tuple[Field, ...]
    folded: bool = False


LEVER, FILMS = "lever", "films"


CCW, CW, BOTH = "counterclockwise", "clockwise", "both"


VERTICAL, LEVEL, HUNG = "vertical", "tangential", "hung"


SCALE_UNITS = ("g", "N", "kg", "kgf", "oz", "lb", "lbf")


def form() -> tuple[Part, ...]:
    """The parts of the form, in the language that is spoken now."""
    return _paddle(), _paddle_more(), _bench(), _bench_more(), _films_more(), _weight(), _book()


def fields() -> dict[str, Field]:
    """All fields by name."""
    return {field.name: field for part in form() for field in part.fields}


def _paddle():
    sides = (("right", _("right")), ("left", _("left")))
    return Part(
        "paddle",
        _("The paddle"),
        (
            Field("name", _("name"), kind=TEXT, optional=True),
            Field(
                "model", _("model"), kind=TEXT, optional=True,
                help=_("in your own words, always the same: the book compares paddles by it"),
            ),
            Field("size", _("size"), kind=TEXT, optional=True),
            Field("mass", _("mass"), "g", "kg", low=50, high=20_000),
            Field("length", _("length over all"), "mm", "m", low=200, high=10_000),
            Field(
                "balance", _("balances on a finger at"), "mm", "m", low=0, high=10_000,
                help=_("from the end of the left blade"),
            ),
            Field(
                "shaft", _("shaft's diameter"), "mm", "m", low=5, high=200,
                help=_("where it lies on the bench"),
            ),
            Field("control", _("control hand"), kind=CHOICE, preset="right", choices=sides),
        ),
    )  # fmt: skip


def _paddle_more():
    left = _("from and to, from the end of the left blade; no weight goes there")
    return Part(
        "more",
        _("More about the paddle, if it is known"),
        (
            Field("feather", _("feather"), "deg", "rad", low=-180, high=180, optional=True),
            Field(
                "face", _("gauge when the control blade's power face is plumb"), "deg", "rad",
                low=-360, high=360, optional=True, help=_("by a level on the blade"),
            ),
            Field(
                "blade", _("length of each blade"), "mm", "m", low=50, high=1000, optional=True,
                help=_("no weight goes there"),
            ),
            Field(
                "blade_width", _("width of each blade"), "mm", "m", low=20, high=500,
                optional=True,
            ),
            Field(
                "blade_mass", _("each blade weighs"), "g", "kg", low=10, high=2000, optional=True,
                help=_("with feather, face, length and width it brings the paddle to the lessons"),
            ),
            Field("left_hand", _("left hand"), "mm", "m", RANGE, optional=True, help=left),
            Field("right_hand", _("right hand"), "mm", "m", RANGE, optional=True, help=left),
            Field("ferrule", _("ferrule"), "mm", "m", RANGE, optional=True, help=left),
            Field(
                "across", _("shaft's other diameter, if it is oval"), "mm", "m", low=5, high=200,
                optional=True, help=_("the first one goes through the mark"),
            ),
            Field(
                "volume", _("water it displaces"), "cm³", "", low=1, high=20_000, optional=True,
                help=_("sealed and immersed"),
            ),
        ),
        folded=True,
    )  # fmt: skip


def _bench():
    return Part(
        "bench",
        _("The bench"),
        (
            Field(
                "way", _("measured by"), kind=CHOICE, preset=LEVER,
                choices=(
                    (LEVER, _("lever and scale")),
                    (FILMS, _("filmed swings, with a phone and a known mass")),
                ),
            ),
            Field(
                "support", _("the shaft lies on"), kind=CHOICE, preset="rollers",
                choices=(("rollers", _("four bearings")), ("rails", _("two level rails"))),
            ),
            Field(
                "pull", _("the pull"), kind=CHOICE, preset=VERTICAL,
                choices=(
                    (VERTICAL, _("straight up, on a level lever")),
                    (LEVEL, _("level, by a string over the shaft")),
                    (HUNG, _("masses hung on a string round the shaft")),
                ),
            ),
            Field(
                "lever", _("lever"), "mm", "m", low=20, high=2000,
                optional=True, help=_("from the shaft's axis to the hook, where the scale pulls"),
            ),
            Field(
                "turns", _("the pull turns the shaft"), kind=CHOICE, preset=CCW,
                choices=(
                    (CCW, _("counterclockwise, seen from the right blade's end")),
                    (CW, _("clockwise, seen from the right blade's end")),
                    (BOTH, _("now this way, now that: it stands beside each reading")),
                ),
            ),
            Field(
                "unit", _("the scale shows"), kind=CHOICE, preset="g",
                choices=tuple((unit, unit) for unit in SCALE_UNITS),
            ),
            Field(
                "step", _("scale's steps"), "scale", "N", low=1e-6, high=10_000,
                help=_("if its last digit flickers, by how much"),
            ),
            Field(
                "rest", _("let go, it comes to rest at"), "deg", "rad", low=-360, high=360,
                optional=True, help=_("on the gauge, to some 15°: it tells a mirrored bench"),
            ),
        ),
    )  # fmt: skip


def _bench_more():
    return Part(
        "errors",
        _("How closely, and which way the gauge counts"),
        (
            Field(
                "angle_step", _("angles are set to ±"), "deg", "rad", low=0.01, high=20, preset="1",
            ),
            Field(
                "plumb", _("gauge and mark are right to ±"), "deg", "rad", low=0, high=20,
                preset="0.5",
            ),
            Field(
                "lever_step", _("lever or shaft is measured to ±"), "mm", "m", low=0, high=50,
                preset="1",
            ),
            Field("gain", _("the scale is right to ±"), "%", "", low=0, high=50, preset="0.5"),
            Field(
                "sense", _("the gauge's numbers grow"), kind=CHOICE, preset=CCW,
                choices=(
                    (
                        CCW,
                        _("as the shaft turns counterclockwise, seen from the right blade's end"),
                    ),
                    (CW, _("as it turns clockwise, seen from there")),
                ),
            ),
        ),
        folded=True,
    )  # fmt: skip


def _films_more():
    return Part(
        "films",
        _("How closely the known mass is put on"),
        (
            Field("known_step", _("known mass is right to ±"), "g", "kg", low=0.001, high=100,
                  preset="0.2"),
            Field("known_arm_step", _("its arm is measured to ±"), "mm", "m", low=0.01, high=50,
                  preset="0.5"),
            Field("known_angle_step", _("its angle is read to ±"), "deg", "rad", low=0.01, high=20,
                  preset="1"),
            Field("slope_step", _("rails are level to ±"), "deg", "rad", low=0, high=5,
                  preset="0.3"),
            Field("frame_rate", _("filmed at, if the film plays slower"), "1/s", "1/s", low=1,
                  high=2000, optional=True, help=_("frames a second, for slow motion")),
        ),
        folded=True,
    )  # fmt: skip


def film_fields() -> tuple[Field, ...]:
    """What is asked of each film."""
    ends = (("right", _("right")), ("left", _("left, the paddle turned end for end")))
    return (
        Field("mass", _("known mass on it"), "g", "kg", low=0, high=2000, optional=True,
              help=_("weighed with its clip; empty for the bare paddle")),
        Field("arm", _("its arm"), "mm", "m", low=0, high=500, optional=True,
              help=_("from the shaft's axis to its middle")),
        Field("angle", _("its angle"), "deg", "rad", low=-360, high=360, optional=True,
              help=_("as the disc counts, 0 at the mark")),
        Field("diameter", _("its diameter"), "mm", "m", low=0, high=300, optional=True,
              help=_("of a cylinder along the shaft")),
        Field("end", _("the paddle's end in view"), kind=CHOICE, preset="right", choices=ends),
    )  # fmt: skip


def hidden_fields(way: str, string: bool) -> tuple[str, ...]:
    """Fields that are not asked: of the other way to measure, or a lever's where a string pulls."""
    if way == FILMS:
        return (
            "pull", "lever", "turns", "unit", "step", "angle_step", "plumb", "lever_step", "gain",
            "sense",
        )  # fmt: skip
    films = tuple(field.name for field in _films_more().fields)
    return (*films, "lever") if string else films


SHOWN, COUNTED = "shown", "counted"
"""What the paddles before are good for: to be shown, or counted in with the readings."""


def _book():
    return Part(
        "book",
        _("For the book: who measured, with what"),
        (
            Field("by", _("who measured"), kind=TEXT, optional=True),
            Field(
                "instrument", _("scale and gauge"), kind=TEXT, optional=True,
                help=_("a name of your own, for the check of the bench"),
            ),
            Field(
                "before", _("paddles of its model before"), kind=CHOICE, preset=SHOWN,
                choices=((SHOWN, _("are only shown")), (COUNTED, _("are counted in"))),
            ),
            Field(
                "reference", _("this is a reference rod of"), "g·mm", "kg·m", low=1, high=1e6,
                optional=True, help=_("its known unbalance; empty for a paddle"),
            ),
            Field(
                "reference_angle", _("which points from its mark to"), "deg", "rad", low=-360,
                high=360, optional=True,
            ),
        ),
        folded=True,
    )  # fmt: skip


def _weight():
    materials = tuple((name, _(name)) for name in material_densities())
    return Part(
        "weight",
        _("The counterweight's limits"),
        (
            Field("material", _("material"), kind=CHOICE, preset="brass", choices=materials),
            Field(
                "arm", _("longest arm, from the shaft axis"), "mm", "m", low=5,
                high=500, preset="60",
            ),
            Field(
                "reach", _("farthest place, from mid-shaft"), "mm", "m", low=10, high=5000,
                preset="500",
            ),
            Field(
                "pieces", _("pieces"), kind=CHOICE, preset="one",
                choices=(("one", _("one")), ("pair", _("a pair, either side"))),
            ),
            Field("holder", _("its holder weighs"), "g", "kg", low=0, high=1000, preset="0"),
            Field("holder_arm", _("holder's arm"), "mm", "m", low=0, high=500, preset="20"),
        ),
        folded=True,
    )  # fmt: skip
