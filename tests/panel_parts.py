"""What tests look for in a panel: its widgets, its texts and its numbers."""

import re

import ipywidgets as widgets


def inside(widget):
    """The widget and all those in it."""
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def find(panel, kind, description=""):
    """The first widget of a kind whose description holds these words."""
    return next(w for w in inside(panel) if isinstance(w, kind) and description in w.description)


def controls(panel):
    """The widgets that have a description, by it."""
    return {w.description: w for w in inside(panel) if getattr(w, "description", "")}


def html(panel):
    """All texts of the panel, its alert and numbers among them."""
    return [w.value for w in inside(panel) if isinstance(w, widgets.HTML)]


def number(panel, row):
    """The first number in the row of this name."""
    cell = re.search(f">{re.escape(row)}</th><td[^>]*>([^<]*)<", "".join(html(panel))).group(1)
    text = cell.replace(",", "").replace("\N{MINUS SIGN}", "-")
    return float(re.match(r"[-+]?[0-9.]+", text).group())
