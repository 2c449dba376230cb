"""One page to print for a course: what an unbalanced paddle asks of the hand in an hour."""

from __future__ import annotations

from functools import cache
from html import escape

from paddlebal.files.published import published_rows
from paddlebal.files.text import data_path
from paddlebal.formats.paddle import load_paddle
from paddlebal.grip import GRIP_CAUTIONS, friction_range, strength_range
from paddlebal.holding import hour_ranges, part_balanced, stroke_series
from paddlebal.live import still
from paddlebal.live.hour import CONCLUSIONS, LEVELS, live_hour
from paddlebal.pages import PAGE
from paddlebal.stroke import STROKE_CAUTION

TITLE = "What an unbalanced paddle asks of the hand"


LEAD = (
    "An unbalanced paddle asks for grip all the time, not only when you pull. The picture compares "
    "an hour on the water without a counterweight and with half of the unbalance taken away."
)


TRY = (
    "Try it: hold a paddle loosely, so that one power face is upright, and feel the shaft turn in "
    "your hand. Put a counterweight on, so fastened that two things must fail before it comes "
    "loose, and feel it again."
)


STYLE = """
body { font-size: 15px; line-height: 1.4; }
h1 { margin: 0 0 .4rem; }
p, ul, table { margin: .5rem 0; }
svg { width: 100%; height: auto; }
main > :not(.cell) { max-width: 52rem; }
@page { margin: 12mm; }
@media print { body { margin: 0; font-size: 12.5px; } nav { display: none; } }
"""


TAKEN = {"as it is": 0.0, "half of it taken away": 0.5, "all of it taken away": 1.0}
"""Shares of the unbalance that the table compares."""


def _table(paddle, person):
    diameter, dry = 2 * paddle.shaft.radius, friction_range("dry")
    columns = []
    for share in TAKEN.values():
        time, parts = stroke_series(part_balanced(paddle, share))
        columns.append(hour_ranges(time, sum(parts), diameter, dry, strength_range(*person)))
    heads = "".join(f"<th>{words}</th>" for words in TAKEN)
    rows = []
    for levels in zip(*columns, strict=True):
        low, _ = levels[0]
        cells = "".join(
            f"<td>{100 * least.share:.1f} to {100 * most.share:.1f} %</td>"
            for least, most in levels
        )
        words = f"{low.level}, above it {LEVELS[low.level][1]} of the time"
        limits = f"{100 * low.advised:.0f} to {100 * low.ceiling:.0f} %"
        rows.append(f'<tr><th scope="row">{words}</th>{cells}<td>{limits}</td></tr>')
    return (
        f"<table><tr><th>unbalance</th>{heads}<th>limits for work</th></tr>{''.join(rows)}</table>"
    )


@cache
def coach_page() -> str:
    """HTML of the page, which needs no network and prints on one sheet of A4.

    Returns
    -------
    str
        Its numbers are those of the demo ocean paddle on the ocean preset, for a woman of 40 with
        dry hands.
    """
    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    drawn = still.svg(live_hour([paddle]))
    drawn = drawn.replace("<svg", '<svg aria-hidden="true"', 1)
    drawn = f'<div role="img" aria-label="{escape(LEAD)}">{drawn}</div>'
    (limits,) = {(row["authors"], row["year"]) for row in published_rows("load_limits")}
    source = f"The limits are those of {limits[0]} ({limits[1]}), read second-hand. "
    who = (
        f"The paddle is the {paddle.name.lower()}, invented; the numbers are shares of the "
        "greatest grip of a woman of 40 with dry hands, from the least to the greatest that the "
        "published ranges of friction and strength allow."
    )
    cautions = "".join(f"<li>{escape(each)}</li>" for each in (*CONCLUSIONS, *GRIP_CAUTIONS))
    body = (
        f"<h1>{TITLE}</h1><p>{LEAD}</p>{drawn}{_table(paddle, ('woman', 40))}"
        f"<p>{escape(who)} {escape(source)}</p><p>{TRY}</p><ul>{cautions}</ul>"
        f"<p>{escape(STROKE_CAUTION)}</p>"
    )
    nav = '<nav><a href="index.html">All pages</a></nav>\n'
    return PAGE.format(title=TITLE, nav=nav, body=body, style=STYLE, ending="")
