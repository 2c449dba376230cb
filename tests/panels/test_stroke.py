"""The panel on the stroke: what it shows follows the controls."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from panel_parts import controls, inside

from paddlebal.errors import InputError
from paddlebal.formats.paddle import load_paddle
from paddlebal.panels.stroke import MASSES, SPANS, stroke_panel
from paddlebal.placement import fitted_pair
from paddlebal.stroke import OCEAN, SPRINT, Stroke
from paddlebal.unbalance import magnitude
from paddlebal.work import break_even_words, compare_strokes

PADDLES = Path(__file__).parents[2] / "data" / "paddles"
SPRINT_PADDLE, OCEAN_PADDLE, FAR, MENDED = (
    load_paddle(PADDLES / f"{name}.toml") for name in ("sprint", "ocean", "far_cranked", "mended")
)


def words(panel):
    return "".join(w.value for w in inside(panel) if type(w).__name__ == "HTML")


def pair(panel, row):
    """The two numbers, without and with, of a row of the table."""
    (value,) = re.findall(f">{re.escape(row)}</th><td[^>]*>([^<]*)<", words(panel))
    before, after = value.split("→")
    return [
        float(re.search(r"[-\d.,]+", text.replace("−", "-"))[0].replace(",", ""))
        for text in (before, after)
    ]


@pytest.mark.parametrize("paddle", [SPRINT_PADDLE, OCEAN_PADDLE, MENDED])
def test_a_pair_balances_its_share(paddle):
    for share in (0.0, 0.4, 1.0):
        pieces = fitted_pair(paddle, 0.25, share)
        after = paddle.with_counterweights(*pieces)
        left = (1 - share) * magnitude(paddle.unbalance())
        assert magnitude(after.unbalance()) == pytest.approx(left, abs=1e-12)
        assert sum(piece.mass for piece in pieces) == pytest.approx(share * 0.25)
        if pieces:
            assert pieces[0].arm == pytest.approx(magnitude(paddle.unbalance()) / 0.25)


def test_table_and_sentences_are_those_of_the_comparison():
    panel = stroke_panel([SPRINT_PADDLE, OCEAN_PADDLE])
    motion = SPRINT.motion(SPRINT_PADDLE).with_rate(SPRINT.strokes_per_minute)
    both = compare_strokes(SPRINT_PADDLE, fitted_pair(SPRINT_PADDLE, 0.2), motion, 400)
    old, new = both.without, both.balanced
    assert pair(panel, "mean torque") == pytest.approx([old.roll.mean, new.roll.mean], abs=6e-4)
    assert pair(panel, "peak of gravity")[1] == 0
    assert pair(panel, "work taken back, all")[1] == pytest.approx(new.full_work.negative, abs=6e-4)
    assert both.verdict() in words(panel)
    assert "invented for illustration" in words(panel)
    assert "not the water" in words(panel)


def test_controls_change_what_they_name():
    panel = stroke_panel([SPRINT_PADDLE, OCEAN_PADDLE])
    use, (picture,) = controls(panel), panel._pictures
    picture.figure.canvas.draw()
    seen = [np.array(picture.figure.canvas.buffer_rgba())]
    for control, value in (
        ("stroke rate [1/min]", 60),
        ("feather [deg]", 20),
        ("mass for full balance [g]", 300),
        ("share of it fitted [%]", 50),
        ("paddle", OCEAN_PADDLE),
        ("stroke", "ocean preset"),
    ):
        use[control].value = value
        picture.figure.canvas.draw()
        seen.append(np.array(picture.figure.canvas.buffer_rgba()))
        assert (seen[-1] != seen[-2]).any(), control
    assert use["feather [deg]"].value == pytest.approx(60)
    assert use["stroke rate [1/min]"].value == OCEAN.strokes_per_minute


def test_sums_are_taken_over_the_span():
    panel = stroke_panel([OCEAN_PADDLE])
    controls(panel)["stroke"].value = "ocean preset"
    one = pair(panel, "work given, all")
    for span, cycles in (("500 m", 500 / 3.3 / 1.5), ("one hour", 2400)):
        controls(panel)["sums over"].value = span
        assert pair(panel, "work given, all") == pytest.approx(np.multiply(one, cycles), rel=2e-3)
    assert list(SPANS)[0].startswith("one cycle")


def test_no_counterweight_is_equal_on_both_sides():
    panel = stroke_panel([SPRINT_PADDLE])
    controls(panel)["share of it fitted [%]"].value = 0
    assert "they are equal" in words(panel)
    controls(panel)["Find break-even"].click()
    assert "There are no counterweights to compare" in words(panel)


def test_what_cannot_be_fitted_is_told_and_nothing_shown():
    tiny = replace(SPRINT_PADDLE, shaft=replace(SPRINT_PADDLE.shaft, radius=0.06))
    panel = stroke_panel([SPRINT_PADDLE, tiny])
    use, (picture,) = controls(panel), panel._pictures
    use["paddle"].value = tiny
    assert "would sit at an arm of" in words(panel)
    assert "Less work" not in words(panel)
    assert picture._cleared
    use["paddle"].value = SPRINT_PADDLE
    assert "Less work" in words(panel)


@pytest.mark.parametrize("paddle", [SPRINT_PADDLE, OCEAN_PADDLE, FAR, MENDED])
def test_sliders_reach_nothing_that_cannot_be_fitted(paddle):
    for feather in (0, 90):
        for mass in MASSES:
            assert fitted_pair(paddle.with_feather(feather), mass)


def test_axes_hold_their_limits_while_a_slider_moves():
    panel = stroke_panel([OCEAN_PADDLE])
    use, (picture,) = controls(panel), panel._pictures
    limits = [axes.get_ylim() for axes in picture.figure.axes]
    for rate in (40, 120):
        for feather in (0, 90):
            use["stroke rate [1/min]"].value, use["feather [deg]"].value = rate, feather
            for axes, (low, high) in zip(picture.figure.axes, limits, strict=True):
                assert axes.get_ylim() == (low, high)
                for line in axes.lines:
                    y = np.asarray(line.get_ydata(), dtype=float)
                    if line.get_animated():
                        assert low <= y.min() and y.max() <= high
                for bar in axes.patches:
                    assert low <= bar.get_height() <= high


def test_break_even_is_told_with_its_range_or_as_none():
    pieces = fitted_pair(OCEAN_PADDLE, 0.2)
    fast = break_even_words(OCEAN_PADDLE, pieces, SPRINT.motion(OCEAN_PADDLE))
    assert all(": none from" in sentence for sentence in fast)
    slow = Stroke(20, 1, 0, 0, 0, 0, 0.01).motion(OCEAN_PADDLE)
    rate, heave, arm = break_even_words(OCEAN_PADDLE, pieces, slow)
    assert re.search(r"rise and fall of the shaft's middle: at \d+\.\d mm\.", heave)
    with pytest.raises(InputError, match="no counterweights"):
        break_even_words(OCEAN_PADDLE, [], slow)
