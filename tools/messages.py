"""Bring the catalogues up to date with the messages in the code: ``messages.py``.

New messages are added without a translation, those that are gone are dropped. A new language is
begun with its code, such as ``messages.py fr``.
"""

import sys
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

PACKAGE = Path(__file__).resolve().parents[1] / "paddlebal"
FOLDER = PACKAGE / "languages"


def messages():
    """A catalogue with every message of the code and the file in which it stands."""
    catalog = Catalog()
    found = extract_from_dir(PACKAGE, [("**.py", "python")], keywords={"_": None, "marked": None})
    for name, _line, message, _comments, _context in sorted(found, key=lambda each: each[:2]):
        catalog.add(message, locations=[(f"paddlebal/{name}", 0)])
    return catalog


def updated(path, catalog):
    """The text of a catalogue with the messages of the code."""
    old = Catalog(locale=path.stem)
    if path.exists():
        with path.open("rb") as stream:
            old = read_po(stream, locale=path.stem)
    old.update(catalog, no_fuzzy_matching=True)
    old.obsolete.clear()
    text = BytesIO()
    write_po(text, old, omit_header=False, width=99, sort_by_file=True, ignore_obsolete=True)
    lines = text.getvalue().decode().splitlines(keepends=True)
    kept = ("Content-Type", "Language", "MIME-Version", "Content-Transfer-Encoding")
    # The head's dates and names differ from run to run and tell nothing.
    start = next(i for i, line in enumerate(lines) if line.startswith("msgid"))
    head_end = next(i for i, line in enumerate(lines) if i > start and not line.strip())
    head = [
        line
        for line in lines[start:head_end]
        if not line.startswith('"') or line.startswith(tuple(f'"{name}:' for name in kept))
    ]
    return "".join([*head, *lines[head_end:]])


def main(codes):
    catalog = messages()
    paths = {*FOLDER.glob("*.po"), *(FOLDER / f"{code}.po" for code in codes)}
    for path in sorted(paths):
        path.write_text(updated(path, catalog), encoding="utf-8")
        print(path.name)


if __name__ == "__main__":
    main(sys.argv[1:])
