"""Draw the package's rooms and the directions of its imports into the contributor guide."""

import re
import tomllib
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parents[1]
GUIDE = ROOT / "DEVELOPERS.md"
START, END = "<!-- rooms: drawn by tools/draw_rooms.py -->", "<!-- end of the drawing -->"


def layers():
    """The layers of the first import contract, from the top: lists of names."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    rows = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    return [re.split(r" [|:] ", row) for row in rows]


def needs(names):
    """Pairs (upper, lower): what imports what, without those that follow from others."""
    graph = grimp.build_graph("paddlebal", cache_dir=None)
    direct = {
        upper: {
            lower
            for lower in names
            if lower != upper
            and graph.find_shortest_chains(
                f"paddlebal.{upper}", f"paddlebal.{lower}", as_packages=True
            )
        }
        for upper in names
    }
    return [
        (upper, lower)
        for upper, below in direct.items()
        for lower in sorted(below)
        if not any(lower in direct[between] for between in below)
    ]


def drawing():
    """The rooms as a Mermaid flowchart: a box a layer, an arrow from a room to what it imports."""
    rows = layers()
    lines = ["```mermaid", "flowchart TD"]
    for number, row in enumerate(rows):
        lines += [f"  subgraph layer{number} [ ]", "    direction LR"]
        lines += [f"    {box(name)}" for name in row]
        lines.append("  end")
    names = [name for row in rows for name in row]
    lines += [f"  {upper} --> {lower}" for upper, lower in needs(names)]
    return "\n".join([*lines, "```"])


def box(name):
    """A room with several modules is drawn as a box with double sides."""
    return f"{name}[[{name}/]]" if (ROOT / "paddlebal" / name).is_dir() else f"{name}[{name}]"


def drawn(guide):
    """The guide's text with the present drawing."""
    before, rest = guide.split(START)
    return f"{before}{START}\n\n{drawing()}\n\n{END}{rest.split(END)[1]}"


if __name__ == "__main__":
    GUIDE.write_text(drawn(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
