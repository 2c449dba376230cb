"""Pictures of the hand: how long a hold lasts; no physics.

The present state is in the accent colour, what it is compared with in grey. A range is a bar,
never a line through its middle.
"""

from __future__ import annotations

import math
import textwrap

import numpy as np
from matplotlib.patches import Rectangle

from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, PALE, TEXT, style_axes

NEVER = 36e4
"""s at which the time axis draws what never ends."""


LONGEST = 12e4


TIMES = {1: "1 s", 10: "10 s", 60: "1 min", 600: "10 min", 3600: "1 h", 36000: "10 h"}


SHARES = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)


def time_words(seconds):
    """A time in s, min or h, to two digits; 'never' for an infinite one."""
    if math.isinf(seconds):
        return "never"
    for size, unit in ((3600, "h"), (60, "min"), (1, "s")):
        if seconds >= size or size == 1:
            value = seconds / size
            return f"{value:.0f} {unit}" if value >= 99.5 else f"{value:.2g} {unit}"


def range_words(ends, digits, unit=""):
    """'least to greatest unit', or one number where they are the same."""
    low, high = (f"{end:.{digits}f}" for end in ends)
    return f"{low if low == high else f'{low} to {high}'} {unit}".strip()


def time_range_words(least: float, greatest: float) -> str:
    """'least to greatest' in s, min or h.

    Parameters
    ----------
    least, greatest : float
        s.

    Returns
    -------
    str
    """
    low, high = time_words(least), time_words(greatest)
    return low if low == high else f"{low} to {high}"


def _write_caution(figure, caution):
    """The caution, in the picture itself, so that it goes wherever the picture goes."""
    text = textwrap.fill(caution, 102)
    figure.text(0.012, 0.07 / figure.get_figheight(), text, fontsize=TEXT, va="bottom")


class EndurancePicture(Picture):
    """How long a hold lasts against the share of maximum grip, both on logarithmic axes.

    Parameters
    ----------
    loads : ndarray (n,)
        Shares of maximum grip, 0 to 1.
    times : dict of str to ndarray (n,)
        Endurance [s] by each published set, infinite where it never fails.
    title, caution : str
        How the hand holds; what is written below.
    names : (str, str)
        Of the sets together and of the curve.
    curve : ndarray (n,), optional
        A published curve of endurance [s].
    measured : sequence of (load, time, error, words, place)
        Times [s] that people held, the standard error [s] or 0, what to write, and where to
        begin it: (load, time).
    least : float
        Share of maximum grip at which the axis begins.
    """

    def __init__(self, loads, times, title, caution, names, curve=None, measured=(), least=0.001):
        foot = 1.85 if caution else 0.7
        height = 3.7 + foot
        super().__init__(10.4, height)
        self._least = 100 * least
        people = [words for _, _, _, words, _ in measured]
        known = "; ".join(filter(None, [*names, *people]))
        self.shows = f"Time until the grip fails against share of maximum grip, {title}: {known}."
        axes = self.figure.add_axes((0.115, foot / height, 0.865, 3.3 / height))
        style_axes(axes, "share of maximum grip [%]", "time until the grip fails")
        axes.set(xscale="log", yscale="log", xlim=(self._least, 100), ylim=(1, 2 * NEVER))
        shares = [share for share in SHARES if share >= self._least]
        axes.set_xticks(shares, [f"{share:g}" for share in shares], fontsize=TEXT)
        axes.set_yticks([*TIMES, NEVER], [*TIMES.values(), "never"], fontsize=TEXT)
        axes.minorticks_off()
        axes.axhline(LONGEST, color=GREY, lw=1)
        self._axes = axes
        self._scenery(100 * np.asarray(loads), times, curve, names)
        for point in measured:
            self._measured(*point)
        span = {"color": ACCENT, "lw": 0}
        self._span = self.live(axes.add_patch(Rectangle((1, 1), 0, 0, alpha=0.18, **span)))
        self._edges = self.live(axes.plot([], [], color=ACCENT, lw=2, ls="-.")[0])
        self._box = self.live(axes.plot([], [], color=ACCENT, lw=4)[0])
        words = axes.text(0, 1.035, "", color=ACCENT, weight="bold", transform=axes.transAxes)
        words.set_fontsize(TEXT)
        self._words = self.live(words)
        axes.text(1, 1.035, title, fontsize=TEXT, ha="right", transform=axes.transAxes, color=DARK)
        _write_caution(self.figure, caution)

    def _scenery(self, shares, times, curve, names):
        drawn = np.minimum(list(times.values()), NEVER)
        drawn[drawn > LONGEST] = NEVER
        self._axes.fill_between(shares, drawn.min(0), drawn.max(0), color=PALE)
        for line in drawn:
            self._axes.plot(shares, line, color=GREY, lw=1)
        style = {"fontsize": TEXT, "color": DARK, "ha": "left"}
        self._axes.text(1.1 * self._least, 4, f"grey: {names[0]}", **style)
        if curve is not None:
            self._axes.plot(shares, curve, color=DARK, lw=2.2, ls=(0, (5, 2)))
            self._axes.text(1.1 * self._least, 20, f"dashed: {names[1]}", **style)

    def _measured(self, load, time, error, words, place):
        style = {"fmt": "s", "ms": 9, "mfc": "white", "color": DARK, "capsize": 5}
        self._axes.errorbar(100 * load, time, error or None, **style)
        self._axes.annotate(
            words,
            (100 * load, time),
            (100 * place[0], place[1]),
            fontsize=TEXT,
            va="center",
            arrowprops={"arrowstyle": "-", "color": DARK, "shrinkB": 6},
        )

    def update(self, load=None, band=None, words=""):
        """Mark a range of loads and of times [s], each (least, greatest); None marks nothing."""
        for artist in (self._span, self._edges, self._box):
            artist.set_visible(load is not None)
        self._words.set_text(words)
        if load is not None:
            left, right = np.clip(100 * np.asarray(load), self._least, 100)
            low, high = np.clip(np.minimum(band, NEVER), 1, NEVER)
            self._span.set_bounds(left, 1, right - left, 2 * NEVER)
            self._edges.set_data([left, left, np.nan, right, right], [1, 2e6, np.nan, 1, 2e6])
            box = [left, right, right, left, left], [low, low, high, high, low]
            self._box.set_data(*box)
        self.refresh()
