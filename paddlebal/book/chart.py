"""Is the bench itself still right? A control chart of a reference rod measured now and then.

Limits for individual values by their moving range: NIST/SEMATECH, e-Handbook of Statistical
Methods, section 6.3.2.2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from paddlebal.arrays import Array
from paddlebal.errors import InputError

D2 = 2 / math.sqrt(math.pi)
"""Expected range of two values of standard deviation 1; the handbook's 1.128."""


D3 = math.sqrt(2 - 4 / math.pi)
"""Standard deviation of that range; 1 + 3 D3 / D2 is the handbook's 3.267."""


FIRST = 6
"""Values that make the limits; later ones are judged by them."""


@dataclass(frozen=True, eq=False)
class Chart:
    """Values in the order in which they were measured, and their limits.

    Parameters
    ----------
    values : ndarray (n,)
    centre, low, high : float
        The limits that the first values set.
    widest : float
        Greatest step from one value to the next that is usual.
    moved : ndarray (n,) of bool
        Which lie outside, or follow the one before by more than that.
    """

    values: Array
    centre: float
    low: float
    high: float
    widest: float
    moved: NDArray[np.bool_]

    @property
    def spread(self) -> Chart:
        """The chart of the steps from one value to the next, for how much they scatter."""
        steps = np.abs(np.diff(self.values))
        usual = self.widest / (1 + 3 * D3 / D2)
        return Chart(steps, usual, 0.0, self.widest, self.widest, steps > self.widest)

    @property
    def warns(self) -> bool:
        """Whether the last value says that something has moved."""
        return bool(self.moved[-1])


def control_chart(values: ArrayLike, first: int = FIRST) -> Chart:
    """Limits of individual values by their moving range.

    Parameters
    ----------
    values : array_like (n,)
        In the order in which they were measured.
    first : int
        How many of them set the limits.

    Returns
    -------
    Chart

    Raises
    ------
    InputError
        If there are fewer than three values.
    """
    each = np.asarray(values, dtype=float)
    if each.size < 3 or not np.all(np.isfinite(each)):
        raise InputError(
            f"{each.size} measurements of the reference were found, expected three or more"
        )
    start = each[: max(3, min(first, each.size))]
    step = float(np.abs(np.diff(start)).mean())
    centre, reach = float(start.mean()), 3 * step / D2
    widest = step * (1 + 3 * D3 / D2)
    steps = np.abs(np.diff(each, prepend=each[0]))
    moved = (np.abs(each - centre) > reach) | (steps > widest)
    return Chart(each, centre, centre - reach, centre + reach, widest, moved)
