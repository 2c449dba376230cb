"""The notebooks in two kinds: lessons, and the page to look things up in."""

from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
GLOSSARY = FOLDER / "09_glossary.ipynb"
LESSONS = [path for path in NOTEBOOKS if path != GLOSSARY]
