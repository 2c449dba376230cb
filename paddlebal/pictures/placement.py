"""A paddle and its counterweight along the shaft, with the curve of mass against arm."""

import numpy as np
from matplotlib.collections import PolyCollection

from paddlebal.pictures.balance import EndOnView
from paddlebal.pictures.curve import CurveView
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, PALE, TEXT, style_axes
from paddlebal.units import MM


class AlongView:
    """The shaft from its side: keep-outs, free stretch, counterweights and balance point.

    Only the places along the shaft are to scale.

    Parameters
    ----------
    half_length : float
        m; half of the stretch shown.
    """

    def __init__(self, axes, live, half_length):
        style_axes(axes, "along the shaft, right is positive [mm]", "")
        axes.set(xlim=np.array([-half_length, half_length]) / MM, ylim=(-3.2, 3.2), yticks=[])
        axes.spines["left"].set_visible(False)
        self._axes = axes
        self._shaft = live(axes.plot([], [], color=GREY, lw=5, solid_capstyle="butt")[0])
        zones = PolyCollection([], facecolors=PALE, edgecolors=DARK, hatch="///")
        self._zones = live(axes.add_collection(zones, autolim=False))
        pieces = PolyCollection([], facecolors=ACCENT, edgecolors=DARK)
        self._pieces = live(axes.add_collection(pieces, autolim=False))
        self._line = live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._dot = live(axes.plot([], [], "^", color=ACCENT, ms=10)[0])
        style = {"fontsize": TEXT, "ha": "center", "va": "center", "color": DARK}
        self._live, self._zone_style, self._zone_names = live, style, []
        style = style | {"color": ACCENT}
        self._piece_name = live(axes.text(0, 1.35, "counterweight", **style))
        self._balance_name = live(axes.text(0, 2.6, "balance point", **style))

    def update(self, paddle, pieces, balance_point):
        """Show the pieces, each (x, length) [m], and the balance point [m]."""
        half = paddle.shaft.length / 2 / MM
        self._shaft.set_data([-half, half], [0, 0])
        zones = sorted(paddle.keep_outs, key=lambda zone: zone.start)
        self._zones.set_verts([_block(z.start / MM, z.stop / MM, -0.8, 0.8) for z in zones])
        self._name_zones(zones)
        self._pieces.set_verts(
            [_block((x - size / 2) / MM, (x + size / 2) / MM, -0.5, 0.9) for x, size in pieces]
        )
        self._piece_name.set_visible(bool(pieces))
        if pieces:
            self._within(self._piece_name, pieces[0][0] / MM)
        self._line.set_data([balance_point / MM] * 2, [-1.0, 2.1])
        self._dot.set_data([balance_point / MM], [-1.0])
        self._within(self._balance_name, balance_point / MM)

    def _name_zones(self, zones):
        while len(self._zone_names) < len(zones):
            self._zone_names.append(self._live(self._axes.text(0, 0, "", **self._zone_style)))
        for i, text in enumerate(self._zone_names):
            text.set_visible(i < len(zones))
            if i < len(zones):
                text.set_text(zones[i].name)
                text.set_y(-1.5 - (i + 1) % 2)
                self._within(text, (zones[i].start + zones[i].stop) / 2 / MM)

    def _within(self, text, x):
        """Put a text above x [mm], inside the axes."""
        left, right = self._axes.get_xlim()
        box = text.get_window_extent(self._axes.figure.canvas.get_renderer())
        half = box.width / self._axes.bbox.width * (right - left) / 2
        text.set_x(np.clip(x, left + half, right - half))


def _block(left, right, low, high):
    return [(left, low), (right, low), (right, high), (left, high)]


class PlacementPicture(Picture):
    """A counterweight end-on, along the shaft, and on the trade of mass against arm.

    Parameters
    ----------
    largest_unbalance : float
        kg·m.
    longest_arm, largest_mass : float
        m and kg; what the trade shows.
    half_length : float
        m; half of the longest shaft, with some room.
    """

    shows = (
        "The paddle with its counterweight seen from the right end; beside it a curve of "
        "counterweight mass against arm; below them the shaft with its keep-outs, the "
        "counterweight and the balance point."
    )

    def __init__(self, largest_unbalance, longest_arm, largest_mass, half_length):
        super().__init__(10.4, 6.6)
        rows = self.figure.add_gridspec(2, 2, height_ratios=(2.6, 1), width_ratios=(1, 1.15))
        self.figure.subplots_adjust(
            left=0.085, right=0.98, top=0.94, bottom=0.1, wspace=0.28, hspace=0.3
        )
        end_on, trade = (self.figure.add_subplot(rows[0, i]) for i in (0, 1))
        along = self.figure.add_subplot(rows[1, :])
        self._end_on = EndOnView(end_on, self.live, largest_unbalance)
        self._trade = CurveView(
            trade,
            self.live,
            "arm [mm]",
            "counterweight mass [g]",
            (0, 1e3 * longest_arm),
            (0, 1e3 * largest_mass),
            {"clears the shaft": "solid", "too near the shaft": (0, (2, 2))},
        )
        self._along = AlongView(along, self.live, half_length)

    def update(self, paddle, unbalance, arms, masses, clear, pieces):
        """Show a paddle with its counterweights; the trade marks the first of the pieces.

        Parameters
        ----------
        paddle : Paddle or OutsidePaddle
        unbalance : ndarray (2,)
            What it leaves [kg·m].
        arms, masses : ndarray (n,)
            The trade [m, kg], and `clear` (n,) bool where the piece clears the shaft.
        pieces : sequence of tuple
            The counterweights to name, each with its length [m].
        """
        weight, _ = pieces[0]
        self._end_on.update(paddle, 0.0, unbalance)
        curves = {
            name: (1e3 * arms[mask], 1e3 * masses[mask])
            for name, mask in (("clears the shaft", clear), ("too near the shaft", ~clear))
        }
        words = f"{1e3 * weight.mass:.0f} g at {1e3 * weight.arm:.0f} mm"
        self._trade.update(curves, (1e3 * weight.arm, 1e3 * weight.mass), words)
        places = [(each.x, length) for each, length in pieces]
        self._along.update(paddle, places, paddle.balance_point)
        self.refresh()
