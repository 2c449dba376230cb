"""The book's page: find, sort and compare paddles, look at models and at the bench, take out and
bring in."""

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

from paddlebal.book.book import ORDERS, Book, Listed, place_of
from paddlebal.book.chart import control_chart
from paddlebal.book.exchange import Merged, backup, erase_person, people, restore
from paddlebal.desk.concluded import (
    DOUBTED,
    MADE,
    MEASURED,
    OPEN,
    PROVED,
    ROLLS,
    alike,
    bring_up,
    references,
)
from paddlebal.desk.found import found
from paddlebal.desk.listed import as_csv, as_workbook, heads, rows, table
from paddlebal.desk.pack import entries_from, packed
from paddlebal.errors import InputError
from paddlebal.language import _, languages, speaking
from paddlebal.panels.browser import together
from paddlebal.panels.panel import PanelBox, close_earlier, sentence_for
from paddlebal.sheet.book import Dot, by_feather, by_model, reference_chart
from paddlebal.units import DEG, GRAM_MM, MM, turn_deg

AT_ONCE = 25
"""Entries that a page of the list shows."""


MOST_COMPARED = 6


MOST_DRAWN = 600
"""Paddles that a picture shows, the latest."""


SAME = (
    "model", "size", "length", "shaft", "across", "control", "feather", "blade", "blade_width",
    "left_hand", "right_hand", "ferrule", "way", "support", "pull", "lever", "turns", "unit",
    "step", "angle_step", "plumb", "lever_step", "gain", "sense", "material", "arm", "reach",
    "pieces", "holder", "holder_arm", "instrument", "by",
)  # fmt: skip
"""Fields that the next paddle of a model starts with."""


class _Page(anywidget.AnyWidget):
    _esm = together("page.js", "book.js")
    _css = together("desk.css", "book.css")


def book_panel(folder: str | Path) -> widgets.VBox:
    """The book of the workshop whose entries are kept in a folder.

    Parameters
    ----------
    folder : str or Path
        Where the file with all entries lies; not used where the environment's variable
        PADDLEBAL_BOOK names the address of a shared book.

    Returns
    -------
    ipywidgets.VBox
    """
    return BookPage(Book(place_of(folder))).widget


class BookPage:
    """One window on a book.

    Parameters
    ----------
    book : Book
    """

    def __init__(self, book: Book) -> None:
        self.book, self.page = book, _Page()
        self.one_at_a_time = RLock()
        self.language = str(book.answered("language") or "en")
        self.words, self.order, self.falling, self.start = "", "changed", True, 0
        self.ticked: list[str] = []
        self.picture = "model"
        self.told = book.problem
        self.shown: dict[str, Any] = {}
        self.page.on_msg(self._message)
        self.widget = PanelBox("book", [], [self.page])
        close_earlier("book", self.widget)

    def _message(self, _widget, content, buffers):
        with self.one_at_a_time, speaking(self.language):
            self.handle(content, buffers)

    def handle(self, content: dict[str, Any], buffers: Any = ()) -> None:
        """Do what a message of the browser asks for, and answer it."""
        kind = str(content.get("kind"))
        self.told = self.book.problem
        try:
            {
                "open": lambda: self._bring_up(),
                "search": lambda: self._search(str(content["words"])),
                "sort": lambda: self._sort(str(content["order"])),
                "turn": lambda: self._turn(int(content["by"])),
                "tick": lambda: self._tick(str(content["entry"]), bool(content["on"])),
                "untick": lambda: self.ticked.clear(),
                "picture": lambda: setattr(self, "picture", str(content["name"])),
                "desk": lambda: self._desk(str(content["entry"])),
                "next": lambda: self._next(str(content["entry"])),
                "table": lambda: self._table(str(content["form"]), bool(content["people"])),
                "files": lambda: self._files(bool(content["people"])),
                "backup": self._backup,
                "bring": lambda: self._bring(content["names"], buffers),
                "erase": lambda: self._erase(str(content["name"])),
                "language": lambda: self._speak(str(content["code"])),
            }[kind]()
        except Exception as error:
            self.told = sentence_for(error)
        with speaking(self.language):
            self._show(whole=kind in ("open", "language"))

    # What is asked for.

    def _bring_up(self):
        left = bring_up(self.book)
        while left:
            self.page.send(
                {"kind": "busy", "words": _("{count} still to look at").format(count=left)}
            )
            left = bring_up(self.book)

    def _search(self, words):
        self.words, self.start = words[:200], 0

    def _sort(self, order):
        if order not in ORDERS:
            return
        self.falling = not self.falling if order == self.order else order == "changed"
        self.order, self.start = order, 0

    def _turn(self, by):
        self.start = max(0, self.start + AT_ONCE * (1 if by > 0 else -1))

    def _tick(self, entry, on):
        self.ticked = [each for each in self.ticked if each != entry] + ([entry] if on else [])

    def _desk(self, entry):
        self.book.remember("open", entry)
        self.page.send({"kind": "go"})

    def _next(self, entry):
        texts = self.book.texts(entry)
        if not texts.get("model", "").strip():
            raise InputError(_("this paddle has no model: give it one on the desk first"))
        new = self.book.new()
        self.book.put(new, {name: texts[name] for name in SAME if texts.get(name, "").strip()})
        self._desk(new)

    def _table(self, form, with_people):
        head, body = table(self.book, self.words, with_people)
        stem = f"book-{datetime.date.today()}"
        if form == "xlsx":
            kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
            self._hand([(f"{stem}.xlsx", kind, as_workbook(head, body))])
        else:
            comma = form == "csv comma"
            self._hand([(f"{stem}.csv", "text/csv;charset=utf-8", as_csv(head, body, comma))])

    def _files(self, with_people):
        if not self.ticked:
            raise InputError(_("tick the paddles first"))
        used: set[str] = set()
        files = []
        for entry in self.ticked:
            texts = self.book.texts(entry)
            for name, text in packed(texts, found(texts), with_people, used).items():
                files.append((name, "text/plain;charset=utf-8", text.encode()))
        self._hand(files)

    def _backup(self):
        name = f"workshop-{datetime.date.today()}.sqlite"
        self._hand([(name, "application/octet-stream", backup(self.book))])

    def _bring(self, names, buffers):
        """Take in a backup, or paddle and bench files."""
        given = [(Path(str(n)).name, bytes(b)) for n, b in zip(names, buffers, strict=True)]
        told = []
        copies = [each for each in given if each[1].startswith(b"SQLite format 3")]
        for name, content in copies:
            told.append(_merged_words(restore(self.book, content, name)))
        files = [each for each in given if each not in copies]
        entries, problems = entries_from(files)
        for texts in entries:
            self.book.put(self.book.new(), texts)
        if files:
            told.append(_("{count} paddles taken in.").format(count=len(entries)))
        self.told = " ".join([*told, *problems])
        self._bring_up()

    def _erase(self, name):
        count = erase_person(self.book, name)
        self.shown.clear()
        self.told = _("The name was taken out of {count} entries and their history.").format(
            count=count
        )

    def _speak(self, code):
        self.language = code if code in languages() else "en"
        self.book.remember("language", self.language)

    def _hand(self, files):
        named = [(name, kind) for name, kind, _content in files]
        self.page.send(
            {"kind": "file", "files": named}, buffers=[content for _name, _kind, content in files]
        )

    # What is shown.

    def _show(self, whole):
        frame: dict[str, Any] = {"kind": "page"}
        if whole:
            self.shown.clear()
            frame |= {
                "labels": labels(), "languages": list(languages().items()),
                "language": self.language,
            }  # fmt: skip
        try:
            page = self._list()
            if whole:  # the list first, what takes longer after it
                self.page.send(frame | page)
                frame = {"kind": "page"}
            page |= self._beside()
        except InputError as error:
            page = {"told": str(error)}
        self.page.send(frame | page)

    def _list(self):
        """The list as it is asked for."""
        count = self.book.count(self.words)
        self.start = min(self.start, max(0, (count - 1) // AT_ONCE * AT_ONCE))
        listed = self.book.entries(self.words, AT_ONCE, self.order, self.falling, self.start)
        told = _("{first}–{last} of {count}").format(
            first=min(self.start + 1, count), last=self.start + len(listed), count=count
        )
        return {
            "told": self.told, "count": told, "order": self.order, "falling": self.falling,
            "first": self.start == 0, "last": self.start + AT_ONCE >= count,
            "rows": [self._row(each) for each in listed],
            "ticked": len(self.ticked), "picture": self.picture, "words": self.words,
        }  # fmt: skip

    def _beside(self):
        """What stands beside the list, as far as it has changed."""
        newest, ticked = self.book.newest(), tuple(self.ticked)
        return {
            **self._changed("compared", (newest, ticked), self._compared),
            **self._changed("drawn", (newest, ticked, self.words, self.picture), self._drawn),
            **self._changed("models", newest, self._models),
            **self._changed("people", newest, lambda: people(self.book)),
        }

    def _changed(self, name, state, make):
        """A part of the page, if what it shows has changed since it was sent."""
        if name in self.shown and self.shown[name] == state:
            return {}
        self.shown[name] = state
        return {name: make()}

    def _row(self, each: Listed) -> dict[str, Any]:
        return {
            "entry": each.id, "ticked": each.id in self.ticked,
            "cells": [
                each.name or _("unnamed paddle"), each.model, each.size,
                "" if each.feather is None else f"{math.degrees(each.feather):.0f}°",
                "" if each.length is None else f"{each.length / MM:.0f} mm",
                "" if each.unbalance is None else f"{each.unbalance / GRAM_MM:,.0f} g·mm",
                "" if each.direction is None else f"{turn_deg(each.direction):.0f}°",
                state_words(each.verdict), each.changed[:10],
            ],
        }  # fmt: skip

    def _compared(self):
        if len(self.ticked) < 2:
            return ""
        body = list(rows(self.book, self.book.listed(self.ticked[-MOST_COMPARED:])))
        lines = []
        for head, *cells in zip(heads(), *body, strict=True):
            shown = [state_words(c) if head == _("state") else _plain(c) for c in cells]
            if any(shown):
                tag = "".join(f"<td>{escape(each)}</td>" for each in shown)
                lines.append(f'<tr><th scope="row">{escape(head)}</th>{tag}</tr>')
        return f"<table>{''.join(lines)}</table>"

    def _drawn(self):
        if self.picture == "bench":
            return self._charts()
        listed = self.book.entries(self.words, most=MOST_DRAWN)
        dots = [
            Dot(each.model, each.unbalance, each.feather, each.id in self.ticked)
            for each in listed if each.unbalance is not None
        ]  # fmt: skip
        if not dots:
            return f"<p>{escape(_('No paddle of these is measured yet.'))}</p>"
        return (by_feather if self.picture == "feather" else by_model)(dots).svg

    def _charts(self):
        told = references(self.book)
        if not told:
            words = _(
                "No reference rod was measured yet. Make one: a rod with a weight on a known arm, "
                "balanced but for that. Measure it on the desk now and then, with its known "
                "unbalance stated under ‘For the book’."
            )
            return f"<p>{escape(words)}</p>"
        drawn = ""
        for name, measured in told.items():
            title = name or _("bench without a name")
            for column, factor, unit in ((1, 100.0, "%"), (2, 1 / DEG, "°")):
                values = [each[column] for each in measured]
                if not np.all(np.isfinite(values)):
                    continue
                what = _("size") if column == 1 else _("direction")
                try:
                    chart = control_chart(values)
                except InputError as error:
                    drawn += f"<p>{escape(f'{title}, {what}: {error}')}</p>"
                    continue
                if chart.warns:
                    words = _(
                        "{title}: the last reference is off in {what}. Something has moved: check "
                        "scale, lever and gauge before the next paddle."
                    ).format(title=title, what=what)
                    drawn += f'<p class="doubt">{escape(words)}</p>'
                drawn += reference_chart(f"{title}, {what}", chart, unit, factor).svg
                steps = _("{title}, {what}, step from one to the next").format(
                    title=title, what=what
                )
                drawn += reference_chart(steps, chart.spread, unit, factor).svg
        return drawn

    def _models(self):
        before = alike(self.book)
        return [
            {"model": model, "size": size, "count": count,
             "words": _guess_words(before, model, size)}
            for model, size, count in before.groups()
        ]  # fmt: skip


def _guess_words(before, model, size):
    """What the next paddle of a group would have, at the feather that is usual there."""
    turn = before.usual_turn(model, size)
    parts = [
        (share * half.mean, share**2 * half.variance)
        for share, half in (
            (2 * math.cos(turn), before.half("s", model, size)),
            (2 * math.sin(turn), before.half("d", model, size)),
        )
        if half is not None
    ]
    if not parts:
        return _("too few paddles to say")
    mean = math.hypot(*(value for value, _variance in parts))
    variance = sum(value**2 * each for value, each in parts) / max(mean**2, 1e-30)
    words = _("the next one {mean:.0f} ± {spread:.0f} g·mm").format(
        mean=mean / GRAM_MM, spread=2 * math.sqrt(variance) / GRAM_MM
    )
    if before.is_loose(model, size):
        words += "; " + _("varies so much that each must be measured as if it were the first")
    return words


def _merged_words(done: Merged) -> str:
    words = _("{entries} entries and {changes} changes taken over.").format(
        entries=done.entries, changes=done.changes
    )
    if done.conflicts:
        listed = "; ".join(
            f"{each.name or '–'}, {each.field}: ‘{each.here}’ / ‘{each.there}’"
            for each in done.conflicts[:10]
        )
        words += " " + _(
            "{count} were changed in both; the later text counts, both are in the history: "
            "{listed}."
        ).format(count=len(done.conflicts), listed=listed)
    return words


def _plain(value):
    if value is None:
        return ""
    return f"{value:,.4g}" if isinstance(value, float) else str(value)


def state_words(verdict: str | None) -> str:
    """How far an entry has come, in words."""
    return {
        PROVED: _("stays at eight angles"), ROLLS: _("rolls at some"), MADE: _("weight is on"),
        MEASURED: _("measured"), DOUBTED: _("in doubt"), OPEN: _("not measured yet"),
    }.get(verdict or "", "")  # fmt: skip


def labels() -> dict[str, Any]:
    """What stands on the page."""
    return {
        "search": _("find paddles"),
        "heads": [
            ("name", _("name")), ("model", _("model")), ("size", _("size")),
            ("feather", _("feather")), ("length", _("length")), ("unbalance", _("unbalance")),
            ("direction", _("direction")), ("verdict", _("state")), ("changed", _("last changed")),
        ],
        "tick": _("tick {name}"),
        "desk": _("open on the desk"),
        "next": _("Next paddle of this model"),
        "compare": _("Side by side"),
        "compare_hint": _("Tick two paddles or more to see them side by side."),
        "untick": _("Untick all"),
        "ticked": _("{count} ticked"),
        "back": _("Back"), "on": _("On"),
        "pictures": _("Pictures"),
        "kinds": [
            ("model", _("unbalance by model")), ("feather", _("unbalance by feather")),
            ("bench", _("is the bench still right?")),
        ],
        "models": _("Models"),
        "only": _("show these only"),
        "models_hint": _("What is measured without a doubt, by model and size."),
        "columns": [_("model"), _("size"), _("paddles"), _("what they say")],
        "out": _("Take out"),
        "people": _("with names of persons"),
        "csv": _("Table (CSV)"), "comma": _("Table (CSV, decimal comma)"),
        "xlsx": _("Table (XLSX)"), "files": _("Files of the ticked ones"),
        "backup": _("Backup of the whole book, names included"),
        "in": _("Bring in"),
        "bring": _("Backup, paddle and bench files …"),
        "bring_hint": _("Nothing is replaced: what is not there yet is added."),
        "person": _("A person's name"),
        "erase": _("Take it out of the book and its history"),
        "sure": _("This cannot be undone. Take the name ‘{name}’ out?"),
        "language": _("language"),
        "dead": _("The book does not answer. Load the page anew."),
        "empty": _("No paddle yet: measure one on the desk, or bring files in."),
    }  # fmt: skip
