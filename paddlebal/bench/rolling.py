"""A paddle let go on rollers: it swings about its rest and friction brings it to a stop."""

import numpy as np
from scipy.integrate import solve_ivp

from paddlebal.compiled import numeric
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import STANDARD_GRAVITY

DRY_FRICTION = 0.003
"""N·m; chosen for display, not measured."""


VISCOUS_FRICTION = 0.002
"""N·m·s; chosen for display, not measured."""


FADE = 0.01
"""rad/s over which dry friction fades in."""


def roll_down(U, I_x, start, times, dry=DRY_FRICTION, viscous=VISCOUS_FRICTION):
    """Roll angles [rad] of a paddle let go at rest from the angle `start`.

    Parameters
    ----------
    U : array_like (2,)
        Unbalance vector [kg·m].
    I_x : float
        Moment of inertia about the shaft's axis [kg·m²].
    start : float
        rad.
    times : ndarray (n,)
        From zero upwards [s].
    dry, viscous : float
        Friction moment [N·m] against the motion and moment per rate of roll [N·m·s]. Dry
        friction fades in over the first 0.01 rad/s.

    Returns
    -------
    ndarray (n,)
        It stays at `start` where gravity's torque does not exceed the dry friction.
    """
    size = float(magnitude(U))
    if size == 0 or STANDARD_GRAVITY * size * abs(np.sin(start - rest_angle(U))) <= dry:
        return np.full(len(times), float(start))
    rest = rest_angle(U)
    free = numeric("fixed_axis_acceleration")

    def motion(_, state):
        angle, rate = state
        friction = dry * np.tanh(rate / FADE) + viscous * rate
        return rate, free(angle, rate, size, I_x, STANDARD_GRAVITY) - friction / I_x

    swing = solve_ivp(
        motion,
        (times[0], times[-1]),
        (start - rest, 0.0),
        method="LSODA",
        t_eval=times,
        rtol=1e-6,
        atol=1e-8,
    )
    return swing.y[0] + rest
