"""The panel on counterweights for the stroke."""

import numpy as np
import pytest

from paddlebal import load_paddle
from paddlebal.files.text import data_path
from paddlebal.motion_balance.programme import AIMS
from paddlebal.panels.motion import FREE, STAYS, motion_state, motion_state_rows
from paddlebal.pictures.motion import BARE, BEST, MOST, REST

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
GIVEN = {
    "paddle": OCEAN, "stroke": "ocean preset", "aim": "mean", "mass": 0.2, "arm": 0.08,
    "reach": 0.52, "rest": FREE,
}  # fmt: skip


def mean(state, name):
    return np.abs(state.torques[name]).mean()


def test_the_pieces_leave_less_than_balance_at_rest_and_that_less_than_bare():
    state = motion_state(**GIVEN)
    assert mean(state, BEST) < mean(state, REST) < mean(state, BARE)
    rows = dict(motion_state_rows(state))
    assert rows["mass of the pieces"] == "200 g"
    assert float(rows["no pieces go below"].split()[0]) <= mean(state, BEST) + 1e-4


def test_staying_at_rest_costs():
    stays, free = motion_state(**(GIVEN | {"rest": STAYS})), motion_state(**GIVEN)
    assert dict(motion_state_rows(stays))["unbalance left at rest"] in ("0 g·mm", "1 g·mm")
    assert mean(free, BEST) < mean(stays, BEST) < mean(stays, REST) + 1e-6


@pytest.mark.parametrize("aim", AIMS)
@pytest.mark.parametrize("end", [{"mass": 0.02}, {"mass": 0.4, "arm": 0.12}, {"reach": 0.05},
                                 {"reach": 0.6, "arm": 0.03}])  # fmt: skip
def test_the_ends_of_the_sliders(aim, end):
    state = motion_state(**(GIVEN | {"aim": aim} | end))
    assert 0 < len(state.found.pieces) <= MOST
    assert state.found.after <= state.found.before
