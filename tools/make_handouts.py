"""Write the notebooks as pages to hand out, the key pictures and the reference.

The coach's key pictures are drawn anew, as print-ready PDF, and the reference of the public names
is built from their docstrings.
"""

import sys
from pathlib import Path

import nbformat
from key_pictures import save_key_pictures
from make_api import make_api

from paddlebal.coach import TITLE, coach_page
from paddlebal.pages import index, page, title_of

ROOT = Path(__file__).resolve().parents[1]
COACH = "page_for_a_course.html"
WORDS = (
    "Pages to read, to move and to print. They need no network: copy the folder to a memory stick "
    "or to any place that serves files."
)


def main(folder=ROOT / "handouts"):
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    pages = {}
    for path in sorted((ROOT / "notebooks").glob("*.ipynb")):
        target = folder / f"{path.stem}.html"
        target.write_text(page(path), encoding="utf-8")
        pages[target.name] = title_of(nbformat.read(path, as_version=4))
        print(target)
    (folder / COACH).write_text(coach_page(), encoding="utf-8")
    pages[COACH] = TITLE
    (folder / "index.html").write_text(index(pages, WORDS), encoding="utf-8")
    for target in save_key_pictures(folder):
        print(target)
    make_api(folder / "api")
    print(folder / "api" / "index.html")


if __name__ == "__main__":
    main(*sys.argv[1:])
