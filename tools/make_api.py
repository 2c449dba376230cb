"""The reference of the public names, from their docstrings: one page for each module."""

import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from public_names import public_names

SETTINGS = Path(__file__).with_name("api")


def pages():
    """Text in reStructuredText of each page by its name, the contents first."""
    homes = public_names()
    modules = sorted({home or name for name, home in homes.items()})
    listed = "\n   ".join(modules)
    made = {"index": f"paddlebal\n=========\n\n.. toctree::\n\n   {listed}\n"}
    for module in modules:
        names = ", ".join(name for name, home in homes.items() if home == module)
        made[module] = (
            f"{module}\n{'=' * len(module)}\n\n"
            f".. automodule:: paddlebal.{module}\n   :members: {names}\n"
        )
    return made


def make_api(folder):
    """Build the pages as HTML; a warning by Sphinx is an error."""
    with TemporaryDirectory() as source:
        for name, text in pages().items():
            Path(source, f"{name}.rst").write_text(text, encoding="utf-8")
        subprocess.run(
            [sys.executable, "-m", "sphinx", "-q", "-E", "-W", "--keep-going"]
            + ["-c", SETTINGS, "-d", Path(source, "kept"), source, folder],
            check=True,
        )
