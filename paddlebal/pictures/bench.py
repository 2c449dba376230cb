"""Bench readings, their fit and the region of the unbalance."""

import numpy as np
from matplotlib.ticker import MaxNLocator

from paddlebal.bench.scatter import REGION
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, TEXT, Labels, style_axes
from paddlebal.units import GRAM_MM

NINETY_FIVE = np.sqrt(REGION)
"""Standard deviations out to which a normal distribution in the plane holds 95 %."""


class FitView:
    """Bench readings against the fitted curves, and the residuals below.

    Its limits follow the readings, so the picture is to be drawn anew after an update.
    """

    def __init__(self, axes, below, live):
        style_axes(axes, "", "moment of the pull [N·m]")
        style_axes(below, "roll angle [deg]", "residual [mN·m]")
        self._axes, self._below = axes, below
        for each in (axes, below):
            each.set(xlim=(-5, 365), xticks=np.arange(0, 361, 60))
            each.axhline(0, color=GREY, lw=1)
        axes.tick_params(labelbottom=False)
        ways = {"up": ("-", "^", DARK), "down": ((0, (4, 2)), "v", "white")}
        self._curves, self._points, self._rests = {}, {}, {}
        for way, (line, marker, fill) in ways.items():
            self._curves[way] = live(axes.plot([], [], color=GREY, lw=2, ls=line)[0])
            style = {"marker": marker, "ls": "none", "ms": 8, "color": DARK, "mfc": fill}
            self._points[way] = live(axes.plot([], [], **style)[0])
            self._rests[way] = live(below.plot([], [], **style)[0])
        axes.set_title("▲ turning counterclockwise   ▽ turning back", fontsize=TEXT)

    def update(self, curves, readings, residuals):
        """By 'up' (counterclockwise) and 'down': curves and readings (angles, moments), residuals.

        Angles in rad, moments in N·m, all arrays (n,).
        """
        for way in ("up", "down"):
            angle, moment = curves[way]
            self._curves[way].set_data(np.degrees(angle), moment)
            angle, moment = readings[way]
            turn = np.degrees(angle) % 360
            self._points[way].set_data(turn, moment)
            self._rests[way].set_data(turn, residuals[way] / 1e-3)
        every = np.concatenate([readings[way][1] for way in readings])
        self._axes.set_ylim(*(1.25 * np.abs(every).max() * np.array([-1, 1])))
        every = np.concatenate(list(residuals.values())) / 1e-3
        self._below.set_ylim(*(1.4 * np.abs(every).max() * np.array([-1, 1])))
        self._below.yaxis.set_major_locator(MaxNLocator(4))


class EllipseView:
    """A fitted unbalance vector with its 95 % region and a second region.

    Its limits follow the region, so the picture is to be drawn anew after an update.
    """

    def __init__(self, axes, live):
        style_axes(axes, "unbalance along y [g·mm]", "unbalance along z [g·mm]")
        axes.set_aspect("equal", adjustable="box")
        axes.xaxis.set_major_locator(MaxNLocator(3))
        axes.yaxis.set_major_locator(MaxNLocator(5))
        self._axes, self._labels = axes, Labels(axes)
        self._second = live(axes.plot([], [], color=DARK, lw=1.8, ls=(0, (4, 2)))[0])
        self._region = live(axes.plot([], [], color=ACCENT, lw=2.5)[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, ms=9)[0])
        self._name = live(axes.text(0, 0, "95 % region", fontsize=TEXT, color=ACCENT))
        self._second_name = live(axes.text(0, 0, "", fontsize=TEXT, color=DARK))

    def update(self, unbalance, covariance, second, second_name, also=None):
        """Show an unbalance (2,) [kg·m] and its covariance (2, 2) [(kg·m)²].

        second is another covariance about the same vector; also a further vector (2,) to hold
        in view.
        """
        centre = np.asarray(unbalance) / GRAM_MM
        region, other = (centre + ellipse(each) / GRAM_MM for each in (covariance, second))
        self._dot.set_data([centre[0]], [centre[1]])
        for line, data in ((self._region, region), (self._second, other)):
            line.set_data(*data.T)
        reach = 1.7 * np.abs(np.concatenate([region, other]) - centre).max()
        if also is not None:
            reach = max(reach, 1.15 * np.abs(np.asarray(also) / GRAM_MM - centre).max())
        self._axes.set(xlim=centre[0] + [-reach, reach], ylim=centre[1] + [-reach, reach])
        self._axes.apply_aspect()
        self._second_name.set_text(second_name)
        self._labels.place(
            [
                (self._name, region[np.argmax(region[:, 1])], np.pi / 2, 5),
                (self._second_name, other[np.argmin(other[:, 1])], -np.pi / 2, 5),
            ]
        )


def ellipse(covariance):
    """Points (n, 2) about the origin of the 95 % region of a normal distribution."""
    variances, axes = np.linalg.eigh(covariance)
    turn = np.linspace(0, 2 * np.pi, 121)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    return NINETY_FIVE * (circle * np.sqrt(variances)) @ axes.T


class BenchPicture(Picture):
    """Lever readings with the fitted curves and residuals, and the fitted unbalance."""

    shows = (
        "Moment of the pull at every roll angle, readings and fitted curves, with the "
        "residuals below; beside them the fitted unbalance with its 95 % region."
    )

    def __init__(self):
        super().__init__(10.4, 5.6)
        grid = self.figure.add_gridspec(2, 2, height_ratios=(2, 1), width_ratios=(1.25, 1))
        self.figure.subplots_adjust(
            left=0.1, right=0.985, top=0.93, bottom=0.12, wspace=0.32, hspace=0.12
        )
        upper, lower = (self.figure.add_subplot(grid[i, 0]) for i in (0, 1))
        self._fit = FitView(upper, lower, self.live)
        self._ellipse = EllipseView(self.figure.add_subplot(grid[:, 1]), self.live)

    def update(self, curves, readings, residuals, unbalance, covariance, second, second_name):
        """Arguments as for `FitView.update` and `EllipseView.update`."""
        self._fit.update(curves, readings, residuals)
        self._ellipse.update(unbalance, covariance, second, second_name)
        self.redraw()
