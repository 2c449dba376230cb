"""A question whose answer is a number: checked by the library, hidden until asked for."""

from __future__ import annotations

import math
import re
from contextlib import suppress
from html import escape

import ipywidgets as widgets

from paddlebal.units import STANDARD_GRAVITY

SLIPS = (
    (-1.0, "The size is right, the sign is not."),
    (2.0, "Half of it: is something counted once that is there twice?"),
    (0.5, "Twice as much: is something counted twice that is there once?"),
    (1e-3, "A thousand times too much: look at the units, such as g and kg or mm and m."),
    (1e3, "A thousand times too little: look at the units, such as g and kg or mm and m."),
    (1e-6, "A million times too much: one g·mm is a millionth of a kg·m."),
    (1e6, "A million times too little: one g·mm is a millionth of a kg·m."),
    (1e-2, "A hundred times too much: is a share asked for, not per cent?"),
    (1e2, "A hundred times too little: is it asked for in per cent?"),
    (math.pi / 180, "Degrees stand where radians belong."),
    (180 / math.pi, "Radians stand where degrees belong."),
    (STANDARD_GRAVITY, "Standard gravity is missing as a factor."),
    (1 / STANDARD_GRAVITY, "Standard gravity is a factor too many."),
)
"""What makes a wrong answer right, and what has then gone wrong."""


def readings(text):
    """The numbers that a text can mean: 1,375 is one thousand or one and a bit."""
    plain = text.strip().replace("\N{MINUS SIGN}", "-")
    forms = [plain.replace(",", ".")]
    if re.fullmatch(r"[-+]?\d{1,3}(,\d{3})+(\.\d+)?", plain):
        forms.append(plain.replace(",", ""))
    values = []
    for form in forms:
        with suppress(ValueError):
            values.append(float(form))
    return values


class Exercise(widgets.VBox):
    """A question with a box for the reader's number and a folded answer.

    Parameters
    ----------
    question : str
        What is asked.
    answer : float
        The number the library computed, in `unit`.
    unit : str
        Shown beside the box; may be empty for a pure number.
    working : str
        How to get there, shown with the answer.
    tolerance : float
        Share of the answer by which the reader may be off; of 1 if the answer is zero.
    """

    def __init__(
        self, question: str, answer: float, unit: str, working: str, tolerance: float = 0.02
    ) -> None:
        self._question, self._unit, self._working = question, unit, working
        self._answer, self._margin = answer, tolerance * (abs(answer) or 1.0)
        self._entry = widgets.Text(
            description="your answer",
            placeholder="a number",
            style={"description_width": "initial"},
            continuous_update=False,
            tooltip=f"Your answer in {unit}" if unit else "Your answer",
            layout=widgets.Layout(width="17em"),
        )
        check = widgets.Button(description="Check")
        self._reply = widgets.HTML()
        check.on_click(self._check)
        self._entry.observe(self._check, names="value")
        row = widgets.HBox([self._entry, widgets.Label(unit), check, self._reply])
        super().__init__(
            [widgets.HTML(self._question_html()), row, widgets.HTML(self._answer_html())]
        )

    def _check(self, _):
        self._reply.value = f'<span role="status">{escape(self.verdict(self._entry.value))}</span>'

    def verdict(self, text: str) -> str:
        """What to tell a reader who typed `text`."""
        values = readings(text.strip().removesuffix(self._unit))
        if not values:
            return "Please type one number, such as 0.15."
        if any(self._is_right(value) for value in values):
            return "Right."
        return f"Not yet. {self._hint(values[0])}"

    def _is_right(self, value):
        return math.isfinite(value) and abs(value - self._answer) <= self._margin

    def _hint(self, value):
        """What the first slip that explains a wrong value has been."""
        if not math.isfinite(value):
            return "The answer is a finite number."
        for factor, hint in SLIPS:
            if self._answer and self._is_right(value * factor):
                return hint
        if value and value * self._answer < 0:
            return "The sign is the other way round, and the size is another too."
        if abs(value - self._answer) <= 5 * self._margin:
            return "Close: keep more digits on the way."
        return "Look at each step again: the working stands behind Answer."

    def _question_html(self):
        return f"<p><b>Exercise.</b> {escape(self._question)}</p>"

    def _answer_html(self):
        number = f"{self._answer:.4g} {self._unit}".strip()
        return (
            f"<details><summary>Answer</summary><p><b>{escape(number)}</b>. "
            f"{escape(self._working)}</p></details>"
        )

    def _repr_mimebundle_(self, **kwargs):
        bundle = super()._repr_mimebundle_(**kwargs)
        bundle["text/plain"] = f"Exercise: {self._question}"
        bundle["text/html"] = self._question_html() + self._answer_html()
        return bundle
