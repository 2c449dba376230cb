"""The notebooks in three kinds: desk and book, lessons, and the page to look things up in."""

from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
GLOSSARY = FOLDER / "09_glossary.ipynb"
DESK, BOOK = FOLDER / "00_desk.ipynb", FOLDER / "00_book.ipynb"
LESSONS = [path for path in NOTEBOOKS if path not in (DESK, BOOK, GLOSSARY)]
