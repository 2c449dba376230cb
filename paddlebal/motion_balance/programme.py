"""Least roll torque over masses at given stations, as linear programmes.

The mean and the peak of the torque's size are linear programmes; the mean square is closed in on by
tangents from below (J. E. Kelley, The cutting-plane method for solving convex programs, J. SIAM 8,
1960, 703-712). Angles come in as they pay: the programme's prices say by how much a piece at any
angle could still help, which gives the next angles and the bound (column generation: P. C. Gilmore,
R. E. Gomory, A linear programming approach to the cutting-stock problem, Operations Research 9,
1961, 849-859). Whole pieces and their number take binaries.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import NamedTuple

import numpy as np

from paddlebal.arrays import Array
from paddlebal.motion_balance.rows import PROPERTIES, piece_properties, properties_of
from paddlebal.units import DEG, GRAM

AIMS = ("mean", "mean square", "peak")
"""What is made least, of the size of the hands' roll torque over the cycle."""


CLOSE = 1e-4
"""Share by which what is found may lie above its bound."""


ROUNDS = 200


FINE = 0.25 * DEG
"""Between the angles at which a piece is priced."""


class Solved(NamedTuple):
    """Masses [kg] (n,) at places (x, arm, angle), each (n,), and the bound [N·m]."""

    masses: Array
    places: tuple[Array, Array, Array]
    bound: float


class Programme:
    """Least torque over masses at places; its unknowns are masses, what they make, and more."""

    def __init__(self, paddle, rows, weights, limits, aim):
        self.paddle, self.rows, self.limits, self.aim = paddle, rows, limits, aim
        self.weights, self.base = weights, properties_of(paddle)
        self.gram = (rows * weights) @ rows.T
        # The solver's tolerances expect numbers of order one: grams, and scaled properties.
        self.scale = np.maximum(np.abs(self.base), 1e-3)
        self.total = limits.total_mass / GRAM
        self.finest = self._at(np.arange(0, 2 * np.pi - 1e-9, FINE))
        self.places = self._at(np.arange(0, 2 * np.pi - 1e-9, limits.angle_step))

    def _at(self, angles):
        """Places as (x, arm, angle), with these angles at each station."""
        count = len(self.limits.stations)
        return (
            np.repeat(self.limits.stations, angles.size),
            np.repeat(self.limits.arms, angles.size),
            np.tile(angles, count),
        )

    def _made(self, places):
        """What a gram at each place makes of the scaled properties (8, n)."""
        return GRAM * piece_properties(*places) / self.scale[:, None]

    def _held(self, places):
        """What a gram at each place takes of each limit (k, n), and the limits (k,)."""
        x, _arm, _angle = places
        limits, unit = self.limits, GRAM * piece_properties(*places)
        rows, most = [np.ones(x.size)], [self.total]
        if limits.swing_inertia is not None:
            rows.append(1e3 * unit[7])
            most.append(1e3 * limits.swing_inertia)
        if limits.balance_shift is not None:
            # |sum m (x - X)| <= shift (M + sum m), X the balance point now
            away = x - self.paddle.balance_point
            rows += [away - limits.balance_shift, -away - limits.balance_shift]
            most += [limits.balance_shift * self.paddle.mass / GRAM] * 2
        if limits.stays:
            turns = np.arange(16) * 2 * np.pi / 16
            for along in np.column_stack([np.cos(turns), np.sin(turns)]):
                rows.append(1e3 * along @ unit[:2])
                most.append(1e3 * (limits.stays_within - along @ self.paddle.unbalance()))
        return np.array(rows), np.array(most)

    def _torque_rows(self, cuts, extra):
        """Rows over the scaled properties and over further unknowns, with their greatest."""
        from scipy import sparse

        torque, base = (self.rows * self.scale[:, None]).T, self.base @ self.rows
        if self.aim == "mean square":  # z >= value + slope (base + p - point)
            slopes = [2 * self.gram @ point for point in cuts]
            most = [slope @ (point - self.base) - point @ self.gram @ point
                    for slope, point in zip(slopes, cuts, strict=True)]  # fmt: skip
            own = np.array([slope * self.scale for slope in slopes]).reshape(-1, PROPERTIES)
            return sparse.csr_matrix(own), -sparse.csr_matrix(np.ones((len(cuts), 1))), most
        ones = (
            sparse.eye(extra) if self.aim == "mean" else sparse.csr_matrix(np.ones((base.size, 1)))
        )
        both = sparse.csr_matrix(np.vstack([torque, -torque]))
        return both, -sparse.vstack([ones, ones]), np.concatenate([-base, base])

    def solve(self, places, cuts=(), counted=False):
        """Masses [kg] (n,), the least value, its bound at these places, and prices: of the scaled
        properties (8,) and of the limits (k,). None if no masses keep the limits.

        cuts: points p (8,) at which the mean square is bounded from below by its tangent. counted:
        whether pieces are counted and in whole steps; then there are no prices.
        """
        from scipy import sparse
        from scipy.optimize import Bounds, LinearConstraint, linprog, milp

        limits, n = self.limits, places[0].size
        step = limits.mass_step / GRAM if limits.mass_step and counted else 1.0
        chosen = n if limits.pieces is not None and counted else 0
        extra = self.rows.shape[1] if self.aim == "mean" else 1
        held, most = self._held(places)
        by_property, by_extra, torque_most = self._torque_rows(cuts, extra)
        blocks = [[sparse.csr_matrix(step * held), None, None, None],
                  [None, by_property, None, by_extra]]  # fmt: skip
        greatest = [most, torque_most]
        if chosen:
            one = sparse.eye(n)
            blocks += [[step * one, None, -self.total * one, None],
                       [None, None, sparse.csr_matrix(np.ones((1, n))), None]]  # fmt: skip
            greatest += [np.zeros(n), [limits.pieces]]
        sizes = n, PROPERTIES, chosen, extra
        uppers = [
            sparse.hstack([
                sparse.csr_matrix((next(b for b in row if b is not None).shape[0], size))
                if block is None else block
                for block, size in zip(row, sizes, strict=True) if size
            ])
            for row in blocks
        ]  # fmt: skip
        upper, high = sparse.vstack(uppers).tocsr(), np.concatenate(greatest)
        made = sparse.hstack([
            sparse.csr_matrix(step * self._made(places)), -sparse.eye(PROPERTIES),
            sparse.csr_matrix((PROPERTIES, chosen + extra)),
        ]).tocsr()  # fmt: skip
        cost = np.zeros(sum(sizes))
        cost[-extra:] = self.weights if self.aim == "mean" else 1.0
        low = np.repeat([0.0, -np.inf, 0.0, 0.0], sizes)
        top = np.repeat([self.total / step, np.inf, 1.0, np.inf], sizes)
        if not counted:
            found = linprog(cost, upper, high, made, np.zeros(PROPERTIES),
                            np.column_stack([low, top]), method="highs")  # fmt: skip
            if found.x is None:
                return None
            prices = found.eqlin.marginals, found.ineqlin.marginals[: most.size]
            return found.x[:n] * GRAM, found.fun, found.fun, prices
        whole = np.repeat([1.0 if limits.mass_step else 0.0, 0.0, 1.0, 0.0], sizes)
        found = milp(
            cost, integrality=whole, bounds=Bounds(low, top),
            constraints=[LinearConstraint(upper, -np.inf, high), LinearConstraint(made, 0, 0)],
            options={"mip_rel_gap": 1e-4, "time_limit": 20.0},
        )  # fmt: skip
        if found.x is None:
            return None
        return found.x[:n] * step * GRAM, found.fun, found.mip_dual_bound, None

    def _worth(self, prices):
        """By how much a gram at each of the finest places would lessen the value."""
        of_property, of_limit = prices
        made, held = self._finest
        return np.maximum(made.T @ of_property + held.T @ of_limit, 0.0)

    @cached_property
    def _finest(self):
        """What a gram at each of the finest places makes, and takes of each limit."""
        return self._made(self.finest), self._held(self.finest)[0]

    def _value(self, masses, places):
        """What is made least, of masses at places; of the mean square itself."""
        point = self.base + piece_properties(*places) @ masses
        if self.aim == "mean square":
            return float(point @ self.gram @ point), point
        size = np.abs(point @ self.rows)
        return float(size.max() if self.aim == "peak" else size @ self.weights), point

    def best(self):
        """The best masses, as `Solved`; None if none keep the limits."""
        counted = self.limits.pieces is not None or self.limits.mass_step > 0
        found = None
        if not self.limits.mass_step:
            found = self._closed_in(priced=True)
        if counted:  # with the angles that paid
            found = self._closed_in(priced=False)
        if found is None or self.aim != "mean square":
            return found
        return found._replace(bound=math.sqrt(max(found.bound, 0.0)))

    def _closed_in(self, priced):
        """Solve, add what the answer asks for, a tangent or angles, and again until it is close."""
        cuts, best, bound = [self.base], None, 0.0
        for _again in range(ROUNDS):
            found = self.solve(self.places, cuts, not priced)
            if found is None:
                return None
            masses, _least, lower, prices = found
            places = self.places
            if priced:
                worth = self._worth(prices)
                lower -= float(worth.max()) * self.total
            value, point = self._value(masses, places)
            bound = max(bound, lower)
            if best is None or value < best[2]:
                best = masses, places, value
            if best[2] - bound <= CLOSE * best[2]:
                break
            if self.aim == "mean square":
                cuts.append(point)
            elif not priced:
                break
            if priced:
                self._take_up(worth)
        assert best is not None
        return Solved(best[0], best[1], bound)

    def _take_up(self, worth):
        """Add at each station the angle that is worth most, if it is worth anything."""
        by_station = worth.reshape(len(self.limits.stations), -1)
        each = np.argmax(by_station, axis=1) + np.arange(len(by_station)) * by_station.shape[1]
        each = each[worth[each] > 0]
        self.places = tuple(
            np.concatenate([have, new[each]])
            for have, new in zip(self.places, self.finest, strict=True)
        )
