"""Every message is there in every language, with the places for its numbers."""

import re
import sys
from pathlib import Path

import pytest

from paddlebal.language import _, catalogue, languages, speaking

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

import messages

OTHERS = [code for code in languages() if code != "en"]
PLACES = re.compile(r"\{[^}]*\}")


def test_there_is_a_second_language():
    assert "de" in OTHERS


@pytest.mark.parametrize("code", OTHERS)
def test_the_catalogue_is_complete_and_up_to_date(code):
    path = messages.FOLDER / f"{code}.po"
    assert path.read_text(encoding="utf-8") == messages.updated(path, messages.messages())
    assert [each for each, text in catalogue(code).items() if not text] == []


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_has_the_places_of_its_message(code):
    for message, text in catalogue(code).items():
        assert sorted(PLACES.findall(message)) == sorted(PLACES.findall(text)), message


def test_what_has_no_translation_is_shown_in_english():
    with speaking("de"):
        assert _("no such message") == "no such message"
        assert _("lever") == "Hebel"
    with speaking("xx"):
        assert _("lever") == "lever"


def test_a_third_language_is_only_a_file(tmp_path):
    text = messages.updated(tmp_path / "fr.po", messages.messages())
    assert text.count("msgid") == len(catalogue("de")) + 1
    assert '"Language: fr\\n"' in text
