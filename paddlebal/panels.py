"""Slider panels for the notebooks: controls bound to pictures; no physics of their own.

While a slider is dragged, the browser holds back every value but the latest until the kernel
has dealt with the one before, so nothing queues here and the last value always arrives.
"""

import logging
import math
from contextlib import contextmanager
from html import escape

import ipywidgets as widgets
import numpy as np
from ipympl.backend_nbagg import Canvas, FigureManager

from paddlebal.errors import InputError
from paddlebal.figures import EndOnPicture
from paddlebal.paddle import STANDARD_GRAVITY, Counterweight
from paddlebal.swing import roll_down
from paddlebal.unbalance import GRAM_MM, magnitude, rest_angle, roll_torque

log = logging.getLogger(__name__)


class WholeFrameCanvas(Canvas):
    """A notebook canvas that sends whole frames.

    The browser may skip a frame while it decodes another; a frame that only holds the
    difference from the one before must not be skipped.
    """

    def get_diff_image(self):
        self._force_full = True
        return super().get_diff_image()


def notebook_canvas(picture):
    """The widget that shows a picture in a notebook, without header, footer and toolbar."""
    canvas = WholeFrameCanvas(picture.figure)
    FigureManager(canvas, 0)
    canvas.header_visible = canvas.footer_visible = canvas.resizable = False
    canvas.toolbar_visible = False
    return canvas


def slider(description, low, high, step, value, digits=0):
    """A slider named in plain words with its unit; it reports while it is dragged."""
    return widgets.FloatSlider(
        description=description,
        min=low,
        max=high,
        step=step,
        value=value,
        readout_format=f".{digits}f",
        style={"description_width": "180px"},
        layout={"width": "410px"},
    )


def chooser(description, options):
    """A list to choose from; options are (label, value) pairs or labels."""
    return widgets.Dropdown(
        description=description,
        options=options,
        style={"description_width": "180px"},
        layout={"width": "410px"},
    )


def table(rows):
    """HTML of (what, value with unit) rows."""
    cells = "".join(
        f'<tr><th scope="row" style="text-align:left;font-weight:normal;padding-right:1.5em">'
        f'{escape(what)}</th><td style="text-align:right">{escape(value)}</td></tr>'
        for what, value in rows
    )
    return f'<table style="font-size:14px;line-height:1.6">{cells}</table>'


class Panel:
    """Controls, pictures and numbers, kept together by one function.

    Parameters
    ----------
    name : str
        A panel of this name that the same cell made before is closed.
    controls : dict of str to widget
    pictures : sequence of Picture
    show : callable
        Takes the controls' values by name, updates the pictures and returns the rows of
        numbers, (what, value with unit).
    """

    def __init__(self, name, controls, pictures, show):
        self.controls, self._show, self._held = controls, show, False
        self.alert, self.numbers = widgets.HTML(), widgets.HTML()
        self.buttons = widgets.HBox()
        for control in controls.values():
            control.observe(self._changed, "value")
        left = widgets.VBox([*controls.values(), self.buttons])
        below = widgets.HBox(
            [left, self.numbers], layout={"flex_flow": "row wrap", "grid_gap": "0 24px"}
        )
        canvases = [notebook_canvas(picture) for picture in pictures]
        self.widget = widgets.VBox([*canvases, self.alert, below])
        self.update()
        _close_earlier(name, self.widget)

    def add_button(self, description, action):
        """A button; what `action` raises is told in the panel."""
        button = widgets.Button(description=description)
        button.on_click(lambda _: self._attempt(action))
        self.buttons.children += (button,)

    def values(self):
        return {name: control.value for name, control in self.controls.items()}

    def set(self, **values):
        """Set several controls and update once."""
        with self._hold():
            for name, value in values.items():
                self.controls[name].value = value
        self.update()

    def update(self):
        """Show what the controls say."""
        self._attempt(self._update)

    def _update(self):
        self.numbers.value = table(self._show(**self.values()))

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

    def _attempt(self, action):
        try:
            action()
        except Exception as error:
            self.alert.value = f'<p role="alert"><b>{escape(_sentence(error))}</b></p>'
        else:
            self.alert.value = ""


def _sentence(error):
    if isinstance(error, InputError):
        return str(error)
    log.error("a panel could not be updated", exc_info=error)
    return f"This could not be computed ({type(error).__name__}); the log has the details."


_OPEN = {}


def _close_earlier(name, widget):
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
            getattr(widget, part).close()
    widget.close()


def _gram_mm(U):
    return f"{magnitude(U) / GRAM_MM:,.0f} g·mm"


def _rest(U):
    return rest_angle(U) if magnitude(U) > 0 else None


def balance_panel(paddles):
    """Turn a paddle by hand, and balance it with one counterweight.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": chooser("paddle", [(paddle.name, paddle) for paddle in paddles]),
        "roll": slider("roll angle [deg]", -180, 180, 1, 0),
        "mass": slider("counterweight mass [g]", 0, 200, 1, 0),
        "arm": slider("counterweight arm [mm]", 20, 120, 1, 80),
        "angle": slider("counterweight angle [deg]", -180, 180, 1, 150),
    }
    heaviest = max(magnitude(p.unbalance()) for p in paddles) + 0.2 * 0.12
    picture = EndOnPicture(heaviest, STANDARD_GRAVITY * heaviest)

    def weighted(paddle, mass, arm, angle, **_):
        if mass == 0:
            return paddle
        return paddle.with_counterweights(
            Counterweight(mass * 1e-3, arm * 1e-3, math.radians(angle))
        )

    def show(roll, **values):
        bare, paddle = values["paddle"], weighted(**values)
        U = paddle.unbalance()

        def torque(angle):
            return roll_torque(U, angle)

        picture.update(paddle, math.radians(roll), U, torque, _rest(U))
        holding = [abs(torque(paddle.catch_angle(side))) for side in ("left", "right")]
        return [
            ("unbalance without counterweight", _gram_mm(bare.unbalance())),
            ("residual unbalance", _gram_mm(U)),
            ("largest torque", f"{STANDARD_GRAVITY * magnitude(U):.3f} N·m"),
            ("torque to hold at the left catch", f"{holding[0]:.3f} N·m"),
            ("torque to hold at the right catch", f"{holding[1]:.3f} N·m"),
            ("total mass", f"{paddle.mass * 1e3:.0f} g"),
            ("swing inertia", f"{paddle.inertia()[2, 2]:.4f} kg·m²"),
        ]

    panel = Panel("balance", controls, [picture], show)
    times = np.arange(0, 4, 0.04)
    play = widgets.Play(min=0, max=len(times) - 1, interval=40, layout={"display": "none"})
    track = np.zeros(len(times))

    def roll_freely():
        values = panel.values()
        paddle = weighted(**values)
        start = math.radians(values["roll"])
        track[:] = roll_down(paddle.unbalance(), paddle.inertia()[0, 0], start, times)
        play.value, play.playing = 0, True

    def frame(change):
        controls["roll"].value = (math.degrees(track[change.new]) + 180) % 360 - 180

    play.observe(frame, "value")
    panel.add_button("Let it roll", roll_freely)
    panel.widget.children += (play,)
    return panel.widget
