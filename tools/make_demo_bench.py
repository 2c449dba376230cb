"""Make the demo bench files in data/bench: invented readings of the invented demo paddles.

    python tools/make_demo_bench.py

The paddle, the friction and the scale's zero are known here, and each error is drawn from the
standard uncertainty that the file states, so a fit can be judged against the truth; the files
themselves don't tell it. The seed is fixed: the same files come out each time.

The friction moments are of the size that a good bench has (common practice, no source): a
paddle of 6 N on ball-bearing rollers or on smooth level rails turns at some 2 to 4 mN·m, the
moment of its weight on an arm of about half a millimetre.
"""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import tomli_w
from scipy.integrate import solve_ivp

from paddlebal import load_paddle
from paddlebal.bench.readings import TURNING, LeverReadings
from paddlebal.files.saving import write_text
from paddlebal.paddle import rotation_about_x
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import DEG, GRAM, MM, STANDARD_GRAVITY

SEED = 14
"""Of fifteen, one with which no file is an outlying draw and every bench settles its verdict."""

DATA = Path(__file__).parents[1] / "data"


LEVER = dict(
    support="rollers",
    pull_direction="vertical",
    radius=14.6 * MM,
    clamp_mass=120 * GRAM,
    clamp_arm=110 * MM,
    scale_u=0.01,
    angle_u=0.3 * DEG,
    arm_u=0.5 * MM,
    angle_zero_u=0.2 * DEG,
    clamp_arm_u=1.0 * MM,
)
"""A level lever of 250 mm, heavy enough to keep the scale pulled at most angles."""

HUNG = LEVER | dict(
    pull_direction="hung", clamp_mass=0.0, clamp_arm=0.0, clamp_arm_u=0.0,
    scale_u=0.02, arm_u=0.1 * MM, zero_u=0.0,
)  # fmt: skip
"""Masses on a string round the shaft, weighed to 2 g."""

DRAG = 4e-4
"""N·m·s, of air and grease in a recorded swing; chosen for display."""

BENCHES = {
    "sprint": dict(bench=LEVER, arm=250 * MM, friction=3.2e-3, zero=0.03, unit="N"),
    "ocean": dict(bench=LEVER, arm=250 * MM, friction=3.5e-3, zero=-0.05, unit="kgf"),
    "far_cranked": dict(
        bench=LEVER | dict(support="rails", radius=15.0 * MM),
        arm=250 * MM, friction=3.8e-3, zero=0.02, unit="N",
    ),
    "mended": dict(
        bench=HUNG | dict(support="rails"),
        arm=14.6 * MM, friction=3.4e-3, zero=0.0, unit="g",
    ),
}  # fmt: skip


MARK = 37 * DEG
"""Roll angle, counted from the glued paddle's mark, at which its control blade stands upright."""

SLIPPED = 3 * DEG
"""By how much the fitted ocean paddle's counterweight sits off the angle in its file."""


def simulate_lever(paddle, plan, friction, zero, rng):
    """What the scale shows as a paddle is turned slowly: the plan with its pulls filled in.

    Each angle is set once for the readings that follow each other there. Each reading is found
    as at the bench: the pull is changed until the paddle starts to move the way it should. It
    moves when gravity and pull about its axis, or about its line of contact on rails, leave a
    moment larger than friction.

    Parameters
    ----------
    paddle : Paddle
    plan : LeverReadings
        Its pulls are not used; errors are drawn from its standard uncertainties.
    friction, zero : float
        True friction moment [N·m] and what the scale shows without a pull [N].
    rng : numpy.random.Generator
    """
    count, side = plan.roll.size, np.sign(plan.arm)
    anew = np.append(True, (np.diff(plan.roll) != 0) | (np.diff(side) != 0))
    own = plan.angle_u * rng.standard_normal(count)
    roll = plan.roll + own[np.maximum.accumulate(np.where(anew, np.arange(count), 0))]
    roll += plan.angle_zero_u * rng.standard_normal()
    longer = plan.arm_u * rng.standard_normal()
    arm = side * (np.abs(plan.arm) + longer)
    round_shaft = longer if plan.pull_direction != "vertical" else 0.0
    clamp_arm = side * (plan.clamp_arm + plan.clamp_arm_u * rng.standard_normal())
    nothing, one = np.zeros(count), np.ones(count)
    pivot = -(plan.radius + round_shaft) if plan.support == "rails" else 0.0

    def moment(y, z, force_y, force_z):
        place = np.stack([nothing, nothing + y, nothing + z - pivot], axis=-1)
        force = np.stack([nothing, nothing + force_y, nothing + force_z], axis=-1)
        return np.cross(place, force)[:, 0]

    turned = np.array([rotation_about_x(angle) for angle in roll])
    resting = moment(clamp_arm, 0.0, 0.0, -plan.clamp_mass * STANDARD_GRAVITY)
    for mass, centre, _ in paddle.bodies():
        _, y, z = (turned @ centre).T
        resting += moment(y, z, 0.0, -mass * STANDARD_GRAVITY)
    if plan.pull_direction == "vertical":
        by_pull = moment(arm, 0.0, 0.0, one)
    elif plan.pull_direction == "hung":
        by_pull = moment(-arm, 0.0, 0.0, -one)
    else:
        by_pull = moment(0.0, np.abs(arm), -side, 0.0)

    def moves(pull):
        """+1 with the pull, -1 against it, 0 if friction holds the paddle."""
        left = (resting + pull * by_pull) * np.sign(by_pull)
        return np.sign(left) * (np.abs(left) > friction)

    weak, strong = np.full(count, -1000.0), np.full(count, 1000.0)
    for _ in range(70):
        pull = (weak + strong) / 2
        motion = moves(pull)
        enough = np.where(plan.turning > 0, motion > 0, motion >= 0)
        weak, strong = np.where(enough, weak, pull), np.where(enough, pull, strong)
    if plan.gain_u:
        pull = pull * (1 + plan.gain_u * rng.standard_normal())
    return replace(plan, pull=pull + zero + plan.scale_u * rng.standard_normal(count))


def plan_lever(paddle, bench, arm, friction, angles=12, start=0.0):
    """Angles spread over a turn from a first one [rad], each with and against the pull.

    The lever is put on either side in turn, so that the scale's zero can be told from the
    unbalance, but never where the scale would go slack; a reading that is slack on both sides
    is left out.
    """
    roll = start + np.repeat(2 * np.pi * np.arange(angles) / angles, 2)
    turning = np.tile(list(TURNING.values()), angles)
    unread = np.full(roll.size, np.nan)
    exact = dict.fromkeys(("scale_u", "angle_u", "arm_u", "angle_zero_u", "clamp_arm_u"), 0.0)

    def pulls(side):
        plan = LeverReadings(roll, np.full(roll.size, side * arm), unread, turning, **bench | exact)
        return simulate_lever(paddle, plan, friction, 0.0, np.random.default_rng(0)).pull

    least = 10 * bench["scale_u"]
    forward, backward = pulls(1), pulls(-1)
    wish = np.where(np.arange(roll.size) // 2 % 2, -1, 1)
    wanted, other = np.where(wish > 0, (forward, backward), (backward, forward))
    slack = (wanted < least).reshape(-1, 2).any(axis=1).repeat(2)
    side = np.where(slack & (other > wanted), -wish, wish)
    taut = np.where(side > 0, forward, backward) > least
    return LeverReadings(roll[taut], side[taut] * arm, unread[taut], turning[taut], **bench)


def simulate_swing(size, inertia, start, periods, friction):
    """Last amplitude [rad] and time [s] of a swing on rollers that friction slows down.

    Each half swing is followed from one turning point to the next and then seen in the mirror,
    so that it always starts forward and swings backward, friction pushing forward.
    """

    def motion(_, state):
        angle, rate = state
        return rate, (friction - STANDARD_GRAVITY * size * math.sin(angle)) / inertia

    def turning_point(_, state):
        return state[1]

    turning_point.terminal, turning_point.direction = True, 1  # type: ignore[attr-defined]
    angle, total = start, 0.0
    for _ in range(2 * periods):
        half = solve_ivp(
            motion, (0.0, 10.0), (angle, 0.0), events=turning_point, rtol=1e-10, atol=1e-12
        )
        angle, total = -half.y_events[0][0][0], total + half.t_events[0][0]
    return angle, total


def simulate_record(size, inertia, start, friction, drag, duration, step=2e-5):
    """Times [s] and angles [rad] of a swing on rollers with dry friction [N·m] and drag [N·m·s].

    Stepped forward as plainly as can be, so that a fit is judged by something other than its
    own solver: the rate changes by the moments, and friction stops it but never turns it back.
    """
    angle, rate, angles = start, 0.0, []
    for _ in range(round(duration / step)):
        angles.append(angle)
        rate += step / inertia * (-STANDARD_GRAVITY * size * math.sin(angle) - drag * rate)
        rate = math.copysign(max(abs(rate) - step * friction / inertia, 0.0), rate)
        angle += step * rate
    return step * np.arange(len(angles)), np.array(angles)


def simulate_add_on(U, mass, errors, friction, trials, rng):
    """Mass [kg], arm [m] and angle [rad] read in trials after which the paddle stays put.

    It stays wherever the unbalance left is within friction, so a trial ends anywhere in that
    circle; `errors` are the common standard uncertainties of mass, arm and angle.
    """
    radius = friction / STANDARD_GRAVITY * np.sqrt(rng.random(trials))
    around = 2 * np.pi * rng.random(trials)
    added = -U + radius[:, None] * np.stack([np.cos(around), np.sin(around)], axis=-1)
    mass_error, arm_error, angle_error = errors * rng.standard_normal(3)
    arm = magnitude(added) / mass + arm_error
    angle = np.arctan2(added[:, 1], added[:, 0]) + angle_error
    return np.full(trials, mass + mass_error), arm, angle


def seen(angle):
    """An angle [deg, from 0 to 355] as one look tells it, to 5 degrees."""
    return 5.0 * (round(angle / DEG / 5) % 72)


def file_text(stated, titles, rows):
    """A bench file: the stated values as TOML behind '#', the titles, the rows."""
    head = "".join(f"# {line}\n" for line in tomli_w.dumps(stated).splitlines())
    return head + "".join(",".join(map(str, row)) + "\n" for row in (titles, *rows))


def lever_text(readings, unit, stated):
    """The bench file of lever readings, the pull in 'N', 'kgf' or 'g'."""
    per_unit, digits = {
        "N": (1.0, 3),
        "kgf": (STANDARD_GRAVITY, 4),
        "g": (GRAM * STANDARD_GRAVITY, 0),
    }[unit]
    stated = {"method": "lever"} | stated | {
        "support": readings.support,
        "pull_direction": readings.pull_direction,
        "radius_mm": round(readings.radius / MM, 6),
        "clamp_mass_g": round(readings.clamp_mass / GRAM, 6),
        "clamp_arm_mm": round(readings.clamp_arm / MM, 6),
        "scale_u_N": readings.scale_u,
        "angle_u_deg": round(readings.angle_u / DEG, 6),
        "arm_u_mm": round(readings.arm_u / MM, 6),
        "angle_zero_u_deg": round(readings.angle_zero_u / DEG, 6),
        "clamp_arm_u_mm": round(readings.clamp_arm_u / MM, 6),
    }  # fmt: skip
    if readings.rest is not None:
        stated["rest_deg"] = seen(readings.rest)
    words = {sense: word for word, sense in TURNING.items()}
    rows = zip(
        np.round(readings.roll / DEG, 3),
        np.round(readings.arm / MM, 3),
        np.round(readings.pull / per_unit, digits),
        [words[sense] for sense in readings.turning],
        strict=True,
    )
    return file_text(stated, ("roll [deg]", "arm [mm]", f"pull [{unit}]", "turning"), rows)


def swing_text(paddle, friction, rng, stated):
    """Timed swings of a paddle on rollers."""
    time_u, amplitude_u = 0.05, 2.0
    rows = []
    for start in (45.0, 45.0, 40.0, 40.0, 35.0, 35.0):
        U, inertia, periods = paddle.unbalance(), paddle.inertia()[0, 0], 4
        end, time = simulate_swing(magnitude(U), inertia, start * DEG, periods, friction)
        first, last = (start, end / DEG) + amplitude_u * rng.standard_normal(2)
        time += time_u * rng.standard_normal()
        rows.append((round(first), round(last), periods, round(time, 2)))
    stated = {"method": "swing"} | stated
    stated |= {"support": "rollers", "time_u_s": time_u, "amplitude_u_deg": amplitude_u}
    return file_text(
        stated, ("amplitude [deg]", "end amplitude [deg]", "periods", "time [s]"), rows
    )


def record_text(paddle, friction, rng, stated):
    """A swing on rollers as a video at some 60 frames a second gives it, frames missing."""
    angle_u, U = 0.4, paddle.unbalance()
    times, angles = simulate_record(
        magnitude(U), paddle.inertia()[0, 0], 55 * DEG, friction, DRAG, duration=5.0
    )
    frames = np.cumsum((1 + 0.05 * rng.standard_normal(290)) / 60)
    kept = (rng.random(frames.size) > 0.07) & ((frames < 1.30) | (frames > 1.47))
    frames = np.round(frames[kept], 4)
    roll = np.interp(frames, times, rest_angle(U) + angles) / DEG
    roll += angle_u * rng.standard_normal(frames.size)
    stated = {"method": "swing record"} | stated
    stated |= {"support": "rollers", "angle_u_deg": angle_u, "radius_mm": 14.6}
    rows = zip(frames, np.round(roll, 1), strict=True)
    return file_text(stated, ("time [s]", "roll [deg]"), rows)


def add_on_text(paddle, friction, rng, stated):
    """Trials with a mass of 150 g on a sliding arm."""
    errors = 0.5 * GRAM, 0.5 * MM, 0.5 * DEG
    mass, arm, angle = simulate_add_on(
        paddle.unbalance(), 150 * GRAM, errors, friction, trials=8, rng=rng
    )
    stated = {"method": "add-on"} | stated
    stated |= {"mass_u_g": 0.5, "arm_u_mm": 0.5, "angle_u_deg": 0.5, "approach": "every side"}
    stated |= {"rest_deg": seen(rest_angle(paddle.unbalance()))}
    rows = np.round(np.stack([mass / GRAM, arm / MM, angle / DEG], axis=-1), 1)
    return file_text(stated, ("mass [g]", "arm [mm]", "angle [deg]"), rows)


def glued(ocean):
    """What the glued paddle is made of, which its file does not tell."""
    left = replace(ocean.left, mass=0.171, offset=0.0475, x=-0.955, inertia=None)
    right = replace(ocean.right, mass=0.166, offset=0.0490, x=0.955, inertia=None)
    return replace(ocean, left=left, right=right).with_feather(50)


def from_mark(readings):
    """Readings with their angles counted from the glued paddle's mark."""
    return replace(readings, roll=np.round(readings.roll + MARK, 12), rest=readings.rest + MARK)


def slipped(paddle):
    """The paddle with its counterweight where it really sits."""
    (weight,) = paddle.counterweights
    return replace(paddle, counterweights=(replace(weight, angle=weight.angle + SLIPPED),))


def main():
    """Write every demo bench file anew."""
    rng = np.random.default_rng(SEED)
    folder = DATA / "bench"
    folder.mkdir(exist_ok=True)
    note = "Invented for the demo workshop: computed readings with random errors, no measurement."

    def stated(name):
        return {"paddle": f"{name}.toml", "note": note}

    def write_lever(name, paddle, bench, arm, friction, zero, unit):
        plan = plan_lever(paddle, bench, arm, friction)
        plan = replace(plan, rest=rest_angle(paddle.unbalance()))
        text = lever_text(simulate_lever(paddle, plan, friction, zero, rng), unit, stated(name))
        write_text(folder / f"{name}_lever.csv", text, overwrite=True)

    for name, case in BENCHES.items():
        write_lever(name, load_paddle(DATA / "paddles" / f"{name}.toml"), **case)
    ocean, friction = load_paddle(DATA / "paddles" / "ocean.toml"), BENCHES["ocean"]["friction"]
    swing = swing_text(ocean, friction, rng, stated("ocean"))
    write_text(folder / "ocean_swing.csv", swing, overwrite=True)
    add_on = add_on_text(ocean, friction, rng, stated("ocean"))
    write_text(folder / "ocean_add_on.csv", add_on, overwrite=True)
    record = record_text(ocean, friction, rng, stated("ocean"))
    write_text(folder / "ocean_record.csv", record, overwrite=True)
    fitted = slipped(load_paddle(DATA / "paddles" / "ocean_fitted.toml"))
    write_lever("ocean_fitted", fitted, **BENCHES["ocean"])
    truth, case = glued(ocean), BENCHES["ocean"]
    plan = plan_lever(truth, case["bench"], case["arm"], friction, start=-MARK)
    plan = replace(plan, rest=rest_angle(truth.unbalance()))
    readings = simulate_lever(truth, plan, friction, case["zero"], rng)
    text = lever_text(from_mark(readings), "g", stated("glued"))
    write_text(folder / "glued_lever.csv", text, overwrite=True)


if __name__ == "__main__":
    main()
