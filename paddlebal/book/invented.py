"""An invented workshop: paddles of models and sizes as a simulated bench measures them.

For lessons and tests; nothing of it was measured. Half the sum and half the difference of a
paddle's blade moments are drawn from normal distributions: of its model, of its size within the
model, and its own; the difference varies less. The bench adds an error to the unbalance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from paddlebal.arrays import Array
from paddlebal.book.alike import Before, bisector
from paddlebal.outside import OutsidePaddle, OutsideShaft
from paddlebal.units import DEG, GRAM_MM

USUAL = 9000 * GRAM_MM
"""kg·m: half the sum of the blades' moments about which models lie."""


@dataclass(frozen=True, eq=False)
class Invented:
    """An invented paddle: its true unbalance (2,) [kg·m], and what the bench says of it."""

    paddle: OutsidePaddle
    truth: Array
    before: Before


def blade_sum(paddle: OutsidePaddle, s: float, d: float) -> Array:
    """The unbalance (2,) [kg·m] of two blades, s + d on the control blade and s - d on the
    other, each along its back."""
    along, turn = bisector(paddle)
    angles = np.array([along + turn, along - turn])
    return (np.array([s + d, s - d]) * [np.cos(angles), np.sin(angles)]).sum(axis=1)


def invented_paddle(
    feather_deg: float = 60.0, face_deg: float = -10.0, control: str = "right"
) -> OutsidePaddle:
    """A paddle to be measured, known from outside.

    Parameters
    ----------
    feather_deg, face_deg : float
        Feather, and the gauge's angle at which the control blade's face is plumb [degrees].
    control : str
        'right' or 'left'.

    Returns
    -------
    OutsidePaddle
    """
    return OutsidePaddle(
        name="invented", mass=0.68, shaft=OutsideShaft(2.1, (0.029, 0.029)), balance_point=0.0,
        control="left" if control == "left" else "right", feather=feather_deg * DEG,
        face=face_deg * DEG,
    )  # fmt: skip


def invented_workshop(
    rng: np.random.Generator,
    counts: Mapping[tuple[str, str], int],
    tight: float = 150 * GRAM_MM,
    sizes: float = 250 * GRAM_MM,
    models: float = 800 * GRAM_MM,
    bench: float = 60 * GRAM_MM,
    spread: Mapping[str, float] | None = None,
    feather_deg: float = 60.0,
) -> list[Invented]:
    """Paddles by model and size, with so many of each.

    Parameters
    ----------
    rng : numpy.random.Generator
    counts : mapping of (str, str) to int
        How many of each model and size.
    tight, sizes, models : float
        Standard deviations of paddles within a size, of sizes within a model, and of models
        [kg·m].
    bench : float
        Standard uncertainty of the bench, of each component [kg·m].
    spread : mapping of str to float, optional
        In place of `tight` for these models [kg·m].
    feather_deg : float
        Of all paddles [degrees].

    Returns
    -------
    list of Invented
    """
    of_model: dict[str, Array] = {}
    made = []
    for (model, size), count in counts.items():
        if model not in of_model:
            of_model[model] = models * rng.standard_normal(2) * [1, 0.2]
        of_size = sizes * rng.standard_normal(2) * [1, 0.2]
        own = (spread or {}).get(model, tight)
        for _each in range(count):
            s, d = of_model[model] + of_size + own * rng.standard_normal(2) * [1, 0.5]
            paddle = invented_paddle(feather_deg)
            truth = blade_sum(paddle, USUAL + s, d)
            read = truth + bench * rng.standard_normal(2)
            before = Before.of(model, size, paddle, read, bench**2 * np.eye(2))
            made.append(Invented(paddle, truth, before))
    return made
