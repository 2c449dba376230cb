"""What a page needs to bring live pictures to life, with no network: one script, one style."""

from __future__ import annotations

import json
from functools import cache
from html import escape
from importlib.resources import files

LIVE = "application/vnd.paddlebal.live+json"
"""What a stored notebook keeps of a picture that lives without a kernel."""


def own_file(name):
    """The text of a file beside this module."""
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


@cache
def script():
    """JavaScript that defines `showLive(host, picture)`, with the Vega libraries in it."""
    import vl_convert

    ending = "globalThis.showLive = (host, picture) => new Live(host, picture, vegaEmbed);"
    return vl_convert.javascript_bundle(f"{own_file('live.js')}\n{ending}")


def module():
    """The same as a module of JavaScript for a widget, whose model has the `picture`.

    It tells the model the `values` of the controls when they come to rest.
    """
    return f"{script()}\n{_WIDGET}"


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


_WIDGET = """
export default {
  render({ model, el }) {
    const live = showLive(el, model.get("picture"));
    el.live = live;
    let rest;
    live.moved = () => {
      clearTimeout(rest);
      rest = setTimeout(() => {
        model.set("values", { ...live.values });
        model.save_changes();
      }, 150);
    };
    return () => live.stop();
  },
};
"""


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
