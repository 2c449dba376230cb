"""Charts that the pictures are made of, and the style that all views share.

Each view draws into one axes and changes there in place. It is given its axes and `live`, which
registers an artist that will change. Its limits are fixed from the start and hold every value
it will be shown, unless it says otherwise. One accent colour is the present state, grey is the
rest; what belongs to the left is dashed, to the right solid.
"""

import numpy as np
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import Bbox

from paddlebal.unbalance import GRAM_MM

ACCENT, DARK, GREY, PALE = "#c2410c", "0.2", "0.58", "0.85"
"""For marks, told apart in black and white too; GREY is too light for words."""
LINE = {"left": (0, (4, 2)), "right": "solid"}
TEXT = 14
"""Points."""
VEIL = {"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1}
"""Lets a text be read where it has to cross a line."""

MM = 1e-3

NINETY_FIVE = np.sqrt(-2 * np.log(0.05))
"""Standard deviations out to which a normal distribution in the plane holds 95 %."""


def style_axes(axes, xlabel, ylabel):
    """Labels in the common size, and no frame where nothing is read off."""
    axes.set_xlabel(xlabel, fontsize=TEXT)
    axes.set_ylabel(ylabel, fontsize=TEXT)
    axes.tick_params(labelsize=TEXT, colors=DARK)
    axes.spines[["top", "right"]].set_visible(False)


def signed(value, digits):
    """A number with its sign, a true minus where it is negative; zero has none."""
    text = f"{value:+.{digits}f}"
    return text[1:] if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def round_step(largest, steps):
    """The round number 1, 2 or 5 times a power of ten, not below largest / steps."""
    rough = largest / steps
    power = 10.0 ** np.floor(np.log10(rough))
    return float(next(n * power for n in (1, 2, 5, 10) if n * power >= rough * (1 - 1e-12)))


class Labels:
    """Places texts beside what they name, clear of each other, inside one axes.

    fixed are texts that stay where they are and are kept clear.
    """

    def __init__(self, axes, fixed=()):
        self.axes, self.fixed = axes, fixed

    def place(self, wanted):
        """Set each (text, anchor [data], direction [rad], gap [points]) in turn."""
        renderer = self.axes.figure.canvas.get_renderer()
        frame = self.axes.get_window_extent(renderer)
        to_data = self.axes.transData.inverted()
        taken = [text.get_window_extent(renderer) for text in self.fixed]
        for text, anchor, direction, gap in wanted:
            text.set(ha="center", va="center")
            size = text.get_window_extent(renderer).size
            start = self.axes.transData.transform(anchor)
            ways = direction + np.pi / 6 * np.array(sorted(range(-6, 6), key=abs))
            for unit in np.stack([np.cos(ways), np.sin(ways)], axis=-1):
                edge = unit / np.abs(unit).max() * size / 2
                centre = start + unit * renderer.points_to_pixels(gap) + edge
                box = Bbox([centre - size / 2, centre + size / 2]).padded(2)
                inside = frame.x0 < box.x0 and box.x1 < frame.x1
                inside &= frame.y0 < box.y0 and box.y1 < frame.y1
                if inside and not any(box.overlaps(other) for other in taken):
                    break
            text.set_position(to_data.transform(centre))
            taken.append(box)


class CurveView:
    """Curves in grey, each named beside itself, and the present point with its words.

    Parameters
    ----------
    xlabel, ylabel : str
        With their units.
    xlim, ylim : tuple of float
        To hold every curve's relevant part and every point.
    curves : dict of str to line style
        Name of each curve and how it is drawn.
    """

    def __init__(self, axes, live, xlabel, ylabel, xlim, ylim, curves):
        style_axes(axes, xlabel, ylabel)
        axes.set(xlim=xlim, ylim=ylim)
        self._axes, self._labels = axes, Labels(axes)
        self._curves = {
            name: live(axes.plot([], [], color=GREY, lw=2.5, ls=style)[0])
            for name, style in curves.items()
        }
        self._drop = live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, ms=11)[0])
        style = {"fontsize": TEXT, "bbox": VEIL}
        self._names = {name: live(axes.text(0, 0, name, color=DARK, **style)) for name in curves}
        self._words = live(axes.text(0, 0, "", color=ACCENT, weight="bold", **style))

    def update(self, curves, point, words):
        """Show curves, by name their (x, y) arrays, and the point (x, y) with its words."""
        x, y = point
        (left, right), (low, high) = self._axes.get_xlim(), self._axes.get_ylim()
        self._drop.set_data([x, x, left], [low, y, y])
        self._dot.set_data([x], [y])
        self._words.set_text(words)
        wanted = [(self._words, point, np.pi / 4, 6)]
        for name, (xs, ys) in curves.items():
            self._curves[name].set_data(xs, ys)
            seen = np.flatnonzero((xs >= left) & (xs <= right) & (ys >= low) & (ys <= high))
            self._names[name].set_visible(seen.size > 0)
            if seen.size:
                quarters = seen[[seen.size // 5, -1 - seen.size // 5]]
                at = quarters[np.argmax(np.abs(xs[quarters] - x))]
                wanted.append((self._names[name], (xs[at], ys[at]), np.pi / 4, 4))
        self._labels.place(wanted)


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

    def update(self, unbalance, covariance, second, second_name):
        """Show an unbalance (2,) [kg·m] and its covariance (2, 2) [(kg·m)²].

        second is another covariance about the same vector.
        """
        centre = np.asarray(unbalance) / GRAM_MM
        region, other = (centre + _ellipse(each) / GRAM_MM for each in (covariance, second))
        self._dot.set_data([centre[0]], [centre[1]])
        for line, data in ((self._region, region), (self._second, other)):
            line.set_data(*data.T)
        reach = 1.7 * np.abs(np.concatenate([region, other]) - centre).max()
        self._axes.set(xlim=centre[0] + [-reach, reach], ylim=centre[1] + [-reach, reach])
        self._axes.apply_aspect()
        self._second_name.set_text(second_name)
        self._labels.place(
            [
                (self._name, region[np.argmax(region[:, 1])], np.pi / 2, 5),
                (self._second_name, other[np.argmin(other[:, 1])], -np.pi / 2, 5),
            ]
        )


def _ellipse(covariance):
    """Points (n, 2) about the origin of the 95 % region of a normal distribution."""
    variances, axes = np.linalg.eigh(covariance)
    turn = np.linspace(0, 2 * np.pi, 121)
    circle = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    return NINETY_FIVE * (circle * np.sqrt(variances)) @ axes.T
