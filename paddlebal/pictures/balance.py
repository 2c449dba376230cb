"""The paddle seen end-on.

Views as described in `paddlebal.pictures.style`. End-on views look from the paddle's right end
toward the left: forward is to the right, up is up, and a positive roll turns counterclockwise;
the left blade is the far one.
"""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import FancyArrowPatch, Polygon

from paddlebal.paddle import SIDES, Paddle, rotation_about_x
from paddlebal.pictures.style import (
    ACCENT,
    DARK,
    GREY,
    LINE,
    PALE,
    TEXT,
    Labels,
    round_step,
    style_axes,
)
from paddlebal.units import GRAM_MM, MM

POINT = {"posA": (0, 0), "posB": (0, -1)}
"""An arrow's ends until its first update."""


RING = np.stack([f(np.linspace(0, 2 * np.pi, 33)) for f in (np.cos, np.sin)], axis=-1)
"""Points of the unit circle."""


def blade_section(blade, points=24):
    """Outline (2 points, 2) [m] of a wing blade seen end-on, in blade axes.

    The first axis points along the offset, away from the power face, the second to the upper
    edge. Width and place of the centroid are to scale; the curve itself is only indicated.
    """
    across = np.linspace(-1, 1, points)
    back = -0.16 * across**2 - 0.05 * np.clip(across, 0, None) ** 3
    thickness = 0.045 * np.sqrt(1.0001 - across**2) * (1 + 0.5 * across)
    outline = np.concatenate(
        [
            np.stack([back + thickness, across / 2], axis=-1),
            np.stack([back - thickness, across / 2], axis=-1)[::-1],
        ]
    )
    return blade.width * (outline - [_centroid(outline)[0], 0.0]) + [blade.offset, blade.across]


def _centroid(outline):
    (x, y), (nx, ny) = outline.T, np.roll(outline, -1, axis=0).T
    cross = x * ny - nx * y
    return np.array([((x + nx) * cross).sum(), ((y + ny) * cross).sum()]) / (3 * cross.sum())


def turned(points, angle):
    """Points (..., 2) turned by `angle` [rad], counterclockwise."""
    return np.asarray(points) @ rotation_about_x(angle)[1:, 1:].T


def weight_radius(weight):
    """Radius [m] of a ball of the counterweight's mass and density."""
    return (3 * weight.mass / (4 * np.pi * weight.density)) ** (1 / 3)


REACH = 0.18
"""m; half the side of the square that an end-on view shows, more than any arm."""


def style_end_on(axes, reach):
    """Axes that show a paddle end-on, to `reach` [mm] on every side."""
    style_axes(axes, "forward [mm]", "up [mm]")
    axes.set(xlim=(-reach, reach), ylim=(-reach, reach), aspect="equal")
    axes.set(xticks=(-100, 0, 100), yticks=(-100, 0, 100))
    axes.set_title("seen from the right end", fontsize=TEXT)


class EndOnView:
    """The paddle seen end-on, to scale, with gravity and the unbalance.

    Parameters
    ----------
    largest_unbalance : float
        kg·m; sets the arrow's scale.
    """

    def __init__(self, axes, live, largest_unbalance):
        self._axes, self._reach = axes, REACH / MM
        self._scenery(largest_unbalance)
        arrow = {"mutation_scale": 16, "shrinkA": 0, "shrinkB": 0}
        self._gravity = live(axes.add_patch(FancyArrowPatch(color=DARK, lw=2, **POINT, **arrow)))
        self._labels.fixed.append(self._gravity)
        shape = {"xy": np.zeros((3, 2)), "ec": DARK, "lw": 1.8}
        self._blades = {
            side: live(axes.add_patch(Polygon(fc=PALE, ls=LINE[side], alpha=0.8, **shape)))
            for side in SIDES
        }
        self._shaft = live(axes.add_patch(Polygon(fc="white", **shape)))
        self._arms = live(axes.plot([], [], color=DARK, lw=1.2)[0])
        pieces = PolyCollection([], facecolors=GREY, edgecolors=DARK)
        self._weights = live(axes.add_collection(pieces, autolim=False))
        self._centres = live(axes.plot([], [], "o", color=DARK, ms=6)[0])
        self._arrow = live(axes.add_patch(FancyArrowPatch(color=ACCENT, lw=3, **POINT, **arrow)))
        self._side_names = {side: live(self._text(side)) for side in SIDES}
        self._arrow_name = live(self._text("unbalance", color=ACCENT))
        self._live, self._weight_names = live, []

    def _text(self, words, color=DARK):
        return self._axes.text(0, 0, words, fontsize=TEXT, color=color)

    def _scenery(self, largest_unbalance):
        axes, reach = self._axes, self._reach
        style_end_on(axes, reach)
        axes.plot([0, 0], [0, -0.84 * reach], color=GREY, ls=":", lw=1.5)
        self._per_mm = round_step(largest_unbalance / GRAM_MM, 0.75 * reach)
        note = f"arrow: 10 mm is {10 * self._per_mm:g} g·mm"
        left, low = -0.97 * reach, -0.97 * reach
        fixed = [
            axes.text(left, low, note, fontsize=TEXT, va="bottom"),
            axes.text(left, 0.88 * reach, "gravity", fontsize=TEXT, va="bottom"),
            axes.text(0.03 * reach, -0.86 * reach, "down", fontsize=TEXT, color=DARK, va="bottom"),
        ]
        self._labels = Labels(axes, fixed)

    def update(self, paddle, theta, unbalance):
        """Turn the paddle to theta [rad]; unbalance (2,) [kg·m] in body axes."""
        self._axes.apply_aspect()
        start = self._reach * np.array([-0.85, 0.86])
        self._gravity.set_positions(start, start - [0, 0.4 * self._reach])
        self._shaft.set_xy(RING * paddle.shaft.radius / MM)
        wanted = self._update_blades(paddle, theta)
        wanted += self._update_weights(paddle.counterweights, theta)
        tip = turned(unbalance, theta) / GRAM_MM / self._per_mm
        seen = np.hypot(*tip) > 3
        self._arrow.set_positions((0, 0), tip if seen else (0, -1))
        for artist in (self._arrow, self._arrow_name):
            artist.set_visible(seen)
        if seen:
            wanted.append((self._arrow_name, tip, np.arctan2(tip[1], tip[0]), 5))
        self._labels.place(wanted)

    def _update_blades(self, paddle, theta):
        if not isinstance(paddle, Paddle):
            return self._update_backs(paddle, theta)
        centres, wanted = [], []
        for side, end in zip(SIDES, (1, -1), strict=True):
            self._blades[side].set_visible(True)
            self._side_names[side].set(text=side, visible=True)
            blade, angle = getattr(paddle, side), theta + paddle.blade_angle(side)
            outline = turned(blade_section(blade), angle) / MM
            self._blades[side].set_xy(outline)
            centres.append(turned([blade.offset, blade.across], angle) / MM)
            edge = outline[len(outline) // 2 if end > 0 else 0]
            wanted.append((self._side_names[side], edge, angle + end * np.pi / 2, 7))
        self._centres.set_data(*np.transpose(centres))
        return wanted

    def _update_backs(self, paddle, theta):
        """A line along the back of each blade whose size is not known, if its angle is."""
        self._centres.set_data([], [])
        wanted = []
        for side in SIDES:
            self._blades[side].set_visible(paddle.faces_known)
            self._side_names[side].set(text=f"back of {side}", visible=paddle.faces_known)
            if paddle.faces_known:
                angle = theta + paddle.blade_angle(side)
                tip = turned([0.6 * self._reach, 0.0], angle)
                self._blades[side].set_xy([(0, 0), tip])
                wanted.append((self._side_names[side], tip, angle, 5))
        return wanted

    def _update_weights(self, weights, theta):
        places = [turned([w.arm / MM, 0.0], theta + w.angle) for w in weights]
        radii = [weight_radius(w) / MM for w in weights]
        balls = [RING * radius + place for radius, place in zip(radii, places, strict=True)]
        self._weights.set_verts(balls)
        gap = (np.nan, np.nan)
        lines = [point for place in places for point in ((0, 0), place, gap)] or [gap]
        self._arms.set_data(*np.transpose(lines))
        points_per_mm = self._axes.bbox.width / (2 * self._reach) / self._axes.figure.dpi * 72
        wanted = []
        while len(self._weight_names) < len(weights):
            self._weight_names.append(self._live(self._text("")))
        for i, text in enumerate(self._weight_names):
            text.set_visible(i < len(weights))
            if i < len(weights):
                text.set_text(f"{weights[i].mass * 1e3:.0f} g")
                away = theta + weights[i].angle
                wanted.append((text, places[i], away, radii[i] * points_per_mm + 3))
        return wanted
