"""The paddle itself in pictures: end-on, along the shaft, in space, with its torque curve.

Views as described in `paddlebal.pictures.style`. End-on views look from the paddle's right end
toward the left: forward is to the right, up is up, and a positive roll turns counterclockwise;
the left blade is the far one.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import FancyArrowPatch, Polygon

from paddlebal.arrays import Array
from paddlebal.paddle import SIDES, Paddle, rotation_about_x
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
    signed,
    style_axes,
)
from paddlebal.units import GRAM_MM, MM

POINT = {"posA": (0, 0), "posB": (0, -1)}
"""An arrow's ends until its first update."""


PAIR = np.array([-1, 1])


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


def blade_strips(blade, strips=9):
    """Quadrilaterals (strips, 4, 3) [m] of a blade's surface, in blade axes about O.

    x runs along the shaft, y along the offset, z to the upper edge. Length, width and place of
    the middle are to scale; the outline is only indicated.
    """
    along = np.linspace(-0.5, 0.5, strips + 1)
    outer = along if blade.x > 0 else -along
    half = blade.width / 2 * np.sqrt(np.clip(1 - (2 * outer - 0.25) ** 2 / 1.6, 0.05, None))
    x, y = blade.x + blade.length * along, np.full_like(half, blade.offset)
    z = np.stack([blade.across + half, blade.across - half])
    edges = np.stack([np.stack([x, y, edge], axis=-1) for edge in z], axis=1)
    return np.stack([edges[:-1, 0], edges[1:, 0], edges[1:, 1], edges[:-1, 1]], axis=1)


def turned(points, angle):
    """Points (..., 2) turned by `angle` [rad], counterclockwise."""
    return np.asarray(points) @ rotation_about_x(angle)[1:, 1:].T


def weight_radius(weight):
    """Radius [m] of a ball of the counterweight's mass and density."""
    return (3 * weight.mass / (4 * np.pi * weight.density)) ** (1 / 3)


NO_TORQUE = 0.5e-3
"""N·m; below it a torque reads 0.000 and the paddle stays at any angle."""


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

    def update(self, paddle, theta, unbalance, inclination=0.0):
        """Turn the paddle to theta [rad]; unbalance (2,) [kg·m] in body axes."""
        self._axes.apply_aspect()
        start = self._reach * np.array([-0.85, 0.86])
        drop = 0.4 * self._reach * np.cos(inclination)
        self._gravity.set_positions(start, start - [0, drop])
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


class TorqueView:
    """Gravity's roll torque over the full circle, with the present angle, catches and rest.

    Parameters
    ----------
    largest_torque : float
        N·m.
    """

    def __init__(self, axes, live, largest_torque):
        self._axes, self._top = axes, largest_torque
        self._angles = np.linspace(-np.pi, np.pi, 241)
        style_axes(axes, "roll angle [deg]", "torque of gravity [N·m]")
        axes.set(xlim=(-180, 180), ylim=(-1.4 * self._top, 1.6 * self._top))
        axes.set_xticks(np.arange(-180, 181, 60))
        step = round_step(self._top, 3)
        axes.set_yticks(step * np.arange(-(self._top // step), self._top / step + 1e-9))
        axes.axhline(0, color=GREY, lw=1)
        axes.set_title("positive turns counterclockwise", fontsize=TEXT)
        self._curve = live(axes.plot([], [], color=GREY, lw=2.5)[0])
        self._catches = {
            side: live(axes.plot([], [], color=DARK, lw=1.8, ls=LINE[side])[0]) for side in SIDES
        }
        self._catch_dots = live(axes.plot([], [], "o", color=DARK, ms=7)[0])
        dot = {"color": DARK, "ms": 10, "ls": "none"}
        self._turning_points = {
            "rest": live(axes.plot([], [], marker="v", **dot)[0]),
            "unstable equilibrium": live(axes.plot([], [], marker="^", mfc="white", **dot)[0]),
        }
        self._line = live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._dot = live(axes.plot([], [], "o", color=ACCENT, ms=11)[0])
        rows = {
            "left catch": 1.48,
            "right catch": 1.3,
            "rest": -1.12,
            "unstable equilibrium": -1.28,
        }
        style = {"fontsize": TEXT, "va": "center"}
        self._names = {
            name: live(axes.text(0, row * self._top, name, color=DARK, **style))
            for name, row in rows.items()
        }
        self._value = live(axes.text(0, 0, "", color=ACCENT, weight="bold", bbox=VEIL, **style))

    def update(self, paddle, theta, torque, rest):
        """Show the function torque(angles [rad]) [N·m]; rest [rad] or None for any angle."""
        self._curve.set_data(np.degrees(self._angles), torque(self._angles))
        self._update_catches(paddle, torque)
        self._update_turning_points(rest)
        now, value = np.degrees(theta), float(torque(theta))
        self._line.set_data([now, now], [-1.1 * self._top, 1.1 * self._top])
        self._dot.set_data([now], [value])
        self._value.set_text(f"{signed(value, 3)} N·m at {signed(now, 0)}°")
        clear = value + np.copysign(0.14 * self._top, value)
        self._value.set_y(np.clip(clear, -1.1 * self._top, 1.1 * self._top))
        self._beside(self._value, now, "right")

    def _update_catches(self, paddle, torque):
        angles = np.array([paddle.catch_angle(side) for side in SIDES])
        self._catch_dots.set_data(np.degrees(angles), torque(angles))
        first = SIDES[int(np.argmin(angles))]
        for side, angle in zip(SIDES, np.degrees(angles), strict=True):
            name = self._names[f"{side} catch"]
            self._catches[side].set_data([angle, angle], [0, name.get_position()[1]])
            self._beside(name, angle, "left" if side == first else "right")

    def _update_turning_points(self, rest):
        for (name, dot), shift in zip(self._turning_points.items(), (0, np.pi), strict=True):
            for artist in (dot, self._names[name]):
                artist.set_visible(rest is not None)
            if rest is not None:
                angle = (np.degrees(rest + shift) + 180) % 360 - 180
                dot.set_data([angle], [0])
                self._beside(self._names[name], angle, "middle")

    def _beside(self, text, angle, where):
        """Put a text left, right or in the middle of `angle` [deg], inside the axes."""
        box = text.get_window_extent(self._axes.figure.canvas.get_renderer())
        width = box.width / self._axes.bbox.width * 360
        choices = {"left": angle - 8 - width, "right": angle + 8, "middle": angle - width / 2}
        low, high = -178.0, 178.0 - width
        x = choices.pop(where)
        if where != "middle" and not low <= x <= high:
            x = choices["right" if where == "left" else "left"]
        text.set_x(np.clip(x, low, high))


class WholeView:
    """Shaft, blades and counterweights in space, to scale, in world axes.

    Parameters
    ----------
    half_length : float
        m; half of the paddle's overall length.
    """

    def __init__(self, axes, live, half_length):
        from mpl_toolkits.mplot3d.art3d import Poly3DCollection

        self._axes = axes
        reach = np.array([half_length, 0.35, 0.6])
        axes.set(xlim=reach[0] * PAIR, ylim=reach[1] * PAIR, zlim=reach[2] * PAIR)
        axes.set_box_aspect(reach, zoom=1.25)
        axes.set_proj_type("ortho")
        axes.view_init(elev=14, azim=-72)
        axes.set(xticks=(-1, 0, 1), yticks=(-0.3, 0.3), zticks=(-0.5, 0, 0.5))
        axes.tick_params(labelsize=TEXT, pad=0)
        axes.set_xlabel("right [m]", fontsize=TEXT, labelpad=10)
        axes.set_ylabel("forward [m]", fontsize=TEXT, labelpad=8)
        axes.set_zlabel("up [m]", fontsize=TEXT)
        start = np.zeros((1, 4, 3))
        self._blades = {
            side: live(
                axes.add_collection3d(
                    Poly3DCollection(start, fc=PALE, ec=DARK, lw=0.8, ls=LINE[side], clip_on=False),
                    autolim=False,
                )
            )
            for side in SIDES
        }
        self._shaft = live(axes.plot([], [], [], color=GREY, lw=5)[0])
        self._arms = live(axes.plot([], [], [], color=DARK, lw=1.2)[0])
        self._weights = live(axes.plot([], [], [], "o", color=ACCENT, ms=9)[0])
        self._names = {
            side: live(axes.text(0, 0, 0, side, fontsize=TEXT, ha="center")) for side in SIDES
        }

    def update(self, paddle, theta, inclination=0.0):
        """Turn the paddle to theta [rad] and raise its right end by inclination [rad]."""
        pose = world_pose(theta, inclination)
        half = paddle.shaft.length / 2
        self._shaft.set_data_3d(*(pose @ [[-half, half], [0, 0], [0, 0]]))
        for side in SIDES:
            blade, own = getattr(paddle, side), rotation_about_x(paddle.blade_angle(side))
            self._blades[side].set_verts(blade_strips(blade) @ (pose @ own).T)
            self._names[side].set_position_3d(pose @ [blade.x, 0, 0] + [0, 0, 0.2])
        weights = paddle.counterweights
        feet = np.reshape([[w.x, 0, 0] for w in weights], (-1, 3)) @ pose.T
        arms = [[0, *turned([w.arm, 0.0], w.angle)] for w in weights]
        tips = feet + np.reshape(arms, (-1, 3)) @ pose.T
        self._weights.set_data_3d(*tips.T)
        lines = np.stack([feet, tips, np.full_like(tips, np.nan)], axis=1)
        self._arms.set_data_3d(*lines.reshape(-1, 3).T)


def world_pose(theta, inclination):
    """Rotation (3, 3) from body to world axes: incline, right end up, after the roll [rad]."""
    c, s = np.cos(inclination), np.sin(inclination)
    return np.array([[c, 0.0, -s], [0.0, 1.0, 0.0], [s, 0.0, c]]) @ rotation_about_x(theta)


class EndOnPicture(Picture):
    """The paddle seen end-on, and gravity's roll torque over the full circle.

    Parameters
    ----------
    largest_unbalance : float
        kg·m; the arrow's scale is chosen to show unbalances up to this.
    largest_torque : float
        N·m; the torque axis holds torques up to this.
    """

    shows = (
        "The paddle seen from its right end, with its unbalance as an arrow; beside it a "
        "curve of gravity's roll torque at every roll angle, with both catches, the rest and "
        "the unstable equilibrium."
    )

    def __init__(self, largest_unbalance: float, largest_torque: float) -> None:
        super().__init__(10.4, 4.9)
        left, right = self.figure.subplots(1, 2, width_ratios=(1, 1.15))
        self.figure.subplots_adjust(left=0.085, right=0.98, top=0.91, bottom=0.15, wspace=0.28)
        self._end_on = EndOnView(left, self.live, largest_unbalance)
        self._torque = TorqueView(right, self.live, largest_torque)

    def update(
        self,
        paddle: Paddle,
        theta: float,
        unbalance: Array,
        torque: Callable[[Array], Array],
        rest: float | None = None,
        inclination: float = 0.0,
    ) -> None:
        """Show a paddle at one roll angle.

        Parameters
        ----------
        paddle : Paddle
            Its sizes and counterweights are drawn.
        theta : float
            Roll angle [rad].
        unbalance : ndarray (2,)
            Unbalance vector [kg·m] in body axes.
        torque : callable
            Roll angles [rad] to torque [N·m].
        rest : float or None
            Rest angle [rad]; None where the paddle stays at any angle.
        inclination : float
            Of the shaft to the horizontal [rad]; shortens the gravity arrow.
        """
        self._end_on.update(paddle, theta, unbalance, inclination)
        self._torque.update(paddle, theta, torque, rest)
        self.refresh()


class WholePaddle(Picture):
    """The paddle in space."""

    shows = "The paddle in space, with both blades and its counterweights."

    def __init__(self) -> None:
        super().__init__(10.4, 3.6)
        axes = self.figure.add_axes((-0.02, 0.03, 1.0, 1.12), projection="3d")
        self._whole = WholeView(axes, self.live, half_length=1.3)

    def update(self, paddle: Paddle, theta: float, inclination: float = 0.0) -> None:
        """Turn the paddle to theta [rad] and raise its right end by inclination [rad]."""
        self._whole.update(paddle, theta, inclination)
        self.refresh()
