"""The pictures: changed in place, drawn right, and legible."""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import matplotlib.image
import numpy as np
import pytest
from matplotlib.text import Text
from mpl_toolkits.mplot3d.art3d import Text3D
from mpl_toolkits.mplot3d.proj3d import proj_transform

from paddlebal import Counterweight, load_paddle, rest_angle
from paddlebal.paddle import KeepOut
from paddlebal.pictures.balance import (
    _centroid,
    blade_section,
    turned,
)
from paddlebal.pictures.bench import NINETY_FIVE, BenchPicture
from paddlebal.pictures.curve import CurvePicture
from paddlebal.pictures.placement import PlacementPicture
from paddlebal.pictures.style import TEXT, round_step, signed
from paddlebal.unbalance import magnitude

PADDLES = Path(__file__).parents[2] / "data" / "paddles"
NAMES = ("ocean", "sprint", "far_cranked", "mended")


@pytest.fixture(scope="module")
def ocean():
    return load_paddle(PADDLES / "ocean.toml")


def weight(mass_g, arm_mm, angle_deg, x=0.0):
    return Counterweight(mass_g * 1e-3, arm_mm * 1e-3, np.radians(angle_deg), x)


def show_curve(picture, paddle, theta_deg):
    x = np.linspace(0, 90, 31)
    place = (theta_deg + 180) / 4
    curves = {"one counterweight": (x, 200 * np.abs(x - 60)), "by halves": (x, 0 * x + 300)}
    picture.update(curves, (place, 200 * abs(place - 60)), f"{200 * abs(place - 60):.0f} g·mm")


def show_placement(picture, paddle, theta_deg):
    arms = np.linspace(0.02, 0.12, 41)
    product = magnitude(paddle.unbalance())
    arm = 0.08 + theta_deg / 180 * 0.04
    piece = Counterweight(product / arm, arm, 2.6, theta_deg / 180 * 0.7)
    after = paddle.with_counterweights(piece)
    picture.update(after, after.unbalance(), arms, product / arms, arms > 0.04, [(piece, 0.04)])


def curve_picture():
    curves = {"one counterweight": "solid", "by halves": "dashed"}
    return CurvePicture("feather [deg]", "residual [g·mm]", (0, 90), (0, 15000), curves)


PICTURES: dict[str, tuple[Callable[[], Any], Callable[..., None]]] = {
    "curve": (curve_picture, show_curve),
    "placement": (lambda: PlacementPicture(0.03, 0.12, 0.5, 0.8), show_placement),
}


def pixels(picture):
    return np.array(picture.figure.canvas.buffer_rgba())


@pytest.fixture(params=PICTURES)
def shown(request):
    make, show = PICTURES[request.param]
    return make(), show


def test_update_changes_pixels_and_keeps_the_artists(shown, ocean):
    picture, show = shown
    show(picture, ocean, 20)
    before, artists = pixels(picture), picture.figure.findobj()
    show(picture, ocean, 75)
    assert np.any(pixels(picture) != before)
    assert list(map(id, picture.figure.findobj())) == list(map(id, artists))
    show(picture, ocean, 20)
    assert np.array_equal(pixels(picture), before)


def test_blitted_picture_is_that_of_a_full_redraw(shown, ocean):
    picture, show = shown
    for theta in (0, -130, 95):
        show(picture, ocean, theta)
        blitted = pixels(picture)
        picture.figure.canvas.draw()
        assert np.array_equal(blitted, pixels(picture))


def test_an_update_does_not_draw_the_background_again(shown, ocean):
    picture, show = shown
    show(picture, ocean, 0)
    draws: list[Any] = []
    picture.figure.canvas.mpl_connect("draw_event", draws.append)
    show(picture, ocean, 40)
    assert not draws


def test_background_follows_size_and_resolution(ocean):
    picture = PICTURES["placement"][0]()
    show_placement(picture, ocean, 10)
    for dpi in (160, 100):
        picture.figure.set_dpi(dpi)
        show_placement(picture, ocean, 30)
        fresh = PICTURES["placement"][0]()
        fresh.figure.set_dpi(dpi)
        show_placement(fresh, ocean, 30)
        assert np.array_equal(pixels(picture), pixels(fresh))


def test_saving_shows_the_live_artists_and_leaves_the_background(ocean):
    picture = PICTURES["placement"][0]()
    show_placement(picture, ocean, 20)
    before = pixels(picture)
    file = io.BytesIO()
    picture.figure.savefig(file, format="png", dpi="figure")
    file.seek(0)
    saved = matplotlib.image.imread(file)
    assert saved.shape[:2] == before.shape[:2]
    assert np.mean(np.abs(saved[..., :3] - before[..., :3] / 255)) < 0.01
    picture.refresh()
    assert np.array_equal(pixels(picture), before)


def test_cleared_picture_shows_its_background_until_the_next_update(ocean):
    picture = PICTURES["placement"][0]()
    show_placement(picture, ocean, 20)
    full = pixels(picture)
    picture.clear()
    empty = pixels(picture)
    picture.figure.canvas.draw()
    assert np.array_equal(empty, pixels(picture))
    assert np.mean(empty < 200) < np.mean(full < 200)
    show_placement(picture, ocean, 20)
    assert np.array_equal(full, pixels(picture))


def texts(picture):
    """Visible texts with something to read, but for the ticks', and their boxes."""
    axis = [axis for axes in picture.figure.axes for axis in axes._axis_map.values()]
    ticks = {text for each in axis for text in each.findobj(Text) if text is not each.label}
    return [
        (text, box_of(text))
        for text in picture.figure.findobj(Text)
        if text not in ticks and text.get_visible() and text.get_text().strip()
    ]


def box_of(text):
    box = text.get_window_extent(text.figure.canvas.get_renderer())
    if not isinstance(text, Text3D):
        return box
    place = proj_transform(*text.get_position_3d(), text.axes.M)[:2]
    shift = np.subtract(place, text.get_position())
    origin, there = text.axes.transData.transform([(0, 0), shift])
    return box.translated(*(there - origin))


def overlapping(picture):
    boxes = texts(picture)
    return [
        (a.get_text(), b.get_text())
        for i, (a, box) in enumerate(boxes)
        for b, other in boxes[:i]
        if box.overlaps(other.padded(-1))
    ]


def assert_legible(picture):
    frame = picture.figure.bbox
    for text, box in texts(picture):
        words = text.get_text()
        assert frame.x0 <= box.x0 and box.x1 <= frame.x1, words
        assert frame.y0 <= box.y0 and box.y1 <= frame.y1, words
        assert text.get_fontsize() >= 12, words
    assert overlapping(picture) == []


@pytest.mark.parametrize("kind", PICTURES)
def test_texts_are_legible(kind, ocean):
    make, show = PICTURES[kind]
    picture = make()
    for theta in range(-180, 181, 72):
        show(picture, ocean, theta)
        assert_legible(picture)


def test_every_axis_names_its_unit(shown, ocean):
    picture, show = shown
    show(picture, ocean, 0)
    for axes in picture.figure.axes:
        for axis in axes._axis_map.values():
            assert len(axis.get_ticklocs()) == 0 or "[" in axis.get_label_text()


def test_unbalance_arrow_points_along_the_unbalance_and_hides_when_tiny(ocean):
    view, U = PICTURES["placement"][0]()._end_on, ocean.unbalance()
    view.update(ocean, float(rest_angle(U)), U)
    (x0, y0), (x1, y1) = view._arrow._posA_posB
    assert (x0, y0) == (0, 0) and x1 == pytest.approx(0, abs=1e-9) and y1 < -10
    view.update(ocean, 0.0, 1e-3 * U)
    assert not view._arrow.get_visible()


def test_blade_section_has_its_centroid_at_the_offset(ocean):
    outline = blade_section(ocean.right)
    assert _centroid(outline)[0] == pytest.approx(ocean.right.offset, abs=1e-12)
    assert np.ptp(outline[:, 1]) == pytest.approx(ocean.right.width)


def test_a_blade_is_drawn_where_its_sideways_centre_of_mass_puts_it(ocean):
    blade = replace(ocean.right, across=0.01)
    assert blade_section(blade) - blade_section(ocean.right) == pytest.approx(
        np.tile([0.0, 0.01], (48, 1))
    )
    picture = PICTURES["placement"][0]()
    picture._end_on.update(replace(ocean, right=blade), 0.3, np.ones(2))
    (dots,) = (line for line in picture.figure.axes[0].lines if len(line.get_xdata()) == 2
               and line.get_marker() == "o")  # fmt: skip
    seen = turned(replace(ocean, right=blade).blade_centre("right")[1:], 0.3)
    assert np.transpose(dots.get_data())[1] == pytest.approx(seen / 1e-3)


def test_turning_is_counterclockwise():
    assert turned([1.0, 0.0], np.pi / 2) == pytest.approx([0.0, 1.0])
    assert turned([[1.0, 0.0], [0.0, 1.0]], np.pi) == pytest.approx(-np.eye(2))


def test_region_holds_95_percent():
    draws = np.random.default_rng(1).standard_normal((200_000, 2))
    assert np.mean(np.hypot(*draws.T) < NINETY_FIVE) == pytest.approx(0.95, abs=0.002)


def test_bench_pictures_follow_what_they_show():
    covariance = np.array([[4.0, 1.0], [1.0, 2.0]]) * 1e-9
    bench = BenchPicture()
    angles = np.linspace(0, 2 * np.pi, 13)
    both = {"up": (angles, 0.15 * np.cos(angles)), "down": (angles, 0.14 * np.cos(angles))}
    left = {"up": 1e-3 * np.sin(5 * angles), "down": 2e-3 * np.cos(3 * angles)}
    for U in ([0.013, -0.008], [-0.02, 0.001]):
        bench.update(both, both, left, U, covariance, 2 * covariance, "Monte Carlo")
        assert_legible(bench)
        low, high = bench.figure.axes[-1].get_xlim()
        assert low < U[0] * 1e6 < high
        region = max(bench.figure.axes[-1].lines[1].get_xdata()) - U[0] * 1e6
        assert region == pytest.approx(NINETY_FIVE * np.sqrt(4e-9) * 1e6, rel=1e-3)


def test_round_steps_and_signed_numbers():
    assert [round_step(x, 1) for x in (1, 1.1, 2.3, 7, 0.04)] == [1, 2, 5, 10, 0.05]
    assert [signed(x, 2) for x in (-0.123, 0.5, -0.001)] == ["−0.12", "+0.50", "0.00"]
    assert TEXT >= 14


def test_every_weight_and_every_keep_out_has_its_name(ocean):
    weights = [weight(50 + i, 80, 40 * i) for i in range(3)]
    zones = tuple(KeepOut(f"zone {i}", 0.1 * i - 0.5, 0.1 * i - 0.45) for i in range(9))
    paddle = replace(ocean.with_counterweights(*weights), keep_outs=zones)
    picture = PlacementPicture(0.03, 0.12, 0.5, 0.8)
    arms = np.linspace(0.04, 0.12, 5)
    last = [(paddle.counterweights[-1], 0.05)]
    picture.update(paddle, paddle.unbalance(), arms, 0.01 / arms, arms > 0.05, last)
    shown = {t.get_text() for axes in picture.figure.axes for t in axes.texts if t.get_visible()}
    assert {"50 g", "51 g", "52 g"} <= shown and {zone.name for zone in zones} <= shown
    first = [(weights[0], 0.05)]
    picture.update(ocean.with_counterweights(weights[0]), [0, 0], arms, arms, arms > 0, first)
    shown = {t.get_text() for axes in picture.figure.axes for t in axes.texts if t.get_visible()}
    assert "52 g" not in shown and "zone 8" not in shown
