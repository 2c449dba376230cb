"""`paddlebal book`: the workshop's book from the command line."""

from pathlib import Path

from paddlebal.commands.options import refuse_existing
from paddlebal.errors import InputError


def add(commands):
    """Add the command to those of the parser."""
    book = commands.add_parser("book", help="list, take in, copy and merge the workshop's book")
    actions = book.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, words, arguments in (
        ("list", "entries that hold all these words", ("words",)),
        (
            "take",
            "bench files of a folder with the paddles that they name, and other paddles there",
            ("folder",),
        ),
        ("files", "paddle and bench files of entries, into --out", ("words", "out")),
        ("table", "the book as .csv or .xlsx, into --out", ("words", "out")),
        ("backup", "a copy of the whole book, names of persons included, into --out", ("out",)),
        ("merge", "take over what another book holds: a file, a folder or an address", ("other",)),
        ("erase", "take the name of a person out of the book and its history", ("name",)),
    ):
        own = actions.add_parser(name, help=words)
        own.add_argument("--book", default=".", metavar="PLACE",
                         help="the workshop's folder, or a server's address")  # fmt: skip
        if "words" in arguments:
            own.add_argument("words", nargs="*", metavar="WORD")
        for each in ("folder", "other", "name"):
            if each in arguments:
                own.add_argument(each, metavar=each.upper())
        if "out" in arguments:
            own.add_argument("--out", required=True, metavar="PATH")
            own.add_argument("--overwrite", action="store_true", help="replace what is there")
        if name in ("files", "table"):
            own.add_argument("--with-people", action="store_true",
                             help="names of persons go with it")  # fmt: skip
        if name == "table":
            own.add_argument("--decimal-comma", action="store_true",
                             help="decimal commas between semicolons")  # fmt: skip


def run(given):
    """Do what was asked, and say in a line what was done."""
    from paddlebal.book.book import Book
    from paddlebal.desk.concluded import bring_up

    book = Book(given.book)
    if book.problem:
        raise InputError(book.problem)
    try:
        while bring_up(book):
            pass
        return {
            "list": _list, "take": _take, "files": _files, "table": _table, "backup": _backup,
            "merge": _merge, "erase": _erase,
        }[given.action](book, given)  # fmt: skip
    finally:
        book.close()


def _list(book, given):
    from paddlebal.units import GRAM_MM

    found = book.entries(" ".join(given.words), most=1000)
    for each in found:
        size = "" if each.unbalance is None else f"{each.unbalance / GRAM_MM:.0f} g·mm"
        print(f"{each.name:28} {each.model:16} {each.size:8} {size:>12}  {each.verdict or ''}")
    print(f"{len(found)} of {book.count()} entries")
    return 0


def _take(book, given):
    import sys

    from paddlebal.desk.pack import entries_in

    if not Path(given.folder).is_dir():
        raise InputError("is no folder, expected one with bench files", file=given.folder)
    entries, problems = entries_in(given.folder)
    for texts in entries:
        book.put(book.new(), texts)
    for each in problems:
        print(each, file=sys.stderr)
    bad = f", {len(problems)} could not be read" if problems else ""
    print(f"{len(entries)} taken into the book{bad}")
    return int(bool(problems))


def _files(book, given):
    from paddlebal.desk.found import found
    from paddlebal.desk.pack import packed
    from paddlebal.files.saving import write_text

    folder = Path(given.out)
    folder.mkdir(parents=True, exist_ok=True)
    count = 0
    used: set[str] = set()
    for each in book.entries(" ".join(given.words), most=1_000_000):
        texts = book.texts(each.id)
        for name, text in packed(texts, found(texts), given.with_people, used).items():
            write_text(folder / name, text, given.overwrite)
            count += 1
    print(f"{count} files written")
    return 0


def _table(book, given):
    from paddlebal.desk.listed import as_csv, as_workbook, table
    from paddlebal.files.saving import write_bytes

    refuse_existing(given)
    head, body = table(book, " ".join(given.words), given.with_people)
    ending = Path(given.out).suffix.lower()
    if ending not in (".csv", ".xlsx"):
        raise InputError("expected a name that ends with .csv or .xlsx", file=given.out)
    made = as_workbook(head, body) if ending == ".xlsx" else as_csv(head, body, given.decimal_comma)
    write_bytes(given.out, made, given.overwrite)
    print(f"{len(body)} entries written")
    return 0


def _backup(book, given):
    from paddlebal.book.exchange import backup
    from paddlebal.files.saving import write_bytes

    refuse_existing(given)
    write_bytes(given.out, backup(book), given.overwrite)
    print(f"{book.count()} entries copied")
    return 0


def _merge(book, given):
    from paddlebal.book.book import Book
    from paddlebal.book.exchange import merge, restore

    path = Path(given.other)
    if "://" not in given.other and path.is_file():
        done = restore(book, path.read_bytes(), path.name)
    else:
        other = Book(given.other)
        if other.problem:
            raise InputError(other.problem)
        done = merge(book, other)
        other.close()
    for each in done.conflicts:
        print(f"{each.name or each.entry}, {each.field}: '{each.here}' here, '{each.there}' there")
    print(
        f"{done.entries} entries and {done.changes} changes taken over, "
        f"{len(done.conflicts)} conflicts: the later text counts, both are in the history"
    )
    return 0


def _erase(book, given):
    from paddlebal.book.exchange import erase_person

    print(f"taken out of {erase_person(book, given.name)} entries")
    return 0
