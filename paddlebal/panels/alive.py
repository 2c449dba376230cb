"""Panels whose pictures live in the browser: no kernel is asked while a slider moves."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from functools import cache

import ipywidgets as widgets
import traitlets

from paddlebal.live.balance import live_balance
from paddlebal.live.feather import live_feather
from paddlebal.live.hour import live_hour
from paddlebal.live.page import LIVE, module, style
from paddlebal.live.picture import LivePicture
from paddlebal.live.placement import live_placement
from paddlebal.live.static import live_static
from paddlebal.live.still import png
from paddlebal.paddle import Paddle
from paddlebal.panels.panel import close_earlier


@cache
def _widget_class():
    import anywidget

    class LiveWidget(anywidget.AnyWidget):
        _esm, _css = module(), style()
        picture = traitlets.Dict().tag(sync=True)
        values = traitlets.Dict().tag(sync=True)

    return LiveWidget


class LiveBox(widgets.VBox):
    """A live picture, and what a kernel adds to it.

    Parameters
    ----------
    name : str
        A panel of this name that the same cell made before is closed.
    picture : LivePicture
    below : sequence of widget
        They are shown only where a kernel runs.
    """

    def __init__(self, name: str, picture: LivePicture, below: Sequence[widgets.Widget] = ()):
        self._name, self._picture = name, picture
        self.shown = _widget_class()(picture=picture.spec(), values=picture.values())
        super().__init__([self.shown, *below])
        close_earlier(name, self)

    def _repr_mimebundle_(self, **kwargs):
        bundle = super()._repr_mimebundle_(**kwargs)
        bundle["text/plain"] = f"Panel: {self._name}"
        bundle["image/png"] = b64encode(png(self._picture)).decode()
        bundle[LIVE] = self.shown.picture
        return bundle, {"image/png": {"alt": self._picture.shows}}


def balance_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Turn a paddle, let it roll, and balance it with one counterweight at mid-length.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    return LiveBox("balance", live_balance(paddles))


def static_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Roll, feather and inclination: the unbalance, its torque, and the paddle in space.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    return LiveBox("static", live_static(paddles))


def feather_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Feather, control hand and unequal blades: the two unbalances, their sum, the torque.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

    Returns
    -------
    ipywidgets.VBox
    """
    return LiveBox("feather", live_feather(paddles))


def placement_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """Place a counterweight: arm, material, place along the shaft, and what it costs.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    return LiveBox("placement", live_placement(paddles))


def hour_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """An hour's load on the hand that holds a paddle, half of its unbalance taken away at first.

    Parameters
    ----------
    paddles : sequence of Paddle

    Returns
    -------
    ipywidgets.VBox
    """
    return LiveBox("hour", live_hour(paddles))
