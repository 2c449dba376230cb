"""Units that files and people use, in SI.

A pull in a unit of mass is what a scale shows that is marked in grams: that mass times standard
gravity.
"""

from functools import cache

from paddlebal.units import DEG, GRAM, GRAM_MM, MM, STANDARD_GRAVITY


@cache
def _units():
    import pint

    return pint.UnitRegistry()


COMMON_UNITS = {
    ("deg", "rad"): DEG, ("rad", "rad"): 1.0,
    ("mm", "m"): MM, ("cm", "m"): 0.01, ("m", "m"): 1.0,
    ("N", "N"): 1.0, ("kgf", "N"): STANDARD_GRAVITY, ("g", "N"): GRAM * STANDARD_GRAVITY,
    ("g", "kg"): GRAM, ("kg", "kg"): 1.0,
    ("s", "s"): 1.0,
    ("g·mm", "kg·m"): GRAM_MM,
}  # fmt: skip
"""Units of nearly all files with their factor, so that pint need not be loaded for them."""


def si_factor(unit, si):
    """One of a unit in the SI unit `si`, None if it is of another kind; pint's errors for a text
    that names no unit."""
    if (unit, si) in COMMON_UNITS:
        return COMMON_UNITS[unit, si]
    return _to_si(1.0 * _units().parse_units(unit), si)


def _to_si(one, unit):
    """One of a unit in the SI unit `unit`, None if it is of another kind."""
    if unit == "N" and one.check("[mass]"):
        return one.to("kg").magnitude * STANDARD_GRAVITY
    # To pint an angle has no dimension, so percent or nothing would pass for one.
    plain_number = unit == "rad" and one.to_root_units().units != _units().radian
    if plain_number or not one.is_compatible_with(unit):
        return None
    return one.to(unit).magnitude
