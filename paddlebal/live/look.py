"""The look that all live charts share: colours, letters, keys.

Colours are told apart by colour-blind eyes and stand out 3:1 or more on white (Okabe & Ito,
"Color universal design", 2008: their blue, vermilion and bluish green, the last one darker).
"""

from __future__ import annotations

import altair as alt

from paddlebal.pictures.style import ACCENT, TEXT

RIGHT, LEFT, PRESENT, WEIGHT = "#0072b2", "#00795a", ACCENT, "#7a3e9d"
"""Of the right and the left blade, the present state, and a counterweight."""


DARK, GREY, PALE = "#222222", "#767676", "#dddddd"


BARE = "#8c8c8c"
"""Of a paddle without its counterweight, beside the present one."""


DASH = {"left": [6, 4], "right": [1, 0]}


SIDE = {"left": LEFT, "right": RIGHT}


CONFIG = {
    "font": "sans-serif",
    "view": alt.ViewConfig(stroke=None),
    "axis": alt.AxisConfig(
        labelFontSize=TEXT,
        titleFontSize=TEXT,
        titleFontWeight="normal",
        labelColor=DARK,
        titleColor=DARK,
        domainColor=GREY,
        tickColor=GREY,
        grid=False,
        labelFlush=True,
    ),
    "text": alt.MarkConfig(fontSize=TEXT, color=DARK),
}


ONE = alt.Data(values=[{}])
"""A single row, for a mark that depends on parameters alone."""


def at(expression):
    """An encoding's pixel value by an expression."""
    return alt.value(alt.ExprRef(expression))


def key(rows):
    """Rows of (sign, colour, words) in the space above a chart, as layers.

    A sign is a shape of Vega's point mark, 'line', 'dashed', a list of dash and gap lengths, or
    empty for words alone. Each row
    spreads its entries evenly over the chart's width.
    """
    layers = []
    for number, row in enumerate(rows):
        y = -22 * (len(rows) - number) + 8
        for place, (sign, colour, words) in enumerate(row):
            x = f"width * {place / len(row)}"
            if sign:
                layers.append(_sign(sign, colour, x, y))
            text = alt.Chart(ONE).mark_text(text=words, align="left", baseline="middle")
            layers.append(text.encode(x=at(f"{x} + 18" if sign else x), y=alt.value(y)))
    return layers


def _sign(sign, colour, x, y):
    chart = alt.Chart(ONE)
    if isinstance(sign, list) or sign in ("line", "dashed"):
        dash = sign if isinstance(sign, list) else DASH["left" if sign == "dashed" else "right"]
        rule = chart.mark_rule(color=colour, strokeWidth=3, strokeDash=dash)
        return rule.encode(x=at(f"{x} - 10"), x2=at(f"{x} + 12"), y=alt.value(y))
    filled, shape = not sign.startswith("open "), sign.removeprefix("open ")
    point = chart.mark_point(shape=shape, color=colour, filled=filled, size=110, strokeWidth=2)
    return point.encode(x=at(x), y=alt.value(y), opacity=alt.value(1))
