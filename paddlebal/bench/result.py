"""What a bench measurement says about a paddle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from paddlebal.arrays import Array
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, turn_deg


class Polar(NamedTuple):
    """An unbalance by its size [kg·m] and its direction [rad] from +y toward +z in body axes, and
    the standard uncertainty of each."""

    size: float
    direction: float
    size_u: float
    direction_u: float


@dataclass(frozen=True, eq=False)
class BenchFit:
    """What a bench measurement says about a paddle.

    Parameters
    ----------
    unbalance : ndarray (2,)
        Unbalance vector (U_y, U_z) [kg·m].
    covariance : ndarray (4, 4), (3, 3) or (2, 2)
        Of U_y, U_z [kg·m], friction [N·m] and scale zero [N], in this order; the last two only
        where the method measures them. Its scale is such that the unbalance lies with 95 %
        within ``d' C⁻¹ d <= 5.99``.
    friction : float, optional
        Friction moment [N·m]; None if the method doesn't measure it.
    zero : float, optional
        What the scale shows without a pull [N], which also takes up an error in the clamp's
        moment; None if the method has no scale.
    residuals : ndarray
        Reading minus fit: (n,) [N·m] for the lever, (n, 2) [kg·m] for an added mass, (n, 2) for
        films, of stiffness and rest angle over their uncertainties.
    birge : float, optional
        Birge ratio: size of the residuals against the one that the stated uncertainties
        explain; None where that cannot be told.
    enlarged : bool
        True if the scatter of the residuals makes a wider region than the stated uncertainties
        do: then the part of the covariance that scatter explains was multiplied.
    spare : int
        Readings beyond the unknowns.
    doubts : tuple of str
        What makes the result doubtful, in sentences; empty for a good bench.
    wrong : ndarray (n,) of bool, optional
        The readings that the others speak against.
    without : BenchFit, optional
        The fit without these.
    """

    unbalance: Array
    covariance: Array
    friction: float | None
    zero: float | None
    residuals: Array
    birge: float | None = None
    enlarged: bool = False
    spare: int = 0
    doubts: tuple[str, ...] = ()
    wrong: NDArray[np.bool_] | None = None
    without: BenchFit | None = None

    @property
    def unbalance_covariance(self) -> Array:
        """Covariance (2, 2) of the unbalance vector [(kg·m)²]."""
        return self.covariance[:2, :2]

    @property
    def friction_u(self) -> float | None:
        """Standard uncertainty of the friction moment [N·m]; None if it wasn't measured."""
        return None if self.friction is None else float(np.sqrt(self.covariance[2, 2]))

    @property
    def polar(self) -> Polar:
        """Size [kg·m] and direction [rad] of the unbalance, then their standard uncertainties.

        The direction counts from +y toward +z in body axes; the uncertainties are to first
        order, for a size well above its own. That of the direction is at most a quarter turn,
        so that twice the uncertainty is half a turn either way: the direction is open.
        """
        size = float(magnitude(self.unbalance))
        y, z = self.unbalance / size if size else (math.nan, math.nan)
        along, across = np.array([y, z]), np.array([-z, y])
        size_u, shift_u = (math.sqrt(v @ self.unbalance_covariance @ v) for v in (along, across))
        direction_u = min(shift_u / size, math.pi / 2) if size else math.nan
        return Polar(size, math.atan2(z, y), size_u, direction_u)

    @property
    def direction_open(self) -> bool:
        """Whether the unbalance is below its uncertainty, so that where it points is open."""
        return self.polar.size < 2 * self.polar.size_u

    def friction_words(self, unit: float, digits: int) -> str:
        """The friction moment ± two standard uncertainties in a unit [N·m], with so many digits.

        None is negative: where the fit says so, the words give its upper limit.
        """
        if self.friction is None or self.friction_u is None:
            return "not measured"
        value, u = self.friction / unit, 2 * self.friction_u / unit
        if value <= 0:
            return f"below {max(value + u, 0):.{digits}f}"
        return f"{value:.{digits}f} ± {u:.{digits}f}"

    def __str__(self):
        size, direction, size_u, direction_u = self.polar
        size, size_u = (part / GRAM_MM for part in (size, 2 * size_u))
        degrees, degrees_u = turn_deg(direction), math.degrees(2 * direction_u)
        lines = [
            f"unbalance   {size:.0f} ± {size_u:.0f} g·mm",
            f"direction   {degrees:.1f} ± {degrees_u:.1f} degrees",
        ]
        if self.friction is not None:
            lines.append(f"friction    {self.friction_words(1e-3, 1)} mN·m")
        if self.zero is not None:
            zero_u = 2 * math.sqrt(self.covariance[3, 3])
            lines.append(f"scale zero  {1e3 * self.zero:z.0f} ± {1e3 * zero_u:z.0f} mN")
        return "\n".join([*lines, "± is two standard uncertainties, about 95 %", *self.doubts])
