"""Every picture; no physics: results come in as arguments.

A picture is created once with axes that hold every value it will be shown; `update` then
changes its artists in place. What does not change is kept as a background, and only the live
artists are drawn over it. The same pictures work in a notebook, on a page and in a test.

The end-on pictures look from the paddle's right end toward the left: forward is to the right,
up is up, and a positive roll turns counterclockwise. One accent colour is the present state,
grey is the rest; the far, left blade is dashed and the near, right one solid.
"""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Polygon

from paddlebal.paddle import SIDES
from paddlebal.unbalance import GRAM_MM

ACCENT, DARK, GREY, PALE = "#c2410c", "0.2", "0.45", "0.85"
LINE = {"left": (0, (4, 2)), "right": "solid"}
TEXT = 14
"""Points."""
VEIL = {"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1}
"""Lets a text be read where it has to cross a line."""

MM = 1e-3

RING = np.stack([f(np.linspace(0, 2 * np.pi, 33)) for f in (np.cos, np.sin)], axis=-1)
"""Points of the unit circle."""


class Picture:
    """A figure whose live artists change in place over a kept background.

    Parameters
    ----------
    width, height : float
        Inches; at `dpi` 80 a point is a little more than a pixel.
    """

    def __init__(self, width, height, dpi=80):
        self.figure = Figure(figsize=(width, height), dpi=dpi)
        FigureCanvasAgg(self.figure)
        self._live = []
        self._background = None
        self.figure.canvas.mpl_connect("draw_event", self._keep_background)

    def live(self, artist):
        """Register an artist as live and return it."""
        artist.set_animated(True)
        self._live.append(artist)
        return artist

    def refresh(self):
        """Show the live artists as they are now."""
        canvas = self.figure.canvas
        if self._background is None or self._background[0] != self._size():
            canvas.draw_idle()
            return
        canvas.restore_region(self._background[1])
        self._draw_live()
        canvas.blit(self.figure.bbox)

    def redraw(self):
        """Draw everything anew, after a change of what is not live."""
        self._background = None
        self.refresh()

    def _size(self):
        return self.figure.canvas.get_width_height(physical=True)

    def _keep_background(self, event):
        if not event.canvas.is_saving():
            self._background = self._size(), event.canvas.copy_from_bbox(self.figure.bbox)
            self._draw_live()

    def _draw_live(self):
        for artist in self._live:
            if hasattr(artist, "do_3d_projection"):
                artist.do_3d_projection()
            artist.axes.draw_artist(artist)


def style_axes(axes, xlabel, ylabel):
    """Labels in the common size, and no frame where nothing is read off."""
    axes.set_xlabel(xlabel, fontsize=TEXT)
    axes.set_ylabel(ylabel, fontsize=TEXT)
    axes.tick_params(labelsize=TEXT - 1, colors=DARK)
    axes.spines[["top", "right"]].set_visible(False)


def blade_section(width, offset, points=24):
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
    return width * (outline - [_centroid(outline)[0], 0.0]) + [offset, 0.0]


def _centroid(outline):
    (x, y), (nx, ny) = outline.T, np.roll(outline, -1, axis=0).T
    cross = x * ny - nx * y
    return np.array([((x + nx) * cross).sum(), ((y + ny) * cross).sum()]) / (3 * cross.sum())


def turned(points, angle):
    """Points (..., 2) turned by `angle` [rad], counterclockwise."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points) @ np.array([[c, s], [-s, c]])


def weight_radius(weight):
    """Radius [m] of a ball of the counterweight's mass and density."""
    return (3 * weight.mass / (4 * np.pi * weight.density)) ** (1 / 3)


def round_step(largest, steps):
    """The round number 1, 2 or 5 times a power of ten, not below largest / steps."""
    rough = largest / steps
    power = 10.0 ** np.floor(np.log10(rough))
    return float(next(n * power for n in (1, 2, 5, 10) if n * power >= rough * (1 - 1e-12)))


class Labels:
    """Places texts beside what they name, clear of each other, inside one axes."""

    def __init__(self, axes, fixed=()):
        self.axes, self.fixed = axes, fixed

    def place(self, wanted):
        """Set each (text, anchor [data], direction [rad], gap [pixels]) in turn."""
        renderer = self.axes.figure.canvas.get_renderer()
        frame = self.axes.get_window_extent(renderer)
        taken = [text.get_window_extent(renderer) for text in self.fixed]
        to_pixels = self.axes.transData
        for text, anchor, direction, gap in wanted:
            size = text.get_window_extent(renderer).size
            start = to_pixels.transform(anchor)
            for turn in sorted(np.arange(-6, 6), key=abs):
                way = direction + turn * np.pi / 6
                unit = np.array([np.cos(way), np.sin(way)])
                centre = start + unit * (gap + size / 2)
                text.set_position(to_pixels.inverted().transform(centre))
                box = text.get_window_extent(renderer).padded(2)
                inside = frame.x0 < box.x0 and box.x1 < frame.x1
                inside &= frame.y0 < box.y0 and box.y1 < frame.y1
                if inside and not any(box.overlaps(other) for other in taken):
                    break
            taken.append(box)


class EndOnPicture(Picture):
    """The paddle seen end-on, and gravity's roll torque over the full circle.

    Parameters
    ----------
    largest_unbalance : float
        kg·m; the arrow's scale and the torque axis hold unbalances up to this.
    largest_torque : float
        N·m.
    reach : float
        m; half the side of the square shown, more than any arm.
    """

    def __init__(self, largest_unbalance, largest_torque, reach=0.18):
        super().__init__(10.4, 4.9)
        paddle_axes, torque_axes = self.figure.subplots(1, 2, width_ratios=(1, 1.15))
        self.figure.subplots_adjust(left=0.085, right=0.985, top=0.91, bottom=0.15, wspace=0.28)
        self.angles = np.linspace(-np.pi, np.pi, 241)
        self._end_on(paddle_axes, largest_unbalance, reach / MM)
        self._curve(torque_axes, largest_torque)

    def _end_on(self, axes, largest_unbalance, reach):
        self.paddle_axes = axes
        style_axes(axes, "forward [mm]", "up [mm]")
        axes.set(xlim=(-reach, reach), ylim=(-reach, reach), aspect="equal")
        axes.set_xticks(np.arange(-100, 101, 100))
        axes.set_yticks(np.arange(-100, 101, 100))
        axes.set_title("seen from the right end", fontsize=TEXT)
        self.per_mm = round_step(largest_unbalance / GRAM_MM, 0.75 * reach)
        axes.plot([0, 0], [0, -reach], color=GREY, ls=":", lw=1.5)
        note = f"arrow: 10 mm is {10 * self.per_mm:g} g·mm"
        fixed = [
            axes.text(-0.97 * reach, -0.97 * reach, note, fontsize=TEXT - 2, va="bottom"),
            axes.text(-0.97 * reach, 0.9 * reach, "gravity", fontsize=TEXT, va="bottom"),
            axes.text(0.03 * reach, -0.86 * reach, "rest", fontsize=TEXT, color=GREY, va="bottom"),
        ]
        style = {"mutation_scale": 16, "shrinkA": 0, "shrinkB": 0}
        self._gravity = self.live(FancyArrowPatch((0, 0), (0, 0), color=DARK, lw=2, **style))
        self._blades = {
            side: self.live(
                Polygon(np.zeros((3, 2)), fc=PALE, ec=DARK, lw=1.8, ls=LINE[side], alpha=0.8)
            )
            for side in SIDES
        }
        self._shaft = self.live(Polygon(np.zeros((3, 2)), fc="white", ec=DARK, lw=1.8))
        self._arms = self.live(axes.plot([], [], color=DARK, lw=1.2)[0])
        self._weights = self.live(PolyCollection([], facecolors=GREY, edgecolors=DARK))
        self._centres = self.live(axes.plot([], [], "o", color=DARK, ms=6)[0])
        self._arrow = self.live(FancyArrowPatch((0, 0), (0, 0), color=ACCENT, lw=3, **style))
        for patch in (self._gravity, *self._blades.values(), self._shaft, self._arrow):
            axes.add_patch(patch)
        axes.add_collection(self._weights)
        named = {"left": DARK, "right": DARK, "unbalance": ACCENT, "0": DARK, "1": DARK}
        self._names = {
            name: self.live(
                axes.text(0, 0, name, fontsize=TEXT, color=color, ha="center", va="center")
            )
            for name, color in named.items()
        }
        self._labels = Labels(axes, fixed)
        self._reach = reach

    def _curve(self, axes, largest_torque):
        self.torque_axes = axes
        style_axes(axes, "roll angle [deg]", "torque of gravity [N·m]")
        self._top = largest_torque
        step = round_step(largest_torque, 3)
        axes.set(xlim=(-180, 180), ylim=(-1.4 * self._top, 1.55 * self._top))
        axes.set_xticks(np.arange(-180, 181, 60))
        axes.set_yticks(step * np.arange(-np.floor(self._top / step), self._top / step + 1e-9))
        axes.axhline(0, color=GREY, lw=1)
        axes.set_title("positive turns counterclockwise", fontsize=TEXT)
        self._curve_line = self.live(axes.plot([], [], color=GREY, lw=2.5)[0])
        self._catches = {
            side: self.live(axes.plot([], [], color=DARK, lw=1.8, ls=LINE[side])[0])
            for side in SIDES
        }
        self._catch_dots = self.live(axes.plot([], [], "o", color=DARK, ms=7)[0])
        self._rest_dot = self.live(axes.plot([], [], "v", color=DARK, ms=10)[0])
        self._tip_dot = self.live(axes.plot([], [], "^", color=DARK, ms=10, mfc="white")[0])
        self._now_line = self.live(axes.plot([], [], color=ACCENT, lw=1.2, ls="-.")[0])
        self._now_dot = self.live(axes.plot([], [], "o", color=ACCENT, ms=11)[0])
        rows = {"left catch": 1.46, "right catch": 1.29, "rest": -1.3, "tipping point": -1.3}
        self._row_names = {
            name: self.live(
                axes.text(0, row * self._top, name, fontsize=TEXT, color=DARK, va="center")
            )
            for name, row in rows.items()
        }
        self._value = self.live(
            axes.text(0, 0, "", fontsize=TEXT, color=ACCENT, va="center", weight="bold", bbox=VEIL)
        )

    def update(self, paddle, theta, unbalance, torque, rest=None, inclination=0.0):
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
        self._update_end_on(paddle, theta, unbalance, inclination)
        self._update_curve(paddle, theta, torque, rest)
        self.refresh()

    def _update_end_on(self, paddle, theta, unbalance, inclination):
        r = self._reach
        start = np.array([-0.85 * r, 0.88 * r])
        self._gravity.set_positions(start, start - [0, 0.4 * r * np.cos(inclination)])
        self._shaft.set_xy(RING * paddle.shaft.radius / MM)
        centres, wanted = [], []
        for side, end in zip(SIDES, (1, -1), strict=True):
            blade, angle = getattr(paddle, side), theta + paddle.blade_angle(side)
            outline = turned(blade_section(blade.width, blade.offset), angle) / MM
            self._blades[side].set_xy(outline)
            centres.append(turned([blade.offset / MM, 0.0], angle))
            tip = outline[len(outline) // 2 - 1 if end > 0 else 0]
            wanted.append((self._names[side], tip, angle + end * np.pi / 2, 8))
        self._centres.set_data(*np.transpose(centres))
        wanted += self._update_weights(paddle.counterweights, theta)
        tip = turned(unbalance, theta) / GRAM_MM / self.per_mm
        shown = np.hypot(*tip) > 3
        self._arrow.set_positions((0, 0), tip if shown else (0, -1))
        self._arrow.set_visible(shown)
        self._names["unbalance"].set_visible(shown)
        if shown:
            wanted.append((self._names["unbalance"], tip, np.arctan2(tip[1], tip[0]), 6))
        self._labels.place(wanted)

    def _update_weights(self, weights, theta):
        places = [turned([w.arm / MM, 0.0], theta + w.angle) for w in weights]
        self._weights.set_verts(
            [RING * weight_radius(w) / MM + place for w, place in zip(weights, places, strict=True)]
        )
        lines = [[(0, 0), place, (np.nan, np.nan)] for place in places] or [[(np.nan, np.nan)]]
        self._arms.set_data(*np.transpose(np.concatenate(lines)))
        wanted = []
        for slot in ("0", "1"):
            text, i = self._names[slot], int(slot)
            text.set_visible(i < len(weights))
            if i < len(weights):
                text.set_text(f"{weights[i].mass * 1e3:.0f} g")
                scale = self.paddle_axes.transData.get_matrix()[0, 0]
                gap = weight_radius(weights[i]) / MM * scale + 3
                wanted.append((text, places[i], theta + weights[i].angle, gap))
        return wanted

    def _update_curve(self, paddle, theta, torque, rest):
        self._curve_line.set_data(np.degrees(self.angles), torque(self.angles))
        catches = np.array([paddle.catch_angle(side) for side in SIDES])
        self._catch_dots.set_data(np.degrees(catches), torque(catches))
        first = SIDES[int(np.argmin(catches))]
        for side, angle in zip(SIDES, np.degrees(catches), strict=True):
            name = self._row_names[f"{side} catch"]
            self._catches[side].set_data([angle, angle], [0, name.get_position()[1]])
            self._beside(name, angle, "left" if side == first else "right")
        for name, dot, shift in (
            ("rest", self._rest_dot, 0.0),
            ("tipping point", self._tip_dot, 180.0),
        ):
            visible = rest is not None
            dot.set_visible(visible)
            if visible:
                angle = (np.degrees(rest) + shift + 180) % 360 - 180
                dot.set_data([angle], [0])
                self._beside(self._row_names[name], angle, "middle")
            self._row_names[name].set_visible(visible)
        now, value = np.degrees(theta), float(torque(theta))
        self._now_line.set_data([now, now], [-1.15 * self._top, 1.15 * self._top])
        self._now_dot.set_data([now], [value])
        self._value.set_text(f"{value:+.3f} N·m at {now:.0f}°".replace("-", "\N{MINUS SIGN}"))
        clear = value + np.copysign(0.14 * self._top, value)
        self._value.set_y(np.clip(clear, -1.1 * self._top, 1.1 * self._top))
        self._beside(self._value, now, "right")

    def _beside(self, text, angle, where):
        """Put a text left, right or in the middle of `angle` [deg], inside the axes."""
        box = text.get_window_extent(self.figure.canvas.get_renderer())
        width = box.width / self.torque_axes.bbox.width * 360
        choices = {"left": angle - 8 - width, "right": angle + 8, "middle": angle - width / 2}
        low, high = -178.0, 178.0 - width
        x = choices.pop(where)
        if where != "middle" and not low <= x <= high:
            x = choices["right" if where == "left" else "left"]
        text.set_x(np.clip(x, low, high))
