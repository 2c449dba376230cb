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
    LeverReadings, SwingReadings, SwingRecord or AddOnReadings

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
    kinds = {"lever": _lever, "swing": _swing, "swing record": _record, "add-on": _add_on}
    method = header.text("method", choices=tuple(kinds))
    if not method:  # on which depends all that follows
        return None
    header.text("note", default="")
    readings = kinds[method](header, read)
    header.finish()
    return readings


def lever_text(readings: LeverReadings, paddle: str) -> str:
    """The text of a bench file with lever readings, which names the paddle's file."""
    import tomli_w

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
    head = [f"# {line}" for line in tomli_w.dumps(stated).splitlines()]
    return "\n".join([*head, "roll [deg],arm [mm],pull [N],turning", *rows]) + "\n"


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


# A unit such as [Grad], which is read as a thousand million radians, would pass unnoticed.
_TURNED = ("an angle within ten turns", lambda value: np.abs(value) <= 20 * np.pi)


def _positive(value):
    return value > 0


def _positive_below_10(value):
    return (value > 0) & (value < 10)


def _arm(value):
    return (value != 0) & (np.abs(value) < 10)
