"""The panel on the stroke: what it shows follows the controls."""

import re
from html import escape
from pathlib import Path

import pytest

from paddlebal.errors import InputError
from paddlebal.formats.paddle import load_paddle
from paddlebal.live.stroke import MASSES
from paddlebal.panels.stroke import stroke_panel
from paddlebal.placement import fitted_pair
from paddlebal.stroke import OCEAN, SPRINT, Stroke
from paddlebal.unbalance import magnitude
from paddlebal.work import break_even_words

PADDLES = Path(__file__).parents[2] / "data" / "paddles"
SPRINT_PADDLE, OCEAN_PADDLE, FAR, MENDED = (
    load_paddle(PADDLES / f"{name}.toml") for name in ("sprint", "ocean", "far_cranked", "mended")
)


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


@pytest.mark.parametrize("paddle", [SPRINT_PADDLE, OCEAN_PADDLE, FAR, MENDED])
def test_sliders_reach_nothing_that_cannot_be_fitted(paddle):
    for feather in (0, 90):
        for mass in MASSES:
            assert fitted_pair(paddle.with_feather(feather), mass)


def test_break_even_is_told_with_its_range_or_as_none():
    pieces = fitted_pair(OCEAN_PADDLE, 0.2)
    fast = break_even_words(OCEAN_PADDLE, pieces, SPRINT.motion(OCEAN_PADDLE))
    assert all(": none from" in sentence for sentence in fast)
    slow = Stroke(20, 1, 0, 0, 0, 0, 0.01).motion(OCEAN_PADDLE)
    rate, heave, arm = break_even_words(OCEAN_PADDLE, pieces, slow)
    assert re.search(r"rise and fall of the shaft's middle: at \d+\.\d mm\.", heave)
    with pytest.raises(InputError, match="no counterweights"):
        break_even_words(OCEAN_PADDLE, [], slow)


def test_break_even_is_sought_where_the_picture_s_controls_stand():
    panel = stroke_panel([SPRINT_PADDLE, OCEAN_PADDLE])
    live, button, told = panel.children
    at = {"paddle": 1, "stroke": 1, "rate": 60, "feather_deg": 30, "mass_g": 250}
    live.values = live.values | at | {"share_percent": 50}
    button.click()
    turned = OCEAN_PADDLE.with_feather(30)
    motion = OCEAN.motion(turned).with_rate(60)
    for sentence in break_even_words(turned, fitted_pair(turned, 0.25, 0.5), motion):
        assert escape(sentence) in told.value
    live.values = live.values | {"share_percent": 0}
    assert told.value == ""
    button.click()
    assert 'role="alert"' in told.value and "no counterweights to compare" in told.value
