"""A question whose answer is a number: checked by the library, hidden until asked for."""

import math
from html import escape

import ipywidgets as widgets


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

    def __init__(self, question, answer, unit, working, tolerance=0.02):
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

    def verdict(self, text):
        """What to tell a reader who typed `text`."""
        try:
            value = float(text.replace(",", ".").replace("\N{MINUS SIGN}", "-"))
        except ValueError:
            return "Please type one number, such as 0.15."
        if math.isfinite(value) and abs(value - self._answer) <= self._margin:
            return "Right."
        return "Not yet. Check the unit and the sign, then try again."

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
