"""Names for the types of numbers that functions take and return."""

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
"""Floating-point numbers of the shape that the function's text tells."""

Side: TypeAlias = Literal["left", "right"]
