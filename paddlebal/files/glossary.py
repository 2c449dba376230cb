"""The symbols, words and sources of the notebooks, from the tables in which they are kept."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from paddlebal.errors import InputError
from paddlebal.files.published import SOURCE, published_rows, table
from paddlebal.files.text import data_path

SYMBOL = ("latex", "meaning", "unit", "first_notebook", "notebooks", "name")
"""Columns of data/symbols.csv; `name` is the name in the code, or names parted by spaces."""


EQUATIONS = "equations"
"""Stands among the notebooks of a symbol that `paddlebal.equations` uses."""


KINDS = ("ISO", "trade", "as used here", "measuring", "unit", "program")
"""Kinds of words in data/words.csv; ISO stands for the vocabulary of ISO 21940-2."""


def glossary_symbols() -> list[dict[str, Any]]:
    """Rows of data/symbols.csv; `notebooks` as a tuple of numbers such as "03", or EQUATIONS.

    Raises InputError if a row is not complete or its first notebook is not one of its notebooks.

    Returns
    -------
    list of dict
    """
    path = data_path("symbols.csv")
    rows = table(path, SYMBOL)
    for line, row in enumerate(rows, start=2):
        row["notebooks"] = tuple(row["notebooks"].split())
        if row["first_notebook"] not in row["notebooks"]:
            problem = f"is '{row['first_notebook']}', expected one of the row's notebooks"
            raise InputError(problem, file=path, row=line, field="first_notebook")
    return rows


def glossary_words() -> list[dict[str, str]]:
    """Rows of data/words.csv: word, kind, meaning. Raises InputError at a kind not in KINDS.

    Returns
    -------
    list of dict
    """
    path = data_path("words.csv")
    rows = table(path, ("word", "kind", "meaning"))
    for line, row in enumerate(rows, start=2):
        if row["kind"] not in KINDS:
            problem = f"is '{row['kind']}', expected one of {', '.join(KINDS)}"
            raise InputError(problem, file=path, row=line, field="kind")
    return rows


def glossary_sources() -> list[dict[str, str]]:
    """Every work behind data/published, once: its SOURCE columns and the tables that use it.

    Where a work was read in several places or ways, these are joined. A habit of the trade has
    no work and is left out.

    Returns
    -------
    list of dict
    """
    works: dict[tuple[str, ...], dict[str, dict[str, None]]] = {}
    for path in sorted(data_path("published").glob("*.csv")):
        for row in published_rows(path.stem):
            if row["title"] != "-":
                work = works.setdefault((row["authors"], row["year"], row["title"]), {})
                for field, value in (*((name, row[name]) for name in SOURCE), ("table", path.stem)):
                    work.setdefault(field, {})[value] = None
    joined = [
        {field: "; ".join(values) for field, values in work.items()} for work in works.values()
    ]
    return sorted(joined, key=lambda work: (work["authors"], work["year"]))


def markdown_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table of rows of text without bars.

    Parameters
    ----------
    heads : sequence of str
    rows : iterable of sequence of str

    Returns
    -------
    str
    """
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
