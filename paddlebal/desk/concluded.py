"""What an entry's readings come to, as the book lists it and as the next paddle of its model needs
it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any, TypeAlias

import numpy as np

from paddlebal.bench.films import end_seen
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.readings import FilmReadings, LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.book.alike import Alike, Before
from paddlebal.book.book import Book
from paddlebal.desk.entry import (
    BARE,
    Typed,
    bench_from,
    mounted,
    paddle_from,
    readings_from,
)
from paddlebal.desk.films import films_from, films_name
from paddlebal.desk.form import FILMS
from paddlebal.desk.found import Found
from paddlebal.errors import InputError

AnyReadings: TypeAlias = LeverReadings | FilmReadings


EIGHT = tuple(range(0, 360, 45))
"""Gauge angles [degrees] at which a balanced paddle is let go."""


PROVED, ROLLS, MADE, MEASURED, DOUBTED, OPEN = (
    "proved", "rolls", "weight on", "measured", "in doubt", "open",
)  # fmt: skip
"""How far an entry has come."""


SIDE_BY_SIDE = 200
"""Entries that are looked at in one go."""


def fitted(typed: Typed, grid: str = BARE) -> tuple[AnyReadings | None, BenchFit | None]:
    """The readings in a grid, by default of the paddle as it came, and their fit; None if there is
    none."""
    readings: AnyReadings | None
    try:
        if typed.choice("way") == FILMS:
            readings = films_from(typed, films_name(grid))
        else:
            readings = readings_from(typed, grid, bench_from(typed))
        return readings, None if readings is None else fit_bench(readings)
    except InputError:
        return None, None


def conclusion(
    entry: str, number: int, texts: Mapping[str, str], result: Found | None = None
) -> dict[str, Any]:
    """The row that `Book.conclude` takes, of an entry as of a change; result spares a fit."""
    typed = Typed(texts)
    paddle = paddle_from(typed)
    on = mounted(texts)
    if result is not None and not on:
        readings, fit = result.readings, result.fit
    else:
        readings, fit = fitted(typed)
    row: dict[str, Any] = {
        "entry": entry, "concluded": number, "conclusion": None,
        "feather": None if paddle is None else paddle.feather,
        "length": None if paddle is None else paddle.shaft.length,
        "unbalance": None, "direction": None, "verdict": _verdict(texts, on, fit),
    }  # fmt: skip
    if fit is None:
        return row
    size, direction, _size_u, _direction_u = fit.polar
    told: dict[str, Any] = {
        "model": typed.text("model"), "size": typed.text("size"), "doubted": bool(fit.doubts),
        "U": fit.unbalance.tolist(), "C": fit.unbalance_covariance.ravel().tolist(),
        "instrument": typed.text("instrument"),
    }  # fmt: skip
    reference, angle = typed.number("reference"), typed.number("reference_angle")
    if reference is not None:
        told |= {"reference": reference, "reference_angle": angle}
    elif paddle is not None and paddle.faces_known and told["model"] and _sound(readings, fit):
        told["before"] = Before.of(
            told["model"], told["size"], paddle, fit.unbalance, fit.unbalance_covariance
        ).as_plain()
    return row | {
        "unbalance": size, "direction": None if math.isnan(direction) else direction,
        "conclusion": json.dumps(told),
    }  # fmt: skip


def _sound(readings, fit):
    """Whether others may be judged by it: no doubt, and not from a bench that may be mirrored."""
    return not fit.doubts and (
        readings.rest is not None or (isinstance(readings, FilmReadings) and end_seen(readings))
    )


def _verdict(texts, on, fit):
    said = [texts.get(f"proof/{angle}", "") for angle in EIGHT]
    if on and all(each == "stays" for each in said):
        return PROVED
    if on:
        return ROLLS if "rolls" in said else MADE
    if fit is None:
        return OPEN
    return DOUBTED if fit.doubts else MEASURED


def bring_up(book: Book, most: int = SIDE_BY_SIDE) -> int:
    """Look at entries that were changed since; how many are still left."""
    waiting = book.open_ones()
    now = waiting[:most]
    texts = book.texts_of([entry for entry, _number in now])
    book.conclude([conclusion(entry, number, texts[entry]) for entry, number in now])
    return len(waiting) - len(now)


def alike(book: Book, without: str = "") -> Alike:
    """The paddles of the book that were measured without a doubt, but for one entry."""
    return Alike([
        Before.from_plain(told["model"], told["size"], told["before"])
        for entry, told in book.concluded().items()
        if entry != without and "before" in told
    ])  # fmt: skip


def references(book: Book) -> dict[str, list[tuple[str, float, float]]]:
    """Measurements of reference rods by instrument, in their order: when, by how much the unbalance
    was read too large, as a share, and its direction too far round [rad]; nan where not stated."""
    measured = {entry: told for entry, told in book.concluded().items() if "reference" in told}
    found: dict[str, list[tuple[str, float, float]]] = {}
    for each in book.listed(list(measured)):
        told = measured[each.id]
        read = np.array(told["U"])
        size = float(np.hypot(*read)) / told["reference"] - 1
        turned = math.nan
        if told["reference_angle"] is not None:
            turned = math.remainder(
                math.atan2(read[1], read[0]) - told["reference_angle"], math.tau
            )
        found.setdefault(told["instrument"], []).append((each.changed, size, turned))
    return {name: sorted(rows) for name, rows in sorted(found.items())}
