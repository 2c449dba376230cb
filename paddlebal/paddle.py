"""What a paddle is made of, its mass properties, and its data file.

Body axes are fixed to the shaft: origin O at the shaft's mid-length on its axis, x from the
left blade to the right one, y and z across. At roll angle 0 the control blade's power face is
upright: its offset points forward, along +y. The other blade stands at minus the feather, so
that rolling the shaft by plus the feather brings it upright. This holds for either control
hand; mirroring the paddle left for right swaps the hand and nothing else.
"""

import math
import operator
import sys
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from paddlebal.errors import InputError, refuse, shown
from paddlebal.files import read_text, write_text

STANDARD_GRAVITY = 9.80665
"""m/s², the conventional value of the 3rd CGPM (1901)."""

WATER_DENSITY = 1000.0
"""kg/m³, fresh water; sea water carries some 2.5 % more."""

SIDES = ("left", "right")


@dataclass(frozen=True, eq=False)
class Blade:
    """One blade as a rigid body; two blades are equal only if they are the same object.

    Parameters
    ----------
    mass : float
        kg.
    x : float
        Place of its centre of mass along the shaft [m], left negative.
    offset : float
        Distance of its centre of mass from the shaft axis [m], away from the power face.
    length, width : float
        Along and across the shaft [m].
    volume : float
        Water displaced when immersed [m³].
    inertia : ndarray (3, 3), optional
        About its own centre of mass [kg·m²] in blade axes: x along the shaft, y along the
        offset. By default a flat uniform plate of the given length and width.
    across : float
        Place of its centre of mass along z in blade axes [m]: zero unless the blade is
        twisted or its hollow lies to one side.
    """

    mass: float
    x: float
    offset: float
    length: float
    width: float
    volume: float
    inertia: np.ndarray | None = None
    across: float = 0.0

    def __post_init__(self):
        if self.inertia is None:
            along, across = self.length**2 / 12, self.width**2 / 12
            plate = self.mass * np.diag([across, along + across, along])
            object.__setattr__(self, "inertia", plate)


@dataclass(frozen=True)
class Shaft:
    """A thin straight tube, centred on O.

    Parameters
    ----------
    mass : float
        kg.
    length, radius : float
        m.
    volume : float
        Water displaced when sealed and immersed [m³].
    """

    mass: float
    length: float
    radius: float
    volume: float

    @property
    def inertia(self):
        """Inertia (3, 3) of the thin tube about its centre [kg·m²]."""
        axial = self.mass * self.radius**2
        across = axial / 2 + self.mass * self.length**2 / 12
        return np.diag([axial, across, across])


@dataclass(frozen=True)
class Counterweight:
    """A correction mass on an arm, taken as a point.

    Parameters
    ----------
    mass : float
        kg.
    arm : float
        Distance from the shaft axis [m].
    angle : float
        From +y toward +z in body axes [rad].
    x : float
        Place along the shaft [m].
    density : float
        Of its material [kg/m³].
    """

    mass: float
    arm: float
    angle: float
    x: float = 0.0
    density: float = 7850.0

    @property
    def unbalance(self):
        """What it adds to the paddle's unbalance, ndarray (2,) [kg·m] in body axes."""
        return self.mass * self.arm * np.array([math.cos(self.angle), math.sin(self.angle)])


@dataclass(frozen=True)
class KeepOut:
    """A stretch of shaft where no weight may sit.

    Parameters
    ----------
    name : str
        Why, such as 'left hand'.
    start, stop : float
        m along x.
    """

    name: str
    start: float
    stop: float


@dataclass(frozen=True)
class Paddle:
    """A paddle: shaft, two blades, feather, control hand and counterweights.

    Parameters
    ----------
    name : str
    shaft : Shaft
    left, right : Blade
    feather : float
        rad.
    control : str
        Hand that turns the shaft, 'left' or 'right'.
    ferrule_x : float
        Where the two halves meet [m along x].
    feather_range : tuple of float, optional
        What an adjustable ferrule allows [rad]; None if the feather is fixed.
    keep_outs : tuple of KeepOut
    counterweights : tuple of Counterweight
    note : str
    """

    name: str
    shaft: Shaft
    left: Blade
    right: Blade
    feather: float
    control: str
    ferrule_x: float = 0.0
    feather_range: tuple[float, float] | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    counterweights: tuple[Counterweight, ...] = ()
    note: str = ""

    def blade_angle(self, side):
        """Angle [rad] of a blade's offset from +y toward +z in body axes."""
        return 0.0 if side == self.control else -self.feather

    def catch_angle(self, side):
        """Roll angle [rad] at which that side's power face is upright."""
        return -self.blade_angle(side)

    def blade_centre(self, side):
        """Centre of mass of a blade, ndarray (3,) [m] in body axes."""
        blade, turn = getattr(self, side), rotation_about_x(self.blade_angle(side))
        return turn @ [blade.x, blade.offset, blade.across]

    def bodies(self):
        """The rigid bodies: (mass [kg], centre (3,) [m], inertia (3, 3) about it [kg·m²])."""
        parts = [(self.shaft.mass, np.zeros(3), self.shaft.inertia)]
        for side in SIDES:
            blade, turn = getattr(self, side), rotation_about_x(self.blade_angle(side))
            parts.append((blade.mass, self.blade_centre(side), turn @ blade.inertia @ turn.T))
        for weight in self.counterweights:
            centre = np.array([weight.x, 0.0, 0.0])
            centre += rotation_about_x(weight.angle) @ [0.0, weight.arm, 0.0]
            parts.append((weight.mass, centre, np.zeros((3, 3))))
        return parts

    @property
    def mass(self):
        """Total mass [kg]."""
        return sum(mass for mass, _, _ in self.bodies())

    def first_moment(self):
        """First moment of mass about O, ndarray (3,) [kg·m] in body axes."""
        return sum(mass * centre for mass, centre, _ in self.bodies())

    def unbalance(self):
        """Unbalance vector, the first moment across the shaft: ndarray (2,) [kg·m]."""
        return self.first_moment()[1:]

    def inertia(self):
        """Inertia tensor about O, ndarray (3, 3) [kg·m²] in body axes."""
        total = np.zeros((3, 3))
        for mass, centre, own in self.bodies():
            total += own + mass * (centre @ centre * np.eye(3) - np.outer(centre, centre))
        return total

    @property
    def balance_point(self):
        """Place of the centre of mass along the shaft [m] from its mid-length."""
        return self.first_moment()[0] / self.mass

    @property
    def volume(self):
        """Water displaced when immersed [m³], counterweights included."""
        pieces = sum(weight.mass / weight.density for weight in self.counterweights)
        return self.shaft.volume + self.left.volume + self.right.volume + pieces

    @property
    def flotation(self):
        """Mass [kg] the immersed paddle can still carry in fresh water; negative sinks."""
        return WATER_DENSITY * self.volume - self.mass

    def half(self, x):
        """The side, 'left' or 'right', of the half on which the place x [m] lies."""
        return "left" if x < self.ferrule_x else "right"

    def with_feather(self, feather_deg):
        """The paddle at another feather; weights turn with the half they sit on."""
        feather = math.radians(feather_deg)
        turned = tuple(
            weight
            if self.half(weight.x) == self.control
            else replace(weight, angle=weight.angle - (feather - self.feather))
            for weight in self.counterweights
        )
        return replace(self, feather=feather, counterweights=turned)

    def with_counterweights(self, *counterweights):
        """The paddle with these counterweights added."""
        return replace(self, counterweights=self.counterweights + counterweights)


def rotation_about_x(angle):
    """Rotation matrix (3, 3) by `angle` [rad] about +x, right-hand rule."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


class Table:
    """A TOML table read key by key; each complaint names the file and the field.

    tell(error) takes each complaint. If it returns, the reading goes on with nan or '' in the
    place of what is wrong.
    """

    def __init__(self, file, name, data, tell=refuse):
        if not isinstance(data, dict):
            tell(InputError("expected a table of values", file=file, field=name))
            data, tell = {}, lambda error: None  # nothing more to say about what it lacks
        self.file, self.name, self.data, self.seen, self.tell = file, name, data, set(), tell

    def _field(self, key):
        return f"{self.name}.{key}" if self.name else key

    def complain(self, key, problem):
        self.tell(InputError(problem, file=self.file, field=self._field(key)))

    def get(self, key, default=None):
        self.seen.add(key)
        return self.data.get(key, default)

    def table(self, key):
        return Table(self.file, self._field(key), self.get(key, {}), self.tell)

    def tables(self, key):
        rows = self.get(key, [])
        if not isinstance(rows, list):
            self.complain(key, f"expected [[{key}]] tables")
            return []
        names = (f"{self._field(key)}[{i}]" for i in range(1, len(rows) + 1))
        return [
            Table(self.file, name, row, self.tell) for name, row in zip(names, rows, strict=True)
        ]

    def text(self, key, default=None, choices=None):
        value = self.get(key, default)
        if not isinstance(value, str) or (choices and value not in choices):
            allowed = " or ".join(repr(c) for c in choices) if choices else "a text"
            found = "is missing" if value is None else f"is {shown(value)}"
            self.complain(key, f"{found}, expected {allowed}")
            return ""
        return value

    def number(self, key, scale=1.0, default=None, low=None, high=None, above=None):
        """The number at `key` times `scale` to SI; limits are in the file's own unit."""
        value = self.get(key, default)
        if value is None:
            stem = key.rpartition("_")[0]
            near = [k for k in self.data if key.startswith(k) or k.rpartition("_")[0] == stem]
            hint = f" (found {shown(near[0])}: the unit belongs in the name)" if near else ""
            self.complain(key, f"is missing, expected a number{hint}")
            return math.nan
        within = isinstance(value, int | float) and not isinstance(value, bool)
        within = within and abs(value) <= sys.float_info.max
        expected = ["a finite number"]
        for limit, words, breaks in (
            (low, "at least", operator.lt),
            (above, "above", operator.le),
            (high, "at most", operator.gt),
        ):
            if limit is not None:
                expected.append(f"{words} {limit:g}")
                within = within and not breaks(value, limit)
        if not within:
            self.complain(key, f"is {shown(value)}, expected {', '.join(expected)}")
            return math.nan
        return value * scale

    def finish(self):
        known = ", ".join(sorted(self.seen))
        for key in sorted(set(self.data) - self.seen):
            self.complain(key, f"is not a known field, expected one of {known}")


_MM, _G, _CM3, _DEG = 1e-3, 1e-3, 1e-6, math.pi / 180

_LONG, _HEAVY = 10_000, 100_000
"""mm, and g or cm³: more is a slip of the pen."""


def load_paddle(path):
    """Read a paddle from its TOML file.

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
    return parse_paddle(read_text(path, "a TOML file"), Path(path))


def parse_paddle(text, file=None, tell=refuse):
    """The paddle that a file's text describes.

    tell(error) takes each InputError. By default it raises; if it returns, the reading goes on
    so that all is told, and the paddle returned is of no use.
    """
    return _paddle_from(Table(file, "", parse_toml(text, file, "is"), tell))


def parse_toml(text, file, what):
    """The values in a text of TOML; `what` opens the complaint: 'is not complete, valid ...'."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # ValueError: also an endless whole number
        why = str(error)
        if isinstance(error, RecursionError):
            why = "brackets within brackets too deep"
        elif isinstance(error, tomllib.TOMLDecodeError):
            why += "; words stand in quotation marks, numbers have a decimal point"
        raise InputError(f"{what} not complete, valid TOML ({why})", file=file) from error


def _paddle_from(top):
    shaft_table, ferrule, blades = top.table("shaft"), top.table("ferrule"), top.table("blades")
    shaft = Shaft(
        mass=shaft_table.number("mass_g", _G, low=0, high=_HEAVY),
        length=shaft_table.number("length_mm", _MM, low=100, high=_LONG),
        radius=shaft_table.number("radius_mm", _MM, above=0, high=_LONG),
        volume=shaft_table.number("volume_cm3", _CM3, low=0, high=_HEAVY),
    )
    half_mm = shaft.length / _MM / 2
    left, right = (_blade_from(blades.table(side), side) for side in SIDES)
    feather_range = None
    kind = ferrule.text("kind", choices=("fixed", "adjustable"))
    if kind == "adjustable":
        lowest = ferrule.number("feather_min_deg", _DEG, low=-180, high=180)
        highest = ferrule.number("feather_max_deg", _DEG, low=-180, high=180)
        if highest < lowest:
            ferrule.complain("feather_max_deg", "is below feather_min_deg")
        feather_range = (lowest, highest)
    paddle = Paddle(
        name=top.text("name"),
        note=top.text("note", default=""),
        shaft=shaft,
        left=left,
        right=right,
        feather=top.number("feather_deg", _DEG, low=-180, high=180),
        control=top.text("control", choices=SIDES),
        ferrule_x=ferrule.number("x_mm", _MM, default=0.0, low=-half_mm, high=half_mm),
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
    distance = table.number("distance_mm", _MM, above=0, high=_LONG)
    blade = Blade(
        mass=table.number("mass_g", _G, low=1, high=_HEAVY),
        x=-distance if side == "left" else distance,
        offset=table.number("offset_mm", _MM, low=-_LONG, high=_LONG),
        length=table.number("length_mm", _MM, above=0, high=_LONG),
        width=table.number("width_mm", _MM, above=0, high=_LONG),
        volume=table.number("volume_cm3", _CM3, low=0, high=_HEAVY),
        across=table.number("across_mm", _MM, default=0.0, low=-_LONG, high=_LONG),
    )
    table.finish()
    return blade


def _keep_out_from(table):
    start, stop = (table.number(k, _MM, low=-_LONG, high=_LONG) for k in ("from_mm", "to_mm"))
    keep_out = KeepOut(table.text("name"), start, stop)
    if keep_out.stop <= keep_out.start:
        table.complain("to_mm", "is not to the right of from_mm")
    table.finish()
    return keep_out


def _counterweight_from(table):
    weight = Counterweight(
        mass=table.number("mass_g", _G, above=0, high=_HEAVY),
        arm=table.number("arm_mm", _MM, above=0, high=_LONG),
        angle=table.number("angle_deg", _DEG, low=-3600, high=3600),
        x=table.number("x_mm", _MM, default=0.0, low=-_LONG, high=_LONG),
        density=table.number("density_kg_m3", above=0, high=100_000),
    )
    table.finish()
    return weight


def save_paddle(paddle, path, overwrite=False):
    """Write a paddle to a TOML file that `load_paddle` reads back.

    A file is replaced as a whole or not at all. A blade's own inertia is not part of the file:
    a flat plate of its length and width is taken on reading.

    Parameters
    ----------
    paddle : Paddle
    path : str or Path
    overwrite : bool
        Whether a file that exists may be replaced.

    Raises
    ------
    InputError
        If the file exists and may not be replaced, if it cannot be written, or if the paddle
        is one that `load_paddle` would refuse.
    """
    import tomli_w

    def blade(part):
        return {
            "mass_g": _tidy(part.mass / _G),
            "distance_mm": _tidy((-part.x if part is paddle.left else part.x) / _MM),
            "offset_mm": _tidy(part.offset / _MM),
            "across_mm": _tidy(part.across / _MM),
            "length_mm": _tidy(part.length / _MM),
            "width_mm": _tidy(part.width / _MM),
            "volume_cm3": _tidy(part.volume / _CM3),
        }

    shaft, ferrule = paddle.shaft, {"kind": "fixed", "x_mm": _tidy(paddle.ferrule_x / _MM)}
    if paddle.feather_range:
        lowest, highest = (_tidy(limit / _DEG) for limit in paddle.feather_range)
        ferrule |= {"kind": "adjustable", "feather_min_deg": lowest, "feather_max_deg": highest}
    data = {
        "name": paddle.name,
        "note": paddle.note,
        "feather_deg": _tidy(paddle.feather / _DEG),
        "control": paddle.control,
        "shaft": {
            "mass_g": _tidy(shaft.mass / _G),
            "length_mm": _tidy(shaft.length / _MM),
            "radius_mm": _tidy(shaft.radius / _MM),
            "volume_cm3": _tidy(shaft.volume / _CM3),
        },
        "ferrule": ferrule,
        "blades": {"left": blade(paddle.left), "right": blade(paddle.right)},
        "keep_out": [
            {"name": k.name, "from_mm": _tidy(k.start / _MM), "to_mm": _tidy(k.stop / _MM)}
            for k in paddle.keep_outs
        ],
        "counterweight": [
            {
                "mass_g": _tidy(w.mass / _G),
                "arm_mm": _tidy(w.arm / _MM),
                "angle_deg": _tidy(w.angle / _DEG),
                "x_mm": _tidy(w.x / _MM),
                "density_kg_m3": w.density,
            }
            for w in paddle.counterweights
        ],
    }
    text = tomli_w.dumps(data)
    parse_paddle(text, path)  # a file that could not be read back is not written
    write_text(path, text, overwrite=overwrite)


def _tidy(value):
    """A number for the file: twelve digits, so that 0.28 kg reads 280.0 g."""
    return float(f"{value:.12g}")
