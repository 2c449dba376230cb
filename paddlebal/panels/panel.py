"""Slider panels for the notebooks: controls bound to pictures; no physics of their own.

While a slider is dragged, the browser holds back every value but the latest until the kernel
has dealt with the one before, so nothing queues here and the last value always arrives.
"""

from __future__ import annotations

import io
import logging
from base64 import b64encode
from contextlib import contextmanager
from html import escape

import ipywidgets as widgets
import numpy as np

from paddlebal.errors import InputError
from paddlebal.panels.canvas import notebook_canvas
from paddlebal.panels.spoken import Spoken
from paddlebal.pictures.picture import Picture
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM

log = logging.getLogger(__name__)


ROOM = {
    "style": {"description_width": "205px"},
    "layout": {"width": "auto", "max_width": "560px"},
}
"""For a control and its words."""


STYLE = """<style>
.paddlebal { --jp-widgets-font-size: 15px; }
/* A picture that is wider than the window is shown smaller; the tangent makes a number of it. */
@media (max-width: 870px) {
  .paddlebal .jupyter-matplotlib { zoom: tan(atan2(100vw - 20px, 850px)); }
}
.paddlebal .widget-readout { min-width: 60px; }
.paddlebal table { font-size: 15px; line-height: 1.5; }
.paddlebal th { text-align: left; font-weight: normal; padding-right: 1em; }
.paddlebal td { text-align: right; min-width: 8em; }
.paddlebal .paddlebal-words { position: absolute; height: 1px; width: 1px; min-height: 0; }
.paddlebal .paddlebal-words { clip-path: inset(50%); overflow: hidden; }
/* Handles and tracks stand out 3:1 and more; a finger finds a wider handle than the eye. */
.paddlebal .noUi-target, .paddlebal .noUi-connects { background: #767676; border-color: #767676; }
.paddlebal .noUi-connect { background: #0b5c92; }
.paddlebal .noUi-handle { background: #0b5c92; border-color: #0b5c92; box-shadow: none; }
@media (pointer: coarse) {
  .paddlebal .widget-slider, .paddlebal .widget-dropdown { min-height: 48px; height: auto; }
  .paddlebal .widget-slider, .paddlebal .widget-dropdown { align-items: center; }
  .paddlebal .noUi-handle { transform: scale(1.75); }
  .paddlebal .noUi-handle::after { content: ""; display: block; position: absolute; inset: -10px; }
  .paddlebal .noUi-handle::after { width: auto; height: auto; background: none; }
  .paddlebal .widget-dropdown select, .paddlebal .widget-button { min-height: 44px; }
}
.paddlebal .noUi-handle:focus { outline: 3px solid #1d4ed8; outline-offset: 1px; }
/* A canvas would swallow every key, Tab too, if it could be focused; what is hidden cannot. */
.paddlebal .jupyter-matplotlib-canvas-div { visibility: hidden; }
.paddlebal .jupyter-matplotlib-canvas-div canvas:first-child { visibility: visible; }
</style>"""


def slider(description, low, high, step, value, digits=0, unit=1.0):
    """A slider named in plain words with its unit; it reports while it is dragged.

    unit is how many of the SI unit one unit of the slider is: a panel's values are in SI.
    """
    made = widgets.FloatSlider(
        description=description,
        tooltip=description,
        min=low,
        max=high,
        step=step,
        value=round(value, 9),
        readout_format=f".{digits}f",
        **ROOM,
    )
    made.unit = unit
    return made


COLUMN, FLOW = {"flex": "1 1 390px"}, {"flex_flow": "row wrap", "grid_gap": "0 12px"}
"""Layout of a column, and of columns that stand below each other in a narrow window."""


def chooser(description, options):
    """A list to choose from; options are (label, value) pairs or labels."""
    return widgets.Dropdown(description=description, tooltip=description, options=options, **ROOM)


def paddle_chooser(paddles):
    """A list of paddles to choose from, by name."""
    return chooser("paddle", [(paddle.name, paddle) for paddle in paddles])


def table(rows):
    """HTML of (what, value with unit) rows."""
    cells = "".join(
        f'<tr><th scope="row">{escape(what)}</th><td>{escape(value)}</td></tr>'
        for what, value in rows
    )
    return f"<table>{cells}</table>"


def hidden_words(picture):
    """A widget that is heard and not seen, for what a picture shows."""
    words = widgets.HTML(described(picture))
    words.add_class("paddlebal-words")
    return words


def described(picture, rows=()):
    """HTML that stands for a picture where it cannot be seen: what it shows, and the numbers."""
    numbers = "; ".join(f"{what} {value}" for what, value in rows)
    return f'<div role="img" aria-label="{escape(f"{picture.shows} {numbers}".strip())}"></div>'


class PanelBox(widgets.VBox):
    """What a panel shows; where no widget can live, its pictures as they are now."""

    def __init__(self, name, pictures, children):
        self._name, self._pictures = name, pictures
        super().__init__([*children, widgets.HTML(STYLE), Spoken()])
        self.add_class("paddlebal")

    def _repr_mimebundle_(self, **kwargs):
        bundle = super()._repr_mimebundle_(**kwargs)
        bundle["text/plain"] = f"Panel: {self._name}"
        if not self._pictures:
            return bundle, {}
        bundle["image/png"] = b64encode(stacked_png(self._pictures)).decode()
        return bundle, {"image/png": {"alt": " ".join(each.shows for each in self._pictures)}}


def stacked_png(pictures):
    """One PNG, as bytes, of pictures of the same width below one another."""
    from matplotlib.image import imread, imsave

    rows, stack = [imread(io.BytesIO(picture.png())) for picture in pictures], io.BytesIO()
    imsave(stack, np.vstack(rows), format="png")
    return stack.getvalue()


def picture_view(picture: Picture) -> widgets.VBox:
    """A picture without controls, with its words for those who cannot see it.

    Parameters
    ----------
    picture : Picture

    Returns
    -------
    ipywidgets.VBox
    """
    name, shown = type(picture).__name__, [hidden_words(picture), notebook_canvas(picture)]
    box = PanelBox(name, [picture], shown)
    close_earlier(name, box)
    return box


class Panel:
    """Controls, pictures and numbers, kept together by three functions that know no widget.

    Controls and numbers stand left of the pictures, or above them in a narrow window.

    Parameters
    ----------
    name : str
        A panel of this name that the same cell made before is closed.
    controls : dict of str to widget
    pictures : sequence of Picture
    state : callable
        The controls' values by name, in SI, to all that is shown.
    draw : callable
        Takes the state and updates the pictures.
    rows : callable
        The state to the rows of numbers, (what, value with unit).
    notes : sequence of HTML widgets
        What `draw` fills; they are emptied before each update.
    """

    def __init__(self, name, controls, pictures, state, draw, rows, notes=()):
        self.controls, self.notes, self._held = controls, notes, False
        self._state, self._draw, self._rows = state, draw, rows
        self.told: list[tuple[str, str]] = []
        self.alert, self.numbers = widgets.HTML(), widgets.HTML()
        self.numbers.add_class("paddlebal-numbers")
        self._pictures = [(picture, hidden_words(picture)) for picture in pictures]
        self.buttons = widgets.HBox()
        self.side = widgets.VBox([*controls.values(), self.buttons], layout=COLUMN)
        for control in controls.values():
            control.observe(self._changed, "value")
        self.widget = PanelBox(name, pictures, [self._beside_each_other()])
        self.update()
        close_earlier(name, self.widget)

    def _beside_each_other(self):
        told = widgets.VBox([self.alert, self.numbers], layout=COLUMN)
        views = [
            widget
            for picture, words in self._pictures
            for widget in (words, notebook_canvas(picture))
        ]
        words = widgets.HBox(
            [self.side, told], layout=COLUMN | FLOW | {"align_content": "flex-start"}
        )
        shown = widgets.VBox(views, layout={"flex": "0 1 auto"})
        return widgets.HBox([words, shown], layout=FLOW)

    def add_button(self, description, action):
        """A button; what `action` raises is told in the panel."""
        button = widgets.Button(description=description)
        button.on_click(lambda _: self._press(action))
        self.buttons.children += (button,)

    def values(self):
        """The controls' values by name, numbers in SI."""
        return {name: self._in_si(control) for name, control in self.controls.items()}

    @staticmethod
    def _in_si(control):
        unit = getattr(control, "unit", None)
        return control.value if unit is None else unit * control.value

    def set(self, **values):
        """Set several controls, numbers in SI, and update once."""
        with self._hold():
            for name, value in values.items():
                control = self.controls[name]
                unit = getattr(control, "unit", None)
                control.value = value if unit is None else round(value / unit, 9)
        self.update()

    def offer(self, name, choices):
        """Change what a list offers, (label, value) pairs; the choice stays if it still can."""
        control = self.controls[name]
        with self._hold(), control.hold_sync():
            chosen, control.options = control.value, choices
            if chosen in dict(choices).values():
                control.value = chosen
        self.update()

    def follow(self, name, others):
        """Whenever the control `name` changes, set others: others(its value) by name."""
        self.controls[name].observe(lambda change: self.set(**others(change.new)), "value")

    def update(self):
        """Show what the controls say."""
        if not self._attempt(self._update):
            self._tell([])

    def _update(self):
        for note in self.notes:
            note.value = ""
        try:
            state = self._state(**self.values())
        except Exception:
            for picture, _ in self._pictures:
                picture.clear()
            raise
        self._draw(state)
        self._tell(self._rows(state))
        self.alert.value = ""

    def _tell(self, rows):
        self.told = rows
        self.numbers.value = table(rows) if rows else ""
        for picture, words in self._pictures:
            words.value = described(picture, rows)

    def _changed(self, _):
        if not self._held:
            self.update()

    @contextmanager
    def _hold(self):
        self._held = True
        try:
            yield
        finally:
            self._held = False

    def _press(self, action):
        self.alert.value = ""
        self._attempt(action)

    def _attempt(self, action):
        """Whether `action` could be done; if not, the panel tells why."""
        try:
            action()
        except Exception as error:
            self.alert.value = alert_html(sentence_for(error))
            return False
        return True


def download_link(name, kind, content):
    """HTML of a link that hands over a file's content, bytes."""
    name = escape(name)
    return (
        f'<a download="{name}" href="data:{kind};base64,{b64encode(content).decode()}">{name}</a>'
    )


def alert_html(words):
    """HTML of a sentence that a screen reader speaks at once."""
    return f'<p role="alert"><b>{escape(words)}</b></p>'


def sentence_for(error):
    if isinstance(error, InputError):
        return str(error)
    log.error("a panel could not be updated", exc_info=error)
    return f"This could not be computed ({type(error).__name__}); the log has the details."


_OPEN: dict[tuple[str, str], widgets.Widget] = {}


def close_earlier(name, widget):
    """Close what the same cell showed under the same name when it ran before."""
    cell = _cell_id()
    if cell is not None:
        earlier = _OPEN.pop((cell, name), None)
        if earlier is not None:
            close(earlier)
        _OPEN[cell, name] = widget


def _cell_id():
    from IPython import get_ipython

    kernel = getattr(get_ipython(), "kernel", None)
    return kernel.get_parent("shell").get("metadata", {}).get("cellId") if kernel else None


def close(widget):
    """Close a widget with everything in it."""
    for child in getattr(widget, "children", ()):
        close(child)
    for part in ("toolbar", "style", "layout"):
        if getattr(widget, part, None) is not None:
            close(getattr(widget, part))
    widget.close()


def unbalance_words(U):
    return f"{magnitude(U) / GRAM_MM:,.0f} g·mm"


def largest_unbalance(paddles):
    return max(magnitude(paddle.unbalance()) for paddle in paddles)
