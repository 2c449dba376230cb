"""Pictures of feather: the two blades' unbalance and its sum, and what falls with feather."""

import numpy as np
from matplotlib.patches import FancyArrowPatch, Polygon

from paddlebal.paddle import SIDES
from paddlebal.pictures.balance import blade_section, style_end_on, turned
from paddlebal.pictures.picture import Picture
from paddlebal.pictures.style import (
    ACCENT,
    DARK,
    GREY,
    LINE,
    PALE,
    TEXT,
    VEIL,
    Labels,
    round_step,
    style_axes,
)
from paddlebal.units import GRAM_MM, MM

REACH = 0.15
"""m; half the side of the square that is shown."""


class VectorsView:
    """Two blades end-on, to scale, each one's unbalance and their sum.

    Parameters
    ----------
    largest_unbalance : float
        kg·m; sets the arrows' scale.
    """

    def __init__(self, axes, live, largest_unbalance):
        reach = REACH / MM
        style_end_on(axes, reach)
        axes.axhline(0, color=GREY, lw=0.8)
        axes.plot([0, 0], [0, -reach], color=GREY, ls=":", lw=1.5)
        self._per_mm = round_step(largest_unbalance / GRAM_MM, 0.95 * reach)
        arrow = {"mutation_scale": 16, "shrinkA": 0, "shrinkB": 0, "posA": (0, 0), "posB": (0, 1)}
        weight = axes.add_patch(FancyArrowPatch(color=DARK, lw=2, **arrow))
        weight.set_positions((-0.9 * reach, 0.84 * reach), (-0.9 * reach, 0.5 * reach))
        style = {"fontsize": TEXT, "va": "bottom"}
        fixed = [
            axes.text(-0.97 * reach, 0.86 * reach, "gravity", **style),
            axes.text(0.03 * reach, -0.97 * reach, "down", color=DARK, **style),
            axes.text(
                -0.97 * reach, -0.83 * reach, f"10 mm is\n{10 * self._per_mm:g} g·mm", **style
            ),
        ]
        self._blades = {
            side: live(axes.add_patch(Polygon(np.zeros((3, 2)), fc=PALE, ec=GREY, ls=LINE[side])))
            for side in SIDES
        }
        self._sides = live(axes.plot([], [], color=GREY, lw=1.2)[0])
        self._level = live(axes.plot([], [], color=ACCENT, lw=1.5, ls="-.")[0])
        self._arrows = {
            side: live(axes.add_patch(FancyArrowPatch(color=DARK, lw=2.2, ls=LINE[side], **arrow)))
            for side in SIDES
        }
        self._sum = live(axes.add_patch(FancyArrowPatch(color=ACCENT, lw=3.5, **arrow)))
        style = {"fontsize": TEXT, "bbox": VEIL}
        self._names = {side: live(axes.text(0, 0, side, color=DARK, **style)) for side in SIDES}
        self._sum_name = live(axes.text(0, 0, "sum", color=ACCENT, weight="bold", **style))
        self._labels = Labels(axes, fixed)

    def update(self, paddle, theta, unbalances):
        """Show a paddle at roll theta [rad]; unbalances by side, (2,) [kg·m] in body axes."""
        tips = {s: turned(unbalances[s], theta) / GRAM_MM / self._per_mm for s in SIDES}
        total = tips["left"] + tips["right"]
        for side in SIDES:
            blade = getattr(paddle, side)
            outline = turned(blade_section(blade), theta + paddle.blade_angle(side))
            self._blades[side].set_xy(outline / MM)
            self._arrows[side].set_positions((0, 0), tips[side])
        self._sides.set_data(*np.transpose([tips["left"], total, tips["right"]]))
        self._level.set_data([total[0], total[0]], [total[1], 0])
        self._sum.set_positions((0, 0), total)
        onward = np.arctan2(total[1], total[0])
        left_above = total[0] * tips["left"][1] > total[1] * tips["left"][0]
        aside = {"left": 1.0, "right": -1.0} if left_above else {"left": -1.0, "right": 1.0}
        wanted = [(self._sum_name, total, onward, 5)]
        wanted += [(self._names[s], tips[s], onward + aside[s] * np.pi / 2, 7) for s in SIDES]
        self._labels.place(wanted)


class AgainstFeatherView:
    """Grey curves against feather, the present one marked on each.

    Parameters
    ----------
    ylabel : str
        With its unit.
    ylim : tuple of float
    curves : dict of str to line style
        Name of each curve, one or two, and how it is drawn.
    """

    def __init__(self, axes, live, ylabel, ylim, curves):
        style_axes(axes, "feather [deg]", ylabel)
        axes.set(xlim=(0, 90), ylim=ylim, xticks=np.arange(0, 91, 15))
        self._axes, self._labels = axes, Labels(axes)
        self._line = live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._curves = {
            name: live(axes.plot([], [], color=GREY, lw=2.5, ls=style)[0])
            for name, style in curves.items()
        }
        self._dots = live(axes.plot([], [], "o", color=ACCENT, ms=10, clip_on=False)[0])
        style = {"fontsize": TEXT, "color": DARK}
        self._names = {name: live(axes.text(0, 0, name, **style)) for name in curves}

    def update(self, feathers_deg, curves, present_deg):
        """Show curves, by name arrays over feathers_deg (n,), and where the feather is now."""
        self._line.set_data([present_deg, present_deg], self._axes.get_ylim())
        now = [np.interp(present_deg, feathers_deg, values) for values in curves.values()]
        self._dots.set_data([present_deg] * len(now), now)
        for name, values in curves.items():
            self._curves[name].set_data(feathers_deg, values)
        at = 2 * len(feathers_deg) // 5
        upper, *lower = sorted(curves, key=lambda name: -curves[name][at])
        places = [(upper, np.pi / 2), *((name, -np.pi / 2) for name in lower)]
        self._labels.place(
            [
                (self._names[name], (feathers_deg[at], curves[name][at]), way, 8)
                for name, way in places
            ]
        )


class FeatherPicture(Picture):
    """The blades' unbalance vectors beside unbalance and holding torque against feather.

    Parameters
    ----------
    largest_unbalance : float
        kg·m.
    largest_torque : float
        N·m.
    """

    shows = (
        "The unbalance of each blade and their sum as arrows, seen from the right end; beside "
        "them curves of the unbalance and of the torque to hold at each catch against "
        "feather."
    )

    def __init__(self, largest_unbalance, largest_torque):
        super().__init__(10.4, 5.6)
        grid = self.figure.add_gridspec(2, 2, width_ratios=(1, 1.05))
        self.figure.subplots_adjust(
            left=0.085, right=0.985, top=0.93, bottom=0.12, wspace=0.32, hspace=0.2
        )
        vectors = self.figure.add_subplot(grid[:, 0])
        upper, lower = (self.figure.add_subplot(grid[i, 1]) for i in (0, 1))
        self._vectors = VectorsView(vectors, self.live, largest_unbalance)
        self._unbalance = AgainstFeatherView(
            upper,
            self.live,
            "unbalance [g·mm]",
            (0, 1.15 * largest_unbalance / GRAM_MM),
            {"sum": "solid"},
        )
        upper.set_xlabel("")
        upper.tick_params(labelbottom=False)
        self._holding = AgainstFeatherView(
            lower,
            self.live,
            "to hold [N·m]",
            (0, 1.25 * largest_torque),
            {f"at the {side} catch": LINE[side] for side in SIDES},
        )

    def update(self, paddle, theta, unbalances, feathers_deg, effects):
        """Show a paddle at roll theta [rad].

        unbalances by side, (2,) [kg·m] in body axes; effects, the `FeatherEffects` at
        feathers_deg (n,).
        """
        now = np.degrees(paddle.feather)
        self._vectors.update(paddle, theta, unbalances)
        self._unbalance.update(feathers_deg, {"sum": effects.unbalance / GRAM_MM}, now)
        holding = {f"at the {side} catch": getattr(effects, side) for side in SIDES}
        self._holding.update(feathers_deg, holding, now)
        self.refresh()
