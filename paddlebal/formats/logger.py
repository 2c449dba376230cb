"""The file of a logger strapped to the shaft."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from paddlebal.files.columns import Column, growing, open_table
from paddlebal.logger import POSES, LoggerRecord
from paddlebal.units import GRAM, MM

AXES = ("x", "y", "z")


def read_logger(path: str | Path) -> LoggerRecord:
    """Read the record of an inertial logger on the shaft.

    The file has the form of a bench file. Rates and specific forces stand in the logger's own axes;
    specific force is what an accelerometer shows, standard gravity upward when it lies still.
    While the paddle is held still in a known way the column pose says so, else it says moving.

        # method = "logger"
        # place_x_mm = 120
        # place_y_mm = 0
        # place_z_mm = 25
        # place_u_mm = 3
        # mass_g = 30
        # counted = "out"
        time [s],rate x [deg/s],rate y [deg/s],rate z [deg/s],force x [g_0],force y [g_0],force z [g_0],pose

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    LoggerRecord

    Raises
    ------
    InputError
        One sentence naming file, row, field and what was expected.
    """  # noqa: E501
    header, read = open_table(path)
    header.text("method", choices=("logger",))
    header.text("note", default="")
    place = np.array([
        header.number(f"place_{axis}_mm", MM, low=-5000, high=5000) for axis in AXES
    ])  # fmt: skip
    stated = dict(
        place=place,
        place_u=header.number("place_u_mm", MM, low=0.01, high=500),
        mass=header.number("mass_g", GRAM, low=0, high=5000, default=0.0),
        counted=header.text("counted", default="out", choices=("in", "out")) == "in",
    )
    header.finish()
    rate = ("rad/s", "a rate below 200 rad/s", lambda value: np.abs(value) < 200)
    force = ("m/s²", "a specific force below 2000 m/s²", lambda value: np.abs(value) < 2000)
    values = read(
        (
            Column("time", "s", "a time after the one before", growing()),
            *(Column(f"rate {axis}", *rate) for axis in AXES),
            *(Column(f"force {axis}", *force) for axis in AXES),
            Column("pose", words=POSES),
        )
    )
    return LoggerRecord(
        time=values["time"],
        rate=np.column_stack([values[f"rate {axis}"] for axis in AXES]),
        force=np.column_stack([values[f"force {axis}"] for axis in AXES]),
        pose=values["pose"].astype(int),
        name=str(path),
        **stated,
    )
