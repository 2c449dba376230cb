"""Torque of gravity at a million roll angles, against numpy's sine and against sympy itself.

The parts of a comparison are measured in turns and the quickest run of each counts, the one
that other work on the machine disturbed least.
"""

from time import perf_counter

import numpy as np

from paddlebal import equations, rest_angle, roll_torque
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

ANGLES, ROUNDS, ALLOWED_RATIO, SYMBOLIC_ANGLES, LEAST_GAIN = 1_000_000, 15, 1.5, 100, 1000
U = np.array([0.0142, -0.0082])


def quickest(*functions):
    """Time [s] of the quickest of several runs of each function, taken in turns."""
    times: list[list[float]] = [[] for _ in functions]
    for _ in range(ROUNDS):
        for function, own in zip(functions, times, strict=True):
            start = perf_counter()
            function()
            own.append(perf_counter() - start)
    return [min(own) for own in times]


def main():
    theta = np.random.default_rng(0).uniform(-np.pi, np.pi, ANGLES)
    torque, sine = quickest(lambda: roll_torque(U, theta), lambda: np.sin(theta))
    print(
        f"torque of {ANGLES:,} angles: {1e3 * torque:.1f} ms, np.sin of them {1e3 * sine:.1f} ms, "
        f"ratio {torque / sine:.2f} (allowed {ALLOWED_RATIO})"
    )
    arguments, expression = equations.roll_torque_about_rest()
    fixed = (magnitude(U), rest_angle(U))

    def symbolic():
        for angle in theta[:SYMBOLIC_ANGLES]:
            values = (*fixed, angle, 0.0, STANDARD_GRAVITY)
            expression.subs(dict(zip(arguments, values, strict=True))).evalf()

    (slow,) = quickest(symbolic)
    gain = slow / SYMBOLIC_ANGLES / (torque / ANGLES)
    print(
        f"one angle by subs and evalf: {1e6 * slow / SYMBOLIC_ANGLES:.0f} µs, by the function "
        f"generated from it {1e9 * torque / ANGLES:.1f} ns: {gain:,.0f} times quicker "
        f"(at least {LEAST_GAIN:,} expected)"
    )


if __name__ == "__main__":
    main()
