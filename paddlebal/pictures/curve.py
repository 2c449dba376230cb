"""Curves with the present point."""

import numpy as np

from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, TEXT, VEIL, Labels, style_axes


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


class CurvePicture(Picture):
    """Grey curves with the present point marked on them; parameters as for `CurveView`."""

    def __init__(self, xlabel, ylabel, xlim, ylim, curves):
        super().__init__(8.0, 4.6)
        axes = self.figure.add_axes((0.13, 0.16, 0.84, 0.8))
        self.shows = f"Curves of {ylabel} against {xlabel}: {', '.join(curves)}."
        self._curve = CurveView(axes, self.live, xlabel, ylabel, xlim, ylim, curves)

    def update(self, curves, point, words):
        """Show curves, by name their (x, y) arrays, and the point (x, y) with its words."""
        self._curve.update(curves, point, words)
        self.refresh()
