"""A long book: search, opening an entry, and the prediction of the next paddle, against limits.

    python benchmarks/book.py

The entries are invented and put in at once; the limits are 50 ms and 200 ms.
"""

import json
import tempfile
import tracemalloc

import numpy as np
import sqlalchemy as sa
from quickest import quickest

from paddlebal.book.alike import Alike
from paddlebal.book.book import Book
from paddlebal.book.invented import invented_paddle, invented_workshop
from paddlebal.book.tables import CHANGE, ENTRY, LATEST, LISTING
from paddlebal.desk.concluded import alike

COUNTS, FIELDS = (10_000,), 40
LIMITS = {"search": 0.05, "sorted by unbalance": 0.05, "open": 0.05, "next paddle": 0.2}


def filled(folder, count):
    """A book with so many entries of 40 texts each."""
    per = 20
    groups = {(f"model {i // 3}", "SML"[i % 3]): per for i in range(count // per)}
    made = invented_workshop(np.random.default_rng(0), groups)
    book = Book(folder)
    with book.writing() as connection:
        for start in range(0, count, 1000):
            part = list(enumerate(made[start : start + 1000], start))
            entries = [f"e{i:06}" for i, _each in part]
            connection.execute(sa.insert(ENTRY), [{"id": e, "made": "2026"} for e in entries])
            rows = [
                {"entry": entry, "time": "2026", "field": f"field {k}", "text": f"{k}",
                 "mark": f"{entry}/{k}", "number": FIELDS * (start + j) + k + 1}
                for j, entry in enumerate(entries) for k in range(FIELDS)
            ]  # fmt: skip
            connection.execute(sa.insert(CHANGE), rows)
            connection.execute(sa.insert(LATEST), [
                {name: row[name] for name in ("entry", "field", "text", "number")} for row in rows
            ])  # fmt: skip
            connection.execute(sa.insert(LISTING), [
                {"entry": entry, "number": FIELDS * (i + 1), "changed": "2026",
                 "words": f"paddle {i} {each.before.model} {each.before.size}".lower(),
                 "name": f"paddle {i}", "model": each.before.model, "size": each.before.size,
                 "unbalance": float(np.hypot(*each.truth)), "concluded": FIELDS * (i + 1),
                 "conclusion": json.dumps({"model": each.before.model, "size": each.before.size,
                                           "before": each.before.as_plain()})}
                for entry, (i, each) in zip(entries, part, strict=True)
            ])  # fmt: skip
    return book


def judge(book, count):
    """Print how long each takes, against its limit."""
    paddle = invented_paddle()
    tracemalloc.start()
    before = alike(book)
    before.predict(paddle, "model 7", "M")
    memory = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    size = book.path.stat().st_size / 1e6
    print(f"{count:,} entries, {size:.0f} MB on the disk, {memory:.0f} MB to predict")
    for name, action in (
        ("search", lambda: book.entries("paddle 77 model")),
        ("sorted by unbalance", lambda: book.entries(order="unbalance")),
        ("open", lambda: book.texts("e000500")),
        ("next paddle", lambda: Alike(before.before).predict(paddle, "model 7", "M")),
        ("all read from the book", lambda: alike(book)),
    ):
        taken = quickest(action)
        limit = LIMITS.get(name)
        told = f", {taken / limit:.2f} of the limit" if limit else ""
        print(f"  {name:24} {1e3 * taken:7.1f} ms{told}")


def main():
    for count in COUNTS:
        with tempfile.TemporaryDirectory() as folder:
            book = filled(folder, count)
            judge(book, count)
            book.close()


if __name__ == "__main__":
    main()
