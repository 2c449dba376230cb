"""The workshop's own paddles and benches, for the lists of the lessons: the latest first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from paddlebal.bench.fit import BenchFit
from paddlebal.bench.readings import LeverReadings
from paddlebal.desk.entry import Typed
from paddlebal.desk.found import Found, found
from paddlebal.desk.store import FILE, Store
from paddlebal.errors import InputError
from paddlebal.outside import OutsidePaddle, blade_moments
from paddlebal.paddle import Blade, Paddle, Shaft

MOST = 50
"""Entries that a list offers."""


BLADE_DENSITY = 850.0
"""kg/m³, of a blade whose water was not measured: assumed, near the invented demo blades."""


def own_paddles(folder: str | Path, most: int = MOST) -> list[Paddle]:
    """The desk's paddles as paddles with parts, those changed last first.

    A paddle is among them once its readings give a fit and the desk was told its feather, where
    its face stands, and mass, length and width of a blade. The rest is a model: both blades weigh
    the same but for what the balance point tells, each with its mass midway along it and on the
    line along its back, and what is not in the blades is in the shaft.

    Parameters
    ----------
    folder : str or Path
        The workshop's.
    most : int

    Returns
    -------
    list of Paddle
        Empty where there is no desk yet.
    """
    return [paddle for each in _entries(folder, most) if (paddle := _modelled(*each))]


def own_benches(folder: str | Path, most: int = MOST) -> list[tuple[str, LeverReadings]]:
    """The desk's readings with the name of their paddle, those changed last first.

    Parameters
    ----------
    folder : str or Path
        The workshop's.
    most : int

    Returns
    -------
    list of (str, LeverReadings)
    """
    return [
        (result.paddle.name if result.paddle else "", result.readings)
        for _typed, result in _entries(folder, most)
        if result.readings is not None and result.fit is not None
    ]


def _entries(folder: str | Path, most: int) -> Iterator[tuple[Typed, Found]]:
    """What the entries come to; nothing where there is no file or it cannot be read."""
    if not (Path(folder) / FILE).is_file():
        return
    store = Store(folder)
    try:
        for each in store.entries(most=most):
            texts = store.texts(each.id)
            yield Typed(texts), found(texts)
    except InputError:
        return
    finally:
        store.close()


def _modelled(typed: Typed, result: Found) -> Paddle | None:
    paddle, fit = result.paddle, result.fit
    numbers = [typed.number(name) for name in ("blade_mass", "blade", "blade_width")]
    if paddle is None or fit is None or paddle.counterweights or not paddle.faces_known:
        return None
    if None in numbers or fit.doubts:
        return None
    mass, length, width = (float(number or 0.0) for number in numbers)
    try:
        return _with_blades(paddle, fit, mass, length, width)
    except InputError:  # the blades point the same way, or weigh more than the paddle
        return None


def _with_blades(
    paddle: OutsidePaddle, fit: BenchFit, mass: float, length: float, width: float
) -> Paddle:
    moments = blade_moments(paddle, fit.unbalance, fit.unbalance_covariance)
    x, radius = (paddle.shaft.length - length) / 2, paddle.shaft.diameters[0] / 2
    more = paddle.mass * paddle.balance_point / x / 2  # on the right blade, less on the left
    shaft_mass, shaft_length = paddle.mass - 2 * mass, paddle.shaft.length - 2 * length
    if shaft_mass <= 0 or mass <= abs(more):
        raise InputError("the blades weigh more than the paddle")
    sealed = math.pi * radius**2 * shaft_length
    water = mass / BLADE_DENSITY
    if paddle.volume is not None:
        water = max(0.0, (paddle.volume - sealed) / 2)
    blades = {}
    for side, sign in (("left", -1), ("right", 1)):
        own = mass + sign * more
        moment = moments.control if side == paddle.control else moments.other
        blades[side] = Blade(own, sign * x, moment / own, length, width, water)
    assert paddle.feather is not None
    return Paddle(
        name=f"{paddle.name} (your own, its blades inferred)",
        shaft=Shaft(shaft_mass, shaft_length, radius, sealed),
        left=blades["left"],
        right=blades["right"],
        feather=paddle.feather,
        control=paddle.control,
        keep_outs=tuple(k for k in paddle.keep_outs if "blade" not in k.name),
    )
