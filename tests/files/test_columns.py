"""Units of columns."""

from typing import Any

import pint
import pytest

from paddlebal.files.si import COMMON_UNITS
from paddlebal.units import STANDARD_GRAVITY


@pytest.mark.parametrize(("unit", "si"), COMMON_UNITS)
def test_the_units_that_need_no_library_are_those_of_the_library(unit, si):
    one: Any = pint.UnitRegistry().Quantity(1.0, unit)
    if (unit, si) == ("g", "N"):
        value = one.to("kg").magnitude * STANDARD_GRAVITY
    else:
        value = one.to(si).magnitude
    assert COMMON_UNITS[unit, si] == pytest.approx(value, rel=1e-14)
