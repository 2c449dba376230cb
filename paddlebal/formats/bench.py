"""Bench files: what was read at the bench, checked and brought to SI.

A file opens with lines that start with '#': what follows the '#' is TOML, which names the
method and states the standard uncertainties, the unit in each name. One row of column names
with their units in brackets comes next, then the readings, one a row:

    # method = "lever"
    # support = "rollers"
    # pull_direction = "vertical"
    # ...
    roll [deg],arm [mm],pull [N],turning
    0,200,1.134,with
    0,200,1.105,against
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from paddlebal.bench.readings import (
    PULL_DIRECTIONS,
    SENSES,
    SUPPORTS,
    TURNING,
    AddOnReadings,
    FilmReadings,
    LeverReadings,
    Readings,
    SwingReadings,
    SwingRecord,
)
from paddlebal.errors import refuse
from paddlebal.files.columns import Column, growing, parse_table
from paddlebal.files.spreadsheet import table_text
from paddlebal.files.text import read_bytes
from paddlebal.files.toml import tidy
from paddlebal.units import DEG, GRAM, MM

EVERY_SIDE, ONE_SIDE = APPROACHES = ("every side", "one side")
"""From where trials with an added mass came to the balance."""


def read_bench(path: str | Path) -> Readings:
    """Read a bench file; see the module's own text for its form.

    A spreadsheet may have written it: as text in UTF-8, UTF-16 or Windows-1252, with semicolons
    or tabs and decimal commas, or as a workbook (XLSX, ODS) whose rows are the file's lines.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    LeverReadings, SwingReadings, SwingRecord, AddOnReadings or FilmReadings

    Raises
    ------
    InputError
        One sentence naming file, row, field and what was expected.
    """
    return parse_bench(table_text(read_bytes(path), str(path)), Path(path))


def parse_bench(text, file=None, tell=refuse):
    """The readings in a bench file's text.

    tell(error) takes each InputError. By default it raises; if it returns, the reading goes on
    so that all is told, and what is returned is of no use.
    """
    header, read = parse_table(text, file, tell)
    kinds = {
        "lever": _lever, "swing": _swing, "swing record": _record, "add-on": _add_on,
        "films": _films,
    }  # fmt: skip
    method = header.text("method", choices=tuple(kinds))
    if not method:  # on which depends all that follows
        return None
    header.text("note", default="")
    readings = kinds[method](header, read)
    header.finish()
    return readings


def lever_text(readings: LeverReadings, paddle: str) -> str:
    """The text of a bench file with lever readings, which names the paddle's file."""
    stated = {
        "method": "lever",
        "paddle": paddle,
        "support": readings.support,
        "pull_direction": readings.pull_direction,
        "radius_mm": tidy(readings.radius / MM),
        "clamp_mass_g": tidy(readings.clamp_mass / GRAM),
        "clamp_arm_mm": tidy(readings.clamp_arm / MM),
        "scale_u_N": tidy(readings.scale_u),
        "angle_u_deg": tidy(readings.angle_u / DEG),
        "arm_u_mm": tidy(readings.arm_u / MM),
        "angle_zero_u_deg": tidy(readings.angle_zero_u / DEG),
        "clamp_arm_u_mm": tidy(readings.clamp_arm_u / MM),
        "gain_u_percent": tidy(100 * readings.gain_u),
    }
    if readings.zero_u is not None:
        stated["zero_u_N"] = tidy(readings.zero_u)
    if readings.rest is not None:
        stated["rest_deg"] = tidy(readings.rest / DEG)
    columns = readings.roll / DEG, readings.arm / MM, readings.pull, readings.turning
    rows = [
        f"{tidy(roll)},{tidy(arm)},{tidy(pull)},{SENSES[turning]}"
        for roll, arm, pull, turning in zip(*columns, strict=True)
    ]
    return _text_of(stated, "roll [deg],arm [mm],pull [N],turning", rows)


def _text_of(stated, columns, rows):
    import tomli_w

    head = [f"# {line}" for line in tomli_w.dumps(stated).splitlines()]
    return "\n".join([*head, columns, *rows]) + "\n"


_FILMS = (
    "stiffness [1/s²],rest [deg],friction,stiffness u [1/s²],rest u [deg],friction u,"
    "stiffness and rest,stiffness and friction,rest and friction,"
    "mass [g],arm [mm],angle [deg],inertia [g·mm²],end"
)
"""Columns of a file of films; three are correlations."""


ENDS = {"right": 0.0, "left": 1.0}
"""The paddle's end from which it was filmed."""


def films_text(readings: FilmReadings) -> str:
    """The text of a bench file with filmed swings."""
    stated = {
        "method": "films",
        "paddle": readings.paddle,
        "support": readings.support,
        "radius_mm": tidy(readings.radius / MM),
        "mass_u_g": tidy(readings.mass_u / GRAM),
        "arm_u_mm": tidy(readings.arm_u / MM),
        "angle_u_deg": tidy(readings.angle_u / DEG),
        "slope_u_deg": tidy(readings.slope_u / DEG),
    }
    if readings.support == "rails":
        stated["paddle_mass_g"] = tidy(readings.paddle_mass / GRAM)
    if math.isfinite(readings.camera_u):
        stated["camera_u_deg"] = tidy(readings.camera_u / DEG)
    if readings.rest is not None:
        stated["rest_deg"] = tidy(readings.rest / DEG)
    if readings.told:
        stated["told"] = list(readings.told)
    u = np.sqrt(np.diagonal(readings.covariance, axis1=1, axis2=2))
    related = readings.covariance / (u[:, :, None] * u[:, None, :])
    columns = (
        readings.stiffness, readings.rest_roll / DEG, readings.friction,
        u[:, 0], u[:, 1] / DEG, u[:, 2], related[:, 0, 1], related[:, 0, 2], related[:, 1, 2],
        readings.mass / GRAM, readings.arm / MM, readings.angle / DEG,
        readings.inertia / (GRAM * MM**2),
    )  # fmt: skip
    rows = [
        ",".join(f"{tidy(value)}" for value in row) + (",left" if left else ",right")
        for row, left in zip(np.column_stack(columns), readings.from_left, strict=True)
    ]
    return _text_of(stated, _FILMS, rows)


def _lever(header, read):
    pull_direction = header.text("pull_direction", choices=PULL_DIRECTIONS)
    zero_u = header.optional("zero_u_N", low=0, high=1000)
    if zero_u is None and pull_direction == "hung":
        zero_u = 0.0
    clamp_mass = header.number("clamp_mass_g", GRAM, low=0, high=10_000, default=0.0)
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        pull_direction=pull_direction,
        radius=header.number("radius_mm", MM, above=0, high=1000),
        clamp_mass=clamp_mass,
        clamp_arm=header.number(
            "clamp_arm_mm", MM, low=-10_000, high=10_000, default=None if clamp_mass else 0.0
        ),
        scale_u=header.number("scale_u_N", low=1e-6, high=1000),
        angle_u=header.number("angle_u_deg", DEG, low=0, high=180),
        arm_u=header.number("arm_u_mm", MM, low=0, high=1000),
        angle_zero_u=header.number("angle_zero_u_deg", DEG, low=0, high=180),
        clamp_arm_u=header.number("clamp_arm_u_mm", MM, low=0, high=1000, default=0.0),
        gain_u=header.number("gain_u_percent", 0.01, low=0, high=100, default=0.0),
        zero_u=zero_u,
        rest=header.optional("rest_deg", DEG, low=-360, high=360),
        paddle=header.text("paddle", default=""),
    )
    values = read(
        (
            Column("roll", "rad", *_TURNED),
            Column(
                "arm", "m", "an arm other than 0, as a force needs its arm, and below 10 m", _arm
            ),
            Column("pull", "N", "a pull below 1000 N", lambda value: np.abs(value) < 1000),
            Column("turning", words=TURNING),
        ),
        rows=True,
    )
    return LeverReadings(**values, **stated)


def _swing(header, read):
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        time_u=header.number("time_u_s", low=1e-6, high=1000),
        amplitude_u=header.number("amplitude_u_deg", DEG, low=0, high=180),
        paddle=header.text("paddle", default=""),
    )
    swing = ("rad", "an angle above 0° and below 180°", lambda value: (value > 0) & (value < np.pi))
    values = read(
        (
            Column("amplitude", *swing),
            Column("end amplitude", *swing, optional=True),
            Column("periods", "", "a number above 0", _positive),
            Column("time", "s", "a time above 0", _positive),
        )
    )
    end = values.pop("end amplitude", None)
    if end is not None:
        values["amplitude"] = (values["amplitude"] + end) / 2
        stated["amplitude_u"] /= math.sqrt(2)  # of the mean of two
    return SwingReadings(**values, **stated)


def _record(header, read):
    stated = dict(
        support=header.text("support", choices=SUPPORTS),
        radius=header.number("radius_mm", MM, above=0, high=1000),
        angle_u=header.number("angle_u_deg", DEG, low=1e-6, high=180),
        paddle=header.text("paddle", default=""),
    )
    later = Column("time", "s", "a time after the one before", growing())
    return SwingRecord(**read((later, Column("roll", "rad", *_TURNED))), **stated)


def _add_on(header, read):
    stated = dict(
        mass_u=header.number("mass_u_g", GRAM, low=0, high=10_000),
        arm_u=header.number("arm_u_mm", MM, low=0, high=1000),
        angle_u=header.number("angle_u_deg", DEG, low=0, high=180),
        every_side=header.text("approach", default=ONE_SIDE, choices=APPROACHES) == EVERY_SIDE,
        rest=header.optional("rest_deg", DEG, low=-360, high=360),
        paddle=header.text("paddle", default=""),
    )
    values = read(
        (
            Column("mass", "kg", "a mass above 0 and below 10 kg", _positive_below_10),
            Column("arm", "m", "an arm above 0 and below 10 m", _positive_below_10),
            Column("angle", "rad", *_TURNED),
        )
    )
    return AddOnReadings(**values, **stated)


def _films(header, read):
    support = header.text("support", choices=SUPPORTS)
    camera_u = header.optional("camera_u_deg", DEG, low=0.001, high=180)
    told = header.get("told", [])
    if not isinstance(told, list) or not all(isinstance(each, str) for each in told):
        header.complain("told", "expected a list of sentences")
        told = []
    rails = support == "rails"
    stated = dict(
        support=support,
        radius=header.number("radius_mm", MM, above=0, high=1000),
        paddle_mass=header.number(
            "paddle_mass_g", GRAM, above=0, high=20_000, default=None if rails else 1000.0
        ),
        mass_u=header.number("mass_u_g", GRAM, above=0, high=10_000),
        arm_u=header.number("arm_u_mm", MM, above=0, high=1000),
        angle_u=header.number("angle_u_deg", DEG, above=0, high=180),
        slope_u=header.number("slope_u_deg", DEG, low=0, high=45, default=0.2),
        camera_u=math.inf if camera_u is None else camera_u,
        rest=header.optional("rest_deg", DEG, low=-360, high=360),
        told=tuple(told),
        paddle=header.text("paddle", default=""),
    )
    above = ("a number above 0", _positive)
    one = ("a number between -1 and 1", lambda value: np.abs(value) < 1)
    known = ("a number, 0 or more, below 10", lambda value: (value >= 0) & (value < 10))
    values = read(
        (
            Column("stiffness", "1/s²", *above),
            Column("rest", "rad", *_TURNED),
            Column("friction", "", "a number between 0 and 1", lambda v: (v >= 0) & (v < 1)),
            Column("stiffness u", "1/s²", *above),
            Column("rest u", "rad", *above),
            Column("friction u", "", *above),
            Column("stiffness and rest", "", *one),
            Column("stiffness and friction", "", *one),
            Column("rest and friction", "", *one),
            Column("mass", "kg", *known),
            Column("arm", "m", *known),
            Column("angle", "rad", *_TURNED),
            Column("inertia", "kg·m²", *known),
            Column("end", words=ENDS),
        )
    )
    u = np.column_stack([values.pop(f"{name} u") for name in ("stiffness", "rest", "friction")])
    related = np.zeros((len(u), 3, 3)) + np.eye(3)
    for i, j, name in (
        (0, 1, "stiffness and rest"), (0, 2, "stiffness and friction"), (1, 2, "rest and friction"),
    ):  # fmt: skip
        related[:, i, j] = related[:, j, i] = values.pop(name)
    if len(u) and np.isfinite(related).all() and np.linalg.eigvalsh(related).min() <= 0:
        header.complain("rest and friction", "these correlations contradict each other")
    return FilmReadings(
        rest_roll=values.pop("rest"),
        from_left=values.pop("end") > 0,
        covariance=related * u[:, :, None] * u[:, None, :],
        **values,
        **stated,
    )


# A unit such as [Grad], which is read as a thousand million radians, would pass unnoticed.
_TURNED = ("an angle within ten turns", lambda value: np.abs(value) <= 20 * np.pi)


def _positive(value):
    return value > 0


def _positive_below_10(value):
    return (value > 0) & (value < 10)


def _arm(value):
    return (value != 0) & (np.abs(value) < 10)
