"""Panels on filmed swings: what two films tell, and what a camera sees."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.bench.film_plan import expected_swing
from paddlebal.bench.films import (
    ANGLE_U,
    BARE,
    MASS_U,
    FilmsFit,
    KnownMass,
    film_readings,
    fit_films,
)
from paddlebal.bench.half_swings import swings
from paddlebal.film.drawn import Camera, Grey, frame, seen_angle
from paddlebal.film.markers import SQUARE
from paddlebal.film.roll import SMALL
from paddlebal.paddle import Paddle
from paddlebal.panels.panel import Panel, chooser, paddle_chooser, slider, unbalance_words
from paddlebal.pictures.film import FilmsPicture, FramePicture
from paddlebal.pictures.style import signed
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, turn_deg

START, DRAG = 50 * DEG, 0.1
"""Angle from rest at which the swings begin, and the air's drag [1/s]: chosen for display."""


PLUMB, LEVEL = "in view", "not in view"


CYLINDER = 30 * MM
"""Diameter of the known mass: chosen for display."""


@dataclass(frozen=True, eq=False)
class FilmsState:
    """Two swings as they are, and what is found of the paddle from them as they are stated."""

    time: Array
    angles: dict[str, Array]
    fit: FilmsFit
    exact: FilmsFit
    truth: Array


def films_state(paddle, mass, arm, angle, arm_off, arm_u, angle_u, rate, camera, strip, friction):
    """The state for a known mass [kg] whose arm [m] is off by arm_off and known to ± 2 arm_u; the
    angle in a frame by angle_u [rad]; the camera rolled [rad]; the friction moment [N·m]."""
    stated = KnownMass.cylinder(mass, arm, angle, CYLINDER)
    put = replace(stated, arm=arm + arm_off)
    hangs = strip == PLUMB
    seen = [
        replace(
            (swing := expected_swing(paddle, each, friction=friction, drag=DRAG, start=START,
                                     rate=rate, angle_u=angle_u)),
            rest=swing.rest + camera,
            plumb=camera if hangs else 0.0,
            plumb_u=0.1 * DEG if hangs else math.inf,
        )
        for each in (BARE, put)
    ]  # fmt: skip
    readings = film_readings(seen, [BARE, stated], mass_u=MASS_U, angle_u=ANGLE_U, arm_u=arm_u / 2)
    fit = fit_films(readings)
    exact = fit_films(replace(readings, mass_u=1e-7, angle_u=1e-7, arm_u=1e-7))
    time = np.arange(0, 4, 0.01)
    columns = np.array([[each.stiffness, each.friction, DRAG] for each in seen]).T
    moved, _found = swings(time, columns, np.full(2, START), np.zeros(2))
    angles = {
        name: each.rest + move for name, each, move in zip(("bare", "loaded"), seen, moved,
                                                           strict=True)
    }  # fmt: skip
    return FilmsState(time, angles, fit, exact, paddle.unbalance())


def films_rows(state):
    fit = state.fit
    size, direction, size_u, direction_u = fit.polar
    off = float(magnitude(fit.unbalance - state.truth)) / GRAM_MM
    return [
        ("true unbalance", unbalance_words(state.truth)),
        ("found", f"{size / GRAM_MM:,.0f} ± {2 * size_u / GRAM_MM:,.0f} g·mm"),
        ("its direction", f"{turn_deg(direction):.1f} ± {2 * direction_u / DEG:.1f}°"),
        ("off the truth by", f"{off:,.0f} g·mm"),
        ("were the mass exact", f"± {2 * state.exact.polar.size_u / GRAM_MM:,.0f} g·mm"),
        ("roll inertia", f"{1e6 * fit.inertia:,.0f} ± {2e6 * fit.inertia_u:,.0f} kg·mm²"),
        ("camera's roll beyond the strip's", f"{signed(fit.camera / DEG, 1)}°"),
        ("after ±, two standard uncertainties", "about 95 %"),
        *(("doubt", each) for each in fit.doubts),
    ]


def films_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Two films, bare and with a known mass: how surely they tell the unbalance.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": paddle_chooser(paddles),
        "mass": slider("known mass [g]", 20, 200, 5, 100, unit=GRAM),
        "arm": slider("its arm [mm]", 30, 100, 1, 60, unit=MM),
        "angle": slider("its angle [deg]", -180, 180, 5, 30, unit=DEG),
        "arm_off": slider("arm off by [mm]", -2, 2, 0.1, 0, 1, MM),
        "arm_u": slider("arm stated to ± [mm]", 0.1, 3, 0.1, 0.6, 1, MM),
        "angle_u": slider("angle in a frame ± [deg]", 0.02, 1, 0.02, 0.1, 2, DEG),
        "rate": slider("frames a second", 24, 240, 6, 60, unit=1.0),
        "camera": slider("camera rolled by [deg]", -10, 10, 0.5, 0, 1, DEG),
        "strip": chooser("plumb strip", [PLUMB, LEVEL]),
        "friction": slider("friction [mN·m]", 0.5, 10, 0.5, 3, 1, 1e-3),
    }
    picture = FilmsPicture()

    def draw(state):
        found = state.fit.unbalance, state.fit.unbalance_covariance
        exact = state.exact.unbalance_covariance
        picture.update(state.time, state.angles, found, exact, state.truth)

    return Panel("films", controls, [picture], films_state, draw, films_rows).widget


@dataclass(frozen=True, eq=False)
class FrameState:
    """A drawn frame, the angle with which it was drawn and the one that is seen, and a marker's
    size [pixels]."""

    grey: Grey
    drawn: float
    seen: float | None
    side: float


def frame_state(roll, rate, distance, exposure, askew, light):
    """The state of a paddle at a roll angle [rad] that rolls at a rate [rad/s]."""
    camera = Camera(
        760, 460, 1300.0, distance, yaw=askew, exposure=exposure, bright=40 + 160 * light
    )
    middle = exposure / 2

    def moved(time):
        return roll + rate * (time - middle)

    grey = frame(camera, moved, blade=2.0, rng=np.random.default_rng(0))
    side = camera.focal / distance * SQUARE
    return FrameState(grey, roll, seen_angle(camera, grey), side)


def frame_rows(state):
    seen = "no marker is found"
    off = "–"
    if state.seen is not None:
        seen = f"{state.seen / DEG:.2f}°"
        off = f"{signed(math.remainder(state.seen - state.drawn, math.tau) / DEG, 2)}°"
    small = " (too small)" if state.side < SMALL else ""
    return [
        ("drawn at", f"{state.drawn / DEG:.2f}°"),
        ("seen at", seen),
        ("off by", off),
        ("a marker is large", f"{state.side:.0f} pixels{small}"),
    ]


def frame_panel() -> widgets.VBox:
    """One frame of the target: what distance, blur, light and an oblique look do to the angle.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "roll": slider("roll angle [deg]", -90, 90, 1, 20, unit=DEG),
        "rate": slider("rolls at [deg/s]", 0, 900, 10, 400, unit=DEG),
        "distance": slider("camera's distance [m]", 0.5, 5, 0.1, 1.2, 1, 1.0),
        "exposure": slider("shutter open [ms]", 0.5, 33, 0.5, 4, 1, 1e-3),
        "askew": slider("looks askew by [deg]", 0, 40, 1, 0, unit=DEG),
        "light": slider("contrast", 0.02, 1, 0.02, 1, 2, 1.0),
    }
    picture = FramePicture()

    def draw(state):
        told = "no marker found" if state.seen is None else f"seen at {state.seen / DEG:.2f}°"
        picture.update(state.grey, told)

    return Panel("frame", controls, [picture], frame_state, draw, frame_rows).widget
