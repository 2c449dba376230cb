"""Pictures of filmed swings: two swings and the unbalance they give; one frame as it is seen."""

from __future__ import annotations

import numpy as np

from paddlebal.pictures.bench import EllipseView
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, TEXT, VEIL, style_axes
from paddlebal.units import DEG, GRAM_MM


class FilmsPicture(Picture):
    """Two swings against time, and the unbalance that they give with its region."""

    shows = (
        "Roll angle against time of two swings, the bare paddle and with a known mass; beside them "
        "the unbalance found, its 95 % region, and a cross where the true one is."
    )

    def __init__(self):
        super().__init__(10.4, 4.8)
        grid = self.figure.add_gridspec(1, 2, width_ratios=(1.25, 1))
        self.figure.subplots_adjust(left=0.09, right=0.985, top=0.93, bottom=0.14, wspace=0.34)
        axes = self.figure.add_subplot(grid[0, 0])
        style_axes(axes, "time [s]", "roll angle [deg]")
        axes.set(xlim=(0, 4), ylim=(-190, 90), yticks=np.arange(-180, 91, 45))
        self._swings = {
            name: self.live(axes.plot([], [], color=color, lw=2, ls=style)[0])
            for name, color, style in (("bare", GREY, "-"), ("loaded", ACCENT, (0, (4, 2))))
        }
        axes.set_title("grey: bare   dashed: with the known mass", fontsize=TEXT)
        beside = self.figure.add_subplot(grid[0, 1])
        self._ellipse = EllipseView(beside, self.live)
        self._true = self.live(beside.plot([], [], "+", color=DARK, ms=16, mew=2.5)[0])

    def update(self, time, swings, fit, exact, truth):
        """Times (n,) [s]; angles (n,) [rad] of 'bare' and 'loaded'; unbalance and covariance
        found; the covariance if the known mass were exact; the true unbalance (2,) [kg·m]."""
        for name, line in self._swings.items():
            line.set_data(time, swings[name] / DEG)
        self._true.set_data(*(np.reshape(truth, (2, 1)) / GRAM_MM))
        unbalance, covariance = fit
        self._ellipse.update(unbalance, covariance, exact, "dashed: mass exact", truth)
        self.redraw()


class FramePicture(Picture):
    """One frame of the target, as a camera sees it."""

    shows = "A drawn frame of the disc with its markers, the blade before it and the hanging strip."

    def __init__(self):
        super().__init__(7.6, 4.6)
        axes = self.figure.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        self._axes = axes
        self._image = self.live(
            axes.imshow(np.zeros((9, 16)), cmap="gray", vmin=0, vmax=255, aspect="equal")
        )
        self._words = self.live(axes.text(0, 0, "", fontsize=TEXT, color=DARK, bbox=VEIL))

    def update(self, grey, words):
        """A grey frame (height, width), and what was found in it in words."""
        height, width = grey.shape
        self._image.set_data(grey)
        self._image.set_extent((0, width, height, 0))
        self._axes.set(xlim=(0, width), ylim=(height, 0))
        self._words.set_position((0.02 * width, 0.07 * height))
        self._words.set_text(words)
        self.redraw()
