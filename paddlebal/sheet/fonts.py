"""Fonts for the letters that names are written in."""

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from unicodedata import category

from paddlebal.sheet.canvas import FONT

LATIN_END = 0x250
"""The sheet's own font has every letter below."""


def folder():
    """The folder of the sheet's own font, found without the work of importing matplotlib."""
    spec = find_spec("matplotlib")
    places = spec.submodule_search_locations if spec else None
    return str(Path(*places or ()) / "mpl-data" / "fonts" / "ttf")


@cache
def _letters(path):
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(path).get_charmap())


def fonts_for(text, first=FONT):
    """Font families that have the letters of a text between them, and the letters none has.

    The families begin with `first`; others of this computer follow only if they are needed.
    """
    seen = {ord(letter) for letter in text if category(letter) not in ("Cc", "Cf", "Zs")}
    if first == FONT and max(seen, default=0) < LATIN_END:
        return (first,), ""
    from matplotlib.font_manager import findfont, fontManager

    families = [first]
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


@cache
def typst_fonts():
    """The sheet's own fonts, read once for all pages that typst sets."""
    import typst

    return typst.Fonts(font_paths=[folder()])
