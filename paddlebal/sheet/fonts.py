"""Fonts for the letters that names are written in."""

from functools import cache
from unicodedata import category

from matplotlib.font_manager import findfont, fontManager
from matplotlib.ft2font import FT2Font

FAMILY = "DejaVu Sans"
"""The sheet's own font; it comes with matplotlib."""


@cache
def _letters(path):
    return frozenset(FT2Font(path).get_charmap())


def fonts_for(text, first=FAMILY):
    """Font families that have the letters of a text between them, and the letters none has.

    The families begin with `first`; others of this computer follow only if they are needed.
    """
    families = [first]
    seen = {ord(letter) for letter in text if category(letter) not in ("Cc", "Cf", "Zs")}
    wanted = seen - _letters(findfont(first))
    for entry in sorted(fontManager.ttflist, key=lambda entry: entry.name):
        if not wanted:
            break
        if entry.name.startswith("Last Resort") or entry.style != "normal":
            continue  # a font of boxes
        if wanted & _letters(entry.fname):
            families.append(entry.name)
            wanted -= _letters(entry.fname)
    return tuple(families), "".join(map(chr, sorted(wanted)))
