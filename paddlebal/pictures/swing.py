"""The picture of a recorded swing: what was seen and what was fitted."""

from __future__ import annotations

import numpy as np

from paddlebal.arrays import Array
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, GREY, TEXT, style_axes


class RecordPicture(Picture):
    """Roll angle against time: the record in grey, the fit in the accent colour.

    Parameters
    ----------
    time, roll, residuals : ndarray (n,)
        The record [s, rad], and recorded minus fitted angle [rad].
    """

    shows = (
        "A recorded swing: roll angle against time with the fitted curve, and below it what the "
        "fit leaves of each angle."
    )

    def __init__(self, time: Array, roll: Array, residuals: Array) -> None:
        super().__init__(10.4, 5.6)
        above, below = self.figure.subplots(2, 1, sharex=True, height_ratios=(2.2, 1))
        self.figure.subplots_adjust(left=0.1, right=0.98, top=0.95, bottom=0.13, hspace=0.14)
        style_axes(above, "", "roll angle [deg]")
        style_axes(below, "time [s]", "residual [deg]")
        above.plot(time, np.degrees(roll), "o", color=GREY, ms=5, mfc="none")
        gaps = np.flatnonzero(np.diff(time) > 3 * np.median(np.diff(time))) + 1
        line = (np.insert(part, gaps, np.nan) for part in (time, np.degrees(roll - residuals)))
        above.plot(*line, color=ACCENT, lw=2)
        where = {"fontsize": TEXT, "transform": above.transAxes, "ha": "right"}
        above.text(0.99, 0.92, "rings: recorded", color=GREY, **where)
        above.text(0.99, 0.8, "line: fitted", color=ACCENT, **where)
        below.axhline(0, color=GREY, lw=1)
        below.plot(time, np.degrees(residuals), "o", color=GREY, ms=5, mfc="none")
