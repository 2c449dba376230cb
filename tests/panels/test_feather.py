"""The panels on feather: what they show follows the controls."""

import re
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from panel_parts import controls, inside

from paddlebal.feather import POSITIONS, roll_at, with_heavier_left
from paddlebal.formats.paddle import load_paddle
from paddlebal.panels.feather import feather_panel, ferrule_panel
from paddlebal.pictures.style import ACCENT
from paddlebal.unbalance import roll_torque

PADDLES = Path(__file__).parents[2] / "data" / "paddles"
OCEAN, FAR, MENDED = (
    load_paddle(PADDLES / f"{n}.toml") for n in ("ocean", "far_cranked", "mended")
)


def numbers(panel):
    """Row name to the first number in its value."""
    html = "".join(w.value for w in inside(panel) if type(w).__name__ == "HTML")
    rows = re.findall(r"<th[^>]*>([^<]*)</th><td[^>]*>([^<]*)<", html)
    return {
        what: float(
            re.search(r"[-\d.,]+", value.replace("\N{MINUS SIGN}", "-"))[0].replace(",", "")
        )
        for what, value in rows
    }


def pixels(picture):
    picture.figure.canvas.draw()
    return np.asarray(picture.figure.canvas.buffer_rgba())[..., :3].astype(int)


def accented(picture):
    accent = (255 * np.array(to_rgb(ACCENT))).round()
    return (np.abs(pixels(picture) - accent).sum(-1) < 30).sum()


def test_numbers_follow_every_control():
    panel = feather_panel([OCEAN, FAR, MENDED])
    use = controls(panel)
    assert numbers(panel)["their sum"] == pytest.approx(15762, abs=1)
    use["feather [deg]"].value = 90
    assert numbers(panel)["to hold at the left catch"] == pytest.approx(0.089, abs=5e-4)
    use["added to the left blade [g]"].value = 20
    now = numbers(panel)
    assert now["to hold at the left catch"] > now["to hold at the right catch"]
    use["control hand"].value = "left"
    mirrored = numbers(panel)
    assert mirrored["to hold at the left catch"] == now["to hold at the left catch"]
    use["paddle"].value = MENDED
    assert (use["feather [deg]"].value, use["control hand"].value) == (70, "left")


def test_positions_are_where_they_say():
    for paddle in (OCEAN, MENDED):
        torque = {p: roll_torque(paddle.unbalance(), roll_at(paddle, p)) for p in POSITIONS}
        assert torque["at rest"] == pytest.approx(0, abs=1e-15)
        assert torque["unstable equilibrium"] == pytest.approx(0, abs=1e-15)
        assert roll_at(paddle, "right catch") == paddle.catch_angle("right")


def test_a_heavier_blade_is_heavier_in_all_its_properties():
    heavier = with_heavier_left(OCEAN, 0.175)
    assert heavier.mass == pytest.approx(OCEAN.mass + 0.175)
    assert heavier.left.inertia == pytest.approx(2 * OCEAN.left.inertia)


def test_picture_changes_in_place_and_stays_on_its_axes():
    panel = feather_panel([OCEAN, FAR, MENDED])
    use, (picture,) = controls(panel), panel._pictures
    limits = [axes.get_ylim() for axes in picture.figure.axes]
    before = pixels(picture)
    for control, value in (
        ("feather [deg]", 0),
        ("paddle shown", "at rest"),
        ("paddle", FAR),
        ("added to the left blade [g]", 40),
    ):
        use[control].value = value
        after = pixels(picture)
        assert (after != before).any(), control
        assert accented(picture) > 500
        before = after
    assert [axes.get_ylim() for axes in picture.figure.axes] == limits


def test_one_piece_balances_one_feather_and_two_halves_all():
    panel = ferrule_panel([OCEAN, FAR])
    use, split = controls(panel), "residual, one piece on each half"
    for used in (0, 45, 60, 90):
        use["used at feather [deg]"].value = used
        now = numbers(panel)
        product = OCEAN.right.mass * OCEAN.right.offset * 1e6
        expected = 2 * product * abs(np.sin(np.radians(used - 60) / 2))
        assert now["residual, one piece"] == pytest.approx(expected, abs=1)
        assert now[split] == pytest.approx(0, abs=0.5)
        assert now["ratio of the two masses"] == pytest.approx(1 / np.cos(np.radians(30)), abs=1e-3)
    use["paddle"].value = FAR
    assert use["balanced at feather [deg]"].value == pytest.approx(45)
