"""Paddles, limits and random vectors for the tests of placing a counterweight."""

import math

import numpy as np
from hypothesis import strategies as st

from paddlebal.limits import Limits
from paddlebal.paddle import Blade, KeepOut, Paddle, Shaft

HANDS = (KeepOut("left hand", -0.43, -0.25), KeepOut("right hand", 0.25, 0.43))


FERRULE = KeepOut("ferrule", -0.045, 0.045)


LIMITS = Limits(mass=(0.0, 0.4), arm=(0.0, 0.06), keep_outs=HANDS)


def blade(side, mass=0.175, offset=0.052, distance=0.93, volume=205e-6):
    x = -distance if side == "left" else distance
    return Blade(mass, x, offset, length=0.5, width=0.163, volume=volume)


def paddle(feather_deg=60.0, left=None, right=None, keep_outs=HANDS, **parts):
    return Paddle(
        name="test",
        shaft=Shaft(mass=0.3, length=1.46, radius=0.0146, volume=900e-6),
        left=left or blade("left"),
        right=right or blade("right"),
        feather=math.radians(feather_deg),
        control="right",
        keep_outs=keep_outs,
        **parts,
    )


def weighted(before, *placements):
    return before.with_counterweights(*(p.counterweight for p in placements))


def vectors(least=1e-4, greatest=0.02):
    polar = st.tuples(st.floats(least, greatest), st.floats(-math.pi, math.pi))
    return polar.map(lambda p: p[0] * np.array([math.cos(p[1]), math.sin(p[1])]))


def within(placement, limits):
    """Whether the whole piece lies in the free shaft, checked end by end."""
    start, stop = placement.x - placement.length / 2, placement.x + placement.length / 2
    inside = limits.x[0] - 1e-9 <= start and stop <= limits.x[1] + 1e-9
    return inside and all(
        stop <= k.start + 1e-9 or start >= k.stop - 1e-9 for k in limits.keep_outs
    )
