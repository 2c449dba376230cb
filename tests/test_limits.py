"""What a counterweight may be."""

import math
from dataclasses import replace

import pytest
from placing import HANDS, paddle

from paddlebal.errors import InputError
from paddlebal.files.published import published_rows
from paddlebal.limits import MATERIALS, Limits, material_densities
from paddlebal.paddle import Counterweight
from paddlebal.placement import (
    place_counterweight,
)


@pytest.mark.parametrize(
    ("stated", "sentence"),
    [
        ({"material": "cheese"}, "'cheese' is not one of tungsten, "),
        ({"material": 0.0}, "density is 0.0, expected it above 0"),
        ({"arm": (0.07, 0.06)}, "least arm 0.07 is above the greatest 0.06"),
        ({"mass": (-0.1, 0.06)}, "at least 0"),
        ({"arm": (0.0, math.inf)}, "above 0 and finite"),
        ({"arm": (0.0, 0.0)}, "above 0 and finite"),
        ({"arm": (-0.01, 0.06)}, "at least 0"),
        ({"slenderness": math.inf}, "slenderness is inf, expected it above 0"),
        ({"angle_step": math.inf}, "a step is at least 0"),
        ({"mass_step": -1.0}, "a step is at least 0"),
        ({"angle_step": math.nan}, "a step is at least 0"),
        ({"arm_step": 0.1}, "a step is at least 0"),
    ],
)
def test_limits_that_make_no_sense_are_refused(stated, sentence):
    with pytest.raises(InputError) as caught:
        Limits(**stated)
    assert sentence.lower() in str(caught.value).lower()


def test_limits_may_leave_one_choice_only():
    one = Limits(mass=(0.2, 0.2), arm=(0.06, 0.06), arm_step=0.06)
    placed = place_counterweight([0.012, 0.0], one)
    assert (placed.mass, placed.arm) == pytest.approx((0.2, 0.06))


def test_limits_for_a_paddle_take_its_free_shaft_and_keep_outs():
    limits = Limits.for_paddle(paddle(), material="lead", arm=(0.02, 0.05))
    assert limits.x == pytest.approx((-0.68, 0.68))
    assert limits.keep_outs == HANDS and limits.shaft_radius == 0.0146
    assert limits.arm == (0.02, 0.05) and limits.density == material_densities()["lead"]


def test_the_free_shaft_ends_with_a_shaft_shorter_than_the_way_to_the_blades():
    whole = paddle()
    short = replace(whole, shaft=replace(whole.shaft, length=1.2))
    assert Limits.for_paddle(short).x == pytest.approx((-0.6, 0.6))


def test_every_density_is_that_of_a_metal_in_the_published_table():
    assert {row["name"] for row in published_rows("materials")} == set(material_densities())
    assert all(5000 < density < 20000 for density in material_densities().values())


def test_a_weight_on_the_paddle_takes_the_length_of_its_cylinder():
    weight = Counterweight(0.2, 0.08, 1.0, 0.1, 8500.0)
    (taken,) = Limits.for_paddle(paddle(keep_outs=()).with_counterweights(weight)).keep_outs
    diameter = 2 * (0.2 / 8500 / (4 * math.pi)) ** (1 / 3)  # a cylinder as long as two diameters
    assert (taken.start, taken.stop) == pytest.approx((0.1 - diameter, 0.1 + diameter))


def test_every_material_has_a_name_that_can_be_put_into_another_language():
    assert tuple(material_densities()) == MATERIALS
