"""Least roll torque over masses at given places, as linear programmes.

The mean and the peak of the torque's size are linear programmes; the mean square is closed in on by
tangents from below (J. E. Kelley, The cutting-plane method for solving convex programs, J. SIAM 8,
1960, 703-712). Whole pieces and their number take binaries. Each gives a bound that no other masses
at these places can pass.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from paddlebal.motion_balance.rows import PROPERTIES, piece_properties, properties_of
from paddlebal.units import GRAM

AIMS = ("mean", "mean square", "peak")
"""What is made least, of the size of the hands' roll torque over the cycle."""


CLOSE = 1e-4
"""Share by which the mean square may lie above its bound."""


CUTS = 200


class Programme:
    """Least torque over masses at places; its unknowns are masses, what they make, and more."""

    def __init__(self, paddle, rows, weights, limits, places, aim):
        self.paddle, self.rows, self.limits, self.aim = paddle, rows, limits, aim
        self.places, self.weights = places, weights
        self.base = properties_of(paddle)
        # The solver's tolerances expect numbers of order one: grams, and scaled properties.
        self.unit = GRAM * piece_properties(*places)
        self.scale = np.maximum(np.abs(self.base), 1e-3)
        self.count = places[0].size

    @cached_property
    def _held(self):
        """Rows (k, count) of limits on the masses [g], with their least and greatest."""
        x, arm, angle = self.places
        limits, mass = self.limits, self.paddle.mass
        rows = [np.ones(self.count)]
        low, high = [-np.inf], [limits.total_mass / GRAM]
        if limits.swing_inertia is not None:
            rows.append(1e3 * self.unit[7])
            low.append(-np.inf)
            high.append(1e3 * limits.swing_inertia)
        if limits.balance_shift is not None:
            # |sum m (x - X)| <= shift (M + sum m), X the balance point now
            away = x - self.paddle.balance_point
            for sign in (1, -1):
                rows.append(sign * away - limits.balance_shift)
                low.append(-np.inf)
                high.append(limits.balance_shift * mass / GRAM)
        if limits.stays:
            U, within = self.paddle.unbalance(), limits.stays_within
            turns = np.arange(16) * 2 * np.pi / 16
            for along in np.column_stack([np.cos(turns), np.sin(turns)]):
                rows.append(1e3 * along @ self.unit[:2])
                low.append(-np.inf)
                high.append(1e3 * (within - along @ U))
        return np.array(rows), np.array(low), np.array(high)

    def _masses(self, counted):
        """The unknowns' bounds and kinds: masses [g] or steps, and whether a piece is there."""
        limits = self.limits
        most = limits.total_mass / GRAM
        step = limits.mass_step / GRAM if limits.mass_step else 1.0
        chosen = self.count if limits.pieces is not None and counted else 0
        whole = 1 if limits.mass_step and counted else 0
        return most, step, chosen, whole

    def solve(self, cuts=(), counted=True):
        """Masses [kg] (count,), the least value [N·m] found, and its bound.

        cuts: points p (8,) at which the mean square is bounded from below by its tangent.
        """
        from scipy import sparse
        from scipy.optimize import Bounds, LinearConstraint, milp

        most, step, chosen, whole = self._masses(counted)
        n, k = self.count, self.rows.shape[1]
        extra = {"mean": k, "peak": 1, "mean square": 1}[self.aim]
        size = n + PROPERTIES + chosen + extra
        at = n + PROPERTIES + chosen
        rows, low, high = [], [], []

        def add(block, least, greatest):
            rows.append(block)
            low.append(np.broadcast_to(least, block.shape[0]))
            high.append(np.broadcast_to(greatest, block.shape[0]))

        def placed(parts):
            """A block of rows from (start, matrix) parts."""
            height = parts[0][1].shape[0]
            columns = sparse.lil_matrix((height, size))
            for start, matrix in parts:
                columns[:, start : start + matrix.shape[1]] = matrix
            return columns.tocsr()

        made = step * self.unit / self.scale[:, None]
        add(placed([(0, made), (n, -np.eye(PROPERTIES))]), 0.0, 0.0)
        held, least, greatest = self._held
        add(placed([(0, step * held)]), least, greatest)
        if chosen:
            add(placed([(0, step * np.eye(n)), (n + PROPERTIES, -most * np.eye(n))]), -np.inf, 0.0)
            add(placed([(n + PROPERTIES, np.ones((1, n)))]), -np.inf, self.limits.pieces)
        torque, base = (self.rows * self.scale[:, None]).T, self.base @ self.rows
        cost = np.zeros(size)
        if self.aim == "mean square":
            gram = (self.rows * self.weights) @ self.rows.T
            for point in cuts:
                value, slope = point @ gram @ point, 2 * gram @ point
                # z >= value + slope (base + p - point)
                line = np.concatenate([slope * self.scale])[None]
                add(placed([(n, line), (at, -np.ones((1, 1)))]), -np.inf,
                    -(value + slope @ (self.base - point)))  # fmt: skip
            cost[at] = 1.0
        else:
            ones = sparse.eye(k) if self.aim == "mean" else np.ones((k, 1))
            for sign in (1, -1):
                add(placed([(n, sign * torque), (at, -ones)]), -np.inf, -sign * base)
            cost[at:] = self.weights if self.aim == "mean" else 1.0
        lower = np.concatenate([np.zeros(n), np.full(PROPERTIES, -np.inf), np.zeros(chosen),
                                np.zeros(extra)])  # fmt: skip
        upper = np.concatenate([np.full(n, most / step), np.full(PROPERTIES, np.inf),
                                np.ones(chosen), np.full(extra, np.inf)])  # fmt: skip
        kinds = np.concatenate([np.full(n, whole), np.zeros(PROPERTIES), np.ones(chosen),
                                np.zeros(extra)])  # fmt: skip
        found = milp(
            cost, integrality=kinds, bounds=Bounds(lower, upper),
            constraints=LinearConstraint(sparse.vstack(rows), np.concatenate(low),
                                         np.concatenate(high)),
            options={"mip_rel_gap": 1e-4, "time_limit": 20.0},
        )  # fmt: skip
        if found.x is None:
            return None
        bound = found.mip_dual_bound if kinds.any() else found.fun
        return found.x[:n] * step * GRAM, float(found.fun), float(bound)

    def best(self, counted=True):
        """Masses [kg] and the bound [N·m], for the mean square its root."""
        if self.aim != "mean square":
            found = self.solve(counted=counted)
            return None if found is None else (found[0], found[2])
        gram = (self.rows * self.weights) @ self.rows.T
        cuts, best, bound = [self.base], None, 0.0
        for _again in range(CUTS):
            found = self.solve(cuts, counted)
            if found is None:
                return None
            masses, _value, least = found
            point = self.base + piece_properties(*self.places) @ masses
            value, bound = float(point @ gram @ point), max(bound, least)
            if best is None or value < best[1]:
                best = masses, value
            if best[1] - bound <= CLOSE * best[1]:
                break
            cuts.append(point)
        assert best is not None
        return best[0], math.sqrt(max(bound, 0.0))
