"""The stored notebooks as pages without code: self-contained HTML, alive without a kernel.

Formulas become MathML and pictures are embedded, so that a page needs no network.
"""

from __future__ import annotations

import re
from html import escape
from pathlib import Path

import nbformat
from latex2mathml.converter import convert
from nbconvert import HTMLExporter

from paddlebal.live.page import LIVE, figure, style, waking

STILL = (
    "The pictures of this page are still. In JupyterLab and in the app the same page has sliders, "
    "which its text speaks of."
)
MATH = re.compile(r"(?<!\\)(\$\$?)(.+?)(?<!\\)\1", flags=re.DOTALL)

PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
body {{ font: 17px/1.55 sans-serif; color: #222; }}
body {{ max-width: 84rem; margin: 2rem auto; padding: 0 1rem; }}
nav, .cell, main > :not(.cell) {{ max-width: 46rem; margin-inline: auto; }}
.cell:has(.live-place) {{ max-width: none; }}
.cell:not(:has(.live-place)) {{ overflow-x: auto; }}
h1, h2, h3 {{ line-height: 1.25; break-after: avoid; }}
img {{ max-width: 100%; }}
pre {{ white-space: pre-wrap; font-size: 15px; background: #f5f5f5; padding: .6rem; }}
table {{ border-collapse: collapse; }}
th, td {{ padding: .2rem .8rem .2rem 0; text-align: left; vertical-align: top; }}
math[display="block"] {{ margin: .8rem 0; overflow-x: auto; }}
.anchor-link {{ display: none; }}
{style}
@media print {{ details::details-content {{ content-visibility: visible; block-size: auto; }} }}
.cell, figure, table, details {{ break-inside: avoid; }}
@page {{ size: A4; margin: 18mm; }}
</style>
</head>
<body>
{nav}<main>
{body}
</main>
{ending}
<script>
// What is too wide for the window scrolls in its own box, by keys too.
const reach = () => document.querySelectorAll("math[display=block], .cell").forEach((each) => {{
  if (each.scrollWidth > each.clientWidth) each.setAttribute("tabindex", 0);
}});
addEventListener("load", reach);
addEventListener("resize", reach);
// On paper what is folded lies open.
const opened = [];
addEventListener("beforeprint", () => {{
  opened.push(...document.querySelectorAll("details:not([open])"));
  opened.forEach((each) => (each.open = true));
}});
addEventListener("afterprint", () => {{
  opened.splice(0).forEach((each) => (each.open = false));
}});
</script>
</body>
</html>
"""


def mathml(text):
    """Text with each $formula$ and $$formula$$ turned into MathML."""

    def formula(match):
        display = "block" if match[1] == "$$" else "inline"
        return convert(match[2].replace("\\displaystyle", "").strip(), display=display)

    return MATH.sub(formula, text)


def with_mathml(notebook):
    """The notebook with its formulas, in text and in outputs, as MathML."""
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            cell.source = mathml(cell.source)
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            if "text/latex" in data:
                formula = data.pop("text/latex").strip().strip("$")
                data["text/html"] = mathml(f"$${formula}$$")
            if "text/markdown" in data:
                data["text/markdown"] = mathml(data["text/markdown"])
    return notebook


def with_live_pictures(notebook, whole=None):
    """The notebook with each live picture in the place of the still one.

    Below what stays still, a link to the address `whole`, if there is one.
    """
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            data = output.get("data", {})
            if LIVE in data:
                output.data = {"text/html": figure(data[LIVE], data["image/png"])}
            elif whole and "image/png" in data:
                alt = escape(output.metadata.get("image/png", {}).get("alt", ""))
                source = f"data:image/png;base64,{data['image/png']}"
                words = f'<a href="{whole}">Move this picture</a>: Python starts first.'
                output.data = {"text/html": f'<img alt="{alt}" src="{source}"><p>{words}</p>'}
    return notebook


def title_of(notebook):
    """The title of a notebook."""
    return notebook.cells[0].source.splitlines()[0].lstrip("# ")


def page(path: Path, whole: str | None = None) -> str:
    """HTML page of the notebook stored at `path`.

    Parameters
    ----------
    path : Path
    whole : str, optional
        Address of the same page with a kernel, to which this one then leads.

    Returns
    -------
    str
    """
    exporter = HTMLExporter(
        template_name="basic",
        exclude_input=True,
        exclude_input_prompt=True,
        exclude_output_prompt=True,
    )
    notebook = nbformat.read(path, as_version=4)
    notebook.cells = [
        cell for cell in notebook.cells if not {"lab", "live"} & set(cell.metadata.get("tags", ()))
    ]
    notebook = with_live_pictures(with_mathml(notebook), whole)
    body, _ = exporter.from_notebook_node(notebook)
    links = re.compile(r'(<a href="[^":/]+)\.ipynb')
    body = links.sub(r"\1.html", body)
    live = "live-place" in body
    if not live and not whole and "data:image/png" in body:
        body = f"<p><i>{STILL}</i></p>\n{body}"
    nav = '<a href="index.html">All pages</a>'
    if whole:
        nav += f' · <a href="{whole}">The whole page, with your own paddles and exercises</a>'
    return PAGE.format(
        title=escape(title_of(notebook)),
        nav=f"<nav>{nav}</nav>\n",
        body=body,
        style=style() if live else "",
        ending=waking() if live else "",
    )


def index(pages: dict[str, str], words: str) -> str:
    """HTML of the list of pages.

    Parameters
    ----------
    pages : dict of str to str
        The title of each by its address.
    words : str
        What to say of them.

    Returns
    -------
    str
    """
    rows = "".join(
        f'<li><a href="{address}">{escape(title)}</a></li>\n' for address, title in pages.items()
    )
    body = f"<h1>Paddle balance</h1>\n<p>{escape(words)}</p>\n<ul>\n{rows}</ul>"
    return PAGE.format(title="Paddle balance", nav="", body=body, style="", ending="")
