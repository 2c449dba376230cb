"""The workshop's own paddles and benches, for the lists of the lessons: the latest first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

from paddlebal.bench.readings import LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.book.book import FILE, Book, place_of
from paddlebal.desk.concluded import fitted
from paddlebal.desk.entry import (
    Typed,
    grid_of,
    mounted,
    paddle_from,
)
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
    return [paddle for typed in _entries(folder, most) if (paddle := _modelled(typed))]


def own_benches(folder: str | Path, most: int = MOST) -> list[tuple[str, LeverReadings]]:
    """The desk's lever readings with the name of their paddle, those changed last first.

    Parameters
    ----------
    folder : str or Path
        The workshop's.
    most : int

    Returns
    -------
    list of (str, LeverReadings)
    """
    benches = []
    for typed in _entries(folder, most):
        readings, fit = fitted(typed, grid_of(typed.texts))
        if isinstance(readings, LeverReadings) and fit is not None:
            paddle = paddle_from(typed)
            benches.append((paddle.name if paddle else "", readings))
    return benches


def _entries(folder: str | Path, most: int) -> Iterator[Typed]:
    """The entries as they were typed; nothing where there is no file or it cannot be read."""
    place = place_of(folder)
    if place == folder and not (Path(folder) / FILE).is_file():
        return
    book = Book(place)
    try:
        for each in book.entries(most=most):
            yield Typed(book.texts(each.id))
    except InputError:
        return
    finally:
        book.close()


def _modelled(typed: Typed) -> Paddle | None:
    paddle = paddle_from(typed)
    numbers = [typed.number(name) for name in ("blade_mass", "blade", "blade_width")]
    if paddle is None or mounted(typed.texts) or not paddle.faces_known or None in numbers:
        return None
    _readings, fit = fitted(typed, grid_of(typed.texts))
    if fit is None or fit.doubts:
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
