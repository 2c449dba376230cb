"""Pictures of pieces for a motion: torque over a cycle, where they sit, what more of them buys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.patches import Polygon

from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, PALE, TEXT, VEIL, Labels, style_axes
from paddlebal.units import DEG, GRAM, MM

BARE, REST, BEST = "bare", "balanced at rest", "these pieces"


MOST = 8
"""Pieces that are named."""


class MotionPicture(Picture):
    """Roll torque of the hands over a cycle by three sets of pieces; the best set on the shaft.

    Parameters
    ----------
    largest : float
        Greatest torque that is shown [N·m].
    reach : float
        Farthest station [m].
    """

    shows = (
        "Roll torque of the hands over one cycle, bare, with the weight that balances at rest and "
        "with the best pieces; below, where along the shaft and at which angle these pieces sit."
    )

    def __init__(self, largest: float, reach: float) -> None:
        super().__init__(8.6, 6.2)
        above, below = self.figure.subplots(2, 1, height_ratios=(1.5, 1))
        self.figure.subplots_adjust(left=0.12, right=0.98, top=0.94, bottom=0.1, hspace=0.42)
        style_axes(above, "share of the cycle", "roll torque of the hands [N·m]")
        above.set(xlim=(0, 1), ylim=(-largest, largest))
        above.axhline(0, color=GREY, lw=1)
        self._band = self.live(above.add_patch(
            Polygon(np.full((2, 2), np.nan), color=PALE, lw=0, closed=True)
        ))  # fmt: skip
        styles = {BARE: (GREY, "-"), REST: (DARK, (0, (4, 2))), BEST: (ACCENT, "-")}
        self._curves = {
            name: self.live(above.plot([], [], color=color, lw=2.4, ls=line)[0])
            for name, (color, line) in styles.items()
        }
        above.set_title(
            "grey: bare   dashed: balanced at rest   colour: these pieces", fontsize=TEXT
        )
        style_axes(below, "place along the shaft [mm]", "angle [deg]")
        below.set(xlim=(-1.15 * reach / MM, 1.15 * reach / MM), ylim=(-235, 235),
                  yticks=np.arange(-180, 181, 90))  # fmt: skip
        below.axhline(0, color=GREY, lw=1)
        self._dots = self.live(below.scatter([], [], color=ACCENT, edgecolor=DARK))
        self._names = [
            self.live(below.text(0, 0, "", fontsize=TEXT, color=DARK, bbox=VEIL))
            for _ in range(MOST)
        ]
        self._labels = Labels(below)

    def update(self, share, torques, pieces, spread=None):
        """Shares of the cycle (n,); torques (n,) [N·m] by name; the counterweights; by how much
        the cycles spread (n,) [N·m], if they do."""
        size = torques[BARE]
        edges = np.full((2, 2), np.nan) if spread is None else np.vstack([
            np.column_stack([share, size - spread]), np.column_stack([share, size + spread])[::-1]
        ])  # fmt: skip
        self._band.set_xy(edges)
        for name, curve in self._curves.items():
            curve.set_data(share, torques[name])
        places = np.array([(p.x / MM, p.angle / DEG) for p in pieces]).reshape(-1, 2)
        self._dots.set_offsets(places)
        self._dots.set_sizes([4 * p.mass / GRAM for p in pieces])
        for name, piece in zip(self._names, [*pieces, *[None] * MOST], strict=False):
            name.set_text("" if piece is None else f"{piece.mass / GRAM:.0f} g")
            name.set_visible(piece is not None)
        wanted = zip(self._names, places, strict=False)
        self._labels.place([(name, place, np.pi / 4, 12) for name, place in wanted])
        self.refresh()


class FrontPicture(Picture):
    """Mean roll torque against mass, swing inertia and work, from bare to best.

    Parameters
    ----------
    fronts : dict of str to sequence of SetRow
        By name, from light to heavy; the first is drawn full, the second dashed.
    marks : sequence of SetRow
        Sets to mark by their names.
    """

    shows = (
        "Mean roll torque against the mass of the pieces, the swing inertia they add and the work "
        "of the hands in a cycle: the best pieces, those that also stay at rest, and marks for the "
        "bare paddle and for one weight and a pair that balance it at rest."
    )

    def __init__(self, fronts: Mapping[str, Sequence[Any]], marks: Sequence[Any]) -> None:
        super().__init__(10.4, 4.4)
        each = self.figure.subplots(1, 3, sharey=True)
        self.figure.subplots_adjust(left=0.08, right=0.985, top=0.87, bottom=0.16, wspace=0.1)
        columns = (
            ("mass of the pieces [g]", lambda row: row.mass / GRAM),
            ("swing inertia added [g·m²]", lambda row: 1e3 * row.swing_inertia),
            ("work of the hands [J a cycle]", lambda row: row.work),
        )
        styles = ((ACCENT, "-"), (DARK, (0, (4, 2))))
        for i, (axes, (label, value)) in enumerate(zip(each, columns, strict=True)):
            style_axes(axes, label, "" if i else "mean roll torque [N·m]")
            for (name, rows), (color, line) in zip(fronts.items(), styles, strict=False):
                places = [value(row) for row in rows]
                torque = [row.mean for row in rows]
                axes.plot(places, torque, color=color, ls=line, lw=2.4, label=name)
            for row, marker in zip(marks, "osD", strict=False):
                axes.plot([value(row)], [row.mean], marker, color=GREY, mec=DARK, ms=9,
                          ls="none", label=row.name)  # fmt: skip
            axes.set_ylim(bottom=0)
        names = each[0].get_legend_handles_labels()
        self.figure.legend(*names, loc="upper center", ncols=5, fontsize=TEXT, frameon=False,
                           columnspacing=1.2, handlelength=1.6)  # fmt: skip


class RecordPicture(Picture):
    """A logger's record against time: how fast it turned, what it felt, when it was held still."""

    shows = (
        "Size of the angular rate and of the specific force against time, with the stretches in "
        "which the paddle was held still and in which it was paddled."
    )

    def __init__(self) -> None:
        super().__init__(8.6, 4.2)
        self._each = self.figure.subplots(2, 1, sharex=True)
        self.figure.subplots_adjust(left=0.12, right=0.98, top=0.9, bottom=0.15, hspace=0.2)
        for axes, label in zip(self._each, ("rate [rad/s]", "force [m/s²]"), strict=True):
            style_axes(axes, "", label)
        self._each[1].set_xlabel("time [s]", fontsize=TEXT)
        self._lines = [self.live(axes.plot([], [], color=DARK, lw=1)[0]) for axes in self._each]
        self._spans: list[Any] = []

    def update(self, time, rate, force, spans):
        """Times [s] and sizes (n,); spans: name to (from, to) [s]."""
        for each in self._spans:
            each.remove()
        self._spans = []
        for axes, line, values in zip(self._each, self._lines, (rate, force), strict=True):
            line.set_data(time, values)
            axes.set(xlim=(time[0], time[-1]), ylim=(0, 1.05 * values.max()))
            for name, (start, stop) in spans.items():
                pale = name == "moving"
                self._spans.append(axes.axvspan(
                    start, stop, color=PALE if pale else ACCENT, alpha=0.4 if pale else 0.3, lw=0
                ))  # fmt: skip
        top = self._each[0]
        for name, (start, stop) in spans.items():
            self._spans.append(top.text(
                (start + stop) / 2, 1.02, name, transform=top.get_xaxis_transform(), ha="center",
                va="bottom", fontsize=TEXT, color=DARK,
            ))  # fmt: skip
        self.redraw()
