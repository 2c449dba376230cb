"""What a page needs to bring live pictures to life, with no network: one script, one style."""

from __future__ import annotations

import json
from functools import cache
from html import escape
from importlib.resources import files


def own_file(name):
    """The text of a file beside this module."""
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


@cache
def script():
    """JavaScript that defines `showLive(host, picture)`, with the Vega libraries in it."""
    import vl_convert

    ending = "globalThis.showLive = (host, picture) => new Live(host, picture, vegaEmbed);"
    return vl_convert.javascript_bundle(f"{own_file('live.js')}\n{ending}")


def style():
    """The style sheet of live pictures."""
    return own_file("live.css")


def figure(spec, png):
    """HTML of one live picture in a page that ends in `waking`.

    png, in base64, is shown where no script runs.
    """
    text = json.dumps(spec, ensure_ascii=False, separators=(",", ":")).replace("</", "<\\/")
    still = f'<img src="data:image/png;base64,{png}" alt="{escape(spec["shows"])}">'
    return (
        '<div class="live-place"></div>'
        f'<script type="application/json" class="live-picture">{text}</script>'
        f"<noscript>{still}</noscript>"
    )


_WAKE = """
document.querySelectorAll(".live-picture").forEach((data) => {
  const place = data.previousElementSibling;
  place.live = showLive(place, JSON.parse(data.textContent));
});
"""


def waking():
    """HTML that ends a page and shows its figures."""
    whole = script().replace("</script", "<\\/script")
    return f"<script>{whole}</script><script>{_WAKE}</script>"
