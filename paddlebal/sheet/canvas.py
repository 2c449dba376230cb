"""A drawing in millimetres of paper as SVG, up counting upward."""

from __future__ import annotations

import math
from unicodedata import category
from xml.etree import ElementTree

ACCENT, INK, GREY, PALE = "#c2410c", "#111111", "#555555", "#dddddd"


POINT = 25.4 / 72
"""Millimetres in a typographic point."""


FONT = "DejaVu Sans"
"""The sheet's own font; it comes with matplotlib."""


class Canvas:
    """Lines, shapes and words on a drawing of a size (width, height) [mm].

    key: begins the names that only this drawing may use on its page.
    """

    def __init__(self, key, size):
        width, height = size
        self.key, self.size = key, size
        self._root = ElementTree.Element(
            "svg",
            xmlns="http://www.w3.org/2000/svg",
            width=f"{width:g}mm",
            height=f"{height:g}mm",
            viewBox=f"0 0 {width:g} {height:g}",
        )
        self._root.set("font-family", f"{FONT}, Verdana, sans-serif")

    def _add(self, tag, **attributes):
        named = {name.replace("_", "-"): _as_text(value) for name, value in attributes.items()}
        return ElementTree.SubElement(self._root, tag, named)

    def _point(self, place):
        return place[0], self.size[1] - place[1]

    def line(self, start, stop, color=INK, width=0.25, dash=None):
        """A straight line; width and the dashes in mm."""
        self.path((start, stop), color, width, dash)

    def path(self, places, color=INK, width=0.25, dash=None, fill="none", closed=False):
        """A line through places (x, y)."""
        points = " ".join(f"{x:.3f},{y:.3f}" for x, y in map(self._point, places))
        style = {} if dash is None else {"stroke_dasharray": " ".join(map(str, dash))}
        tag = "polygon" if closed else "polyline"
        self._add(tag, points=points, stroke=color, stroke_width=width, fill=fill, **style)

    def arrow(self, start, stop, color=INK, width=0.25):
        """A line with a head at its end."""
        self.line(start, stop, color, width)
        turn = math.atan2(stop[1] - start[1], stop[0] - start[0])
        head = [
            (stop[0] - 2 * math.cos(turn + side), stop[1] - 2 * math.sin(turn + side))
            for side in (-0.3, 0.3)
        ]
        self.path((stop, *head), color, width, fill=color, closed=True)

    def circle(self, centre, radius, fill="none", color=INK, width=0.25):
        self.ellipse(centre, (radius, radius), fill, color, width)

    def ellipse(self, centre, radii, fill="none", color=INK, width=0.25):
        x, y = self._point(centre)
        self._add(
            "ellipse", cx=x, cy=y, rx=radii[0], ry=radii[1],
            fill=fill, stroke=color, stroke_width=width,
        )  # fmt: skip

    def box(self, low, high, fill="none", color=INK, width=0.25):
        """A rectangle from its lower left to its upper right corner."""
        x, y = self._point((low[0], high[1]))
        self._add(
            "rect", x=x, y=y, width=high[0] - low[0], height=high[1] - low[1],
            fill=fill, stroke=color, stroke_width=width,
        )  # fmt: skip

    def hatched(self, low, high, color=GREY):
        """A rectangle filled with slanting lines."""
        self.box(low, high, "white", color)
        (left, bottom), (right, top) = low, high
        tall = top - bottom
        for step in range(1, math.ceil((right - left + tall) / 1.2)):
            start, stop = left + 1.2 * step - tall, left + 1.2 * step
            ends = max(start, left), min(stop, right)
            if ends[1] > ends[0]:
                self.line(
                    (ends[0], bottom + ends[0] - start), (ends[1], bottom + ends[1] - start),
                    color, 0.15,
                )  # fmt: skip

    def words(self, place, text, size=8.0, at="start", color=INK, bold=False, up=0.0):
        """One line of text at a size [pt]; at: 'start', 'middle' or 'end' of it stands there.

        up: which part of the letters' height lies below the place, 0 their foot, 1 their top.
        A white seam keeps lines away from it.
        """
        x, y = self._point(place)
        element = self._add(
            "text", x=x, y=y + 0.72 * up * size * POINT, font_size=size * POINT,
            text_anchor=at, fill=color, stroke="white", stroke_width=0.8,
            stroke_linejoin="round", paint_order="stroke",
        )  # fmt: skip
        if bold:
            element.set("font-weight", "bold")
        element.text = plain(text)

    def svg(self, words):
        """The drawing as the text of an <svg> element, with words for those who don't see it."""
        self._root.set("role", "img")
        self._root.set("aria-label", plain(words))
        return ElementTree.tostring(self._root, encoding="unicode")


def plain(text):
    """A text on one line without characters that no page can hold."""
    return "".join(
        "\N{REPLACEMENT CHARACTER}" if category(letter) in ("Cc", "Cs", "Cn") else letter
        for letter in " ".join(text.split())
    )


def _as_text(value):
    return f"{value:.4g}" if isinstance(value, float) else str(value)
