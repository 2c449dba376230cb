"""The file of a recorded stroke."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from paddlebal.errors import InputError
from paddlebal.files.columns import Column, growing, open_table
from paddlebal.stroke import Motion

ANGLE_GAP = np.radians(2.0)


PLACE_GAP = 0.02
"""rad and m by which a recorded cycle may fail to come back to its start."""


FEWEST_ROWS = 12


ANGLES = tuple(
    Column(name, "rad", "an angle within ten turns", lambda value: np.abs(value) <= 20 * np.pi)
    for name in ("roll", "inclination", "yaw")
)


PLACES = tuple(
    Column(name, "m", "a place within 10 m of the boat", lambda value: np.abs(value) <= 10)
    for name in ("x", "y", "z")
)


def read_motion(path: str | Path) -> Motion:
    """Read a recorded motion of one cycle and smooth it.

    The file has the form of a bench file (see `paddlebal.files.columns`), with x, y, z the place of
    the shaft's middle in the boat's axes. Its last row closes the cycle: it repeats the first.

        # method = "motion"
        # speed_m_s = 4.8
        # angle_u_deg = 0.5
        # place_u_mm = 4.0
        time [s],roll [deg],inclination [deg],yaw [deg],x [m],y [m],z [m]

    The speed of the boat and the standard uncertainties may be left out. The motion is a
    periodic quintic spline, as smooth as the stated uncertainties allow; it passes through the
    readings if none is stated, and noise then grows large in the accelerations.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Motion

    Raises
    ------
    InputError
        One sentence naming file, row, field and what was expected.
    """
    header, read = open_table(path)
    header.text("method", choices=("motion",))
    header.text("note", default="")
    speed = header.number("speed_m_s", above=0) if "speed_m_s" in header.data else None
    angle_u = header.number("angle_u_deg", np.pi / 180, default=0.0, low=0, high=90)
    place_u = header.number("place_u_mm", 1e-3, default=0.0, low=0, high=1000)
    header.finish()
    later = Column("time", "s", "a time after the one before", growing())
    table = read([later, *ANGLES, *PLACES])
    time = table["time"]
    if len(time) < FEWEST_ROWS:
        problem = f"has {len(time)} readings, expected at least {FEWEST_ROWS} over one cycle"
        raise InputError(problem, file=path)
    angles = np.unwrap([table[column.name] for column in ANGLES])
    places = np.array([table[column.name] for column in PLACES])
    for columns, values, gap, words in (
        (ANGLES, angles, ANGLE_GAP, "an angle within 2°"),
        (PLACES, places, PLACE_GAP, "a place within 20 mm"),
    ):
        for column in np.flatnonzero(np.abs(values[:, -1] - values[:, 0]) > gap):
            problem = f"does not close the cycle, expected in the last row {words} of the first"
            raise InputError(problem, file=path, field=columns[column].name)
    phase = 2 * np.pi * (time - time[0]) / (time[-1] - time[0])
    splines = [
        _closed_spline(phase, values, uncertainty, path)
        for values, uncertainty in ((angles, angle_u), (places, place_u))
    ]

    def shape(at):
        return np.stack([np.concatenate([s(at, k) for s in splines], -1) for k in range(3)])

    return Motion(time[-1] - time[0], shape, speed)


def _closed_spline(phase, values, uncertainty, file):
    """Periodic quintic spline near values (m, n) of a given standard uncertainty."""
    from scipy.interpolate import BSpline, splprep

    allowed = values.size * uncertainty**2
    options = dict(u=phase, k=5, s=allowed, per=1, full_output=True, quiet=1)
    ((knots, factors, degree), _), _, trouble, _ = splprep(list(values), **options)
    if trouble > 0:
        problem = "no smooth motion fits, expected readings without leaps or a larger uncertainty"
        raise InputError(problem, file=file)
    return BSpline(knots, np.transpose(factors), degree, extrapolate="periodic")
