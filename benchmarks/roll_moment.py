"""Roll moment of a million states, against Pinocchio from a Python loop and against memory.

Pinocchio's recursive Newton-Euler algorithm is called once a state, its arrays ready beforehand.
Two passes stand for memory. One copies every input array: it moves each of the ten input numbers
in and out once, which is more than the roll moment must (ten in, one out), and adds nothing. The
other adds all ten into the output, a block at a time, so that each is read once and one is
written. Both are numpy at its quickest; the parts are measured in turns and the quickest run of
each counts, the one that other work on the machine disturbed least.
"""

from time import perf_counter

import numpy as np
import pinocchio

from paddlebal import load_paddle, roll_moment
from paddlebal.files.text import data_path

STATES, LOOP_STATES, ROUNDS, BLOCK = 1_000_000, 10_000, 15, 16384
LEAST_GAIN, ALLOWED_RATIO = 30, 2


def quickest(functions):
    """Time [s] of the quickest of several runs of each function, taken in turns."""
    times: dict[str, list] = {name: [] for name in functions}
    for _ in range(ROUNDS):
        for name, function in functions.items():
            start = perf_counter()
            function()
            times[name].append(perf_counter() - start)
    return {name: min(own) for name, own in times.items()}


def pinocchio_loop(paddle, theta, omega, domega, accel):
    """A function that runs Newton-Euler over the states, O at rest, and their roll moments."""
    model = pinocchio.Model()
    joint = model.addJoint(0, pinocchio.JointModelFreeFlyer(), pinocchio.SE3.Identity(), "paddle")
    for mass, centre, inertia in paddle.bodies():
        body = pinocchio.Inertia(mass, centre, inertia)
        model.appendBodyToJoint(joint, body, pinocchio.SE3.Identity())
    model.gravity.linear = np.array([0.0, 0.0, -9.80665])
    data, still = model.createData(), np.zeros_like(theta)
    c, s = np.cos(theta), np.sin(theta)
    in_body = np.stack(
        [accel[:, 0], c * accel[:, 1] + s * accel[:, 2], c * accel[:, 2] - s * accel[:, 1]], axis=1
    )
    place = np.stack([still, still, still, np.sin(theta / 2), still, still, np.cos(theta / 2)], 1)
    rate = np.concatenate([np.zeros_like(omega), omega], axis=1)
    states = list(zip(place, rate, np.concatenate([in_body, domega], axis=1), strict=True))

    def run():
        for q, v, a in states:
            pinocchio.rnea(model, data, q, v, a)

    moments = [pinocchio.rnea(model, data, q, v, a)[3] for q, v, a in states]
    return run, np.array(moments)


def main():
    paddle = load_paddle(data_path("paddles", "mended.toml"))
    rng = np.random.default_rng(0)
    theta = rng.uniform(-np.pi, np.pi, STATES)
    omega, domega, accel = (size * rng.standard_normal((STATES, 3)) for size in (8, 40, 20))
    inputs = (theta, omega, domega, accel)
    copies, total = [np.empty_like(part) for part in inputs], np.empty(STATES)

    def copy():
        for source, target in zip(inputs, copies, strict=True):
            np.copyto(target, source)

    def add():
        for start in range(0, STATES, BLOCK):
            block = slice(start, start + BLOCK)
            np.copyto(total[block], theta[block])
            for part in (omega, domega, accel):
                for column in part[block].T:
                    total[block] += column

    loop, expected = pinocchio_loop(paddle, *(part[:LOOP_STATES] for part in inputs))
    moments = roll_moment(paddle, *inputs)
    np.testing.assert_allclose(moments[:LOOP_STATES], expected, rtol=1e-9, atol=1e-10)
    times = quickest(
        {
            "moment": lambda: roll_moment(paddle, *inputs),
            "copy": copy,
            "add": add,
            "sine": lambda: np.sin(theta),
            "loop": loop,
        }
    )
    per_state = {name: 1e9 * time / STATES for name, time in times.items()}
    per_state["loop"] *= STATES / LOOP_STATES
    print(f"roll moment: {per_state['moment']:.1f} ns a state, {STATES:,} states")
    print(
        f"Pinocchio from a loop: {per_state['loop']:.0f} ns, gain "
        f"{per_state['loop'] / per_state['moment']:.0f} (at least {LEAST_GAIN} expected)"
    )
    for name, what in (("copy", "copying the inputs"), ("add", "adding up the inputs")):
        ratio = per_state["moment"] / per_state[name]
        print(f"{what}: {per_state[name]:.1f} ns, ratio {ratio:.2f} (allowed {ALLOWED_RATIO})")
    print(f"np.sin of the roll angles alone: {per_state['sine']:.1f} ns")


if __name__ == "__main__":
    main()
