"""A live picture: controls, charts of the Vega-Lite kind and numbers, alive without a kernel.

All that moves is an expression in the charts themselves: the page that shows them computes it.
Names that hold from chart to chart are parameters; angles in them are in degrees where the name
ends in `_deg`, lengths in mm where it ends in `_mm`, masses in g where it ends in `_g`; all else
is in SI.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field

import altair as alt

from paddlebal.live.look import CONFIG

WIDTH = 400
"""px of a chart, until its page tells it how wide it is."""


@dataclass(frozen=True)
class Slider:
    """A number to choose; value and step in the unit that its label names."""

    name: str
    label: str
    low: float
    high: float
    step: float
    value: float


@dataclass(frozen=True)
class Choice:
    """A list to choose from; the value is the number of the entry.

    sets, by the name of another control, is the expression that it takes after a choice.
    """

    name: str
    label: str
    entries: tuple[str, ...]
    value: int = 0
    sets: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Button:
    """Sets controls to expressions, by name.

    refusal is an expression of a sentence that says why it cannot, empty where it can.
    """

    label: str
    sets: dict[str, str]
    refusal: str = "''"


@dataclass(frozen=True)
class Track:
    """A button that lets one control run: an angle [deg] under an acceleration.

    acceleration [rad/s²] is an expression of `angle` [rad], `rate` [rad/s] and the parameters
    `names`; the angle starts at rest where the control stands. It runs for `duration` [s].
    """

    label: str
    control: str
    acceleration: str
    names: tuple[str, ...]
    duration: float


@dataclass(frozen=True)
class Grab:
    """A mark to be dragged: it sets controls to expressions of `grab_x` and `grab_y`."""

    mark: str
    chart: int
    sets: dict[str, str]


@dataclass(frozen=True)
class Turn:
    """Dragging a chart turns what it shows: half a turn [deg] across its width or height.

    across and upward are the controls that it sets; the one across goes round and round.
    """

    chart: int
    across: str
    upward: str


@dataclass(frozen=True)
class Series:
    """Rows over a cycle, computed by the page before the charts, and what is summed up of them.

    Row `i` of 0 to `count` stands for the part i / count of the cycle, whose end is its start.
    steps are expressions of `i`, of the parameters `names` and of the steps before; `columns`
    are drawn by views that take part, from the data named 'cycle'. sums give, by the name of a
    parameter, how and of which step: 'mean', 'largest', 'positive' (the mean of what is above
    0), 'rise' (the sum of all rises) or a number, the quantile of that order over the time.

    begins, a row of `share` [%] and columns each, and first, sums by name, are the library's own
    for the controls as they begin: they are shown where no page computes.
    """

    count: int
    names: tuple[str, ...]
    steps: dict[str, str]
    columns: tuple[str, ...]
    sums: dict[str, tuple[str | float, str]]
    begins: list[dict[str, float]]
    first: dict[str, float]

    def spec(self):
        """For the page; the steps as a list, because a stored object forgets its order."""
        return {
            "count": self.count,
            "names": self.names,
            "steps": list(self.steps.items()),
            "columns": self.columns,
            "sums": self.sums,
        }


@dataclass(frozen=True)
class View:
    """One chart of a picture, with the space [px] around it and its height over its width.

    It takes `rows` rows of the picture, or all its columns if it goes `across`, and at most
    `share` of the window's height. If it draws a `cycle`, it is given the picture's series.
    """

    chart: alt.LayerChart
    aspect: float
    left: int = 64
    right: int = 16
    top: int = 80
    bottom: int = 52
    rows: int = 1
    across: bool = False
    share: float = 0.86
    cycle: bool = False

    def spec(self, params):
        """The chart with the picture's parameters, as Vega-Lite."""
        chart = self.chart.configure(**CONFIG).properties(
            width=WIDTH,
            height=WIDTH * self.aspect,
            autosize=alt.AutoSizeParams(type="none"),
            padding={side: getattr(self, side) for side in ("left", "right", "top", "bottom")},
        )
        return chart.to_dict(validate=False) | {"params": params}


@dataclass(frozen=True)
class LivePicture:
    """Charts that share parameters, with their controls and numbers.

    Parameters
    ----------
    shows : str
        What is shown, a sentence for those who cannot see it.
    params : dict of str to expression or value
        In the order in which they build on each other; a text is an expression.
    controls : tuple of Slider or Choice
    views : tuple of View
    numbers : tuple of (str, expression)
        What stands beside the charts, the expression giving a text.
    series : Series, optional
        Its sums are parameters, on which those in `params` may build.
    """

    shows: str
    params: dict[str, object]
    controls: tuple[Slider | Choice, ...]
    views: tuple[View, ...]
    numbers: tuple[tuple[str, str], ...]
    buttons: tuple[Button | Track, ...] = ()
    grabs: tuple[Grab, ...] = ()
    cautions: tuple[str, ...] = ()
    series: Series | None = None
    turn: Turn | None = None

    def values(self):
        """What the controls begin with, by name."""
        return {each.name: each.value for each in self.controls}

    def parameters(self):
        """The parameters of every chart, as Vega-Lite."""
        fixed: dict[str, object] = {**self.values()}
        fixed |= {"grab_x": 0, "grab_y": 0}
        fixed |= self.series.first if self.series else {}
        made = [{"name": name, "value": rounded(value)} for name, value in fixed.items()]
        for name, value in self.params.items():
            kind = "expr" if isinstance(value, str) else "value"
            made.append({"name": name, kind: rounded(value)})
        return made

    def spec(self):
        """All that a page needs to show the picture, ready for JSON."""
        params = self.parameters()
        asked: list[dict[str, str]] = []

        def ask(expression):
            asked.append({"name": f"asked_{len(asked)}", "expr": expression})
            return asked[-1]["name"]

        def asking(part):
            made = asdict(part)
            if "refusal" in made:
                made["refusal"] = ask(made["refusal"])
            if "sets" in made:
                made["sets"] = {name: ask(wanted) for name, wanted in made["sets"].items()}
            return made

        shown = {
            "shows": self.shows,
            "controls": [asking(control) for control in self.controls],
            "buttons": [asking(button) for button in self.buttons],
            "grabs": [asking(grab) for grab in self.grabs],
            "numbers": [[what, ask(text)] for what, text in self.numbers],
            "cautions": list(self.cautions),
            "series": self.series and self.series.spec(),
            "turn": self.turn and asdict(self.turn),
        }
        views = [
            {
                "spec": each.spec(params),
                "aspect": each.aspect,
                "rows": each.rows,
                "across": each.across,
                "share": each.share,
                "cycle": each.cycle,
            }
            for each in self.views
        ]
        views[0]["spec"]["params"] = params + asked
        return shown | {"views": views}


def rounded(value):
    """A number, or all those in lists and dictionaries, to 12 decimals: what is stored does not
    depend on the last bits of one processor."""
    if isinstance(value, float):
        return round(value, 12) + 0.0
    if isinstance(value, dict):
        return {name: rounded(each) for name, each in value.items()}
    return [rounded(each) for each in value] if isinstance(value, list | tuple) else value


def words(expression, form, unit=""):
    """An expression that writes another one as a number with its unit."""
    return f"format({expression}, '{form}') + '{f' {unit}' if unit else ''}'"
