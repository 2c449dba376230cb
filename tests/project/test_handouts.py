"""The pages to hand out: whole, without code, readable without a network."""

import re
from html.parser import HTMLParser

import pdfplumber
import pytest
from key_pictures import save_key_pictures
from notebook_files import GLOSSARY, LESSONS, NOTEBOOKS

from paddlebal.files.text import data_path
from paddlebal.pages import mathml, page


class Loads(HTMLParser):
    """What a page would fetch, the formulas it holds, and its pictures without words."""

    def __init__(self, text):
        super().__init__()
        self.fetched, self.formulas, self.wordless = [], 0, 0
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.formulas += tag == "math"
        self.wordless += tag == "img" and not attrs.get("alt")
        inline = tag == "script" and "src" not in attrs
        asks = tag in {"img", "script", "iframe"} and not inline
        if asks and not attrs.get("src", "").startswith("data:"):
            self.fetched.append((tag, attrs.get("src")))
        if tag == "link":
            self.fetched.append((tag, attrs.get("href")))


@pytest.fixture(scope="module", params=NOTEBOOKS, ids=lambda path: path.stem)
def shown(request):
    return page(request.param)


def test_a_page_fetches_nothing(shown):
    assert Loads(shown).fetched == []


def test_every_picture_of_a_page_has_words(shown):
    assert Loads(shown).wordless == 0


@pytest.mark.parametrize("path", [*LESSONS, GLOSSARY], ids=lambda path: path.stem)
def test_a_lesson_and_the_glossary_show_formulas(path):
    assert Loads(page(path)).formulas > 3


def test_a_page_shows_no_code(shown):
    assert "\\displaystyle" not in shown and "\\frac" not in shown
    assert "highlight" not in shown and "import paddlebal" not in shown


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_the_page_of_a_lesson_keeps_pictures_and_folded_answers(path):
    shown = page(path)
    assert "data:image/png;base64," in shown
    assert shown.count("<summary>Answer</summary>") >= 2


def test_the_page_of_the_glossary_keeps_its_tables():
    shown = page(GLOSSARY)
    of_the_files = data_path("README.md").read_text(encoding="utf-8").count("\n|---")
    assert of_the_files and shown.count("<table") == 4 + of_the_files and "$" not in shown


def test_a_page_leaves_out_what_works_in_jupyterlab_only(shown):
    assert "Run All" not in shown


def test_links_between_notebooks_lead_to_pages(shown):
    assert not re.search(r'href="(?!\w+:)[^"]*\.ipynb', shown)


def test_a_formula_becomes_mathml_and_a_price_stays():
    assert mathml("so $x^2$.").startswith("so <math") and 'display="block"' in mathml("$$x$$")
    assert mathml(r"\$5 and no more") == r"\$5 and no more"


def test_key_pictures_are_pdf_pages_with_text(tmp_path):
    words = ("unbalance", "without", "static load")
    for path, expected in zip(save_key_pictures(tmp_path), words, strict=True):
        with pdfplumber.open(path) as pdf:
            (only,) = pdf.pages
            assert expected in only.extract_text()


def test_links_of_a_page_lead_to_other_handouts_only(shown):
    pages = {f"{path.stem}.html" for path in NOTEBOOKS} | {"index.html"}
    links = re.findall(r'href="([^"#]+)', shown)
    assert links
    for link in links:
        assert "://" in link or link in pages
