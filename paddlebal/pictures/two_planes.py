"""Pictures of a paddle as a rotor: unbalance along the shaft, correction planes, moments.

Views and style as described in `paddlebal.pictures.style`; results come in as arguments.
"""

import numpy as np
from matplotlib.patches import FancyArrowPatch, Rectangle

from paddlebal.paddle import SIDES
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, LINE, PALE, TEXT, VEIL, Labels, style_axes
from paddlebal.units import MM

KG_MM = 1e-3
"""kg·m in one kg·mm, the unit of the arrows."""


ARROW = {"mutation_scale": 18, "shrinkA": 0, "shrinkB": 0, "posA": (0, 0), "posB": (0, -1)}


SMALLEST = 0.15
"""kg·mm; a shorter arrow is not drawn."""


class Arrow:
    """A named arrow in some axes, which is not drawn while it is very short."""

    def __init__(self, axes, live, name, **style):
        self.patch = live(axes.add_patch(FancyArrowPatch(arrowstyle="-|>", **ARROW, **style)))
        color = style.get("color", DARK)
        self.text = live(axes.text(0, 0, name, fontsize=TEXT, color=color, bbox=VEIL))
        self.show(None, None)

    def show(self, start, stop):
        """Draw it from start to stop (2,); what to give to `Labels.place` for its name."""
        shown = start is not None and np.hypot(*np.subtract(stop, start)) > SMALLEST
        for artist in (self.patch, self.text):
            artist.set_visible(bool(shown))
        if not shown:
            return []
        self.patch.set_positions(start, stop)
        way = np.subtract(stop, start)
        return [(self.text, stop, np.arctan2(way[1], way[0]), 4)]


ASIDE = 1.0
"""rad; how far aside of its arrow a name stands where two arrows may coincide."""


def _turned(wanted, aside):
    return [(text, tip, way + aside, gap) for text, tip, way, gap in wanted]


class ShaftView:
    """The shaft along x with one component of each unbalance vector standing on it.

    Parameters
    ----------
    ylabel, title : str
    half_length : float
        m; half of the stretch shown.
    largest : float
        kg·mm; the longest arrow.
    """

    def __init__(self, axes, live, ylabel, title, half_length, largest):
        style_axes(axes, "", ylabel)
        axes.set(xlim=np.array([-1, 1]) * half_length / MM, ylim=np.array([-1, 1]) * 1.3 * largest)
        axes.set_title(title, fontsize=TEXT, loc="left")
        axes.axhline(0, color=GREY, lw=4)
        self._labels = Labels(axes)
        self._planes = live(axes.plot([], [], color=ACCENT, lw=1.5, ls=(0, (2, 2)))[0])
        self._blades = live(axes.plot([], [], color="0.7", lw=9, solid_capstyle="butt")[0])
        self._halves = {
            side: Arrow(axes, live, f"{side} half", color=DARK, lw=2.5, ls=LINE[side])
            for side in SIDES
        }
        self._corrections = [
            Arrow(axes, live, "correction", color=ACCENT, lw=3) for _ in range(2)
        ]  # fmt: skip

    def update(self, blades, halves, corrections):
        """Show the component of each arrow in this view.

        blades: (start, stop) [m] of each blade along x; halves: by side (x [m], component
        [kg·m]); corrections: up to two (x, component).
        """
        gap = [(np.nan, np.nan)]
        ends = [point for span in blades for point in [*((x / MM, 0) for x in span), *gap]]
        self._blades.set_data(*np.transpose(ends))
        low, high = self._labels.axes.get_ylim()
        lines = [p for x, _ in corrections for p in [(x / MM, low), (x / MM, high), *gap]] or gap
        self._planes.set_data(*np.transpose(lines))
        wanted, drawn = [], [((x / MM, low), (x / MM, high)) for x, _ in corrections]
        for side, (x, component) in halves.items():
            wanted += self._halves[side].show((x / MM, 0), (x / MM, component / KG_MM))
        for arrow, place in zip(self._corrections, [*corrections, None, None], strict=False):
            if place is None:
                arrow.show(None, None)
            else:
                x, component = place
                wanted += arrow.show((x / MM, 0), (x / MM, component / KG_MM))
        self._labels.place(wanted, drawn)


class ArrowsView:
    """All unbalance vectors seen end-on, from one point, turned as the paddle hangs at rest."""

    def __init__(self, axes, live, largest):
        style_axes(axes, "forward or back [kg·mm]", "up [kg·mm]")
        reach = 1.35 * largest * np.array([-1, 1])
        axes.set(xlim=reach, ylim=reach, aspect="equal")
        axes.set_title("end-on, hanging at rest", fontsize=TEXT, loc="left")
        axes.apply_aspect()
        axes.plot([0], [0], "o", color=GREY, ms=12)
        self._labels = Labels(axes)
        self._halves = {
            side: Arrow(axes, live, side, color=DARK, lw=2.5, ls=LINE[side]) for side in SIDES
        }
        names = ("left\ncorrection", "right\ncorrection")
        self._corrections = [Arrow(axes, live, name, color=ACCENT, lw=3) for name in names]

    def update(self, halves, corrections, names):
        """Show vectors (2,) [kg·m], by side, and the corrections with their names."""
        wanted = []
        for side, aside in zip(SIDES, (-ASIDE, ASIDE), strict=True):
            wanted += _turned(self._halves[side].show((0, 0), halves[side] / KG_MM), aside)
        for i, arrow in enumerate(self._corrections):
            if i < len(corrections):
                arrow.text.set_text(names[i])
                aside = (-ASIDE, ASIDE)[i] if len(corrections) == 2 else 0.0
                wanted += _turned(arrow.show((0, 0), corrections[i] / KG_MM), aside)
            else:
                arrow.show(None, None)
        tips = [vector / KG_MM for vector in (*halves.values(), *corrections)]
        self._labels.place(wanted, [((0, 0), tip) for tip in tips])


class MomentsView:
    """Bars of moments, each named.

    Parameters
    ----------
    names : sequence of str
    longest : float
        N·m; what the axis holds.
    """

    def __init__(self, axes, live, names, longest):
        style_axes(axes, "largest moment over a stroke cycle [N·m]", "")
        axes.set(xlim=(0, longest), ylim=(len(names) - 0.4, -0.6), yticks=[])
        axes.spines["left"].set_visible(False)
        self._longest = longest
        self._bars = [
            live(axes.add_patch(Rectangle((0, row - 0.3), 0, 0.6, fc=PALE, ec=DARK)))
            for row in range(len(names))
        ]
        style = {"fontsize": TEXT, "va": "center"}
        for row, name in enumerate(names):
            axes.text(-0.012 * longest, row, name, ha="right", color=DARK, **style)
        self._values = [live(axes.text(0, row, "", color=ACCENT, weight="bold", **style))
                        for row in range(len(names))]  # fmt: skip

    def update(self, moments):
        """Show the moments [N·m], one for each name."""
        for bar, text, value in zip(self._bars, self._values, moments, strict=True):
            bar.set_width(value)
            text.set(
                text=f"{value:.3f}", x=min(value + 0.012 * self._longest, 0.88 * self._longest)
            )


class RotorPicture(Picture):
    """A paddle as a rotor: from the side, from above, end-on, and the moments it asks for.

    Parameters
    ----------
    half_length : float
        m; half of the stretch of shaft shown.
    largest : float
        kg·m; the longest vector shown.
    names : sequence of str
        Of the moments.
    longest : float
        N·m; the largest moment shown.
    """

    shows = (
        "The paddle hanging at rest from the side, from above and end-on, with the unbalance "
        "of each half and the counterweights, and bars of the moments over a stroke cycle."
    )

    def __init__(self, half_length, largest, names, longest):
        super().__init__(10.4, 7.0)
        add, largest = self.figure.add_axes, largest / KG_MM
        side = add((0.08, 0.7, 0.53, 0.25))
        above = add((0.08, 0.38, 0.53, 0.25))
        self._views = (
            ShaftView(
                side,
                self.live,
                "up [kg·mm]",
                "from the side, hanging at rest",
                half_length,
                largest,
            ),
            ShaftView(above, self.live, "across [kg·mm]", "from above", half_length, largest),
        )
        side.tick_params(labelbottom=False)
        above.set_xlabel("along the shaft, right is positive [mm]", fontsize=TEXT)
        self._arrows = ArrowsView(add((0.695, 0.42, 0.3, 0.53)), self.live, largest)
        self._moments = MomentsView(add((0.41, 0.09, 0.56, 0.17)), self.live, names, longest)

    def update(self, blades, halves, corrections, names, moments):
        """Show the paddle hanging at rest.

        Parameters
        ----------
        blades : (start, stop) [m] of each blade along x.
        halves : by side (x [m], vector (2,) [kg·m]); the vector's components point forward
            and up as the paddle hangs.
        corrections : up to two (x, vector) in the same way.
        names : their names.
        moments : N·m.
        """
        for view, axis in zip(self._views, (1, 0), strict=True):
            view.update(
                blades,
                {side: (x, vector[axis]) for side, (x, vector) in halves.items()},
                [(x, vector[axis]) for x, vector in corrections],
            )
        self._arrows.update(
            {side: vector for side, (_, vector) in halves.items()},
            [vector for _, vector in corrections],
            names,
        )
        self._moments.update(moments)
        self.refresh()
