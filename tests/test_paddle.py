"""Mass properties of a paddle, and its file."""

from dataclasses import asdict, replace
from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_paddles import angles, counterweights, paddles

from paddlebal import Counterweight, InputError, load_paddle, save_paddle
from paddlebal.files.text import data_path
from paddlebal.paddle import rotation_about_x
from paddlebal.unbalance import magnitude
from paddlebal.units import WATER_DENSITY

DEMOS = sorted(p for p in data_path("paddles").glob("*.toml") if p.stem != "glued")
OTHER = {"left": "right", "right": "left"}
close = pytest.approx


def mirrored(paddle):
    """The paddle seen in a mirror across its shaft: left and right, and the hands, swapped."""
    flip = np.diag([-1.0, 1.0, 1.0])

    def seen(blade):
        return replace(blade, x=-blade.x, inertia=flip @ blade.inertia @ flip)

    return replace(
        paddle,
        left=seen(paddle.right),
        right=seen(paddle.left),
        control=OTHER[paddle.control],
        ferrule_x=-paddle.ferrule_x,
        counterweights=tuple(replace(w, x=-w.x) for w in paddle.counterweights),
    )


def counted_from_other_blade(paddle):
    """The same object with the other hand named control: turned about x by the feather."""
    return replace(
        paddle,
        control=OTHER[paddle.control],
        feather=-paddle.feather,
        counterweights=tuple(
            replace(w, angle=w.angle + paddle.feather) for w in paddle.counterweights
        ),
    )


@given(paddles())
def test_turning_everything_about_the_shaft_turns_the_unbalance_and_keeps_its_size(paddle):
    turned, turn = counted_from_other_blade(paddle), rotation_about_x(paddle.feather)
    assert turned.unbalance() == close(turn[1:, 1:] @ paddle.unbalance(), abs=1e-15)
    assert magnitude(turned.unbalance()) == close(magnitude(paddle.unbalance()), abs=1e-15)
    assert turned.inertia() == close(turn @ paddle.inertia() @ turn.T, abs=1e-14)


@given(paddles())
def test_a_mirror_swaps_the_control_hand_and_keeps_the_unbalance(paddle):
    mirror = mirrored(paddle)
    assert mirror.control != paddle.control
    assert mirror.unbalance() == close(paddle.unbalance(), abs=1e-15)
    assert mirror.first_moment()[0] == close(-paddle.first_moment()[0], abs=1e-14)
    for side in OTHER:
        assert mirror.catch_angle(OTHER[side]) == paddle.catch_angle(side)


@given(paddles(), counterweights, st.floats(0.1, 10))
def test_a_balanced_pair_adds_no_unbalance(paddle, weight, ratio):
    other = replace(
        weight, mass=weight.mass / ratio, arm=weight.arm * ratio, angle=weight.angle + pi
    )
    pair = paddle.with_counterweights(weight, other)
    assert pair.unbalance() == close(paddle.unbalance(), abs=1e-14)
    assert pair.mass == close(paddle.mass + weight.mass + other.mass)


@given(paddles())
def test_inertia_is_symmetric_and_physically_possible(paddle):
    inertia = paddle.inertia()
    assert inertia == close(inertia.T, abs=1e-16)
    small, middle, large = np.linalg.eigvalsh(inertia)
    assert small > 0
    assert small + middle >= large * (1 - 1e-12)


@given(paddles())
def test_first_moment_is_mass_times_centre_of_mass(paddle):
    assert paddle.balance_point * paddle.mass == close(paddle.first_moment()[0])
    assert paddle.unbalance() == close(paddle.first_moment()[1:])


@given(paddles(), st.floats(-90, 90))
def test_feather_turns_each_weight_with_the_half_it_sits_on(paddle, feather_deg):
    turned = paddle.with_feather(feather_deg)
    assert turned.feather == close(radians(feather_deg))
    for before, after in zip(paddle.counterweights, turned.counterweights, strict=True):
        side = paddle.half(before.x)
        to_blade = before.angle - paddle.blade_angle(side)
        assert after.angle - turned.blade_angle(side) == close(to_blade, abs=1e-12)
        if side == paddle.control:
            assert after == before
    back = turned.with_feather(degrees(paddle.feather))
    assert back.unbalance() == close(paddle.unbalance(), abs=1e-13)


@given(paddles(), st.floats(-90, 90))
def test_halves_balanced_by_themselves_stay_balanced_at_every_feather(paddle, feather_deg):
    bare = replace(paddle, counterweights=())
    weights = []
    for side in OTHER:
        blade, centre = getattr(bare, side), bare.blade_centre(side)
        opposite = np.arctan2(-centre[2], -centre[1])
        arm = np.hypot(centre[1], centre[2])
        weights.append(Counterweight(blade.mass, arm, opposite, x=blade.x / 2))
    balanced = bare.with_counterweights(*weights).with_feather(feather_deg)
    assert balanced.unbalance() == close(np.zeros(2), abs=1e-13)


@given(paddles())
def test_flotation_is_what_the_displaced_water_still_carries(paddle):
    loaded = paddle.with_counterweights(Counterweight(1.0, 0.0, 0.0, density=WATER_DENSITY))
    assert loaded.flotation == close(paddle.flotation, abs=1e-12)
    assert paddle.flotation == close(WATER_DENSITY * paddle.volume - paddle.mass)


@given(angles, angles)
def test_rotation_about_x_follows_the_right_hand_rule(first, second):
    assert rotation_about_x(pi / 2) @ [0, 1, 0] == close([0, 0, 1])
    both = rotation_about_x(first) @ rotation_about_x(second)
    assert both == close(rotation_about_x(first + second), abs=1e-14)


@given(paddles(own_inertia=False))
def test_a_saved_paddle_is_read_back(tmp_path_factory, paddle):
    path = tmp_path_factory.mktemp("paddle") / "saved.toml"
    save_paddle(paddle, path)
    again = load_paddle(path)
    assert plain(again) == close_throughout(plain(paddle))
    # Twelve digits of an angle in degrees leave 9e-12 rad, on a weight's m x r below 0.1 kg·m².
    assert again.inertia() == close(paddle.inertia(), rel=1e-10, abs=1e-12)


def plain(paddle):
    """The paddle as a flat mapping from place to text or number, without the inertias."""

    def walk(value, place):
        if isinstance(value, dict):
            items = [(f"{place}.{key}", part) for key, part in value.items() if key != "inertia"]
        elif isinstance(value, list | tuple):
            items = [(f"{place}[{i}]", part) for i, part in enumerate(value)]
        else:
            return {place: value}
        return {key: leaf for name, part in items for key, leaf in walk(part, name).items()}

    return walk(asdict(paddle), "paddle")


def close_throughout(flat):
    return {
        key: close(value, rel=1e-10, abs=1e-12) if isinstance(value, float) else value
        for key, value in flat.items()
    }


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_paddles_say_that_they_are_invented_and_survive_saving(path, tmp_path):
    paddle = load_paddle(path)
    assert "Invented for the demo workshop" in paddle.note
    assert 0.55 < paddle.mass - sum(weight.mass for weight in paddle.counterweights) < 0.75
    assert paddle.flotation > 0
    save_paddle(paddle, tmp_path / "copy.toml")
    copy = load_paddle(tmp_path / "copy.toml")
    assert copy.first_moment() == close(paddle.first_moment(), rel=1e-11, abs=1e-16)


def test_paddles_can_be_compared_and_kept_in_sets():
    paddle = load_paddle(DEMOS[0])
    assert paddle == paddle.with_counterweights()
    assert paddle != paddle.with_feather(12.0)
    assert len({paddle, paddle.with_counterweights(), paddle.with_feather(12.0)}) == 2


def test_saving_leaves_an_existing_file_unless_told(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious")
    paddle = load_paddle(DEMOS[0])
    with pytest.raises(InputError, match="already exists"):
        save_paddle(paddle, path)
    assert path.read_text() == "precious"
    save_paddle(paddle, path, overwrite=True)
    assert load_paddle(path).name == paddle.name


OCEAN = data_path("paddles", "ocean.toml").read_text(encoding="utf-8")
WEIGHT = """
[[counterweight]]
mass_g = 100.0
arm_mm = 90.0
angle_deg = 180.0
density_kg_m3 = 8500.0
"""
BAD = [
    # what is wrong, text replaced, its replacement, field named, words of the sentence
    ("no unit", "mass_g = 300.0", "mass = 300.0", "shaft.mass_g", "the unit belongs in the name"),
    ("other unit", "mass_g = 300.0", "mass_kg = 0.3", "shaft.mass_g", "found 'mass_kg'"),
    ("missing", "radius_mm = 14.6\n", "", "shaft.radius_mm", "missing, expected a number."),
    ("one limit", "feather_min_deg = 0.0\n", "", "ferrule.feather_min_deg", "expected a number."),
    ("negative mass", "mass_g = 175.0", "mass_g = -175.0", "blades.left.mass_g", "at least 1"),
    ("massless blade", "mass_g = 175.0", "mass_g = 0", "blades.left.mass_g", "at least 1"),
    ("NaN", "offset_mm = 52.0", "offset_mm = nan", "blades.left.offset_mm", "finite"),
    ("infinite", "length_mm = 500.0", "length_mm = inf", "blades.left.length_mm", "finite"),
    ("beyond numbers", "mass_g = 300.0", f"mass_g = 1{'0' * 400}", "shaft.mass_g", "finite"),
    ("text for number", "mass_g = 300.0", 'mass_g = "300"', "shaft.mass_g", "finite number"),
    ("truth for number", "mass_g = 300.0", "mass_g = true", "shaft.mass_g", "finite number"),
    ("list for number", "mass_g = 300.0", "mass_g = [300]", "shaft.mass_g", "finite number"),
    ("feather", "feather_deg = 60.0", "feather_deg = 600", "feather_deg", ", at most 180."),
    ("hand", 'control = "right"', 'control = "both"', "control", "'left' or 'right'"),
    ("name", 'name = "Demo ocean"', "name = 7", "name", "expected a text"),
    ("no name", 'name = "Demo ocean"', "", "name", "missing, expected a text"),
    ("ferrule off the shaft", "x_mm = 0.0", "x_mm = 5000", "ferrule.x_mm", "at most"),
    ("ferrule", 'kind = "adjustable"', 'kind = "loose"', "ferrule.kind", "'adjustable'"),
    ("range", "feather_max_deg = 90.0", "feather_max_deg = -9", "ferrule.feather_max_deg", "below"),
    ("unknown key", "[shaft]", "[shaft]\ncolour = 1", "shaft.colour", "not a known field"),
    ("unknown table", "[blades.left]", "[extra]\n[blades.left]", "extra", "not a known field"),
    ("misspelt optional", "x_mm = 0.0", "x_cm = 0.0", "ferrule.x_cm", "not a known field"),
    ("no blade", "[blades.left]", "[blades.middle]", "blades.left.distance_mm", "missing"),
    ("number for table", "[shaft]", "shaft = 1\n[x]", "shaft", "expected a table"),
    ("keep-out", "to_mm = -250.0", "to_mm = -999", "keep_out[1].to_mm", "to the right of from_mm"),
    ("weight", "mass_g = 100.0", "mass_g = 0", "counterweight[1].mass_g", "above 0"),
    ("weight's arm", "arm_mm = 90.0", "arm_mm = -1", "counterweight[1].arm_mm", "above 0"),
    ("one weight", "[[counterweight]]", "[counterweight]", "counterweight", "[[counterweight]]"),
]  # fmt: skip


@pytest.mark.parametrize(
    "old, new, field, words", [row[1:] for row in BAD], ids=[r[0] for r in BAD]
)
def test_a_bad_file_is_refused_in_one_sentence_naming_file_and_field(
    tmp_path, old, new, field, words
):
    text = OCEAN + WEIGHT
    assert old in text
    path = tmp_path / "bad.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_paddle(path)
    assert (caught.value.file, caught.value.field) == (path, field)
    check_sentence(caught.value, path, f"field '{field}'", words)


def test_a_file_that_opens_with_a_byte_order_mark_is_read(tmp_path):
    path = tmp_path / "marked.toml"
    path.write_text(OCEAN, encoding="utf-8-sig")
    assert load_paddle(path).name == "Demo ocean"


def check_sentence(error, *parts):
    sentence = str(error)
    assert sentence.endswith(".") and "\n" not in sentence
    for part in parts:
        assert str(part) in sentence


def no_file(path):
    pass


def folder(path):
    path.mkdir()


def truncated(path):
    path.write_text(OCEAN[: OCEAN.index("52.0") - 2], encoding="utf-8")


def other_encoding(path):
    path.write_text(OCEAN.replace("Demo ocean", "Démo"), encoding="latin-1")


def two_byte_encoding(path):
    path.write_text(OCEAN, encoding="utf-16")


def other_kind_of_file(path):
    path.write_bytes(bytes(range(256)))


def endless_number(path):
    path.write_text(OCEAN.replace("300.0", "3" * 5000), encoding="utf-8")


def endless_nesting(path):
    path.write_text("a = " + "[" * 100_000, encoding="utf-8")


@pytest.mark.parametrize(
    "make, words",
    [
        (no_file, "cannot be read"),
        (folder, "cannot be read"),
        (truncated, "not complete, valid TOML"),
        (other_encoding, "not UTF-8 text"),
        (two_byte_encoding, "not UTF-8 text"),
        (other_kind_of_file, "not UTF-8 text"),
        (endless_number, "not complete, valid TOML"),
        (endless_nesting, "not complete, valid TOML"),
    ],
)
def test_what_is_no_paddle_file_is_refused_by_name(tmp_path, make, words):
    path = tmp_path / "bad.toml"
    make(path)
    with pytest.raises(InputError) as caught:
        load_paddle(path)
    check_sentence(caught.value, path, words)


@given(st.integers(0, len(OCEAN.rstrip()) - 1))
def test_a_file_cut_short_anywhere_is_refused_or_lacks_only_keep_outs(tmp_path_factory, end):
    path = tmp_path_factory.mktemp("cut") / "cut.toml"
    path.write_text(OCEAN[:end], encoding="utf-8")
    try:
        paddle = load_paddle(path)
    except InputError as error:
        check_sentence(error, path)
    else:
        whole = load_paddle(data_path("paddles", "ocean.toml"))
        assert end > OCEAN.index("volume_cm3", OCEAN.index("[blades.right]"))
        assert paddle.mass == close(whole.mass)
        assert len(paddle.keep_outs) <= len(whole.keep_outs)


@pytest.mark.parametrize(
    "change",
    [
        {"feather": 1.5 * pi},
        {"counterweights": (Counterweight(0.0, 0.08, 0.0),)},
        {"left": replace(load_paddle(DEMOS[0]).left, x=0.9)},
    ],
    ids=["feather", "weight of nothing", "blade on the wrong side"],
)
def test_a_paddle_that_could_not_be_read_back_is_not_written(tmp_path, change):
    path = tmp_path / "mine.toml"
    path.write_text("precious")
    with pytest.raises(InputError):
        save_paddle(replace(load_paddle(DEMOS[0]), **change), path, overwrite=True)
    assert path.read_text() == "precious"


def test_what_a_counterweight_adds_is_what_the_paddle_gains():
    paddle, weight = load_paddle(DEMOS[0]), Counterweight(0.2, 0.08, 2.0, 0.1)
    gained = paddle.with_counterweights(weight).unbalance() - paddle.unbalance()
    assert weight.unbalance == close(gained, abs=1e-15)
    assert weight.unbalance == close([0.016 * cos(2.0), 0.016 * sin(2.0)])
