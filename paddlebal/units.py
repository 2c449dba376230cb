"""Constants of nature and what one unit of the edges is in SI."""

import math

STANDARD_GRAVITY = 9.80665
"""m/s², the conventional value of the 3rd CGPM (1901)."""


WATER_DENSITY = 1000.0
"""kg/m³, fresh water; sea water carries some 2.5 % more."""


GRAM_MM = 1e-6
"""kg·m in one g·mm."""


MM, GRAM, DEG, PERCENT = 1e-3, 1e-3, math.pi / 180, 1e-2
"""m in one mm, kg in one g, rad in one degree, and the share that is one per cent."""


def turn_deg(angle):
    """An angle [rad] within one turn, in degrees to one decimal, from 0 to below 360."""
    return round(math.degrees(angle), 1) % 360
