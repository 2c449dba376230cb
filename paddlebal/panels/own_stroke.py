"""The form that brings a logger's record: which column is which, when it was held still, where it
sits."""

from __future__ import annotations

import re
from collections.abc import Callable

import ipywidgets as widgets
import numpy as np

from paddlebal.desk.bring import NOTHING
from paddlebal.desk.logged import (
    ROLES,
    UNITS,
    Logged,
    LoggerTable,
    kind_of,
    logged_from,
    logger_table,
    record_from,
)
from paddlebal.errors import InputError
from paddlebal.files.text import data_path
from paddlebal.logger import LoggerRecord
from paddlebal.panels.canvas import notebook_canvas
from paddlebal.panels.panel import FLOW, ROOM, alert_html, hidden_words, sentence_for
from paddlebal.pictures.motion import RecordPicture
from paddlebal.units import DEG, GRAM, MM

HELD = {
    "level": "level, face toward you [s]",
    "side": "level, face down [s]",
    "upright": "upright, right blade up [s]",
    "turned": "level, face away [s]",
    "moving": "paddling [s]",
}
"""How the paddle is held in each pose, as a form asks it."""


HOW = (
    "<b>When was it held still, and when paddled?</b> In seconds from the start, from and to, "
    "such as 3.8 5.8. Hold the paddle still for two seconds or more in each pose, then paddle; "
    "<i>face</i> is the control blade's power face. <i>Face away</i> may stay empty; with it "
    "a bias of the logger is taken out. Quiet times are proposed, in this order."
)


DEMO = "demo_logger.csv"


WITHOUT, WITH = "of the paddle alone", "of the paddle with the logger on it"


class OwnStrokeForm:
    """Fields for a logger's file; `take` gets the record when it is complete.

    Parameters
    ----------
    take : callable
        take(record); what it raises is told in the form.
    """

    def __init__(self, take: Callable[[LoggerRecord], None]) -> None:
        self._take = take
        self._table: LoggerTable | None = None
        self._logged: Logged | None = None
        self.upload = widgets.FileUpload(
            accept=".csv,.txt,.tsv,.xlsx,.ods", description="Logger's file"
        )
        self.upload.observe(lambda _: self._attempt(self._uploaded), "value")
        demo = self._button("Take the demo record", self._demo)
        self.columns = widgets.VBox()
        asked = widgets.HTML("<b>What does each column hold, and in which unit?</b>")
        self.force = widgets.Dropdown(
            description="lying still it shows",
            options=[("1 g upward", False), ("1 g downward", True)],
            **ROOM,
        )
        self.force.observe(lambda _: self._attempt(self._read), "value")
        self.times = {
            name: widgets.Text(
                description=words, placeholder="from to", continuous_update=False, **ROOM
            )
            for name, words in HELD.items()
        }
        for field in self.times.values():
            field.observe(lambda _: self._attempt(self._shade), "value")
        self.place = {
            "x": self._number("right of mid-shaft [mm]", 0),
            "arm": self._number("off the shaft's axis [mm]", 25),
            "angle": self._number("at the angle [deg]", 0),
            "u": self._number("place known to ± [mm]", 5),
            "mass": self._number("the logger weighs [g]", 0),
        }
        self.counted = widgets.Dropdown(
            description="the torque is", options=[WITHOUT, WITH], **ROOM
        )
        self.picture = RecordPicture()
        self.told = widgets.HTML()
        use = self._button("Use this stroke", self._use)
        self._rest = [
            asked, self.columns, self.force, widgets.HTML(HOW), *self.times.values(),
            hidden_words(self.picture), notebook_canvas(self.picture),
            widgets.HTML("<b>Where the logger sits</b>"), *self.place.values(), self.counted,
            widgets.HBox([use]),
        ]  # fmt: skip
        self._more = widgets.VBox([])
        self.widget = widgets.VBox(
            [widgets.HBox([self.upload, demo], layout=FLOW), self._more, self.told]
        )

    @staticmethod
    def _number(description, value):
        return widgets.FloatText(description=description, value=value, **ROOM)

    def _button(self, description, action):
        button = widgets.Button(description=description, layout={"width": "auto"})
        button.on_click(lambda _: self._attempt(action))
        return button

    def _attempt(self, action):
        self.told.value = ""
        try:
            action()
        except Exception as error:
            self.told.value = alert_html(sentence_for(error))

    def _uploaded(self):
        for file in self.upload.value:
            self._bring(bytes(file.content), file.name)

    def _demo(self):
        path = data_path("strokes", DEMO)
        self._bring(path.read_bytes(), path.name)
        for name, value in (("x", 120.0), ("arm", 30.0), ("angle", 90.0), ("u", 6.0)):
            self.place[name].value = value

    def _bring(self, content, name):
        self._logged = None
        self._table = table = logger_table(content, name)
        self.columns.children = [self._column(each) for each in table.columns]
        self._more.children = self._rest
        self._read(first=True)

    def _column(self, column):
        """A row that asks what a column holds."""
        role = widgets.Dropdown(
            description=f"{column.title[:40]}: {column.cell[:16]}", value=column.role,
            options=[("nothing that is needed", NOTHING), *((r, r) for r in ROLES)],
            style=ROOM["style"], layout={"flex": "0 1 440px", "min_width": "0"},
        )  # fmt: skip
        unit = widgets.Dropdown(
            description="in", options=self._units(column.role), value=column.unit,
            style={"description_width": "30px"}, layout={"width": "150px"},
        )  # fmt: skip

        def changed(change):
            units = self._units(change.new)
            unit.options, unit.value = units, unit.value if unit.value in dict(units) else ""
            self._attempt(self._read)

        role.observe(changed, "value")
        unit.observe(lambda _: self._attempt(self._read), "value")
        return widgets.HBox([role, unit], layout=FLOW)

    @staticmethod
    def _units(role):
        names = UNITS.get(kind_of(role), ())
        return [("unit?" if names else "–", ""), *((name, name) for name in names)]

    def _read(self, first=False):
        """Take the columns as they are answered; a table just brought may still lack answers."""
        if self._table is None:
            return
        answer = [tuple(part.value for part in row.children) for row in self.columns.children]
        self._logged = None
        self.picture.clear()
        self._logged = logged_from(self._table, answer, self.force.value)
        if first or not any(field.value.strip() for field in self.times.values()):
            spans = self._logged.proposed()
            for name, field in self.times.items():
                field.value = "{:.1f} {:.1f}".format(*spans[name]) if name in spans else ""
        self._shade()

    def _when(self):
        return {name: _span(field.value, HELD[name]) for name, field in self.times.items()
                if field.value.strip()}  # fmt: skip

    def _shade(self):
        if self._logged is not None:
            rate, force = (np.linalg.norm(each, axis=1)
                           for each in (self._logged.rate, self._logged.force))  # fmt: skip
            self.picture.update(self._logged.time, rate, force, self._when())

    def _use(self):
        if self._logged is None:
            raise InputError("say first what the columns hold")
        arm, angle = self.place["arm"].value * MM, self.place["angle"].value * DEG
        place = np.array([self.place["x"].value * MM, arm * np.cos(angle), arm * np.sin(angle)])
        if not self.place["u"].value > 0 or self.place["mass"].value < 0:
            raise InputError("expected a ± above 0 mm and a mass of 0 g or more")
        record = record_from(
            self._logged, self._when(), place, self.place["u"].value * MM / 2,
            self.place["mass"].value * GRAM, self.counted.value == WITH,
        )  # fmt: skip
        self._take(record)
        self.told.value = "<p role='status'>The stroke is in the list of strokes above.</p>"


def _span(text, field):
    """From and to in seconds."""
    numbers = [part.replace(",", ".") for part in re.findall(r"\d+(?:[.,]\d+)?", text)]
    if len(numbers) != 2 or not float(numbers[0]) < float(numbers[1]):
        raise InputError("expected two times in seconds, from and to", field=field)
    return float(numbers[0]), float(numbers[1])
