"""Panel on counterweights for the stroke."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.motion_balance.best import MotionBalance, balance_for_motion, mass_front
from paddlebal.motion_balance.limits import MOTION_CAUTION, MotionLimits
from paddlebal.motion_balance.programme import AIMS
from paddlebal.motion_balance.sets import set_row, sets_at_rest
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.panels.panel import Panel, chooser, paddle_chooser, slider
from paddlebal.pictures.motion import BARE, BEST, REST, FrontPicture, MotionPicture
from paddlebal.stroke import STROKES, Motion
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM
from paddlebal.work import stroke_torque

FREE, STAYS = "may roll at rest", "must stay at rest"


SEEN = 240
"""Instants of a cycle that are drawn."""


FARTHEST, HEAVIEST = 0.6, 0.4
"""m and kg: the most that the sliders offer."""


@dataclass(frozen=True, eq=False)
class MotionState:
    """The best pieces, the torque over the cycle by set, and that of another stroke."""

    found: MotionBalance
    share: Array
    torques: dict[str, Array]
    elsewhere: dict[str, float]


def motion_state(paddle, stroke, aim, mass, arm, reach, rest):
    """The state for pieces of a total mass [kg] on an arm [m] out to a distance [m]."""
    bare = paddle.without_counterweights()
    motions = {name: each.motion(bare) for name, each in STROKES.items()}
    motion = motions[stroke]
    stations = tuple(float(x) for x in np.linspace(-reach, reach, 5))
    limits = MotionLimits(total_mass=mass, stations=stations, arms=(arm,) * 5, stays=rest == STAYS)
    found = balance_for_motion(bare, motion, limits, aim)
    one = counterweight_adding(-bare.unbalance(), arm)
    sets = {BARE: bare, REST: bare.with_counterweights(one), BEST: found.paddle}
    torques = {name: stroke_torque(each, motion, SEEN).torque for name, each in sets.items()}
    (other,) = (each for name, each in motions.items() if name != stroke)
    elsewhere = {
        name: float(np.abs(stroke_torque(each, other, SEEN).torque).mean())
        for name, each in sets.items()
    }
    return MotionState(found, np.arange(SEEN) / SEEN, torques, elsewhere)


def motion_state_rows(state):
    found = state.found
    left = float(magnitude(found.paddle.unbalance()))
    sizes = {name: np.abs(torque) for name, torque in state.torques.items()}
    return [
        *((f"mean torque, {name}", f"{size.mean():.4f} N·m") for name, size in sizes.items()),
        *((f"peak torque, {name}", f"{size.max():.3f} N·m") for name, size in sizes.items()),
        ("no pieces go below", f"{found.bound:.4f} N·m ({found.aim})"),
        *((f"in the other stroke, {name}", f"{mean:.4f} N·m")
          for name, mean in state.elsewhere.items()),
        ("mass of the pieces", f"{found.mass / GRAM:.0f} g"),
        ("swing inertia added", f"{1e3 * found.swing_inertia:.1f} g·m²"),
        ("unbalance left at rest", f"{left / GRAM_MM:,.0f} g·mm"),
    ]  # fmt: skip


def motion_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """The best pieces for a stroke, what they leave and what they cost.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": paddle_chooser(paddles),
        "stroke": chooser("stroke", list(STROKES)),
        "aim": chooser("make least", list(AIMS)),
        "mass": slider("mass of all pieces [g]", 20, HEAVIEST / GRAM, 10, 200, unit=GRAM),
        "arm": slider("their arm [mm]", 30, 120, 1, 80, unit=MM),
        "reach": slider("farthest place [mm]", 50, FARTHEST / MM, 10, 520, unit=MM),
        "rest": chooser("the paddle", [FREE, STAYS]),
    }
    picture = MotionPicture(0.35, FARTHEST)

    def draw(state):
        picture.update(state.share, state.torques, state.found.pieces)

    caution = widgets.HTML(f"<p>{MOTION_CAUTION}</p>")
    panel = Panel("motion", controls, [picture], motion_state, draw, motion_state_rows)
    panel.side.children += (caution,)
    return panel.widget


def front_picture(
    paddle: Paddle, motion: Motion, limits: MotionLimits, masses: Sequence[float]
) -> FrontPicture:
    """What more mass buys: the best pieces for each total mass, free and staying at rest.

    Parameters
    ----------
    paddle : Paddle
        Without counterweights.
    motion : Motion
    limits : MotionLimits
        Its total mass is that of the marked sets, which balance at rest.
    masses : sequence of float
        kg, growing.

    Returns
    -------
    Picture
    """
    marks = [
        set_row(name, paddle, each, motion)
        for name, each in sets_at_rest(paddle, limits.total_mass).items()
    ]
    enough = [mass for mass in masses if mass >= limits.total_mass]
    staying = replace(limits, stays=True)
    fronts = {
        "best": mass_front(paddle, motion, limits, masses),
        "best that stays": mass_front(paddle, motion, staying, enough),
    }
    rows = {
        name: [set_row(name, paddle, found.paddle, motion) for found in front.found]
        for name, front in fronts.items()
    }
    rows["best"].insert(0, marks[0])
    return FrontPicture(rows, marks)
