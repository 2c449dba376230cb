"""Scripts and styles of the pages that a browser draws."""

from pathlib import Path


def together(*names: str) -> str:
    """The texts of files of this folder, one after the other."""
    here = Path(__file__).parent
    return "\n".join((here / name).read_text(encoding="utf-8") for name in names)
