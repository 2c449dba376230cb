"""An entry as files, and back without loss: a paddle file and a bench file, for other hands and
programs, with every text as it was typed in a table `book` of the paddle file."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import tomli_w

from paddlebal.bench.readings import FilmReadings, LeverReadings
from paddlebal.book.exchange import PEOPLE
from paddlebal.desk.entry import (
    BARE,
    Typed,
    bench_from,
    paddle_from,
    readings_from,
    texts_of,
    texts_of_readings,
)
from paddlebal.desk.films import (
    FILMED,
    film_rows,
    films_from,
    texts_of_films,
    texts_without_film,
)
from paddlebal.desk.form import LEVER
from paddlebal.desk.found import Found
from paddlebal.errors import InputError
from paddlebal.files.text import data_files
from paddlebal.formats.bench import films_text, lever_text, read_bench
from paddlebal.formats.paddle import load_any_paddle, paddle_text, parse_paddle
from paddlebal.language import _
from paddlebal.outside import OutsidePaddle, from_outside
from paddlebal.paddle import Paddle
from paddlebal.pipeline import paddle_file

TABLE = "book"


def stem_of(name: str) -> str:
    """A file's name without its ending, made of an entry's name."""
    plain = "".join(letter if letter.isalnum() else "_" for letter in name.strip().lower())
    return plain[:40].strip("_") or "paddle"


def packed(
    texts: Mapping[str, str],
    result: Found,
    with_people: bool = False,
    used: set[str] | None = None,
) -> dict[str, str]:
    """Files by name that hold an entry.

    with_people: whether the names of persons go with it. used: beginnings of names that are taken;
    that of this entry is added.
    """
    stem = first = stem_of(texts.get("name", ""))
    taken, number = set() if used is None else used, 1
    while stem in taken:
        number += 1
        stem = f"{first}_{number}"
    taken.add(stem)
    kept = {
        name: text for name, text in sorted(texts.items())
        if text and (with_people or name not in PEOPLE)
    }  # fmt: skip
    head = "" if result.paddle is None else paddle_text(result.paddle) + "\n"
    files = {f"{stem}.toml": head + tomli_w.dumps({TABLE: kept})}
    if isinstance(result.readings, LeverReadings):
        files[f"{stem}_lever.csv"] = lever_text(result.readings, f"{stem}.toml")
    if isinstance(result.readings, FilmReadings):
        films = replace(result.readings, paddle=f"{stem}.toml")
        files[f"{stem}_films.csv"] = films_text(films)
    return files


def unpacked(text: str, file: str | Path | None = None) -> dict[str, str]:
    """The texts of an entry in a paddle file; what the file's own fields say otherwise counts.

    Raises
    ------
    InputError
        If it is no paddle file, or of a paddle with known parts.
    """
    kept = _book_of(text, file)
    if kept and set(tomllib.loads(text)) == {TABLE}:
        return kept
    paddle = parse_paddle(text, file)
    if not isinstance(paddle, OutsidePaddle):
        raise InputError(
            _("is of a paddle with known parts; the desk takes what is known from outside"),
            file=file,
        )
    if kept and _same_paddle(paddle_from(Typed(kept)), paddle):
        return kept
    return kept | texts_of(paddle)


def _book_of(text, file):
    try:
        kept = tomllib.loads(text).get(TABLE, {})
    except (ValueError, RecursionError):
        return {}  # told by the one who reads the paddle
    if not isinstance(kept, dict) or not all(isinstance(each, str) for each in kept.values()):
        raise InputError(_("expected a table of texts"), file=file, field=TABLE)
    return kept


def _same_paddle(ours, theirs):
    """Whether both are written alike, the weights that are on left out."""
    if ours is None:
        return False
    plain = [
        paddle_text(replace(each.without_counterweights(), note="", face_u=0.0))
        for each in (ours, theirs)
    ]
    return plain[0] == plain[1]


def texts_of_bench(
    texts: Mapping[str, str], readings: object, under: str = FILMED
) -> dict[str, str]:
    """What readings of a bench file change in an entry, nothing if it holds them already.

    under: where films stand.

    Raises
    ------
    InputError
        If they are neither lever readings nor films.
    """
    if isinstance(readings, LeverReadings):
        typed = Typed(texts)
        ours = readings_from(typed, BARE, bench_from(typed))
        if ours is not None and _same(ours, readings, ("roll", "arm", "pull", "turning")):
            return {}
        gone = {name: "" for name in texts if name.startswith(f"{BARE}/")}
        return gone | {"way": LEVER} | texts_of_readings(readings)
    if isinstance(readings, FilmReadings):
        films = films_from(Typed(texts), under)
        if films is not None and _same(films, readings, ("stiffness", "rest_roll", "mass", "arm")):
            return {}
        without = [texts_without_film(under, row) for row in film_rows(texts, under)]
        gone = {name: text for each in without for name, text in each.items()}
        return gone | texts_of_films(readings, under)
    raise InputError(_("holds neither lever readings nor filmed swings"))


def _same(ours, theirs, columns):
    """Whether readings are the same to the digits with which they are written."""
    pairs = [(getattr(ours, each), getattr(theirs, each)) for each in columns]
    return all(a.shape == b.shape and np.allclose(a, b, rtol=1e-5, atol=1e-7) for a, b in pairs)


def entries_from(
    files: Sequence[tuple[str, bytes]],
) -> tuple[list[dict[str, str]], list[str]]:
    """As `entries_in`, of files by their plain name and content."""
    with tempfile.TemporaryDirectory(prefix="paddlebal-") as folder:
        for name, content in files:
            (Path(folder) / name).write_bytes(content)
        entries, problems = entries_in(folder)
    return entries, [each.replace(f"{folder}/", "") for each in problems]


def entries_in(folder: str | Path) -> tuple[list[dict[str, str]], list[str]]:
    """Texts of the entries in a folder: its bench files with the paddles that they name, then the
    paddle files that none of them names; and what is wrong with others, in sentences."""
    entries, problems, named = [], [], set()
    for path in data_files(folder, ".csv", ".xlsx", ".ods", ".toml"):
        if path.suffix.lower() == ".toml":
            continue
        try:
            entries.append(entry_from_files(path))
            named.add(paddle_file(path, read_bench(path).paddle))
        except InputError as error:
            problems.append(str(error))
    for path in data_files(folder, ".toml"):
        if path.resolve() not in named:
            try:
                entries.append(unpacked(path.read_text(encoding="utf-8"), path))
            except (InputError, UnicodeDecodeError) as error:
                problems.append(str(error))
    return entries, problems


def entry_from_files(bench: str | Path) -> dict[str, str]:
    """The texts of an entry from a bench file and the paddle file that it names.

    Raises
    ------
    InputError
        As for the two files.
    """
    readings = read_bench(bench)
    path = paddle_file(bench, readings.paddle)
    text = path.read_text(encoding="utf-8")
    paddle = load_any_paddle(path)
    if isinstance(paddle, Paddle):
        texts = _book_of(text, path) | texts_of(from_outside(paddle))
    else:
        texts = unpacked(text, path)
    return texts | texts_of_bench(texts, readings)
