"""Panel on the stroke: its live picture, and the kernel's search for a break-even."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import ipywidgets as widgets

from paddlebal.live.stroke import live_stroke
from paddlebal.paddle import Paddle
from paddlebal.panels.alive import LiveBox
from paddlebal.panels.panel import alert_html, sentence_for
from paddlebal.placement import fitted_pair
from paddlebal.stroke import STROKES
from paddlebal.units import GRAM, PERCENT
from paddlebal.work import break_even_words


def break_even_at(paddles, values):
    """The sentences on the break-even at the positions of the live picture's controls, by name."""
    turned = paddles[values["paddle"]].with_feather(values["feather_deg"])
    motion = list(STROKES.values())[values["stroke"]].motion(turned).with_rate(values["rate"])
    share = values["share_percent"] * PERCENT
    return break_even_words(turned, fitted_pair(turned, values["mass_g"] * GRAM, share), motion)


def stroke_panel(paddles: Sequence[Paddle]) -> widgets.VBox:
    """A stroke without and with a counterweight, by paddle, feather, stroke rate and mass.

    Parameters
    ----------
    paddles : sequence of Paddle
        Without counterweights.

    Returns
    -------
    ipywidgets.VBox
    """
    button, told = widgets.Button(description="Find break-even"), widgets.HTML()
    box = LiveBox("stroke", live_stroke(paddles), [button, told])

    def search(_):
        try:
            words = break_even_at(paddles, box.shown.values)
        except Exception as error:
            told.value = alert_html(sentence_for(error))
        else:
            lines = (f'<p style="font-size:16px">{escape(line)}</p>' for line in words)
            told.value = f'<div role="status">{"".join(lines)}</div>'

    def forget(_):
        told.value = ""

    button.on_click(search)
    box.shown.observe(forget, "values")
    return box
