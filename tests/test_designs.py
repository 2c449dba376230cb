"""Designs side by side: variants, clouds, fronts, and the table as CSV."""

import csv
import io
import math
from dataclasses import replace

import numpy as np
import pytest

from paddlebal import BladeShape, InputError, load_paddle
from paddlebal.blade import blade_body, design_map, straight_body
from paddlebal.designs import (
    DECIMALS,
    body_of_mass,
    cloud,
    design_variant,
    pareto_front,
    variants_csv,
    with_blades,
    with_share,
)
from paddlebal.files.text import data_path
from paddlebal.paddle import SIDES
from paddlebal.unbalance import magnitude, roll_torque

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
SHAPE = BladeShape()
FEATHER = math.radians(60)


def test_a_scaled_body_keeps_its_centre_and_its_radii_of_gyration():
    body, heavy = blade_body(SHAPE), body_of_mass(SHAPE, 0.25)
    assert heavy.mass == 0.25
    assert np.array_equal(heavy.centre, body.centre)
    assert heavy.inertia / 0.25 == pytest.approx(body.inertia / body.mass)


def test_a_paddle_with_blades_agrees_with_the_design_map():
    crank, feather, arm = SHAPE.crank, FEATHER, 0.08
    made = design_map(SHAPE, [crank], [feather], arm)
    scale = 0.175 / straight_body(SHAPE).mass
    paddle = with_blades(OCEAN, SHAPE, 0.175, feather)
    assert magnitude(paddle.unbalance()) == pytest.approx(scale * made.unbalance[0, 0])
    one = design_variant(OCEAN, SHAPE, 0.175, feather, arm, 0.0, 0.0)
    assert one.full_counterweight_g == pytest.approx(1e3 * scale * made.counterweight[0, 0])
    greater = max(abs(made.holding_control[0, 0]), abs(made.holding_other[0, 0]))
    assert one.holding_torque_N_m == pytest.approx(scale * greater)


@pytest.mark.parametrize("control", SIDES)
def test_holding_torque_is_that_of_the_worse_catch(control):
    paddle = replace(OCEAN, control=control)
    U = with_blades(paddle, SHAPE, 0.175, FEATHER).unbalance()
    turned = replace(paddle, feather=FEATHER)
    torques = [abs(roll_torque(U, turned.catch_angle(side))) for side in SIDES]
    assert abs(torques[0] - torques[1]) > 1e-6
    one = design_variant(paddle, SHAPE, 0.175, FEATHER, 0.08, 0.0, 0.0)
    assert one.holding_torque_N_m == pytest.approx(max(torques), rel=1e-12)


def test_a_full_share_balances_and_half_leaves_half():
    bare = with_blades(OCEAN, SHAPE, 0.175, FEATHER)
    size = magnitude(bare.unbalance())
    for share in (0.0, 0.5, 1.0):
        left = magnitude(with_share(bare, share, 0.08, 0.1).unbalance())
        assert left == pytest.approx((1 - share) * size, abs=1e-15)


@pytest.mark.parametrize("lean", [0.0, 0.4])
def test_each_point_of_the_cloud_is_the_variant(lean):
    shape = replace(SHAPE, lean=lean)
    cranks, feathers, shares = np.radians([0, 7]), np.radians([0, 60, 90]), np.array([0, 0.3, 1])
    points = cloud(OCEAN, shape, 0.19, cranks, feathers, shares, 0.07, 0.12)
    for i, j, k in np.ndindex(2, 3, 3):
        at = replace(shape, crank=cranks[i])
        one = design_variant(OCEAN, at, 0.19, feathers[j], 0.07, shares[k], 0.12)
        assert points.mass[i, j, k] == pytest.approx(one.total_mass_g / 1e3, rel=1e-12)
        assert points.swing_inertia[i, j, k] == pytest.approx(one.swing_inertia_kg_m2, rel=1e-12)
        assert points.holding[i, j, k] == pytest.approx(one.holding_torque_N_m, abs=1e-14)


def test_front_is_what_no_pair_undercuts():
    x, y = np.random.default_rng(2).integers(0, 30, (2, 200)).astype(float)
    front = pareto_front(x, y)
    kept = {(x[i], y[i]) for i in front}
    for a, b in zip(x, y, strict=True):
        undercut = np.any((x <= a) & (y <= b) & ((x < a) | (y < b)))
        assert ((a, b) in kept) != undercut
    assert np.all(np.diff(x[front]) > 0) and np.all(np.diff(y[front]) < 0)


def test_csv_holds_each_variant_with_its_units():
    rows = [design_variant(OCEAN, SHAPE, m, FEATHER, 0.08, 1.0, 0.1) for m in (0.16, 0.18)]
    read = list(csv.DictReader(io.StringIO(variants_csv(rows))))
    assert [float(row["blade_mass_g"]) for row in read] == [160, 180]
    for row, one in zip(read, rows, strict=True):
        assert row.pop("name") == one.name
        for name, value in row.items():
            half = 0.5000001 * 10.0 ** -DECIMALS.get(name, 1)
            assert float(value) == pytest.approx(getattr(one, name), rel=0, abs=half)
            assert "e" not in value and not value.startswith("-0")
    with pytest.raises(InputError, match="no variant"):
        variants_csv([])
