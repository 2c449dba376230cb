"""What the texts of an entry come to."""

import math

import numpy as np
import pytest
from desk.virtual_bench import BENCH, PADDLE, REST, TRUTH, UNBALANCE, read, rows

from paddlebal import data_path, load_any_paddle, read_bench
from paddlebal.bench.doubts import ENOUGH_SPARE
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.lever import Guess
from paddlebal.desk.entry import mounting, texts_of, texts_of_readings
from paddlebal.desk.found import found
from paddlebal.language import _, speaking
from paddlebal.paddle import Counterweight
from paddlebal.units import GRAM_MM

STATED = PADDLE | BENCH | REST
TWELVE = range(0, 360, 30)


def names(troubles):
    return {each.name for each in troubles}


def test_an_empty_form_says_what_is_missing():
    result = found({})
    assert result.troubles == () and result.fit is None
    assert [each.name for each in result.missing] == [
        "mass", "length", "balance", "shaft", "lever", "step",
    ]  # fmt: skip


def test_the_readings_give_back_the_unbalance_and_a_weight_opposite():
    result = found(STATED | rows(TWELVE))
    assert result.problem == "" and result.fitting.doubts == ()
    gap = result.fit.unbalance - UNBALANCE
    spread = np.sqrt(np.diag(result.fit.unbalance_covariance))
    assert np.all(np.abs(gap) < 3 * spread)
    piece = result.fitting.pieces[0]
    assert piece.mass * piece.arm == pytest.approx(np.hypot(*UNBALANCE), rel=0.03)
    assert result.enough and result.proposed == ()


def test_the_desk_proposes_angles_until_it_is_enough_and_no_further():
    texts = dict(STATED)
    for row in range(24):
        result = found(texts)
        if result.enough:
            break
        gauge = result.gauge(result.proposed[0])
        with_, against = read(gauge)
        cells = {"angle": f"{gauge:g}", "with": with_, "against": against}
        texts |= {f"bare/{row}/{column}": text for column, text in cells.items()}
    assert result.enough and row <= 12
    assert result.fit.spare >= ENOUGH_SPARE
    assert result.fitting.forecast.startswith(("stays", "rolls"))


def test_the_plan_foresees_what_the_fit_then_states():
    """Within 10 % in the region's axes, from a guess that is a third off."""
    planned = found(STATED).plan
    texts = STATED | rows((round(math.degrees(angle)) for angle in planned.angles), step=0.01)
    stated = fit_bench(found(texts).readings)
    assert not stated.enlarged
    foreseen = np.sqrt(np.linalg.eigvalsh(planned.covariance[:2, :2]))
    then = np.sqrt(np.linalg.eigvalsh(stated.unbalance_covariance))
    assert foreseen == pytest.approx(then, rel=0.1)


@pytest.mark.parametrize(
    "rest, doubtful", [(REST["rest"], False), (f"{180 - int(REST['rest']) % 360}", True)]
)
def test_a_mirrored_bench_is_told_by_where_the_paddle_rests(rest, doubtful):
    """Read mirrored, the paddle seems to rest where it does not."""
    result = found(STATED | {"rest": rest} | rows(TWELVE))
    assert bool(result.fitting.doubts) == doubtful
    mirrored = found(STATED | rows(TWELVE, mirrored=True))
    assert mirrored.fitting.doubts and not mirrored.enough


def test_a_gauge_that_counts_the_other_way_is_no_mirrored_bench():
    """All numbers of the gauge turned round, and so told: the same weight, its angle turned."""
    other = {"rest": str(-int(REST["rest"]) % 360), "sense": "clockwise"}
    turned = rows(TWELVE, mirrored=True)
    result = found(STATED | other | turned)
    assert not result.fitting.doubts
    assert result.fit.unbalance == pytest.approx(UNBALANCE, abs=300 * GRAM_MM)


def test_one_wrong_reading_is_doubted():
    texts = STATED | rows(TWELVE)
    texts["bare/4/with"] = str(int(texts["bare/4/with"]) + 60)
    result = found(texts)
    assert not result.enough and any("5" in each for each in result.fitting.doubts)


@pytest.mark.parametrize(
    "name, text",
    [
        ("mass", "heavy"), ("mass", "637 mm"), ("mass", "1,234"), ("length", "-5"),
        ("balance", "3000"), ("left_hand", "560"), ("left_hand", "0 9999"), ("step", "2 s"),
        ("bare/0/angle", "north"), ("bare/0/with", "much"), ("bare/0/against", "9e9"),
        ("bare/1/angle", ""),
    ],
)  # fmt: skip
def test_a_text_that_cannot_be_is_told_where_it_stands(name, text):
    result = found(STATED | rows(TWELVE) | {name: text})
    assert names(result.troubles) == {name}


def test_units_in_cells_and_of_the_scale_give_the_same_answer():
    plain = found(STATED | rows(TWELVE))
    texts = STATED | rows(TWELVE)
    said = {"mass": "0,637 kg", "length": "2,41 m", "lever": "30 cm", "unit": "kg", "step": "2 g"}
    for name in [name for name in texts if name.endswith(("with", "against"))]:
        said[name] = f"{float(texts[name])} g"
    said["bare/1/angle"] = f"{math.radians(30)!r} rad"
    other = found(texts | said)
    assert other.troubles == ()
    assert other.fit.unbalance == pytest.approx(plain.fit.unbalance, rel=1e-9)
    assert other.fit.covariance == pytest.approx(plain.fit.covariance, rel=1e-6, abs=1e-15)


def test_with_the_weight_on_the_desk_says_what_to_change():
    texts = STATED | rows(TWELVE)
    piece = found(texts).fitting.pieces[0]
    made = Counterweight(piece.mass + 0.020, piece.arm, piece.angle, piece.x, piece.density)
    left = Guess(UNBALANCE + made.unbalance, TRUTH.friction, TRUTH.zero)
    rest = math.degrees(-math.pi / 2 - math.atan2(*left.unbalance[::-1])) % 360
    texts |= {"on/0": mounting(made), "rest": f"{rest:.0f}"}
    assert found(texts).grid == "fitted"
    result = found(texts | rows(TWELVE, grid="fitted", truth=left))
    assert result.fitting.trim.needed
    now = result.fitting.pieces[0]
    assert now.mass * now.arm == pytest.approx(piece.mass * piece.arm, rel=0.02)


@pytest.mark.parametrize("name", ["glued"])
def test_a_file_makes_texts_that_make_the_same_paddle_and_fit(name):
    paddle = load_any_paddle(data_path("paddles", f"{name}.toml"))
    readings = read_bench(data_path("bench", f"{name}_lever.csv"))
    result = found(texts_of(paddle) | texts_of_readings(readings))
    assert result.troubles == ()
    assert result.paddle.mass == paddle.mass
    assert result.paddle.balance_point == pytest.approx(paddle.balance_point, abs=1e-9)
    assert [each.name for each in result.paddle.keep_outs] == [
        each.name for each in paddle.keep_outs
    ]
    own = fit_bench(readings)
    close = 0.2 * np.sqrt(np.diag(own.unbalance_covariance)).min()
    assert result.fit.unbalance == pytest.approx(own.unbalance, abs=close)


def test_a_file_written_in_another_language_is_understood():
    texts = STATED | {"left_hand": "560 780", "blade": "480"}
    with speaking("de"):
        paddle, hand = found(texts).paddle, _("left hand")
    assert hand != "left hand" and hand in {each.name for each in paddle.keep_outs}
    assert {"left_hand": "560 780", "blade": "480"}.items() <= texts_of(paddle).items()


def test_a_coarse_bench_is_told_what_to_better_before_anything_is_read():
    coarse = found(STATED | {"step": "10", "lever": "150"})
    assert not coarse.plan.settles and coarse.advice
    assert all(way.probability > coarse.plan.probability for way in coarse.advice)
    assert found(STATED).plan.settles and not found(STATED).advice
