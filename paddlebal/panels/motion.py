"""Panel on counterweights for the stroke."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.errors import InputError
from paddlebal.limits import Envelope, Limits, material_densities
from paddlebal.logger import LoggedTorque, LoggerRecord, cycle_words, logged_torque
from paddlebal.motion_balance.best import MotionBalance, balance_for_motion, mass_front
from paddlebal.motion_balance.limits import MOTION_CAUTION, MotionLimits
from paddlebal.motion_balance.programme import AIMS
from paddlebal.motion_balance.rows import motion_rows, properties_of
from paddlebal.motion_balance.sets import set_row, sets_at_rest
from paddlebal.paddle import Paddle, counterweight_adding
from paddlebal.panels.fitting import sheet_links
from paddlebal.panels.own_stroke import OwnStrokeForm
from paddlebal.panels.panel import (
    ROOM,
    Panel,
    alert_html,
    chooser,
    paddle_chooser,
    sentence_for,
    slider,
)
from paddlebal.pictures.motion import BARE, BEST, REST, FrontPicture, MotionPicture
from paddlebal.sheet.stroke import Confirmed, stroke_sheet
from paddlebal.stroke import STROKES, Motion
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM

FREE, STAYS = "may roll at rest", "must stay at rest"


SEEN = 240
"""Instants of a cycle that are drawn."""


FARTHEST, HEAVIEST, LONGEST = 0.6, 0.4, 0.12
"""m, kg and m: the most that the sliders offer of distance, mass and arm."""


OWN = "your own stroke"


PLACES = 5
"""Stations along the shaft at which a piece may sit."""


ROOM_FOR_PIECE = 40 * MM
"""Length that a piece takes at a station."""


@dataclass(frozen=True, eq=False)
class MotionState:
    """The best pieces, the torque over the cycle by set, and its mean in other strokes by set.

    bare: the paddle without the pieces. stroke: what moved it. envelope: as the sliders state it.
    spread: (n,) [N·m] by how much the cycles of a logged stroke differ, None of a modelled one.
    """

    bare: Paddle
    stroke: Motion | LoggedTorque
    envelope: Envelope
    found: MotionBalance
    share: Array
    torques: dict[str, Array]
    elsewhere: dict[str, dict[str, float]]
    spread: Array | None


@lru_cache(maxsize=8)
def _logged(record, paddle):
    return logged_torque(record, paddle)


def _stations(paddle, reach):
    """Places along the shaft, evenly spread out to a distance [m] and then moved where it is
    free."""
    free = Limits.for_paddle(paddle, reach=reach + ROOM_FOR_PIECE / 2).free_places(ROOM_FOR_PIECE)
    found = set()
    for wanted in np.linspace(-reach, reach, PLACES):
        near = [min(max(wanted, low), high) for low, high in free]
        found.add(round(min(near, key=lambda x: abs(x - wanted)), 6) if near else float(wanted))
    return sorted(found)


def motion_state(paddle, stroke, aim, mass, arm, far_arm, reach, rest):
    """The state for pieces of a total mass [kg] on arms [m], at the middle and at a distance
    [m]; the stroke is a Stroke or a logger's record."""
    bare = paddle.without_counterweights()
    spread = None
    if isinstance(stroke, LoggerRecord):
        if stroke.counted:
            bare = bare.with_counterweights(stroke.weight)
        motion = _logged(replace(stroke, counted=False), bare)
        rows = motion.mean_rows(SEEN)
        spread = motion.mean_cycle(SEEN)[1]
    else:
        motion = stroke.motion(bare)
        rows = motion_rows([motion], SEEN)
    envelope = Envelope((0.0, reach), (arm, far_arm))
    limits = MotionLimits.for_paddle(
        bare, envelope, _stations(bare, reach), total_mass=mass, stays=rest == STAYS
    )
    found = balance_for_motion(bare, rows, limits, aim)
    one = counterweight_adding(-bare.unbalance(), arm)
    sets = {BARE: bare, REST: bare.with_counterweights(one), BEST: found.paddle}
    properties = {name: properties_of(each) for name, each in sets.items()}
    elsewhere = {
        name: {
            label: float(np.abs(each @ motion_rows([other.motion(bare)], SEEN)).mean())
            for label, each in properties.items()
        }
        for name, other in STROKES.items() if other is not stroke
    }  # fmt: skip
    torques = {name: each @ rows for name, each in properties.items()}
    share = np.arange(SEEN) / SEEN
    return MotionState(bare, motion, envelope, found, share, torques, elsewhere, spread)


def motion_state_rows(state):
    found = state.found
    left = float(magnitude(found.paddle.unbalance()))
    sizes = {name: np.abs(torque) for name, torque in state.torques.items()}
    logged = isinstance(state.stroke, LoggedTorque)
    return [
        *((f"mean torque, {name}", f"{size.mean():.4f} N·m") for name, size in sizes.items()),
        *((f"peak torque, {name}", f"{size.max():.3f} N·m") for name, size in sizes.items()),
        ("no pieces go below", f"{found.bound:.4f} N·m ({found.aim})"),
        *((f"mean in the {stroke}, {name}", f"{mean:.4f} N·m")
          for stroke, means in state.elsewhere.items() for name, mean in means.items()),
        ("mass of the pieces", f"{found.mass / GRAM:.0f} g"),
        ("swing inertia added", f"{1e3 * found.swing_inertia:.1f} g·m²"),
        ("unbalance left at rest", f"{left / GRAM_MM:,.0f} g·mm"),
        *((what, value) for what, value in (cycle_words(state.stroke) if logged else ())
          if what in TOLD_OF_LOGGER),
    ]  # fmt: skip


TOLD_OF_LOGGER = (
    "whole cycles", "strokes a minute", "cycles spread by", "each instant is sure to ±",
)  # fmt: skip


def motion_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """The best pieces for a stroke, what they leave and what they cost; their sheet.

    The strokes are the presets, and your own once a logger's file is brought.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    strokes = list(STROKES.items())
    controls = {
        "paddle": paddle_chooser(paddles),
        "stroke": chooser("stroke", strokes),
        "aim": chooser("make least", list(AIMS)),
        "mass": slider("mass of all pieces [g]", 20, HEAVIEST / GRAM, 10, 200, unit=GRAM),
        "arm": slider("arm at mid-shaft [mm]", 30, LONGEST / MM, 1, 80, unit=MM),
        "far_arm": slider("arm farthest out [mm]", 30, LONGEST / MM, 1, 80, unit=MM),
        "reach": slider("farthest place [mm]", 50, FARTHEST / MM, 10, 520, unit=MM),
        "rest": chooser("the paddle", [FREE, STAYS]),
    }
    picture = MotionPicture(0.35, FARTHEST)
    latest: list[MotionState] = []

    def draw(state):
        latest[:] = [state]
        picture.update(state.share, state.torques, state.found.pieces, state.spread)

    caution = widgets.HTML(f"<p>{MOTION_CAUTION}</p>")
    panel = Panel("motion", controls, [picture], motion_state, draw, motion_state_rows)

    def take(record):
        paddle = controls["paddle"].value.without_counterweights()
        _logged(replace(record, counted=False), paddle).mean_rows(SEEN)  # tells what is wrong
        panel.offer("stroke", [*strokes, (OWN, record)])
        panel.set(stroke=record)

    own = _folded(
        "Your own stroke, by a phone or a logger on the shaft", OwnStrokeForm(take).widget
    )
    panel.side.children += (caution,)
    panel.widget.children += (own, _folded("A sheet for these pieces", _sheet_form(panel, latest)))
    return panel.widget


def _folded(title, content):
    folded = widgets.Accordion([content], titles=(title,))
    folded.selected_index = None
    return folded


def _sheet_form(panel, latest):
    """What has to be stated before a sheet is made, and the button that makes it."""
    by = widgets.Text(description="measured by", placeholder="name", **ROOM)
    stated = widgets.HTML(
        "<p>Beyond the hands a sheet is made only within arms that somebody measured: sitting in "
        "the boat, over the whole stroke on both sides, weights on the arms set above stay clear "
        "of hands, knees, hull, water and face.</p>"
    )
    agreed = widgets.Checkbox(description="I measured that and stand for it", indent=False)
    material = chooser("material", list(material_densities()))
    material.value = "brass"
    links = widgets.HTML()

    def changed(_change):
        agreed.value, links.value = False, ""

    for name in ("paddle", "arm", "far_arm", "reach"):
        panel.controls[name].observe(changed, "value")
    for name in ("stroke", "aim", "mass", "rest"):
        panel.controls[name].observe(lambda _change: setattr(links, "value", ""), "value")

    def make():
        links.value = ""
        (state,) = latest or [None]
        try:
            if state is None:
                raise InputError("there are no pieces yet")
            if agreed.value and not by.value.strip():
                raise InputError("state who measured it")
            stroke = panel.controls["stroke"]
            sheet = stroke_sheet(
                state.bare, state.found, state.stroke, stroke.label,
                Confirmed(state.envelope, by.value.strip()) if agreed.value else None,
                datetime.date.today(), material.value,
            )  # fmt: skip
            links.value = sheet_links(sheet, "stroke")
        except Exception as error:
            links.value = alert_html(sentence_for(error))

    button = widgets.Button(description="Make the sheet")
    button.on_click(lambda _button: make())
    return widgets.VBox([stated, by, agreed, material, button, links])


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
