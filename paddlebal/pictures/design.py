"""Pictures of blade designs: the blade's shape, maps, what a design costs, tolerances.

Views and style as described in `paddlebal.pictures.style`; results come in as arguments.
"""

import numpy as np
from matplotlib.cm import ScalarMappable
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.patches import Polygon, Rectangle
from matplotlib.ticker import MaxNLocator

from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import ACCENT, DARK, GREY, PALE, TEXT, VEIL, Labels, style_axes
from paddlebal.units import MM

LIGHTEST, DARKEST = 255, 95
"""Greys of the lowest and the highest band of a map."""


def shades(bands):
    """Colours (bands, 4), uint8, from light to dark."""
    grey = np.linspace(LIGHTEST, DARKEST, bands).astype(np.uint8)
    return np.stack([grey, grey, grey, np.full_like(grey, 255)], axis=-1)


class BladeView:
    """A blade in space, its rings of vertices joined to a net, to scale."""

    def __init__(self, axes, live, start, stop, half_width):
        from mpl_toolkits.mplot3d.art3d import Poly3DCollection

        reach = np.array([stop - start, 0.17, 2 * half_width]) / MM
        low = np.array([start, -0.03, -half_width]) / MM
        axes.set(**{f"{k}lim": (a, a + b) for k, a, b in zip("xyz", low, reach, strict=True)})
        axes.set_box_aspect(reach, zoom=1.3)
        axes.set_proj_type("ortho")
        axes.view_init(elev=24, azim=-118)
        axes.set_axis_off()
        self._net = live(
            axes.add_collection3d(
                Poly3DCollection(np.zeros((1, 4, 3)), fc="0.93", ec=DARK, lw=0.6, clip_on=False),
                autolim=False,
            )
        )
        self._axis = axes.plot([start / MM, stop / MM], [0, 0], [0, 0], color=GREY, ls="-.", lw=1.5)
        words = "seen from the power face's side;\ndash-dotted: the shaft's axis"
        axes.text2D(0.16, 0.1, words, transform=axes.transAxes, fontsize=TEXT, color=DARK)

    def update(self, rings):
        """Show rings (stations, around, 3) [m]."""
        following = np.roll(rings, -1, axis=1)
        quads = np.stack([rings[:-1], rings[1:], following[1:], following[:-1]], axis=2)
        self._net.set_verts(quads.reshape(-1, 4, 3) / MM)


class SideView:
    """A blade from its edge, to scale, with its centre of mass over the shaft's axis."""

    def __init__(self, axes, live, start, stop, reference):
        style_axes(axes, "along the shaft [mm]", "offset [mm]")
        axes.set(xlim=(start / MM, stop / MM), ylim=(-35, 165), aspect="equal")
        axes.set(yticks=(0, 50, 100, 150), xticks=np.arange(600, stop / MM, 200))
        axes.apply_aspect()
        axes.axhline(0, color=GREY, ls="-.", lw=1.5)
        axes.add_patch(Polygon(_silhouette(reference), fill=False, ec=GREY, ls=(0, (4, 2)), lw=1.5))
        style = {"fontsize": TEXT, "color": DARK}
        fixed = [
            axes.text(start / MM + 8, 150, "dashed: the blade to begin with", va="top", **style)
        ]
        fixed.append(axes.text(start / MM + 8, -8, "power face below", va="top", **style))
        self._labels = Labels(axes, fixed)
        self._blade = live(axes.add_patch(Polygon([(0, 0)], fc=PALE, ec=DARK, lw=1.5, alpha=0.8)))
        self._drop = live(axes.plot([], [], color=ACCENT, lw=2)[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, ms=9)[0])
        self._words = live(axes.text(0, 0, "", fontsize=TEXT, color=ACCENT, bbox=VEIL))

    def update(self, rings, centre):
        """Show rings (stations, around, 3) [m] and the centre of mass (3,) [m]."""
        x, offset, _ = np.asarray(centre) / MM
        self._blade.set_xy(_silhouette(rings))
        self._drop.set_data([x, x], [0, offset])
        self._dot.set_data([x], [offset])
        self._words.set_text(f"offset {offset:z.0f} mm")
        self._labels.place([(self._words, (x, offset), 2 * np.pi / 3, 14)])


def _silhouette(rings):
    """Outline (2 stations, 2) [mm] of the rings seen along z."""
    station = np.arange(len(rings))
    high, low = (rings[station, pick(rings[..., 1], axis=1), :2] for pick in (np.argmax, np.argmin))
    return np.concatenate([high, low[::-1]]) / MM


class MapView:
    """A map in bands of grey with the present point marked on it.

    Parameters
    ----------
    xlabel, ylabel : str
        With their units.
    extent : tuple of float
        Left, right, bottom, top.
    bar : Axes
        Where the bands are named.
    """

    def __init__(self, axes, bar, live, xlabel, ylabel, extent):
        style_axes(axes, xlabel, ylabel)
        for axis in (axes.xaxis, axes.yaxis):
            axis.set_major_locator(MaxNLocator(5, steps=(1, 2, 3, 5, 10)))
        self._axes, self._bar, self._labels = axes, bar, Labels(axes)
        self._image = live(
            axes.imshow(
                np.zeros((2, 2, 4), np.uint8),
                extent=extent,
                origin="lower",
                aspect="auto",
                interpolation="nearest",
            )
        )
        self._cross = live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, mec="white", ms=11, clip_on=False)[0])
        style = {"fontsize": TEXT, "weight": "bold", "color": ACCENT}
        self._words = live(axes.text(0, 0, "", bbox=VEIL | {"alpha": 0.85}, **style))
        self._shown = None

    def scale(self, label, levels):
        """Name the quantity with its unit and set the edges of its bands; True if it changed."""
        if self._shown == label:
            return False
        self._shown, self._levels = label, np.asarray(levels, dtype=float)
        self._colours = shades(self._levels.size - 1)
        bands = ListedColormap(self._colours / 255), BoundaryNorm(levels, self._levels.size - 1)
        self._bar.clear()
        mappable = ScalarMappable(cmap=bands[0], norm=bands[1])
        self._axes.figure.colorbar(mappable, cax=self._bar, ticks=levels[::4])
        self._bar.tick_params(labelsize=TEXT, colors=DARK)
        self._axes.set_title(label, fontsize=TEXT, loc="left")
        return True

    def update(self, values, point, words):
        """Show values (ny, nx), the present point (x, y) and its words."""
        x, y = point
        left, right, low, high = self._image.get_extent()
        band = np.searchsorted(self._levels[1:-1], values, side="right")
        self._image.set_data(self._colours[band])
        self._cross.set_data([x, x, np.nan, left, right], [low, high, np.nan, y, y])
        self._dot.set_data([x], [y])
        self._words.set_text(words)
        self._labels.place([(self._words, point, np.pi / 4, 8)])


class DesignPicture(Picture):
    """A blade in space and from its edge, above two maps.

    Parameters
    ----------
    start, stop : float
        Stretch of the shaft shown [m].
    reference : ndarray (stations, around, 3)
        Rings of the blade to begin with [m].
    extents : two tuples
        Of the two maps: (crank, feather) [deg] and (blade mass [g], arm [mm]).
    """

    shows = (
        "A blade in space and from its edge with its offset, above a map over crank and "
        "feather and a map of the counterweight over blade mass and arm."
    )

    def __init__(self, start, stop, reference, extents):
        super().__init__(10.4, 6.8)
        add = self.figure.add_axes
        space = add((-0.06, 0.55, 0.56, 0.52), projection="3d")
        self._blade = BladeView(space, self.live, start, stop, 0.085)
        self._side = SideView(add((0.55, 0.67, 0.42, 0.3)), self.live, start, stop, reference)
        names = (("crank [deg]", "feather [deg]"), ("mass of a blade [g]", "arm [mm]"))
        places = ((0.085, 0.31, 0.405), (0.6, 0.3, 0.91))
        self._maps = [
            MapView(
                add((left, 0.115, width, 0.4)), add((bar, 0.115, 0.018, 0.4)),
                self.live, *labels, extent,
            )
            for labels, (left, width, bar), extent in zip(names, places, extents, strict=True)
        ]  # fmt: skip

    def update(self, rings, centre, maps):
        """Show the blade and, for each map, (label, levels, values, point, words)."""
        self._blade.update(rings)
        self._side.update(rings, centre)
        anew = False
        for view, (label, levels, *shown) in zip(self._maps, maps, strict=True):
            anew |= view.scale(label, levels)
            view.update(*shown)
        if anew:
            self.redraw()
        else:
            self.refresh()


class FrontView:
    """Designs as points, what none of them undercuts, and what a counterweight does to one.

    Parameters
    ----------
    xlabel : str
    xlim, ylim : tuple of float
    """

    def __init__(self, axes, live, xlabel, xlim, ylim):
        style_axes(axes, xlabel, "holding torque at a catch [N·m]")
        axes.set(xlim=xlim, ylim=ylim)
        self._labels = Labels(axes)
        self._cloud = live(axes.plot([], [], ".", color="0.72", ms=3)[0])
        self._front = live(axes.plot([], [], color=DARK, lw=2.5)[0])
        self._path = live(axes.plot([], [], color=ACCENT, lw=2, ls=(0, (4, 2)))[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, mec="white", ms=12, clip_on=False)[0])
        style = {"fontsize": TEXT, "bbox": VEIL}
        self._front_name = live(axes.text(0, 0, "front", color=DARK, **style))
        self._words = live(axes.text(0, 0, "this design", color=ACCENT, weight="bold", **style))

    def update(self, cloud, front, path, point):
        """Show points (2, n) of the cloud and the front, the path (2, k) and the point (2,)."""
        self._cloud.set_data(*cloud)
        self._front.set_data(*front)
        self._path.set_data(*path)
        self._dot.set_data(*np.reshape(point, (2, 1)))
        lowest = np.transpose(front)[len(front[0]) // 2]
        wanted = [(self._words, point, np.pi / 3, 8), (self._front_name, lowest, -2.6, 8)]
        self._labels.place(wanted)


class FrontPicture(Picture):
    """Holding torque against total mass and against swing inertia.

    masses [g], inertias [kg·m²], torques [N·m]: what the axes hold, (low, high).
    """

    shows = (
        "Holding torque against the mass of the paddle and against swing inertia: many "
        "designs, the front that none undercuts, and the present design."
    )

    def __init__(self, masses, inertias, torques):
        super().__init__(10.4, 4.9)
        left, right = (self.figure.add_axes((x, 0.15, 0.385, 0.8)) for x in (0.09, 0.59))
        self._views = (
            FrontView(left, self.live, "mass of the paddle [g]", masses, torques),
            FrontView(right, self.live, "swing inertia [kg·m²]", inertias, torques),
        )

    def update(self, against_mass, against_inertia):
        """Each as the arguments of `FrontView.update`."""
        for view, shown in zip(self._views, (against_mass, against_inertia), strict=True):
            view.update(*shown)
        self.refresh()


class TornadoPicture(Picture):
    """Bars of what each error leaves by itself, the longest on top, and all of them together.

    Parameters
    ----------
    names : sequence of str
    longest : float
        g·mm; what the axis holds.
    held : float
        g·mm; what friction holds, drawn as a line.
    """

    shows = (
        "The residual unbalance that an error of mass, arm, angle or feather leaves "
        "by itself, as bars, and what all four leave together."
    )

    def __init__(self, names, longest, held):
        super().__init__(10.4, 3.9)
        axes, live = self.figure.add_axes((0.13, 0.19, 0.83, 0.72)), self.live
        style_axes(axes, "residual unbalance not exceeded in 95 of 100 pieces [g·mm]", "")
        axes.set(xlim=(0, longest), ylim=(-1.6, len(names) - 0.3), yticks=[])
        axes.spines["left"].set_visible(False)
        axes.axvline(held, color=GREY, lw=2, ls=(0, (4, 2)))
        axes.set_title(f"dashed: held by the bench's friction, {held:.0f} g·mm", fontsize=TEXT)
        self._longest = longest
        self._bars = {
            name: live(axes.add_patch(Rectangle((0, 0), 0, 0.62, fc=PALE, ec=DARK)))
            for name in names
        }
        self._all = live(axes.add_patch(Rectangle((0, -1.31), 0, 0.62, fc=ACCENT, ec=DARK)))
        style = {"fontsize": TEXT, "va": "center"}
        label, veil = {"ha": "right", **style}, VEIL | {"alpha": 1.0}
        self._names = {name: live(axes.text(0, 0, name, **label)) for name in names}
        axes.text(-0.012 * longest, -1, "all four", color=ACCENT, **label)
        self._values = {name: live(axes.text(0, 0, "", bbox=veil, **style)) for name in names}
        self._total = live(axes.text(0, -1, "", color=ACCENT, weight="bold", bbox=veil, **style))

    def update(self, alone, together):
        """Show by name the residual [g·mm] that each error leaves alone, and all together."""
        for row, name in enumerate(sorted(alone, key=alone.get)):
            value = alone[name]
            self._bars[name].set(y=row - 0.31, width=value)
            self._names[name].set_position((-0.012 * self._longest, row))
            self._values[name].set(text=f"{value:.0f}", x=self._beside(value), y=row)
        self._all.set_width(together)
        self._total.set(text=f"{together:.0f}", x=self._beside(together))
        self.refresh()

    def _beside(self, value):
        return min(value + 0.012 * self._longest, 0.92 * self._longest)
