"""A panel for the designer's own blade: from the drawing's file to maps and variants."""

from __future__ import annotations

import ipywidgets as widgets

from paddlebal.blade import BladeShape
from paddlebal.errors import InputError
from paddlebal.mesh import FORMATS, UNITS
from paddlebal.own_blade import AXES, Placed, blade_doubts, own_blade
from paddlebal.paddle import Paddle
from paddlebal.panels.design import design_panel, variants_panel
from paddlebal.panels.panel import (
    COLUMN,
    FLOW,
    PanelBox,
    alert_html,
    close,
    close_earlier,
    sentence_for,
    table,
)

LARGEST = 8_000_000
"""Bytes of the largest file that a browser hands over in one piece."""


WIDE = {"description_width": "initial"}


def own_blade_panel(paddle: Paddle) -> widgets.VBox:
    """Upload a blade's drawing, see what is wrong or doubtful, mend it, and design with it.

    Parameters
    ----------
    paddle : Paddle
        Gives the shaft and the feather to begin with.

    Returns
    -------
    ipywidgets.VBox
    """
    return _OwnBlade(paddle).widget


class _OwnBlade:
    def __init__(self, paddle):
        self.paddle = paddle
        self.upload = widgets.FileUpload(accept=",".join(FORMATS), description="Upload a drawing")
        self.unit = widgets.Dropdown(description="its unit", options=list(UNITS), value="mm")
        self.mass = widgets.BoundedFloatText(
            description="mass of the blade [g]", value=175, min=1, max=5000, step=1, style=WIDE
        )
        self.kind = widgets.Dropdown(
            description="the drawing is",
            options=[("a solid", "solid"), ("a shell", "shell")],
            style=WIDE,
        )
        self.along = widgets.Dropdown(
            description="axis that points to the tip", options=AXES, style=WIDE
        )
        self.back = widgets.Dropdown(
            description="axis that points away from the power face",
            options=AXES,
            value="+y",
            style=WIDE,
        )
        self.begin = widgets.BoundedFloatText(
            description="the blade begins, from mid-shaft [mm]",
            value=1e3 * BladeShape().root,
            min=0,
            max=2000,
            style=WIDE,
        )
        self.on_axis = widgets.Checkbox(description="move its beginning onto the shaft's axis")
        self.repair = widgets.Checkbox(description="mend what can be mended")
        for one in (self.on_axis, self.repair):
            one.indent, one.layout.width = False, "auto"
        self.upload.layout.width = "auto"
        self.alert, self.found = widgets.HTML(), widgets.HTML()
        self.mends, self.panels = widgets.VBox(), widgets.VBox()
        look = widgets.Button(description="Look at the blade", button_style="primary")
        look.on_click(lambda _: self.look())
        self.upload.observe(lambda _: self.look(), "value")
        form = [self.upload, self.unit, self.mass, self.kind, self.along, self.back, self.begin]
        for entry in form[1:]:
            entry.layout.width = "auto"
        left = widgets.VBox([*form, self.on_axis, self.repair, look], layout=COLUMN)
        right = widgets.VBox([self.alert, self.found, self.mends], layout=COLUMN)
        top = widgets.HBox([left, right], layout=FLOW)
        self.widget = PanelBox("own blade", [], [top, self.panels])
        close_earlier("own blade", self.widget)

    def look(self):
        """Read the drawing as the form says, and show what comes of it."""
        self._clear()
        try:
            shape, placed = self._read()
        except Exception as error:
            self.alert.value = alert_html(sentence_for(error))
            return
        body = shape.straight()
        self.found.value = '<p role="status">The drawing is read.</p>' + table(
            [
                ("faces", f"{len(shape.mesh.faces):,}"),
                ("length × width", f"{1e3 * shape.length:.0f} × {1e3 * shape.width:.0f} mm"),
                ("centre of mass from mid-shaft", f"{1e3 * body.centre[0]:.0f} mm"),
                ("offset", f"{1e3 * body.centre[1]:z.1f} mm"),
                ("volume", f"{1e6 * body.volume:.0f} cm³"),
                *(("mended", change) for change in shape.mesh.changes),
            ]
        )
        self._tell(blade_doubts(shape, placed, self.kind.value))
        self.panels.children = (
            design_panel(self.paddle, shape),
            variants_panel(self.paddle, shape),
        )

    def _clear(self):
        self.alert.value = self.found.value = ""
        for child in (*self.mends.children, *self.panels.children):
            close(child)
        self.mends.children = self.panels.children = ()

    def _read(self):
        if not self.upload.value:
            raise InputError("there is no drawing yet, expected an upload")
        (file,) = self.upload.value
        if file["size"] > LARGEST:
            problem = f"has {file['size']:,} bytes, expected at most {LARGEST:,}: draw it coarser"
            raise InputError(problem, file=file["name"])
        placed = Placed(
            self.along.value, self.back.value, 1e-3 * self.begin.value, self.on_axis.value
        )
        mass, kind, repair = 1e-3 * self.mass.value, self.kind.value, self.repair.value
        content = bytes(file["content"])
        shape = own_blade(content, file["name"], self.unit.value, mass, kind, placed, repair)
        return shape, placed

    def _tell(self, doubts):
        """Each doubt with a button that mends it, where something here can."""
        lines = []
        for doubt in doubts:
            lines.append(widgets.HTML(alert_html(doubt.words)))
            if doubt.mend:
                button = widgets.Button(description="Mend this")
                button.on_click(lambda _, mend=doubt.mend: self._mend(mend))
                lines.append(button)
        self.mends.children = tuple(lines)

    def _mend(self, placed):
        self.along.value, self.back.value = placed.along, placed.back
        self.on_axis.value = placed.on_axis
        self.look()
