"""Simulated workshops: paddles of models and sizes, their true unbalance, and what a bench read."""

import math
from dataclasses import dataclass, replace

import numpy as np

from paddlebal.book.alike import Before, bisector
from paddlebal.outside import OutsidePaddle
from paddlebal.paddle import Shaft
from paddlebal.units import DEG, GRAM_MM


def outside(feather_deg=60.0, face_deg=-10.0, control="right"):
    shaft = Shaft(0.3, 2.1, 0.0145, 0.0)
    return OutsidePaddle(
        name="simulated", mass=0.68, shaft=shaft, balance_point=0.0, control=control,
        feather=feather_deg * DEG, face=face_deg * DEG,
    )  # fmt: skip


@dataclass(frozen=True)
class Made:
    """A paddle with its true unbalance [kg·m] and what was measured of it."""

    paddle: OutsidePaddle
    truth: np.ndarray
    before: Before


def unbalance_of(paddle, s, d):
    """The exact vector sum of two blades with moments s + d (control) and s - d."""
    along, turn = bisector(paddle)
    angles = np.array([along + turn, along - turn])
    return (np.array([s + d, s - d]) * [np.cos(angles), np.sin(angles)]).sum(axis=1)


def workshop(rng, counts, tight=150.0, sizes=250.0, models=800.0, bench=60.0, spread=None,
             feather_deg=60.0):  # fmt: skip
    """Paddles by (model, size) with so many of each; standard deviations in g·mm.

    spread: of paddles by model, in place of `tight` for all.
    """
    of_model = {}
    made = []
    for (model, size), count in counts.items():
        if model not in of_model:
            of_model[model] = rng.normal(0, models, 2) * GRAM_MM * [1, 0.2]
        of_size = rng.normal(0, sizes, 2) * GRAM_MM * [1, 0.2]
        own = (spread or {}).get(model, tight)
        for _each in range(count):
            s, d = of_model[model] + of_size + rng.normal(0, own, 2) * GRAM_MM * [1, 0.5]
            paddle = outside(feather_deg)
            truth = unbalance_of(paddle, 9000 * GRAM_MM + s, d)
            covariance = (bench * GRAM_MM) ** 2 * np.eye(2)
            read = truth + bench * GRAM_MM * rng.standard_normal(2)
            before = Before.of(model, size, paddle, read, covariance)
            made.append(Made(paddle, truth, before))
    return made


def at_feather(paddle, feather_deg):
    return replace(paddle, feather=math.radians(feather_deg))
