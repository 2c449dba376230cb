"""Pictures of many paddles of one model: what the paddles before say beside readings, and how many
readings the next one needs."""

from __future__ import annotations

import numpy as np

from paddlebal.pictures.bench import ellipse
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, TEXT, VEIL, Labels, style_axes
from paddlebal.units import GRAM_MM


class ManyPicture(Picture):
    """The regions of one paddle, and readings needed against paddles measured before.

    Parameters
    ----------
    most_paddles, most_angles : int
        Of the curve.
    """

    shows = (
        "The 95 % regions of a paddle's unbalance by the paddles before, by its own readings, and "
        "by both together; beside them how many angles must be read against the number of paddles "
        "of the model measured before, for a tight model, a loose one and the one chosen."
    )

    def __init__(self, most_paddles: int, most_angles: int) -> None:
        super().__init__(10.4, 4.8)
        left, right = self.figure.subplots(1, 2, width_ratios=(1, 1.2))
        self.figure.subplots_adjust(left=0.1, right=0.985, top=0.93, bottom=0.14, wspace=0.28)
        style_axes(left, "off along the bisector [g·mm]", "off across it [g·mm]")
        left.set_aspect("equal", adjustable="box")
        self._left, self._labels = left, Labels(left)
        styles = {
            "before": (GREY, (0, (4, 2)), 2.0), "readings": (DARK, "-", 1.6),
            "together": (ACCENT, "-", 2.8),
        }  # fmt: skip
        self._edges = {
            name: self.live(left.plot([], [], color=color, ls=line, lw=width)[0])
            for name, (color, line, width) in styles.items()
        }
        names = {"before": "paddles before", "readings": "readings", "together": "together"}
        self._names = {
            name: self.live(left.text(0, 0, words, fontsize=TEXT, bbox=VEIL,
                                      color=ACCENT if name == "together" else DARK))
            for name, words in names.items()
        }  # fmt: skip
        style_axes(right, "paddles of the model measured before", "angles to read")
        right.set(xlim=(-0.3, most_paddles + 0.3), ylim=(0, most_angles + 2),
                  xticks=range(0, most_paddles + 1, 5))  # fmt: skip
        self._curves = {
            name: self.live(right.plot([], [], color=color, ls=line, lw=width, marker="o", ms=4)[0])
            for name, color, line, width in (
                ("tight", GREY, "-", 1.6), ("loose", GREY, (0, (4, 2)), 1.6),
                ("chosen", ACCENT, "-", 2.6),
            )
        }  # fmt: skip
        right.set_title("grey: tight   dashed: loose   colour: chosen", fontsize=TEXT)
        self._now = self.live(right.axvline(0, color=DARK, lw=1, ls=(0, (1, 2))))
        self._most = most_angles

    def update(self, regions, needed, count):
        """regions: covariances (2, 2) [(kg·m)²] by name; needed: angles (n,) by name, nan where
        the most are too few; count: paddles before."""
        edges = {name: ellipse(each) / GRAM_MM for name, each in regions.items()}
        reach = 1.35 * max(np.abs(edges[name]).max() for name in ("readings", "together"))
        self._left.set(xlim=(-reach, reach), ylim=(-reach, reach))
        self._left.apply_aspect()
        for name, edge in edges.items():
            self._edges[name].set_data(*edge.T)
        ways = {"before": np.pi / 2, "readings": -np.pi / 2, "together": 0.0}
        places = []
        for name, way in ways.items():
            edge = edges[name]
            spot = edge[np.argmax(edge @ [np.cos(way), np.sin(way)])]
            inside = bool(np.all(np.abs(spot) < 0.9 * reach))
            self._names[name].set_visible(inside or name != "before")
            places.append((self._names[name], np.clip(spot, -0.9 * reach, 0.9 * reach), way, 4))
        self._labels.place(places)
        for name, curve in self._curves.items():
            curve.set_data(np.arange(needed[name].size), needed[name])
        self._now.set_xdata([count, count])
        self.redraw()
