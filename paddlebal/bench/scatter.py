"""Residuals against the stated uncertainties: how much they scatter and what that does."""

from __future__ import annotations

import math

import numpy as np

SURE = 0.95
"""Probability that a stated region holds the truth, from which a verdict is given, and at which
scatter is significant."""


REGION = -2 * math.log(1 - SURE)
"""Squared distance within which a normal distribution in the plane lies with that probability."""


def significant(chi_square, spare, level=1 - SURE):
    """Whether residuals are too large for the stated uncertainties (chi-square test)."""
    from scipy.special import chdtrc

    return bool(spare and chdtrc(spare, chi_square) < level)


def birge_ratio(residuals, variance, unknowns):
    """Birge ratio, and whether the chi-square test finds the residuals (n,) too large.

    variance (n,) is what the stated uncertainties explain; unknowns is how many were fitted.
    The ratio is None if there are no more readings than unknowns.
    R. T. Birge, The calculation of errors by the method of least squares, Phys. Rev. 40 (1932).
    """
    spare = residuals.size - unknowns
    if spare == 0:
        return None, False
    chi_square = float(np.sum(residuals**2 / variance))
    return float(np.sqrt(chi_square / spare)), significant(chi_square, spare)


def region_widening(chi_square, spare):
    """What the covariance is multiplied by, so that the region is never narrower than the stated
    uncertainties make it, and as wide as the scatter makes it by the F distribution.

    The region for an unknown variance: G. A. F. Seber, Linear Regression Analysis, section 5.1.
    """
    from scipy.special import fdtri

    if not spare:
        return 1.0
    return max(1.0, chi_square / spare * 2 * float(fdtri(2, spare, SURE)) / REGION)
