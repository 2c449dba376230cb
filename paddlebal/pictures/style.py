"""Charts that the pictures are made of, and the style that all views share.

Each view draws into one axes and changes there in place. It is given its axes and `live`, which
registers an artist that will change. Its limits are fixed from the start and hold every value
it will be shown, unless it says otherwise. One accent colour is the present state, grey is the
rest; what belongs to the left is dashed, to the right solid.
"""

import numpy as np
from matplotlib.path import Path
from matplotlib.transforms import Bbox

ACCENT, DARK, GREY, PALE = "#c2410c", "0.2", "0.58", "0.85"
"""For marks, told apart in black and white too; GREY is too light for words."""


LINE = {"left": (0, (4, 2)), "right": "solid"}


TEXT = 14
"""Points."""


VEIL = {"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1}
"""Lets a text be read where it has to cross a line."""


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

    def place(self, wanted, lines=()):
        """Set each (text, anchor [data], direction [rad], gap [points]) in turn.

        lines, each from a point to a point [data], are kept clear too.
        """
        renderer = self.axes.figure.canvas.get_renderer()
        frame = self.axes.get_window_extent(renderer)
        to_data = self.axes.transData.inverted()
        taken = [text.get_window_extent(renderer) for text in self.fixed]
        drawn = [Path(self.axes.transData.transform(line)) for line in lines]
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
                clear = not any(box.overlaps(other) for other in taken)
                if inside and clear and not any(line.intersects_bbox(box) for line in drawn):
                    break
            text.set_position(to_data.transform(centre))
            taken.append(box)
