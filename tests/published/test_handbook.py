"""Mass moments, gravity and workshop habits against handbooks and what the trade says.

Sources, each row with its own in data/published: mass_moments.csv (Machinery's Handbook, 31st
edition, 2020, pp. 237 and 253), gravity.csv (3rd CGPM, 1901), common_practice.csv (common
practice, no source).
"""

from dataclasses import replace
from math import cos, radians

import numpy as np
import pytest
import sympy

from paddlebal import Blade, Paddle, Shaft, load_paddle
from paddlebal.compiled import numeric
from paddlebal.files.published import published_rows
from paddlebal.files.text import data_path
from paddlebal.unbalance import magnitude
from paddlebal.units import STANDARD_GRAVITY

MOMENTS = {(row["body"], row["axis"]): row["formula"] for row in published_rows("mass_moments")}
PRACTICE = {row["name"]: row for row in published_rows("common_practice", numbers=("low", "high"))}
close = pytest.approx

DEMOS = [p for p in data_path("paddles").glob("*.toml") if p.stem != "glued"]


def handbook(body, axis, **sizes):
    """A handbook's mass moment [kg·m²] for a body of these sizes; those not given are zero."""
    formula = sympy.sympify(MOMENTS[body, axis])
    return float(
        formula.subs({symbol: sizes.get(str(symbol), 0) for symbol in formula.free_symbols})
    )


def test_standard_gravity_is_the_conference_value():
    (row,) = published_rows("gravity", numbers=("value_m_s2",))
    assert row["value_m_s2"] == STANDARD_GRAVITY


def test_shaft_is_a_thin_hollow_cylinder():
    shaft = Shaft(mass=0.3, length=1.46, radius=0.0146, volume=9e-4)
    sizes = {"M": shaft.mass, "l": shaft.length, "r": shaft.radius}
    along = handbook("hollow cylinder", "along the length", R=shaft.radius, **sizes)
    across = handbook("thin hollow cylinder", "across, at mid-length", **sizes)
    assert shaft.inertia == close(np.diag([along, across, across]))


def test_blade_is_a_plate_the_limit_of_a_prism():
    blade = Blade(mass=0.175, x=0.93, offset=0.0, length=0.5, width=0.163, volume=2e-4)
    about = handbook("prism", "along the length", M=blade.mass, h=blade.width)
    flat = handbook("prism", "along the length", M=blade.mass, h=blade.length)
    face = handbook("prism", "along the length", M=blade.mass, h=blade.length, b=blade.width)
    assert blade.inertia == close(np.diag([about, face, flat]))


def test_two_plates_from_mid_length_outwards_are_two_prisms_held_at_one_end():
    """Moving the axis from a plate's centre to its end is the parallel-axis theorem."""
    length, width, mass = 0.5, 0.163, 0.175
    left, right = (Blade(mass, x, 0.0, length, width, 0.0) for x in (-length / 2, length / 2))
    paddle = Paddle("plates", Shaft(0.0, 1.0, 0.0146, 0.0), left, right, 0.0, "right")
    in_plane = handbook("prism", "across, at one end", M=mass, l=length, h=width)
    normal = handbook("prism", "across, at one end", M=mass, l=length)
    assert paddle.inertia()[1, 1] == close(2 * in_plane)
    assert paddle.inertia()[2, 2] == close(2 * normal)


def test_a_shaft_seen_from_its_end_is_the_handbooks_cylinder():
    """The library's inertia about mid-length moved to one end by M (l / 2)²."""
    shaft = Shaft(mass=0.3, length=1.46, radius=0.0146, volume=9e-4)
    sizes = {"M": shaft.mass, "l": shaft.length, "r": shaft.radius, "R": shaft.radius}
    at_end = shaft.inertia[1, 1] + shaft.mass * (shaft.length / 2) ** 2
    assert at_end == close(handbook("hollow cylinder", "across, at one end", **sizes))


@pytest.fixture(scope="module")
def ocean():
    return load_paddle(data_path("paddles", "ocean.toml"))


def implied(arm_of_pull, blade_mass):
    """What the trade's pull means with the arm [m] on which it acts.

    Unbalance [kg·m]; arm [m] of the mass that brings it to neutral; offset [m] of two equal
    blades of that mass at the usual feather.
    """
    unbalance = PRACTICE["pull at the shaft surface that turns it"]["high"] * arm_of_pull
    weight = PRACTICE["mass that brings it to neutral"]["high"] / 1000
    half_feather = radians(PRACTICE["its feather"]["high"]) / 2
    return unbalance, unbalance / weight, unbalance / (2 * blade_mass * cos(half_feather))


def test_common_practice_on_rollers_is_one_possible_paddle(ocean):
    """Common practice, no source; a shaft radius of 14.6 mm.

    On rollers a pull along the shaft's surface has the arm R. Then 1.3 kgf means 18 980 g·mm,
    200 g means an arm of 95 mm, and blades of 175 g stand 63 mm off the shaft axis: between the
    demo paddles' 46 mm and 69 mm, at a whole mass of 650 g. The facts fit together.
    """
    arm_of_pull = numeric("pull_arm")(0.0, ocean.shaft.radius, -1.0, 0.0, 0.0)
    assert arm_of_pull == close(0.0146)
    unbalance, arm, offset = implied(arm_of_pull, ocean.left.mass)
    assert (unbalance, arm, offset) == (close(0.01898), close(0.0949), close(0.0626, abs=5e-5))
    demos = [load_paddle(path).left.offset for path in DEMOS]
    assert min(demos) < offset < max(demos)
    mass = PRACTICE["mass of a wing paddle"]
    assert mass["low"] < 1000 * ocean.mass < mass["high"]
    both = {
        "left": replace(ocean.left, offset=offset),
        "right": replace(ocean.right, offset=offset),
    }
    assert magnitude(replace(ocean, **both).unbalance()) == close(unbalance)


def test_common_practice_on_rails_asks_for_twice_as_much_and_is_not_plausible(ocean):
    """Common practice, no source; the other reading of the same pull.

    On rails the shaft turns about its lowest line, so the same pull has the arm 2R: 37 960 g·mm,
    an arm of 190 mm for 200 g, and blades 125 mm off the axis, further than any demo paddle's by
    half. The reading on rollers, or in the hand, is the plausible one.
    """
    radius = ocean.shaft.radius
    arm_of_pull = numeric("pull_arm")(0.0, radius, -1.0, 0.0, radius)
    assert arm_of_pull == close(2 * radius)
    unbalance, arm, offset = implied(arm_of_pull, ocean.left.mass)
    assert (unbalance, arm, offset) == (close(0.03796), close(0.1898), close(0.1252, abs=5e-5))
    demos = [load_paddle(path).left.offset for path in DEMOS]
    assert offset > 1.5 * max(demos)
