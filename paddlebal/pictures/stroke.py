"""A stroke cycle in a picture: roll torque with its parts, work, and torque to hold."""

import numpy as np

from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, TEXT, round_step, style_axes

TORQUE_PARTS = {
    "gravity": "solid",
    "roll inertia": (0, (5, 2)),
    "couple, gyroscopic": (0, (1, 1.3)),
    "acceleration": (0, (6, 1.5, 1, 1.5)),
}
"""The parts of the roll torque, in the order of `RollParts`, and how each is drawn."""


SIDES = ("without", "with")
"""Counterweights."""


class CycleView:
    """The roll torque over one cycle, its parts in grey and their sum.

    Parameters
    ----------
    title : str
    """

    def __init__(self, axes, live, title):
        style_axes(axes, "share of the cycle [%]", "torque of the hands [N·m]")
        axes.set(xlim=(0, 100), xticks=(0, 25, 50, 75, 100))
        axes.set_title(title, fontsize=TEXT)
        axes.axhline(0, color=GREY, lw=0.8)
        axes.axvline(50, color=GREY, lw=0.8, ls=":")
        for place, side in ((25, "right"), (75, "left")):
            at = {"transform": axes.get_xaxis_transform(), "ha": "center", "va": "bottom"}
            axes.text(place, 0.02, f"{side} stroke", color=DARK, fontsize=TEXT, **at)
        self._parts = [
            live(axes.plot([], [], color=GREY, lw=2, ls=ls)[0]) for ls in TORQUE_PARTS.values()
        ]
        self._sum = live(axes.plot([], [], color=ACCENT, lw=3)[0])

    @property
    def lines(self):
        """The sum's and the parts' lines, for a legend."""
        return [self._sum, *self._parts]

    def update(self, parts):
        """Show parts of the roll torque [N·m], each (n,), over n equal steps of the cycle."""
        share = 100 * np.arange(len(parts[0])) / len(parts[0])
        for line, part in zip(self._parts, parts, strict=True):
            line.set_data(share, part)
        self._sum.set_data(share, sum(parts))


class PairsView:
    """Pairs of bars, without and with counterweights, each with its number.

    Parameters
    ----------
    ylabel : str
        With its unit.
    names : sequence of str
        What the pairs stand for.
    """

    def __init__(self, axes, live, ylabel, names):
        style_axes(axes, "", ylabel)
        places = np.arange(len(names))
        axes.set(xlim=(-0.6, len(names) - 0.4), xticks=places)
        axes.set_xticklabels(names, fontsize=TEXT)
        axes.axhline(0, color=GREY, lw=0.8)
        axes.tick_params(axis="x", length=0)
        self._axes = axes
        look = {"without": {"fc": "0.75", "hatch": "//"}, "with": {"fc": ACCENT}}
        self._bars = {
            side: [
                live(bar) for bar in axes.bar(places + shift, 0, 0.45, ec=DARK, lw=1, **look[side])
            ]
            for side, shift in zip(SIDES, (-0.235, 0.235), strict=True)
        }
        style = {"fontsize": TEXT, "ha": "center", "color": DARK}
        self._numbers = {
            side: [live(axes.text(0, 0, "", **style)) for _ in names] for side in SIDES
        }

    @property
    def bars(self):
        """A bar without and one with counterweights, for a legend."""
        return [self._bars[side][0] for side in SIDES]

    def update(self, without, balanced):
        """Show the values of the pairs, each (n,)."""
        low, high = self._axes.get_ylim()
        gap = 0.02 * (high - low)
        for side, values in zip(SIDES, (without, balanced), strict=True):
            for bar, text, value in zip(self._bars[side], self._numbers[side], values, strict=True):
                bar.set_height(value)
                middle = bar.get_x() + bar.get_width() / 2
                text.set_text(f"{abs(value):.2f}")
                text.set_position((middle, value + np.copysign(gap, value)))
                text.set_va("bottom" if value >= 0 else "top")


class StrokePicture(Picture):
    """A stroke cycle without and with counterweights: torque, work, and torque to hold."""

    shows = (
        "Torque of the hands over one cycle with its four parts, without and with "
        "counterweight; below, pairs of bars of work and of torque, without and with."
    )

    def __init__(self):
        super().__init__(10.4, 6.9)
        upper = self.figure.add_gridspec(1, 2, left=0.1, right=0.975, top=0.875, bottom=0.55)
        lower = self.figure.add_gridspec(1, 3, left=0.09, right=0.985, top=0.39, bottom=0.13)
        upper.update(wspace=0.12)
        lower.update(wspace=0.36)
        first = self.figure.add_subplot(upper[0])
        second = self.figure.add_subplot(upper[1], sharey=first)
        self._cycles = [
            CycleView(axes, self.live, f"{side} counterweight")
            for axes, side in zip((first, second), SIDES, strict=True)
        ]
        second.set_ylabel("")
        second.tick_params(labelleft=False)
        key = {"fontsize": TEXT, "frameon": False, "handlelength": 2.2, "columnspacing": 1.3}
        lines, names = self._cycles[0].lines, ["sum", *TORQUE_PARTS]
        self.figure.legend(lines, names, loc="upper center", ncols=5, **key)
        axes = [self.figure.add_subplot(lower[i]) for i in range(3)]
        self._work = PairsView(axes[0], self.live, "work [J]", ("given", "taken"))
        self._roll = PairsView(axes[1], self.live, "work [J]", ("given", "taken"))
        self._torque = PairsView(axes[2], self.live, "torque [N·m]", ("mean", "peak"))
        titles = ("work of the hands, a cycle", "of it about the shaft", "size of the torque")
        for each, title in zip(axes, titles, strict=True):
            each.set_title(title, fontsize=TEXT)
        names = [f"{side} counterweight" for side in SIDES]
        self.figure.legend(self._work.bars, names, loc="lower center", ncols=2, **key)
        self._axes = [first, *axes]

    def scale(self, torque, work, roll_work, holding):
        """Fix the axes to hold these [N·m, J, J, N·m]; shown with the next update."""
        for axes, top, low in zip(
            self._axes, (torque, work, roll_work, holding), (-1, -1, -1, 0), strict=True
        ):
            step = round_step(top, 3)
            axes.set_yticks(step * np.arange(np.ceil(low * top / step), top / step + 1e-9))
            axes.set_ylim(1.25 * low * top, 1.25 * top)
        self._background = None

    def update(self, comparison):
        """Show a `Comparison`."""
        both = comparison.without, comparison.balanced
        for view, side in zip(self._cycles, both, strict=True):
            view.update(side.parts)
        self._work.update(*(side.full_work for side in both))
        self._roll.update(*((side.roll.positive, side.roll.negative) for side in both))
        self._torque.update(*((side.roll.mean, side.roll.peak) for side in both))
        self.refresh()
