"""The desk: from a paddle in the hand to its fitting sheet, on one page and with no file to type.

The browser draws the form and sends each change; all else is done here. One answer, a page, holds
everything that is shown, so that a page never shows half of a state.
"""

from __future__ import annotations

import datetime
import math
from html import escape
from pathlib import Path
from threading import RLock
from typing import Any

import anywidget
import ipywidgets as widgets
import numpy as np

from paddlebal.bench.doubts import ENOUGH_SPARE
from paddlebal.bench.films import one_swing
from paddlebal.bench.readings import LeverReadings, SwingRecord
from paddlebal.book.alike import CONTRADICT, Alike, polar_of
from paddlebal.book.book import Book, Elsewhere, place_of
from paddlebal.desk import bring
from paddlebal.desk.concluded import EIGHT, alike, bring_up, conclusion
from paddlebal.desk.entry import (
    BARE,
    MOST_ROWS,
    MOST_WEIGHTS,
    Typed,
    mounting,
    row_count,
)
from paddlebal.desk.films import (
    FILMED,
    FILMED_ON,
    RECORD,
    IncomingFilm,
    film_rows,
    films_name,
    swing_of,
    texts_of_film,
    texts_without_film,
)
from paddlebal.desk.form import (
    BOTH,
    CCW,
    CW,
    FILMS,
    LEVER,
    SCALE_UNITS,
    VERTICAL,
    fields,
    film_fields,
    form,
    hidden_fields,
)
from paddlebal.desk.found import Found, found
from paddlebal.desk.pack import packed, stem_of, texts_of_bench, unpacked
from paddlebal.errors import InputError
from paddlebal.files.quantities import COMMA, POINT, quantity
from paddlebal.files.spreadsheet import decode_any, read_cells
from paddlebal.formats.bench import parse_bench
from paddlebal.language import _, languages, speaking, spoken
from paddlebal.limits import weight_cautions
from paddlebal.panels.browser import together
from paddlebal.panels.fitting import fitting_rows
from paddlebal.panels.panel import PanelBox, close_earlier, sentence_for, table
from paddlebal.sheet.bench_form import bench_form
from paddlebal.sheet.desk import EndOn, curves, end_on
from paddlebal.sheet.target import target_page
from paddlebal.trim import trim_words
from paddlebal.units import GRAM, GRAM_MM, STANDARD_GRAVITY, turn_deg

LEAST_ROWS = 4


EXAMPLE = {
    "mass": "700", "length": "2200", "balance": "1100", "shaft": "30", "lever": "300", "step": "2",
}  # fmt: skip
"""A form that is full enough for a plan."""


LONGEST_TEXT, LONGEST_RECORD = 1000, 400_000
"""Characters that are kept of a field, and of a film's angles."""


PDF, TEXT = "application/pdf", "text/plain;charset=utf-8"


class _Page(anywidget.AnyWidget):
    _esm = together("page.js", "desk.js")
    _css = together("desk.css")


def desk_panel(folder: str | Path) -> widgets.VBox:
    """The desk of the workshop whose entries are kept in a folder.

    Parameters
    ----------
    folder : str or Path
        Where the file with all entries lies, or will lie; not used where the environment's
        variable PADDLEBAL_BOOK names the address of a shared book.

    Returns
    -------
    ipywidgets.VBox
    """
    return Desk(Book(place_of(folder))).widget


class Desk:
    """One window's desk on a book.

    Parameters
    ----------
    book : Book
    """

    def __init__(self, book: Book) -> None:
        self.book, self.page = book, _Page()
        self.one_at_a_time = RLock()  # messages may come in threads of their own
        self.language = str(book.answered("language") or "en")
        latest = self._safely(lambda: book.entries(most=1), [])
        wanted = self._safely(lambda: book.answered("open"), None)
        self.entry = wanted or (latest[0].id if latest else book.new())
        if wanted:
            book.remember("open", None)
        self.texts: dict[str, str] = {}
        self.unkept: dict[str, str] = {}
        self.seen, self.kept_at = 0, ""
        self.notices: list[dict[str, Any]] = []
        self.table: bring.Table | None = None
        self.result: tuple[tuple[str, dict[str, str]], Found] | None = None
        self.others: tuple[tuple[str, int], Alike | None] | None = None
        self.concluded = ("", 0)
        self.open: set[str] = set()
        self.incoming: IncomingFilm | None = None
        self.problem = book.problem
        self._load()
        self.page.on_msg(self._message)
        self.widget = PanelBox("desk", [], [self.page])
        close_earlier("desk", self.widget)

    def _message(self, _widget, content, buffers):
        with self.one_at_a_time, speaking(self.language):
            self.handle(content, buffers)

    def handle(self, content: dict[str, Any], buffers: Any = ()) -> None:
        """Do what a message of the browser asks for, and answer it."""
        kind, serial = str(content.get("kind")), content.get("serial", 0)
        try:
            if kind == "beat":
                self._beat(serial)
                return
            if kind not in ("preview", "history", "search", "film part", "film on"):
                self.notices = []
            answer = {
                "edit": lambda: self._keep(content["texts"]),
                "paste": lambda: self._keep(pasted(self._found(), **_pasting(content))),
                "new": lambda: self._choose(self.book.new()),
                "choose": lambda: self._choose(content["entry"]),
                "search": lambda: self._search(content["words"]),
                "language": lambda: self._speak(content["code"]),
                "file": lambda: self._bring(content["name"], bytes(buffers[0])),
                "columns": lambda: self._columns(content["columns"], content["mark"]),
                "no columns": lambda: self._ask(None),
                "mounted": lambda: self._mount(content["mass"]),
                "taken off": lambda: self._keep({f"on/{i}": "" for i in range(MOST_WEIGHTS)}),
                "sheet": self._sheet,
                "form": self._form,
                "files": self._files,
                "preview": lambda: self._unfold("preview", content["open"]),
                "history": lambda: self._unfold("history", content["open"]),
                "film": lambda: self._film(content["name"], int(content["size"])),
                "film part": lambda: self._film_part(bytes(buffers[0])),
                "film on": self._film_on,
                "no film": lambda: self._film_ends(),
                "drop film": lambda: self._keep(
                    texts_without_film(films_name(self._found().grid), int(content["row"]))
                ),
                "open": lambda: None,
            }[kind]
            answer()
        except Exception as error:
            self.notices.append({"words": sentence_for(error)})
            if kind.startswith("film"):
                self._film_ends()
        if kind in ("film", "film part", "film on") and self.incoming is not None:
            return
        if kind == "language":
            with speaking(self.language):
                self._show(serial, whole=True)
        elif kind != "search":
            self._show(serial, whole=kind in ("open", "new", "choose"))
        if kind == "open":  # the equations are compiled now, so that no reading waits for them
            found(EXAMPLE)
            self._safely(lambda: bring_up(self.book), 0)
            self.result = self.others = None

    # What is kept.

    @staticmethod
    def _safely(action, otherwise):
        try:
            return action()
        except InputError:
            return otherwise

    def _load(self):
        """Take what the book holds, and over it what could not be kept."""
        try:
            self.texts = self.book.texts(self.entry) | self.unkept
            self.seen = self.book.last(self.entry)
        except InputError as error:
            self.problem = str(error)

    def _keep(self, texts):
        """Keep texts; what another window changed meanwhile stays as it is there, and is told."""
        plain = {
            str(name): str(text)[: LONGEST_RECORD if _is_record(str(name)) else LONGEST_TEXT]
            for name, text in texts.items()
        }
        plain |= self._proposed(plain)
        wanted = self.unkept | plain
        try:
            self.seen = self.book.put(self.entry, wanted, self.seen)
            self.unkept, self.problem = {}, self.book.problem
            self.kept_at = datetime.datetime.now().strftime("%H:%M:%S")
        except Elsewhere as error:
            self._tell_elsewhere(error, wanted)
            self.unkept = {}
        except InputError as error:
            self.problem = str(error)
            self.unkept = wanted
            self.texts |= wanted
            return
        self._load()

    def _tell_elsewhere(self, error, wanted):
        name = error.field or ""
        label = _label(name)
        mine = wanted[name]
        words = _(
            "‘{field}’ was changed in another window to ‘{theirs}’. Your ‘{mine}’ is not kept."
        )
        self.notices.append(
            {
                "words": words.format(field=label, theirs=error.text, mine=mine),
                "texts": {name: mine},
                "button": _("Take ‘{mine}’").format(mine=mine),
            }
        )

    def _proposed(self, texts):
        """Angles that were proposed for rows into which a pull is typed now."""
        cells = [name.split("/") for name, text in texts.items() if text.strip()]
        waiting = {f"{c[0]}/{c[1]}/angle" for c in cells if c[-1] in ("with", "against")}
        if not waiting - texts.keys():
            return {}
        proposals = self._proposals(self._found())  # only for rows whose angle is still empty
        return {name: proposals[name] for name in waiting - texts.keys() if name in proposals}

    def _beat(self, serial):
        """Say that the desk is alive; show what other windows changed, and keep what was not."""
        told = self.problem
        if self.unkept:
            self._keep({})
        try:
            changed = self.book.last(self.entry) != self.seen
        except InputError as error:
            changed, self.problem = False, str(error)
        if changed:
            self._load()
            self._show(serial)
        elif self.problem != told:
            self._show(serial)
        else:
            self.page.send({"kind": "alive"})

    def _choose(self, entry):
        if self.unkept:
            raise InputError(_("what is not kept yet would be lost: make room, or fetch the files"))
        self.entry, self.table = str(entry), None
        self.kept_at = ""
        self._load()
        self.page.send({"kind": "question", "question": None})

    def _search(self, words):
        listed = self.book.entries(str(words), most=50)
        shown = [(each.id, each.name or _("unnamed paddle"), _day(each.changed)) for each in listed]
        count = self.book.count()
        told = _("{shown} of {count}, the latest first").format(shown=len(shown), count=count)
        self.page.send({"kind": "list", "entries": shown, "words": told})

    def _speak(self, code):
        self.language = str(code) if code in languages() else "en"
        self.book.remember("language", self.language)

    # Files that come and go.

    def _bring(self, name, content):
        ending = Path(name).suffix.lower()
        if ending == ".toml":
            self._keep(unpacked(decode_any(content, name), name))
            return
        if content.lstrip(b"\xef\xbb\xbf").startswith(b"# ") and b"method" in content[:200]:
            self._keep(self._texts_of_bench(parse_bench(decode_any(content, name), name), name))
            return
        self.table = bring.table_of(read_cells(content, name), name)
        self._ask(self.table)

    def _texts_of_bench(self, readings, name):
        under = films_name(self._found().grid)
        if isinstance(readings, SwingRecord):
            texts = {"way": FILMS, "support": readings.support}
            swing = one_swing(readings)
            return texts | texts_of_film(self.texts, under, Path(name).name, swing, readings)
        try:
            return texts_of_bench(self.texts, readings, under)
        except InputError as error:
            raise InputError(error.problem, file=name) from error

    # A film comes in pieces; each answer asks the browser for the next piece or step.

    def _film(self, name, size):
        self._film_ends()
        if self._found().films is None:
            self._keep({"way": FILMS})
        self._film_bench()
        self.incoming = IncomingFilm(Path(str(name)).name[:80], size)
        self._film_tell(self.incoming, 0.0)

    def _film_part(self, piece):
        if self.incoming is not None:
            self.incoming.add(piece)
            self._film_tell(self.incoming, 0.0)

    def _film_on(self):
        film = self.incoming
        if film is None:
            return
        share = film.step()
        if share is not None:
            self._film_tell(film, share)
            return
        support, radius, rate = self._film_bench()
        under = films_name(self._found().grid)
        swing, record = film.swing(support, radius, rate)
        self._keep(texts_of_film(self.texts, under, film.name, swing, record))
        self._film_ends()

    def _film_bench(self):
        """Support, shaft radius [m] and the stated frame rate that a film is read with."""
        typed = Typed(self.texts)
        support, shaft = typed.choice("support"), typed.number("shaft")
        if support == "rails" and shaft is None:
            raise InputError(_("state the shaft's diameter first: on rails it matters"))
        return support, (shaft or 0.03) / 2, typed.number("frame_rate")

    def _film_tell(self, film, share):
        """Show how far a film has come, and ask for its next piece or step."""
        there = film.there < film.size
        share = film.there / film.size if there else share
        words = _("{name}: {share} received") if there else _("{name}: {share} searched")
        words = words.format(name=film.name, share=f"{share:.0%}")
        answer = {"kind": "film", "there": film.there, "more": there}
        self.page.send(answer | {"words": words, "share": share})

    def _film_ends(self):
        if self.incoming is not None:
            self.incoming.close()
            self.incoming = None
            self.page.send({"kind": "film", "words": ""})

    def _without_rows(self):
        return {name: "" for name in self.texts if name.startswith(f"{BARE}/")}

    def _ask(self, table):
        self.table = table
        if table is None:
            self.page.send({"kind": "question", "question": None})
            return
        remembered = self.book.answered(table.question) or {}
        columns = [(each.role, each.unit) for each in table.columns]
        columns = [tuple(each) for each in remembered.get("columns", columns)]
        mark = None
        if table.open_mark:
            mark = {
                "words": _("The decimal mark in these numbers is"),
                "choices": [
                    ("", _("please say")),
                    (COMMA, _("the comma")),
                    (POINT, _("the point")),
                ],
            }
        question = {
            "title": _("Which column is which?"),
            "words": _("{name}: {count} rows. The file itself is not changed.").format(
                name=table.name, count=len(table.rows)
            ),
            "columns": [
                {"title": each.title, "role": role, "unit": unit}
                for each, (role, unit) in zip(table.columns, columns, strict=True)
            ],
            "rows": [list(row) for row in table.rows[:5]],
            "roles": [
                (bring.NOTHING, _("leave out")),
                (bring.ANGLE, _("angle")),
                (bring.WITH, _("turning with")),
                (bring.AGAINST, _("turning against")),
                (bring.PULL, _("pull")),
                (bring.TURNING, _("with or against")),
                (bring.ARM, _("lever")),
            ],
            "units": [("", "–"), *((u, u) for u in ("deg", "rad", "mm", "cm", "in", *SCALE_UNITS))],
            "mark": mark,
        }
        self.page.send({"kind": "question", "question": question})

    def _columns(self, answer, mark):
        if self.table is None:
            return
        pairs = [(str(role), str(unit)) for role, unit in answer]
        texts = bring.texts_from(self.table, pairs, mark, self._found().unit)
        self.book.remember(self.table.question, {"columns": pairs})
        self._keep(self._without_rows() | {"way": LEVER} | texts)
        self._ask(None)

    def _fitting(self):
        result = self._found()
        if result.fitting is None:
            raise InputError(_("there is no counterweight yet"))
        return result, result.fitting

    def _made(self):
        return self._fitting()[1].sheet(datetime.date.today())

    def _sheet(self):
        self._hand([(f"{self._stem()}.pdf", PDF, self._made().pdf())])

    def _form(self):
        result = self._found()
        if result.films is not None:
            shaft = Typed(self.texts).number("shaft")
            if shaft is None:
                raise InputError(_("state the shaft's diameter first"))
            self._hand([(f"{self._stem()}_target.pdf", PDF, target_page(shaft))])
            return
        if result.bench is None:
            raise InputError(_("state the lever and the scale's steps first"))
        plan = result.plan
        angles = sorted(result.gauge(roll) for roll in (plan.angles if plan else ()))
        pdf = bench_form(
            self.texts.get("name") or "", angles, result.unit, abs(float(result.bench.arm[0])),
            plan.weight if plan else 0.0, result.bench.pull_direction != VERTICAL,
        )  # fmt: skip
        self._hand([(f"{self._stem()}_form.pdf", PDF, pdf)])

    def _files(self):
        if not any(text.strip() for text in self.texts.values()):
            raise InputError(_("there is nothing to hand over yet"))
        files = packed(self.texts, self._found())
        self._hand([(name, TEXT, text.encode()) for name, text in files.items()])

    def _stem(self):
        return stem_of(self.texts.get("name", ""))

    def _hand(self, files):
        named = [(name, kind) for name, kind, _content in files]
        self.page.send(
            {"kind": "file", "files": named}, buffers=[content for _name, _kind, content in files]
        )

    def _mount(self, mass):
        _result, fitting = self._fitting()
        grams = quantity(str(mass), "g", "kg")
        if not 0 < grams < 10:
            raise InputError(_("expected the grams of the weight that is on"))
        weights = []
        for piece in fitting.pieces:
            first, *others = piece.counterweights
            weights += [type(first)(grams, first.arm, first.angle, first.x, first.density), *others]
        self._keep({f"on/{i}": mounting(weight) for i, weight in enumerate(weights)})

    def _unfold(self, name, is_open):
        self.open = self.open | {name} if is_open else self.open - {name}

    # What is shown.

    def _found(self) -> Found:
        """What the texts come to; computed once for all that one message asks."""
        state = spoken(), dict(self.texts)
        if self.result is None or self.result[0] != state:
            self.result = state, found(self.texts, self._alike())
        return self.result[1]

    def _alike(self):
        """The paddles before, read anew where another entry was changed."""
        if not self.texts.get("model", "").strip():
            return None
        now = self.entry, self._safely(lambda: self.book.newest(without=self.entry), 0)
        if self.others is None or self.others[0] != now:
            self.others = now, self._safely(lambda: alike(self.book, self.entry), None)
        return self.others[1]

    def _conclude(self, result):
        """Keep in the book what the readings come to now."""
        now = self.entry, self.seen
        if self.concluded != now and self.seen and not self.unkept:
            row = conclusion(self.entry, self.seen, self.texts, result)
            self._safely(lambda: self.book.conclude([row]), None)
            self.concluded = now

    def _proposals(self, result):
        """Texts of the angles still to read, by the cell that waits for them."""
        grid, proposed = result.grid, list(result.proposed)
        texts, row = {}, 0
        while proposed and row < MOST_ROWS:
            name = f"{grid}/{row}/angle"
            if not self.texts.get(name, "").strip():
                texts[name] = f"{result.gauge(proposed.pop(0)):g}"
            row += 1
        return texts

    def _show(self, serial, whole=False):
        result = self._found()
        self._conclude(result)
        proposals = self._proposals(result)
        rows = (
            0
            if result.films is not None
            else max(
                row_count(self.texts, result.grid) + 2,  # the next one is there before an answer is
                LEAST_ROWS,
                *(int(name.split("/")[1]) + 1 for name in proposals),
            )
        )
        both = self.texts.get("turns") == BOTH
        page = {
            "kind": "page",
            "serial": serial,
            "texts": {each.name: each.preset for each in fields().values()}
            | {name: text for name, text in self.texts.items() if not _is_record(name)},
            "troubles": {each.name: _sentence(each.problem) for each in result.troubles},
            "kept": self._kept(),
            "notices": self.notices,
            "grid": result.grid,
            "grid_kind": f"{result.grid} {both} {spoken()} {self.entry}",
            "caption": _("With the weight on") if result.grid == "fitted" else "",
            "columns": _columns(result, both),
            "rows": min(rows, MOST_ROWS),
            "proposed": proposals,
            "unit": result.unit,
            "hidden": hidden_fields(
                self.texts.get("way", LEVER), self.texts.get("pull", VERTICAL) != VERTICAL
            ),
            "films": self._films(result),
            "form": _("Blank bench form (PDF)")
            if result.films is None
            else _("Target to print and film (PDF)"),
            "next": next_words(result),
            "verdict": verdict_html(result),
            "pictures": self._pictures(result),
            "numbers": table(fitting_rows(result.fitting, result.material))
            if result.fitting
            else "",
            "on": self._on(result),
            "sheet": result.fitting is not None,
            "preview": self._preview(result),
            "history": self._history(),
        }
        if whole:
            page |= {
                "parts": [_part(each) for each in form()],
                "words": words(),
                "languages": list(languages().items()),
                "language": self.language,
            }
        self.page.send(page)

    def _kept(self):
        if self.problem:
            lost = _("What is typed now is lost when the page is closed.")
            return {"ok": False, "words": f"{self.problem} {lost}"}
        if not self.texts:
            return {"ok": True, "words": _("A new entry: it is kept from the first number on.")}
        when = f" ({self.kept_at})" if self.kept_at else ""
        return {"ok": True, "words": _("All is kept in the workshop's folder.") + when}

    def _films(self, result):
        """The films as the page shows them; None where a lever is used."""
        if result.films is None:
            return None
        under = films_name(result.grid)

        def asked(row):
            """What is asked of a film; of the bare paddle neither arm nor angle."""
            bare = not self.texts.get(f"{under}/{row}/mass", "").strip()
            for field in film_fields():
                if not bare or field.name in ("mass", "end"):
                    yield _asked(field) | {"name": f"{under}/{row}/{field.name}", "optional": False}

        return [
            {
                "row": row,
                "name": self.texts.get(f"{under}/{row}/name", ""),
                "words": _film_words(self.texts[f"{under}/{row}/swing"]),
                "fields": list(asked(row)),
            }
            for row in film_rows(self.texts, under)
        ]

    def _pictures(self, result):
        paddle, bench = result.paddle, result.bench
        both = self.texts.get("turns") == BOTH
        turns = -1.0 if self.texts.get("turns") == CW else 1.0
        backs = None
        if paddle is not None and paddle.faces_known:
            backs = {side: paddle.blade_angle(side) for side in ("left", "right")}
        fitting, readings = result.fitting, result.readings
        shown = EndOn(
            sense=result.sense,
            turns=None if both or result.films is not None else turns,
            read=tuple(sorted(set(readings.roll.tolist())))
            if isinstance(readings, LeverReadings)
            else (),
            following=result.proposed[0] if result.proposed else None,
            rest=bench.rest if bench is not None else getattr(readings, "rest", None),
            backs=backs,
            control=self.texts.get("control", "right"),
            fit=result.fit,
            pieces=fitting.pieces if fitting and fitting.trim is None else (),
            before=result.before,
        )
        drawn = end_on(shown).svg
        if result.fit is not None and isinstance(readings, LeverReadings):
            drawn += curves(readings, result.fit, result.sense).svg
        return drawn

    def _on(self, result):
        fitting = result.fitting
        if result.grid == "bare":
            if fitting is None or fitting.trim is not None:
                return None
            return {
                "stage": "planned",
                "title": _("When the weight is made and fitted"),
                "words": _("Weigh it, fasten it as the sheet says, then press the button."),
                "mass": f"{fitting.pieces[0].mass / GRAM:.0f}",
            }
        names = [(f"proof/{angle}", f"{angle}°") for angle in EIGHT]
        said = [self.texts.get(name, "") for name, _angle in names]
        result_words = ""
        if all(each == "stays" for each in said):
            result_words = _("It stays at all eight angles: the paddle is balanced.")
        elif "rolls" in said:
            result_words = _(
                "It rolls at some angles. Read the bench again in the table above, with the weight "
                "on: then it is said here what to change."
            )
        choices = [("", "–"), ("stays", _("stays")), ("rolls", _("rolls"))]
        return {
            "stage": "on",
            "title": _("The weight is on"),
            "words": _("Let the paddle go at eight angles of the mark, without a lever."),
            "eight": _("It stays or rolls at"),
            "angles": [(name, angle, choices) for name, angle in names],
            "result": result_words,
        }

    def _preview(self, result):
        if "preview" not in self.open or result.fitting is None:
            return ""
        try:
            return self._made().html()
        except InputError as error:
            return f"<p>{escape(str(error))}</p>"

    def _history(self):
        if "history" not in self.open:
            return ""
        changes = self._safely(lambda: self.book.history(self.entry, 200), [])
        rows = [
            (
                f"{_moment(each.time)} {_label(each.field)}",
                _("{count} frames").format(count=each.text.count("\n") + 1)
                if _is_record(each.field) and each.text
                else each.text or "–",
            )
            for each in changes
        ]
        return table(rows)


def _is_record(name):
    return name.endswith(f"/{RECORD}")


def _sentence(problem):
    return f"{problem[:1].upper()}{problem[1:]}."


def _pasting(content):
    return {name: content[name] for name in ("row", "column", "text")}


def pasted(result: Found, row: int, column: str, text: str) -> dict[str, str]:
    """The cells of a block copied from a spreadsheet, from a cell on to the right and down."""
    names = ["angle", "with", "against"]
    start = names.index(column)
    cells = {}
    for down, line in enumerate(text.strip("\r\n").splitlines()[:MOST_ROWS]):
        separator = "\t" if "\t" in line else ";"
        for name, cell in zip(names[start:], line.split(separator), strict=False):
            cells[f"{result.grid}/{row + down}/{name}"] = cell.strip()
    return cells


def _columns(result, both):
    sides = [(CCW, _("counterclockwise")), (CW, _("clockwise"))]
    turns = [{"name": "turns", "label": _("pull turns it"), "choices": sides}] if both else []
    return [
        {"name": "angle", "label": _("angle") + " [°]"},
        *turns,
        {"name": "with", "label": _("turning with") + f" [{result.unit}]"},
        {"name": "against", "label": _("turning against") + f" [{result.unit}]"},
    ]


def _part(part):
    shown = [_asked(field) for field in part.fields]
    return {"title": part.title, "folded": part.folded, "fields": shown}


def _asked(field):
    """A field as the page draws it."""
    names = ("name", "label", "unit", "kind", "optional", "choices", "help")
    return {name: getattr(field, name) for name in names}


def _film_words(text):
    """What a film says, in short."""
    swing = swing_of(text)
    if swing is None:
        return ""
    period = 2 * math.pi / math.sqrt(swing.stiffness)
    plumb = _("plumb line in view") if math.isfinite(swing.plumb_u) else _("no plumb line")
    return _("period {period:.3f} s, comes to rest at {rest:.1f}°, {plumb}").format(
        period=period, rest=turn_deg(swing.rest - swing.plumb), plumb=plumb
    )


def _label(name):
    """What a field or a cell is called."""
    known = fields()
    if name in known:
        return known[name].label
    grid, *rest = name.split("/")
    columns = {"angle": _("angle"), "with": _("turning with"), "against": _("turning against")}
    if len(rest) == 2 and grid in (FILMED, FILMED_ON):
        of_film = {
            "name": _("name"), "swing": _("swing"), "told": _("doubts"), RECORD: _("angles"),
        }  # fmt: skip
        of_film |= {field.name: field.label for field in film_fields()}
        number = int(rest[0]) + 1 if rest[0].isdigit() else rest[0]
        return _("film {number}, {field}").format(
            number=number, field=of_film.get(rest[1], rest[1])
        )
    if len(rest) == 2 and rest[0].isdigit():
        row = int(rest[0]) + 1
        column = columns.get(rest[1], _("pull turns it"))
        return _("row {row}, {column}").format(row=row, column=column)
    return {"on": _("the weight that is on"), "proof": _("let go at")}.get(grid, name)


def _day(time):
    return time[:10]


def _moment(time):
    return datetime.datetime.fromisoformat(time).astimezone().strftime("%Y-%m-%d %H:%M:%S")


def words() -> dict[str, str]:
    """What stands on the page beside the form."""
    return {
        "new": _("New paddle"),
        "search": _("find a paddle"),
        "bring": _("Bring a file …"),
        "film": _("Bring a film …"),
        "drop": _("Take this film out"),
        "stop": _("Stop"),
        "language": _("language"),
        "readings": _("The readings"),
        "hint": _(
            "Enter goes to the next pull, arrows up and down. A block copied from a spreadsheet "
            "can be pasted. A grey angle is a proposal: it is taken when a pull is typed beside it."
        ),
        "unknown": _("not known"),
        "sheet": _("Fitting sheet (PDF)"),
        "files": _("Paddle and bench file"),
        "preview": _("The sheet on this page"),
        "history": _("All changes"),
        "print": _("Print"),
        "dead": _(
            "The desk does not answer: what is typed now would not be kept, so nothing can be "
            "typed. Load the page anew; what was kept is there again."
        ),
        "keeping": _("Being kept …"),
        "cell": _("row {row}, {column}"),
        "mounted": _("The weight is on:"),
        "grams": _("grams of the weight that is on"),
        "off": _("The weight is off again"),
        "means": _("what it holds"),
        "unit": _("unit"),
        "use": _("Use these readings"),
        "leave": _("Leave it"),
    }


def next_words(result: Found) -> str:
    """What to do next, as HTML."""
    angle = f"{result.gauge(result.proposed[0]):g}°" if result.proposed else ""
    missing = "; ".join(each.label for each in result.missing)
    plan = result.plan
    if result.troubles:
        names = "; ".join(dict.fromkeys(_label(each.name) for each in result.troubles))
        words = _("To correct: {fields}.").format(fields=names)
    elif result.enough:
        words = _("It is enough: nothing more needs to be read.")
    elif result.films is not None and not missing:
        words = _film_next(result)
    elif missing:
        words = _("Still to state: {fields}.").format(fields=missing)
    elif result.fit is not None and result.fit.spare >= ENOUGH_SPARE and _doubts(result):
        words = _("Settle the doubt first.")
    elif angle:
        words = _("Next: turn the mark to {angle} and read the scale twice.").format(angle=angle)
    else:
        words = _("All planned angles are read.")
    if plan is not None and result.readings is None and not missing:
        chance = f"{min(plan.probability, 0.99):.0%}"
        sentence = (
            _("{count} angles should do: a weight made by them stays with {chance}.")
            if plan.settles
            else _("With {count} angles a weight made by them stays with {chance} only.")
        )
        words += " " + sentence.format(count=plan.angles.size, chance=chance)
        if result.advice:
            ways = "; ".join(f"{way.words} ({way.probability:.0%})" for way in result.advice)
            words += " " + _("Better first: {ways}.").format(ways=ways)
    if plan is not None and plan.weight and result.readings is None:
        grams = math.ceil(plan.weight / STANDARD_GRAVITY / 0.01) * 10
        words += " " + _(
            "Hang some {grams} g on the lever's end for all readings, so that the scale stays "
            "pulled; the weight needs no number."
        ).format(grams=grams)
    if result.fitting is not None:
        words = f"{words} {result.fitting.remedy}"
    return escape(words)


def _film_next(result):
    """Which film comes next."""
    if result.films == 0:
        return _(
            "Next: print the target, put the disc on, hang the strip, film the bare paddle and "
            "bring the film."
        )
    if result.films == 1:
        return _(
            "Next: put a known mass on, some 100 g on 60 mm and neither near the mark nor "
            "opposite it, film again and bring that film too."
        )
    if result.best is None:
        return _("State beside each film what was on the paddle.")
    more = _("One more film tells most with the known mass at {angle:.0f}°.").format(
        angle=result.gauge(result.best)
    )
    return f"{_('Settle the doubt first.')} {more}" if _doubts(result) else more


def before_words(result: Found) -> tuple[str, ...]:
    """What the paddles of its model before say, in sentences."""
    before = result.before
    if before is None:
        asked = result.paddle is None or not result.paddle.faces_known
        return (
            _(
                "{count} paddles of this model were measured before: what they say of this one "
                "appears once mass, balance, feather and the face by a level are stated."
            ).format(count=result.of_model),
        ) if result.of_model and asked else ()  # fmt: skip
    size, direction, size_u = polar_of(before)
    told = _(
        "By {count} paddles of this model and size before: {size:.0f} ± {size_u:.0f} g·mm at "
        "{angle:.0f}°."
    ) if before.count else _(
        "By {of_model} paddles of this model in other sizes: {size:.0f} ± {size_u:.0f} g·mm at "
        "{angle:.0f}°."
    )  # fmt: skip
    sentences = [
        told.format(
            count=before.count, of_model=before.of_model, size=size / GRAM_MM,
            size_u=2 * size_u / GRAM_MM, angle=result.gauge(direction),
        )
    ]  # fmt: skip
    if result.readings is None:
        sentences.append(
            _(
                "That would ask for {mass:.0f} ± {mass_u:.0f} g on {arm:.0f} mm at {angle:.0f}°. "
                "Make none by that alone: read the bench."
            ).format(
                mass=size / result.arm / GRAM, mass_u=2 * size_u / result.arm / GRAM,
                arm=1e3 * result.arm, angle=result.gauge(direction + math.pi),
            )
        )  # fmt: skip
    if before.loose:
        sentences.append(
            _(
                "This model varies so much that each paddle must be measured as if it were "
                "the first."
            )
        )
    if result.agreement is not None and result.agreement < CONTRADICT:
        sentences.append(
            _(
                "The readings contradict them: so far off by chance in {share} of cases. They are "
                "not counted in; look at mark, feather, face and model."
            ).format(share="< 0.1 %" if result.agreement < 1e-3 else f"{result.agreement:.1%}")
        )
    elif result.fitting is not None and result.fitting.before is not None:
        sentences.append(
            _(
                "The weight is placed by these and the readings together, to ± {joint:.0f} g·mm "
                "(they agree with {share:.0%}); whether it stays is said by the readings alone."
            ).format(
                share=result.agreement or 0.0,
                joint=2 * _joint_u(result) / GRAM_MM,
            )
        )
    return tuple(sentences)


def _joint_u(result):
    """Standard uncertainty of the unbalance's size by readings and the paddles before together."""
    fit = result.fit
    mean, joint = result.before.combined(fit.unbalance, fit.unbalance_covariance)
    way = mean / np.hypot(*mean)
    return math.sqrt(way @ joint @ way)


def _doubts(result):
    source = result.fitting or result.fit
    return source.doubts if source else ()


def verdict_html(result: Found) -> str:
    """The answer in short, doubts first, as HTML."""
    lines = []
    fitting, fit = result.fitting, result.fit
    lines += [f'<p class="doubt">{escape(each)}</p>' for each in _doubts(result)]
    size_class = "" if _doubts(result) else "big"
    if result.problem and (fit is not None or not result.proposed):
        lines.append(f"<p>{escape(result.problem)}</p>")
    if fit is not None:
        size, direction, size_u, direction_u = fit.polar
        words = _("Unbalance {size:.0f} ± {size_u:.0f} g·mm at {angle:.0f}°").format(
            size=size / GRAM_MM, size_u=2 * size_u / GRAM_MM, angle=result.gauge(direction)
        )
        lines.append(f'<p class="{size_class}">{escape(words)}</p>')
    lines += [f"<p>{escape(each)}</p>" for each in before_words(result)]
    if fitting is not None:
        verdict = _("With the counterweight: {forecast}").format(forecast=fitting.forecast)
        if fitting.trim is not None:
            lines.append(
                f'<p class="{size_class}">{escape(trim_words(fitting.paddle, fitting.trim))}</p>'
            )
        else:
            piece = fitting.pieces[0]
            weight = _("Counterweight {mass:.0f} g, {arm:.0f} mm from the axis").format(
                mass=piece.mass / GRAM, arm=1e3 * piece.arm
            )
            lines.append(f'<p class="{size_class}">{escape(weight)}</p>')
        lines.append(f"<p>{escape(verdict)}</p>")
        cautions = weight_cautions(fitting.pieces[0].density)
        items = "".join(f"<li>{escape(each)}</li>" for each in cautions)
        lines.append(
            f"<details><summary>{escape(_('Take care'))}</summary><ul>{items}</ul></details>"
        )
    if not lines:
        lines.append(f"<p>{escape(_('No result yet: it appears with the readings.'))}</p>")
    return "".join(lines)
