"""Sentences in the reader's language, from catalogues in gettext's text form.

Messages stand in English in the code, ``_("...")``; ``languages/xx.po`` holds them in another
language. A further language is one more such file. What a catalogue lacks is shown in English.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.resources import files

ENGLISH = "en"


_current: ContextVar[str] = ContextVar("language", default=ENGLISH)


def _(message: str) -> str:
    """A message in the language that is spoken now.

    Parameters
    ----------
    message : str
        In English, as it stands in the catalogues.

    Returns
    -------
    str
    """
    language = _current.get()
    return message if language == ENGLISH else catalogue(language).get(message) or message


def marked(message: str) -> str:
    """A message that is put into another language only where it is shown, by `_`.

    Parameters
    ----------
    message : str

    Returns
    -------
    str
        The same.
    """
    return message


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Within this block messages come in a language, such as 'de'.

    Parameters
    ----------
    language : str
        One of `languages`; in an unknown one all is English.
    """
    before = _current.set(language if language in languages() else ENGLISH)
    try:
        yield
    finally:
        _current.reset(before)


def spoken() -> str:
    """The language that is spoken now."""
    return _current.get()


@cache
def languages() -> dict[str, str]:
    """Codes of the languages there are, each with its own name for itself."""
    from babel import Locale

    folder = files("paddlebal").joinpath("languages")
    codes = sorted(each.name[:-3] for each in folder.iterdir() if each.name.endswith(".po"))
    return {code: Locale.parse(code).get_display_name() or code for code in (ENGLISH, *codes)}


@cache
def catalogue(language: str) -> dict[str, str]:
    """Each message of a language's catalogue and its translation, '' where there is none."""
    from babel.messages.pofile import read_po

    file = files("paddlebal").joinpath("languages", f"{language}.po")
    with file.open("rb") as stream:
        entries = read_po(stream, locale=language)
    return {str(each.id): str(each.string) for each in entries if each.id}
