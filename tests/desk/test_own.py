"""The workshop's own paddles in the lessons' lists."""

import math

import numpy as np
import pytest
from desk.virtual_bench import BENCH, PADDLE, REST, UNBALANCE, rows

from paddlebal import own_benches, own_paddles
from paddlebal.book.book import FILE, Book
from paddlebal.panels.alive import static_panel
from paddlebal.panels.bench import fit_panel

FULL = PADDLE | BENCH | REST | rows(range(0, 360, 30), step=0.1)
KNOWN = {"feather": "50", "face": "70", "blade": "500", "blade_width": "165", "blade_mass": "150"}


@pytest.fixture
def folder(tmp_path):
    store = Book(tmp_path)
    store.put("a", FULL | KNOWN | {"name": "First"})
    store.put("b", FULL | {"name": "Second"})
    store.put("c", {"name": "Third"})
    store.close()
    return tmp_path


def test_a_paddle_known_well_enough_stands_in_the_lists(folder):
    [paddle] = own_paddles(folder)
    assert paddle.name.startswith("First")
    assert paddle.mass == pytest.approx(0.637)
    assert paddle.unbalance() == pytest.approx(
        turned(UNBALANCE, math.radians(70)), abs=0.02 * np.hypot(*UNBALANCE)
    )
    ends = sum(blade.mass * blade.x for blade in (paddle.left, paddle.right))
    assert ends / paddle.mass == pytest.approx(1.1975 - 1.205)
    static_panel([paddle])


def turned(vector, angle):
    c, s = math.cos(angle), math.sin(angle)
    return np.array([[c, -s], [s, c]]) @ vector


def test_benches_are_listed_latest_first(folder):
    assert [name for name, _ in own_benches(folder)] == ["Second", "First"]
    assert own_benches(folder, most=2)[0][0] == "Second"
    fit_panel([], own_benches(folder))


def test_a_heavier_blade_than_the_paddle_is_left_out(folder):
    store = Book(folder)
    store.put("a", {"blade_mass": "500"})
    store.close()
    assert own_paddles(folder) == []


def test_where_there_is_no_desk_nothing_is_offered_and_nothing_is_made(tmp_path):
    assert own_paddles(tmp_path) == []
    assert own_benches(tmp_path) == []
    assert not (tmp_path / FILE).exists()
    (tmp_path / FILE).write_bytes(b"no database" * 99)
    assert own_paddles(tmp_path) == []
