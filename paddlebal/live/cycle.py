"""A paddle's cycle, alive: its motion and roll torque as steps of a series, and their curves."""

from __future__ import annotations

import altair as alt

from paddlebal.live.expressions import G, steps
from paddlebal.live.look import GREY, ONE
from paddlebal.pictures.style import TEXT

SAMPLES = 400
"""Equal steps of a cycle."""


PROPERTIES = ("M", "S_x", "S_y", "S_z", "I_xx", "I_xy", "I_xz", "I_yy", "I_yz", "I_zz")
"""In the order of `work.mass_properties`."""


STATES = ("bare", "now")
"""Without the counterweights, and with what is fitted of them."""


COORDINATES = ("theta", "beta", "psi", "x", "y", "z")
"""Of `equations.stroke_path`."""


SPIN = [f"{kind}_{axis}" for kind in ("omega", "domega") for axis in "xyz"]


DRIVEN = ["theta_0", *SPIN, "a_X", "a_Y", "a_Z", "beta_0", G]
"""What the motion gives to the equations of the hands' load."""


MOVED_BY = ("motion", "pace", "catch_right", "catch_left")
"""Parameters of the motion: `motion_facts`, the phase's rate [rad/s], and two angles [rad]."""


HALVES = ("inclination", "yaw", "sway", "surge", "heave")
"""Half-ranges of a `stroke.Stroke`, in the order of `equations.stroke_path`."""


def motion_facts(stroke):
    """What the charts have to know of a stroke, in SI and rad."""
    return {name: float(getattr(stroke, name)) for name in (*HALVES, "strokes_per_minute", "speed")}


def motion_steps():
    """Place, rates and accelerations of the paddle at the part `i / SAMPLES` of a cycle.

    Each coordinate is name_0, its rate name_1 and its acceleration name_2; then `SPIN`, and the
    acceleration a_X, a_Y, a_Z of O in axes turned with the shaft's yaw.
    """
    path = [f"{name}_by{order}" for order in range(3) for name in COORDINATES]
    catches, halves = MOVED_BY[2:], [f"motion.{each}" for each in HALVES]
    made = {"phase": f"2 * PI * i / {SAMPLES}"}
    made |= steps("stroke_path", "p", path, "phase", *catches, *halves)
    for order, pace in enumerate(("1", "pace", "pace * pace")):
        made |= {f"{name}_{order}": f"{pace} * {name}_by{order}" for name in COORDINATES}
    turning = [f"{name}_{order}" for order in range(3) for name in COORDINATES[:3]]
    made |= steps("body_rates", "r", SPIN, *turning)
    accel = ["a_X", "a_Y", "a_Z"]
    return made | steps("level_components", "ac", accel, "psi_0", "x_2", "y_2", "z_2")


def torque_steps(state, parts):
    """The roll torque of one of the `STATES`, by its four parts, their sum and its size."""
    own = [f"{state}_{name}" for name in PROPERTIES[2:]]
    names = [f"{state}_{part}" for part in parts]
    made = steps("roll_moment_parts", f"{state}_m", names, *own, *DRIVEN)
    made[f"{state}_torque"] = " + ".join(names)
    made[f"{state}_size"] = f"abs({state}_torque)"
    return made


def with_pieces(mass, arm, angle, places):
    """Parameters of the mass properties with pieces on one arm that share a mass equally."""
    count, y, z = len(places), "piece_y", "piece_z"
    middle = f"({' + '.join(places)}) / {count}"
    along = f"({' + '.join(f'{x} * {x}' for x in places)}) / {count}"
    added = {
        "M": "1", "S_x": middle, "S_y": y, "S_z": z,
        "I_xx": f"{y} * {y} + {z} * {z}", "I_xy": f"-{middle} * {y}", "I_xz": f"-{middle} * {z}",
        "I_yy": f"{along} + {z} * {z}", "I_yz": f"-{y} * {z}", "I_zz": f"{along} + {y} * {y}",
    }  # fmt: skip
    made = {y: f"{arm} * cos({angle})", z: f"{arm} * sin({angle})"}
    return made | {
        f"now_{name}": f"bare_{name} + {mass} * ({each})" for name, each in added.items()
    }


def rows_of(columns):
    """Rows of a series as it begins, from arrays (SAMPLES,) by name."""
    return [
        {"share": 100 * i / SAMPLES} | {name: float(v[i % SAMPLES]) for name, v in columns.items()}
        for i in range(SAMPLES + 1)
    ]


def cycle_layers(title, domain, lines):
    """Layers of curves over a cycle; lines are (column, look of the line)."""
    axis = alt.Axis(title="share of the cycle [%]", values=[0, 25, 50, 75, 100])
    x = alt.X("share:Q", scale=alt.Scale(domain=[0, 100], nice=False), axis=axis)
    scale, axis = alt.Scale(domain=domain, nice=False), alt.Axis(title=title, tickCount=6)
    base = alt.Chart(alt.NamedData("cycle"))
    curves = [
        base.mark_line(**look).encode(x=x, y=alt.Y(f"{column}:Q", scale=scale, axis=axis))
        for column, look in lines
    ]
    names = [
        alt.Chart(ONE)
        .mark_text(text=f"{side} stroke", baseline="top", fontSize=TEXT)
        .encode(x=alt.datum(place), y=alt.value(2))
        for place, side in ((25, "right"), (75, "left"))
    ]
    level = alt.Chart(ONE).mark_rule(color=GREY).encode(y=alt.datum(0))
    middle = alt.Chart(ONE).mark_rule(color=GREY, strokeDash=[2, 3]).encode(x=alt.datum(50))
    return [level, middle, *curves, *names]
