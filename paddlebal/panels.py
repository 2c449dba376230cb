"""Slider panels for the notebooks: controls bound to pictures; no physics of their own.

While a slider is dragged, the browser holds back every value but the latest until the kernel
has dealt with the one before, so nothing queues here and the last value always arrives.
"""

import io
import logging
import math
from base64 import b64encode
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from html import escape
from pathlib import Path

import ipywidgets as widgets
import numpy as np
from ipympl.backend_nbagg import Canvas, FigureManager
from PIL import Image

from paddlebal.bench import fit_bench, monte_carlo_fit
from paddlebal.charts import signed
from paddlebal.counterweight import CAUTIONS, Limits, cost, materials, place_counterweight, trade
from paddlebal.errors import InputError
from paddlebal.figures import BenchPicture, EndOnPicture, PlacementPicture, WholePaddle
from paddlebal.paddle import SIDES, STANDARD_GRAVITY, Counterweight
from paddlebal.readings import LeverReadings, read_bench
from paddlebal.spoken import Spoken
from paddlebal.swing import roll_down
from paddlebal.unbalance import GRAM_MM, couple, magnitude, rest_angle, roll_torque

log = logging.getLogger(__name__)


class WholeFrameCanvas(Canvas):
    """A notebook canvas that sends whole frames.

    The browser may skip a frame while it decodes another; a frame that only holds the
    difference from the one before must not be skipped.
    """

    lock = nullcontext()
    """Held while a frame is drawn or read."""

    _png_is_old: bool

    def draw(self):
        with self.lock:
            super().draw()

    def get_diff_image(self):
        """The frame as a PNG file's bytes, or None if the browser has it already."""
        if not self._png_is_old:
            return None
        self.set_image_mode("full")
        with self.lock:
            pixels = np.array(self.buffer_rgba())
        self._last_buff = pixels.view(np.uint32)[..., 0]
        self._png_is_old = False
        with io.BytesIO() as file:
            Image.fromarray(pixels).save(file, format="png", compress_level=1)
            return file.getvalue()


def notebook_canvas(picture):
    """The widget that shows a picture in a notebook, without header, footer and toolbar."""
    canvas = WholeFrameCanvas(picture.figure)
    canvas.lock = picture.lock
    FigureManager(canvas, 0)
    canvas.header_visible = canvas.footer_visible = canvas.resizable = False
    canvas.toolbar_visible = False
    return canvas


ROOM = {
    "style": {"description_width": "205px"},
    "layout": {"width": "auto", "max_width": "560px"},
}
"""For a control and its words."""

STYLE = """<style>
.paddlebal { --jp-widgets-font-size: 15px; }
.paddlebal .widget-readout { min-width: 60px; }
.paddlebal table { font-size: 15px; line-height: 1.5; }
.paddlebal th { text-align: left; font-weight: normal; padding-right: 1em; }
.paddlebal td { text-align: right; min-width: 8em; }
.paddlebal .paddlebal-words { position: absolute; height: 1px; width: 1px; min-height: 0; }
.paddlebal .paddlebal-words { clip-path: inset(50%); overflow: hidden; }
.paddlebal .noUi-handle:focus { outline: 3px solid #1d4ed8; outline-offset: 1px; }
/* A canvas would swallow every key, Tab too, if it could be focused; what is hidden cannot. */
.paddlebal .jupyter-matplotlib-canvas-div { visibility: hidden; }
.paddlebal .jupyter-matplotlib-canvas-div canvas:first-child { visibility: visible; }
</style>"""


def slider(description, low, high, step, value, digits=0):
    """A slider named in plain words with its unit; it reports while it is dragged."""
    return widgets.FloatSlider(
        description=description,
        tooltip=description,
        min=low,
        max=high,
        step=step,
        value=value,
        readout_format=f".{digits}f",
        **ROOM,
    )


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


def plain_view(picture):
    """A picture without controls, with its words for those who cannot see it."""
    name, shown = type(picture).__name__, [hidden_words(picture), notebook_canvas(picture)]
    box = PanelBox(name, [picture], shown)
    close_earlier(name, box)
    return box


class Panel:
    """Controls, pictures and numbers, kept together by one function.

    Controls and numbers stand left of the pictures, or above them in a narrow window.

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
        self.numbers.add_class("paddlebal-numbers")
        self._pictures = [(picture, hidden_words(picture)) for picture in pictures]
        self.buttons = widgets.HBox()
        self.side = widgets.VBox([*controls.values(), self.buttons], layout={"flex": "1 1 390px"})
        for control in controls.values():
            control.observe(self._changed, "value")
        self.widget = PanelBox(name, pictures, [self._beside_each_other()])
        self.update()
        close_earlier(name, self.widget)

    def _beside_each_other(self):
        flow = {"flex_flow": "row wrap", "grid_gap": "0 12px"}
        told = widgets.VBox([self.alert, self.numbers], layout={"flex": "1 1 390px"})
        views = [
            widget
            for picture, words in self._pictures
            for widget in (words, notebook_canvas(picture))
        ]
        words = widgets.HBox(
            [self.side, told], layout={"flex": "1 1 390px", "align_content": "flex-start", **flow}
        )
        return widgets.HBox([words, widgets.VBox(views, layout={"flex": "0 0 auto"})], layout=flow)

    def add_button(self, description, action):
        """A button; what `action` raises is told in the panel."""
        button = widgets.Button(description=description)
        button.on_click(lambda _: self._press(action))
        self.buttons.children += (button,)

    def values(self):
        return {name: control.value for name, control in self.controls.items()}

    def set(self, **values):
        """Set several controls and update once."""
        with self._hold():
            for name, value in values.items():
                self.controls[name].value = value
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
        self._tell(self._show(**self.values()))
        self.alert.value = ""

    def _tell(self, rows):
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
            self.alert.value = f'<p role="alert"><b>{escape(sentence_for(error))}</b></p>'
            return False
        return True


def sentence_for(error):
    if isinstance(error, InputError):
        return str(error)
    log.error("a panel could not be updated", exc_info=error)
    return f"This could not be computed ({type(error).__name__}); the log has the details."


_OPEN: dict[tuple, widgets.Widget] = {}


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


def _gram_mm(U):
    return f"{magnitude(U) / GRAM_MM:,.0f} g·mm"


def _rest(U):
    """Where it comes to rest; None if its torque would read 0.000 N·m."""
    return rest_angle(U) if STANDARD_GRAVITY * magnitude(U) > 0.5e-3 else None


def _holding(paddle, torque):
    return [
        (f"torque to hold at the {side} catch", f"{abs(torque(paddle.catch_angle(side))):.3f} N·m")
        for side in SIDES
    ]


def own_feather(paddle):
    """For `Panel.follow`: the feather slider shows the paddle's own feather."""
    return {"feather": math.degrees(paddle.feather)}


def _largest_unbalance(paddles):
    return max(magnitude(paddle.unbalance()) for paddle in paddles)


def balance_panel(paddles):
    """Turn a paddle, let it roll, and balance it with one counterweight at mid-length.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "paddle": paddle_chooser(paddles),
        "roll": slider("roll angle [deg]", -180, 180, 1, 0),
        "mass": slider("counterweight mass [g]", 0, 400, 0.1, 0, digits=1),
        "arm": slider("counterweight arm [mm]", 20, 120, 0.5, 100, digits=1),
        "angle": slider("counterweight angle [deg]", -180, 180, 0.1, 150, digits=1),
    }
    largest = 1.5 * _largest_unbalance(paddles)
    picture = EndOnPicture(largest, STANDARD_GRAVITY * largest)

    def weighted(paddle, mass, arm, angle, **_):
        if mass == 0:
            return paddle
        weight = Counterweight(mass * 1e-3, arm * 1e-3, math.radians(angle))
        return paddle.with_counterweights(weight)

    def show(roll, **values):
        bare, paddle = values["paddle"], weighted(**values)
        U = paddle.unbalance()

        def torque(angle):
            return roll_torque(U, angle)

        picture.update(paddle, math.radians(roll), U, torque, _rest(U))
        return [
            ("unbalance without counterweight", _gram_mm(bare.unbalance())),
            ("residual unbalance", _gram_mm(U)),
            ("largest torque", f"{STANDARD_GRAVITY * magnitude(U):.3f} N·m"),
            *_holding(paddle, torque),
            ("total mass", f"{paddle.mass * 1e3:.0f} g"),
            ("swing inertia", f"{paddle.inertia()[2, 2]:.4f} kg·m²"),
        ]

    panel = Panel("balance", controls, [picture], show)

    def balance():
        paddle, arm = controls["paddle"].value, controls["arm"].value * 1e-3
        limits = Limits(arm=(0, 0.12), mass=(0, 0.4), shaft_radius=paddle.shaft.radius)
        found = place_counterweight(paddle.unbalance(), limits, arm=arm)
        panel.set(mass=found.mass * 1e3, angle=math.degrees(found.angle))

    panel.add_button("Balance it", balance)
    _add_free_roll(panel, weighted)
    return panel.widget


def _add_free_roll(panel, weighted):
    """A button that lets the paddle go at its roll angle; the browser keeps the time."""
    times = np.arange(0, 5, 0.04)
    play = widgets.Play(max=len(times) - 1, interval=40, layout={"display": "none"})
    track = np.zeros(len(times))

    def let_go():
        values = panel.values()
        paddle, start = weighted(**values), math.radians(values["roll"])
        track[:] = roll_down(paddle.unbalance(), paddle.inertia()[0, 0], start, times)
        play.value, play.playing = 0, True

    def frame(change):
        roll = (math.degrees(track[change.new]) + 180) % 360 - 180
        panel.controls["roll"].value = roll

    play.observe(frame, "value")
    panel.add_button("Let it roll", let_go)
    panel.widget.children += (play,)


def static_panel(paddles):
    """Roll, feather and inclination: the unbalance, its torque, and the paddle in space.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    feather = math.degrees(paddles[0].feather)
    controls = {
        "paddle": paddle_chooser(paddles),
        "roll": slider("roll angle [deg]", -180, 180, 1, 0),
        "feather": slider("feather [deg]", 0, 180, 1, feather),
        "inclination": slider("shaft inclination [deg]", -30, 30, 1, 0),
    }
    largest = max(_largest_unbalance([p.with_feather(0) for p in paddles]), 1e-6)
    end_on = EndOnPicture(largest, STANDARD_GRAVITY * largest)
    whole = WholePaddle()

    def show(paddle, roll, feather, inclination):
        paddle, theta, beta = paddle.with_feather(feather), *np.radians([roll, inclination])
        U = paddle.unbalance()

        def torque(angle):
            return roll_torque(U, angle, beta)

        end_on.update(paddle, theta, U, torque, _rest(U), beta)
        whole.update(paddle, theta, beta)
        return [
            ("unbalance", _gram_mm(U)),
            ("torque at this angle", f"{signed(torque(theta), 3)} N·m"),
            *_holding(paddle, torque),
            ("couple unbalance", f"{magnitude(couple(paddle)):.5f} kg·m²"),
        ]

    panel = Panel("static", controls, [end_on, whole], show)
    panel.follow("paddle", own_feather)
    return panel.widget


def cautions():
    """What to say beside every counterweight, as a widget."""
    return widgets.HTML(f"<ul>{''.join(f'<li>{escape(each)}</li>' for each in CAUTIONS)}</ul>")


SHORTEST_ARM, LONGEST_ARM = 0.04, 0.12
"""m; what the placement panel offers."""


def placement_panel(paddles):
    """Place a counterweight: arm, material, place along the shaft, and what it costs.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    half = max(paddle.shaft.length for paddle in paddles) / 2 + 0.06
    controls = {
        "paddle": paddle_chooser(paddles),
        "material": chooser("material", list(materials())),
        "arm": slider("arm [mm]", 1e3 * SHORTEST_ARM, 1e3 * LONGEST_ARM, 1, 80),
        "error": slider("angle error [deg]", -20, 20, 0.5, 0, digits=1),
        "x": slider("place along the shaft [mm]", -700, 700, 5, 100),
    }
    largest = _largest_unbalance(paddles)
    heaviest = 1.1 * largest / SHORTEST_ARM
    picture = PlacementPicture(largest, LONGEST_ARM, heaviest, half)

    def show(paddle, material, arm, error, x):
        limits = Limits.for_paddle(
            paddle, material=material, arm=(0, LONGEST_ARM), mass=(0, heaviest)
        )
        U, arm, x = paddle.unbalance(), arm * 1e-3, x * 1e-3
        curve, here = trade(U, limits), trade(U, limits, [arm])
        kind = curve.materials.index(material)
        angle = math.atan2(-U[1], -U[0]) + math.radians(error)
        weight = Counterweight(float(here.mass[0]), arm, angle, x, limits.density)
        after, length = paddle.with_counterweights(weight), float(here.length[kind, 0])
        residual = after.unbalance()
        picture.update(after, residual, curve.arm, curve.mass, curve.clearance[kind] >= 0, length)
        place_counterweight(U, limits, arm=arm, x=x, paddle=paddle)
        spent = cost(paddle, after)
        return [
            ("counterweight", f"{1e3 * weight.mass:.0f} g"),
            (
                "piece, diameter × length",
                f"{1e3 * here.diameter[kind, 0]:.0f} × {1e3 * length:.0f} mm",
            ),
            ("residual unbalance", _gram_mm(residual)),
            ("balance point moves by", f"{signed(1e3 * spent.balance_shift, 0)} mm"),
            ("swing inertia added", f"{spent.swing_inertia:.5f} kg·m²"),
            ("torque to hold at the catch, before", f"{spent.holding_torque_before:.3f} N·m"),
            ("torque to hold at the catch, after", f"{spent.holding_torque_after:.3f} N·m"),
            (
                f"lifting work added a cycle, lifted {1e3 * spent.lift_height:.0f} mm",
                f"{signed(-spent.work_saved, 3)} J",
            ),
            ("still carried afloat", f"{signed(1e3 * spent.flotation, 0)} g"),
        ]

    panel = Panel("placement", controls, [picture], show)
    panel.widget.children += (cautions(),)
    return panel.widget


def show_lever_fit(picture, readings, fit):
    """Show lever readings and what was fitted to them in a `BenchPicture`."""
    circle = np.linspace(0, 2 * np.pi, 181)
    numeric_check = monte_carlo_fit(readings)
    sense = np.sign(readings.arm) * readings.turning
    curves, points, residuals = {}, {}, {}
    for way, sign in (("up", 1), ("down", -1)):
        mine, friction = sense == sign, sign * fit.friction
        curves[way] = circle, friction - roll_torque(fit.unbalance, circle)
        roll, residuals[way] = readings.roll[mine], fit.residuals[mine]
        points[way] = roll, friction - roll_torque(fit.unbalance, roll) + residuals[way]
    picture.update(
        curves,
        points,
        residuals,
        fit.unbalance,
        fit.unbalance_covariance,
        numeric_check[:2, :2],
        "dashed: Monte Carlo",
    )


def fit_panel(files):
    """Fit a file of lever readings: curves, residuals, and the unbalance with its region.

    Sliders multiply the standard uncertainties that the file states for scale and arm.

    Parameters
    ----------
    files : sequence of Path
        Bench files; those that can't be fitted say why.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "file": chooser("bench file", [(Path(file).name, file) for file in files]),
        "scale": slider("scale's error [× stated]", 0.5, 4, 0.5, 1, 1),
        "arm": slider("arm's error [× stated]", 0, 4, 0.5, 1, 1),
    }
    picture = BenchPicture()

    def show(file, scale, arm):
        picture.clear()
        readings = read_bench(file)
        if not isinstance(readings, LeverReadings):
            raise InputError("this panel shows lever readings only", file=file)
        readings = replace(readings, scale_u=scale * readings.scale_u, arm_u=arm * readings.arm_u)
        fit = fit_bench(readings)
        show_lever_fit(picture, readings, fit)
        u_y, u_z = 2 * np.sqrt(np.diag(fit.unbalance_covariance)) / GRAM_MM
        U_y, U_z = fit.unbalance / GRAM_MM
        return [
            ("readings", f"{readings.roll.size}"),
            ("unbalance along y", f"{signed(U_y, 0)} ± {u_y:.0f} g·mm"),
            ("unbalance along z", f"{signed(U_z, 0)} ± {u_z:.0f} g·mm"),
            ("size of the unbalance", _gram_mm(fit.unbalance)),
            ("friction moment", f"{1e3 * fit.friction:.2f} ± {2e3 * fit.friction_u:.2f} mN·m"),
            ("scale zero", f"{signed(1e3 * fit.zero, 1)} mN"),
            ("residuals to stated uncertainty", f"{fit.birge:.2f}"),
            ("after ±, two standard uncertainties", "about 95 %"),
            ("the uncertainties are", "enlarged, not the dashed" if fit.enlarged else "as stated"),
        ]

    return Panel("fit", controls, [picture], show).widget
