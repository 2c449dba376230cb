"""Numbers as people write them: with a decimal comma, a unit behind, or a degree sign.

What can be read in two ways is not guessed: it is told, or left to the caller to ask.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from paddlebal.errors import InputError, shown
from paddlebal.files.si import si_factor
from paddlebal.language import _

WORDS = {
    "deg": "° º deg degs degree degrees grad gradi grado grados graden grader degré degrés stopnie",
    "rad": "rad radian radians radiant radianti radianes radians",
    "mm": "mm millimetre millimetres millimeter millimeters millimetri milímetros millimètres",
    "cm": "cm centimetre centimetres centimeter centimeters zentimeter centimetri centímetros",
    "m": "m metre metres meter meters mètre mètres metri metro metros",
    "in": 'in inch inches zoll " ″ pouce pouces pollici pulgadas',
    "N": "n newton newtons",
    "mN": "mn",
    "kgf": "kgf kp kilopond",
    "g": "g gr gram grams gramm gramme grammes grammi gramos gf",
    "kg": "kg kilo kilos kilogram kilograms kilogramm kilogramme chilogrammi kilogramos",
    "lb": "lb lbs pound pounds pfund libbre libras",
    "lbf": "lbf",
    "oz": "oz ounce ounces unze unzen once onces oncia onzas",
}
"""How units are written, in several languages; Grad is a degree, in no place a gon."""


_BY_WORD = {word: unit for unit, words in WORDS.items() for word in words.split()}


POINT, COMMA = ".", ","


_NUMBER = re.compile(
    r"([-+\u2212]?)\s*(\d[\d.,'\u2019\u00a0\u202f ]*|[.,]\d+)(?:e([-+]?\d+))?\s*(.*)", re.S | re.I
)


_GROUPED = re.compile(r"(?<=\d)['\u2019\u00a0\u202f ](?=\d{3}(?!\d))")
"""Between thousands."""


def unit_named(word: str) -> str | None:
    """The unit that a word, sign or abbreviation names; None if it names none."""
    plain = word.strip().strip("[](){}").strip().rstrip(".")
    if plain == "mN":  # alone among these, it differs from another by its capital
        return plain
    return _BY_WORD.get(plain.lower())


def split_number(text: str) -> tuple[str, str] | None:
    """The digits with their marks, and what stands behind them; None if it is no number."""
    found = _NUMBER.fullmatch(text.strip())
    if not found:
        return None
    sign, digits, power, unit = found.groups()
    sign = "-" if sign in "-\u2212" and sign else ""
    digits = _GROUPED.sub("", digits.rstrip(" \u00a0\u202f"))
    if not re.fullmatch(r"[\d.,]+", digits):
        return None
    return sign + digits + (f"e{power}" if power else ""), unit.strip()


def decimal_mark(texts: Iterable[str]) -> str | None:
    """The mark that must be a decimal one in numbers that belong together.

    None if nothing tells: no mark at all, or only such as 1,234, which may also be a thousand and
    more. InputError if they contradict each other.
    """
    found = set()
    for text in texts:
        parts = split_number(text)
        digits = parts[0].lstrip("-").partition("e")[0] if parts else ""
        marks = [letter for letter in digits if letter in ".,"]
        if len(set(marks)) == 2:
            found.add(marks[-1])
        elif len(marks) == 1 and not could_be_thousands(digits):
            found.add(marks[0])
        elif len(marks) > 1:
            found.add(POINT if marks[0] == COMMA else COMMA)
    if len(found) > 1:
        raise InputError(_("some numbers have a decimal comma and others a decimal point"))
    return found.pop() if found else None


def could_be_thousands(digits: str) -> bool:
    """Whether a number such as 1,234 or 1.234 may be meant as a thousand and more."""
    return bool(re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", digits))


def number_in(text: str, mark: str | None = None) -> float:
    """The number that digits with their marks stand for; nan if they stand for none.

    mark is the decimal one; without it, it is what `decimal_mark` tells, else a point, and a
    comma that may separate thousands raises InputError.
    """
    parts = split_number(text)
    if parts is None:
        return math.nan
    digits = parts[0]
    if mark is None:
        mark = decimal_mark([digits])
        if mark is None and could_be_thousands(digits.lstrip("-")) and COMMA in digits:
            whole, part = digits.split(COMMA)
            raise InputError(
                _("{text} can be read in two ways, expected {decimal} or {whole}").format(
                    text=digits, decimal=f"{whole}.{part.rstrip('0') or '0'}", whole=whole + part
                )
            )
    mark = mark or POINT
    other = COMMA if mark == POINT else POINT
    grouped = rf"-?\d{{1,3}}(\{other}\d{{3}})+(?!\d|\{other}).*"
    if other in digits and not re.fullmatch(grouped, digits):
        return math.nan
    try:
        return float(digits.replace(other, "").replace(mark, "."))
    except ValueError:
        return math.nan


def quantity(text: str, unit: str, si: str, mark: str | None = None) -> float:
    """A number in SI, read in the unit that stands behind it, else in `unit`.

    Parameters
    ----------
    text : str
        Such as '12,5', '30°' or '0.65 kg'.
    unit : str
        Of a number that stands alone, one of WORDS.
    si : str
        SI unit of the quantity: 'rad', 'm', 'N' or 'kg'; '' for a plain number.
    mark : str, optional
        The decimal mark; see `number_in`.

    Returns
    -------
    float

    Raises
    ------
    InputError
        If it is no number, of another kind, or can be read in two ways.
    """
    parts = split_number(text)
    value = math.nan if parts is None else number_in(parts[0], mark)
    if parts is None or not math.isfinite(value):
        raise InputError(_("is {text}, expected a number").format(text=shown(text)))
    given = unit_named(parts[1]) if parts[1] else unit
    if not si:
        if parts[1] not in ("", "%"):
            raise InputError(_("is {text}, expected a number").format(text=shown(text)))
        return value
    factor = si_factor(given, si) if given else None
    if factor is None:
        problem = _("has the unit {given}, expected one such as {unit}")
        raise InputError(problem.format(given=shown(parts[1]), unit=unit))
    return value * factor
