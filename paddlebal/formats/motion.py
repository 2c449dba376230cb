"""The file of a recorded stroke."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from paddlebal.errors import InputError
from paddlebal.files.columns import Column, growing, open_table
from paddlebal.stroke import Motion
from paddlebal.units import DEG, MM

ANGLE_GAP = np.radians(2.0)


PLACE_GAP = 0.02
"""rad and m by which a recorded cycle may fail to come back to its start."""


FEWEST_ROWS = 12


ENOUGH_ROWS = 30
"""Rows from which the noise of a record can be told from its motion."""


UNDERSTATED = 1.5
"""How many times its stated uncertainty a record may scatter."""


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
    periodic quintic spline, as smooth as the uncertainties allow: noise grows large in the
    accelerations. An uncertainty that is left out is estimated from the readings, and one that is
    stated well below what they show is refused; with fewer than 30 rows neither can be told, and
    the spline passes through readings whose uncertainty is left out.

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
    speed = header.optional("speed_m_s", above=0)
    stated = {
        key: header.number(key, unit, default=0.0, low=0, high=high)
        for key, unit, high in (("angle_u_deg", DEG, 90), ("place_u_mm", MM, 1000))
    }
    given = header.data.keys() & stated.keys()
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
    uncertainty = {}
    for (key, value), readings, unit in zip(
        stated.items(), (angles, places), (DEG, MM), strict=True
    ):
        shown = scatter(phase, readings) if len(time) >= ENOUGH_ROWS else value
        if key in given and shown > UNDERSTATED * value:
            problem = f"is {value / unit:g}, but the readings scatter by {shown / unit:.2g}"
            raise InputError(problem, file=path, field=key)
        uncertainty[key] = value if key in given else shown
    return _motion(phase, (angles, places), tuple(uncertainty.values()), time, speed, path)


def _motion(phase, readings, uncertainties, time, speed, file):
    """The `Motion` along readings, angles and places, each (3, n), of given uncertainties."""
    splines = [
        _closed_spline(phase, values, u, file)
        for values, u in zip(readings, uncertainties, strict=True)
    ]

    def shape(at):
        return np.stack([np.concatenate([s(at, k) for s in splines], -1) for k in range(3)])

    def redrawn(rng):
        again = []
        for spline, u, values in zip(splines, uncertainties, readings, strict=True):
            drawn = spline(phase).T + u * rng.standard_normal(values.shape)
            drawn[:, -1] = drawn[:, 0]
            again.append(drawn)
        return _motion(phase, again, uncertainties, time, speed, file)

    return Motion(time[-1] - time[0], shape, speed, redrawn)


def scatter(phase, values):
    """Standard deviation of the noise on smooth curves (m, n) at phases (n,), uneven or not.

    From what a polynomial of seventh degree leaves of each twelve neighbours: the combinations of
    them that no such polynomial takes part in (differences of a series as an estimate of its
    variance: J. von Neumann et al., Annals of Mathematical Statistics 12, 1941; from memory).
    """
    windows = np.lib.stride_tricks.sliding_window_view(phase, 12)
    centred = windows - windows.mean(axis=1, keepdims=True)
    powers = (centred / np.abs(centred).max(axis=1, keepdims=True))[..., None] ** np.arange(8)
    blind = np.linalg.svd(powers)[0][:, :, 8:]
    seen = np.lib.stride_tricks.sliding_window_view(values, 12, axis=-1)
    return float(np.sqrt(np.mean(np.einsum("nkj,mnk->mnj", blind, seen) ** 2)))


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
