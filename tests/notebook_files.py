"""The notebooks in three kinds: the desk, lessons, and the page to look things up in."""

from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
GLOSSARY = FOLDER / "09_glossary.ipynb"
DESK = FOLDER / "00_desk.ipynb"
LESSONS = [path for path in NOTEBOOKS if path not in (DESK, GLOSSARY)]
