"""Live pictures on a page opened from a file, without a network and without a kernel."""

import io
import re
from dataclasses import replace

import nbformat
import numpy as np
import pdfplumber
import pytest
from make_handouts import COACH
from notebook_files import FOLDER, NOTEBOOKS

from paddlebal import Counterweight, Limits, load_paddle, rest_angle, roll_torque
from paddlebal.bench.rolling import roll_down
from paddlebal.coach import coach_page
from paddlebal.cost import counterweight_cost
from paddlebal.equations import beta, body_to_world, theta
from paddlebal.errors import InputError
from paddlebal.feather import POSITIONS, against_feather, roll_at, with_heavier_left
from paddlebal.files.text import data_path
from paddlebal.grip import friction_range, mean_torque, strength_range
from paddlebal.holding import hour_ranges, part_balanced, stroke_series
from paddlebal.limits import material_densities
from paddlebal.live.cycle import SAMPLES, STATES
from paddlebal.live.hour import HANDS, PEOPLE
from paddlebal.live.placement import LONGEST_ARM
from paddlebal.live.space import ARROW
from paddlebal.live.stroke import PARTS
from paddlebal.paddle import SIDES, counterweight_adding
from paddlebal.pages import index, page
from paddlebal.placement import fitted_pair, half_unbalance, mass_against_arm, place_counterweight
from paddlebal.stroke import SPRINT, STROKES
from paddlebal.unbalance import catch_torques, couple_unbalance
from paddlebal.units import GRAM, MM, STANDARD_GRAVITY
from paddlebal.work import compare_strokes

SIZES = {"phone": (390, 844), "laptop": (1366, 768), "projector": (1920, 1080)}
ALL = """async ([names, rows, asked]) => {
  const live = document.querySelector(".live-place").live, [{ view }] = live.views, found = [];
  for (const row of rows) {
    row.forEach((value, i) => view.signal(names[i], value));
    if (live.rows) await live.count();
    await view.runAsync();
    found.push(asked.map((name) => view.signal(name)));
  }
  return found;
}"""
"""What a live picture computes at many positions of its sliders."""


@pytest.fixture(scope="module")
def handouts(tmp_path_factory):
    """The folder of handouts, the list of pages among them."""
    folder = tmp_path_factory.mktemp("handouts")
    for path in NOTEBOOKS:
        (folder / f"{path.stem}.html").write_text(page(path), encoding="utf-8")
    (folder / COACH).write_text(coach_page(), encoding="utf-8")
    titles = {f"{path.stem}.html": path.stem for path in NOTEBOOKS}
    (folder / "index.html").write_text(index(titles, "Pages."), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def opened(browser, handouts):
    """Opens a handout without a network; it fails on any error the page reports."""
    contexts, errors = [], []

    def opener(name, size="laptop"):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True)
        contexts.append(context)
        shown = context.new_page()
        shown.on("pageerror", lambda error: errors.append(str(error)))
        shown.goto((handouts / name).as_uri())
        shown.evaluate(
            "Promise.all([...document.querySelectorAll('.live-place')].map((e) => e.live.ready))"
        )
        return shown

    yield opener
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture(scope="module")
def balance(opened):
    return opened("00_start_here.html")


PADDLES = [
    load_paddle(data_path("paddles", f"{name}.toml"))
    for name in ("ocean", "sprint", "far_cranked", "mended")
]


def balanced(index, mass_g, arm_mm, angle_deg):
    weight = Counterweight(mass_g * GRAM, arm_mm * MM, np.radians(angle_deg))
    return PADDLES[index].with_counterweights(weight)


def test_balance_at_any_position_of_its_sliders_is_what_the_library_computes(balance):
    rng, count = np.random.default_rng(13), 2000
    low, high = [0, -180, 0, 20, -180], [4, 180, 400, 120, 180]
    rows = rng.uniform(low, high, (count, 5))
    rows[:, 0] = np.floor(rows[:, 0])
    names = ["paddle", "roll_deg", "mass_g", "arm_mm", "angle_deg"]
    asked = ["U_y", "U_z", "torque", "hold_left", "hold_right", "total", "I_xx", "I_zz", "rest"]
    found = np.array(balance.evaluate(ALL, [names, rows.tolist(), asked]))
    expected = []
    for number, roll, *weight in rows:
        paddle = balanced(int(number), *weight)
        U, inertia = paddle.unbalance(), paddle.inertia()
        catches = catch_torques(U, [paddle.catch_angle(side) for side in ("left", "right")])
        turned = roll_torque(U, np.radians(roll))
        own = inertia[0, 0], inertia[2, 2], rest_angle(U)
        expected.append([*U, turned, *catches, paddle.mass, *own])
    off = found - expected
    off[:, -1] = np.remainder(off[:, -1] + np.pi, 2 * np.pi) - np.pi
    assert np.abs(off).max() < 1e-9


def test_a_curve_drawn_is_the_torque_at_each_angle(balance):
    points = balance.evaluate(
        """() => {
          const live = document.querySelector(".live-place").live, { view } = live.views[1];
          const name = Object.keys(view.getState({ data: () => true }).data)
            .find((each) => (view.data(each)[180] || {}).torque !== undefined);
          return view.data(name).map((row) => [row.deg, row.torque]);
        }"""
    )
    deg, torque = np.transpose(points)
    assert len(deg) == 181
    assert np.abs(torque - roll_torque(PADDLES[0].unbalance(), np.radians(deg))).max() < 1e-10


def test_balance_it_leaves_nothing_and_the_numbers_follow(opened):
    shown = opened("00_start_here.html")
    shown.get_by_role("button", name="Balance it").click()
    shown.wait_for_function(
        """() => /residual unbalance\\s+\\d{1,2} g/.test(
          document.querySelector(".live-numbers").innerText)"""
    )
    assert "0.000 N·m" in shown.locator(".live-numbers").inner_text()


def test_a_weight_that_would_be_too_heavy_is_refused_in_a_sentence(opened):
    shown = opened("00_start_here.html")
    exact = shown.get_by_label("counterweight arm [mm], exactly")
    exact.fill("20")
    exact.press("Tab")
    shown.get_by_role("button", name="Balance it").click()
    needed = 1e3 * np.hypot(*PADDLES[0].unbalance()) / 0.02
    shown.get_by_role("alert").filter(has_text=f"{needed:,.0f} g").wait_for()
    assert shown.get_by_label("counterweight mass [g], exactly").input_value() == "0.0"
    exact.fill("100")
    exact.press("Tab")
    assert shown.get_by_role("alert").inner_text() == ""


def test_let_it_roll_follows_the_track_of_the_library(opened):
    shown = opened("00_start_here.html")
    track = """(start) => {
      const { live } = document.querySelector(".live-place");
      return live.set({ roll_deg: start }).then(
        () => live.track(live.picture.buttons[1]).angles.filter((_, i) => i % 50 === 0));
    }"""
    paddle = PADDLES[0]
    for start in (-180, -59, 20, 119, 121):
        angles = np.array(shown.evaluate(track, start))
        times = 0.05 * np.arange(len(angles))
        own = paddle.unbalance(), paddle.inertia()[0, 0]
        assert np.abs(angles - roll_down(*own, np.radians(start), times)).max() < 2e-3
    shown.evaluate("document.querySelector('.live-place').live.set({ roll_deg: 20 })")
    shown.get_by_role("button", name="Let it roll").click()
    rest = np.degrees(rest_angle(paddle.unbalance()))
    shown.wait_for_timeout(6500)
    stays = shown.get_by_label("roll angle [deg], exactly").input_value()
    assert abs(float(stays) - rest) < 3


def test_the_weight_and_a_blade_are_dragged(opened):
    shown = opened("00_start_here.html")
    chart = shown.locator(".live-chart").first
    chart.scroll_into_view_if_needed()
    shown.wait_for_timeout(300)
    spot = """(mark) => {
      const { view, place } = document.querySelector(".live-place").live.views[0];
      const box = place.querySelector("svg").getBoundingClientRect();
      const { left, top } = view.padding();
      return [box.x + left + view.scale("x")(mark[0]), box.y + top + view.scale("y")(mark[1])];
    }"""
    for name, start, end, label, value in (
        ("weight", (-86.6, 50), (0, 80), "counterweight angle [deg]", 90),
        ("blade", (52, 0), (0, 52), "roll angle [deg]", 90),
    ):
        (x, y), (to_x, to_y) = shown.evaluate(spot, start), shown.evaluate(spot, end)
        shown.mouse.move(x, y)
        shown.mouse.down()
        shown.mouse.move(to_x, to_y, steps=4)
        shown.mouse.up()
        shown.wait_for_timeout(200)
        now = float(shown.get_by_label(f"{label}, exactly").input_value())
        assert abs(now - value) < 6, name


def test_a_slider_moves_by_keys_and_by_a_typed_number(opened):
    shown = opened("00_start_here.html")
    slider = shown.get_by_label("roll angle [deg]", exact=True)
    slider.focus()
    slider.press("ArrowRight")
    exact = shown.get_by_label("roll angle [deg], exactly")
    assert exact.input_value() == "1"
    exact.fill("999")
    exact.press("Tab")
    assert exact.input_value() == "180" and slider.input_value() == "180"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", [*(f"{p.stem}.html" for p in NOTEBOOKS), "index.html", COACH])
def test_nothing_overflows_sideways_and_a_page_stays_small(opened, handouts, name, size):
    shown = opened(name, size)
    assert shown.evaluate("document.documentElement.scrollWidth") <= SIZES[size][0]
    assert (handouts / name).stat().st_size < 3e6
    for box in shown.locator(".live-chart svg").all():
        assert box.bounding_box()["width"] > 250


def test_controls_and_both_charts_are_in_view_together_on_a_laptop(opened):
    shown = opened("00_start_here.html")
    top, bottom = shown.evaluate(
        """() => {
          const boxes = [...document.querySelectorAll(".live-control, .live-chart svg")]
            .map((each) => each.getBoundingClientRect());
          return [Math.min(...boxes.map((b) => b.top)), Math.max(...boxes.map((b) => b.bottom))];
        }"""
    )
    assert bottom - top < SIZES["laptop"][1]


def test_a_slider_move_is_painted_soon(balance):
    median = balance.evaluate(
        """async () => {
          const { live } = document.querySelector(".live-place"), taken = [];
          for (let i = 0; i < 80; i++) {
            const start = performance.now();
            await live.set({ roll_deg: (i * 37) % 180 });
            await new Promise((done) => requestAnimationFrame(() => {
              const { port1, port2 } = new MessageChannel();
              port1.onmessage = done;
              port2.postMessage(0);
            }));
            taken.push(performance.now() - start);
          }
          return taken.sort((a, b) => a - b)[40];
        }"""
    )
    assert median < 60


def test_every_page_leads_back_to_the_list(opened):
    for path in sorted(FOLDER.glob("*.ipynb")):
        shown = opened(f"{path.stem}.html")
        assert shown.get_by_role("link", name="All pages").get_attribute("href") == "index.html"


def test_feather_at_any_position_of_its_sliders_is_what_the_library_computes(opened):
    shown, rng, count = opened("02_feather_effects.html"), np.random.default_rng(14), 2000
    paddles = [
        load_paddle(data_path("paddles", f"{name}.toml"))
        for name in shown_paddles("02_feather_effects")
    ]
    names = ["paddle", "feather_deg", "control", "added_g", "position"]
    low, high = [0, 0, 0, -40, 0], [len(paddles), 90, 2, 40, 4]
    rows = np.floor(rng.uniform(low, high, (count, 5)) * [1, 10, 1, 10, 1])
    rows /= [1, 10, 1, 10, 1]
    asked = ["size_left", "size_right", "size", "hold_left", "hold_right", "lift", "couple", "roll"]
    found = np.array(shown.evaluate(ALL, [names, rows.tolist(), asked]))
    expected = []
    for number, feather, control, added, position in rows:
        bare = with_heavier_left(paddles[int(number)], added * GRAM)
        paddle = replace(bare, control=SIDES[int(control)]).with_feather(feather)
        sizes = [np.hypot(*half_unbalance(paddle, side)) for side in SIDES]
        here = against_feather(paddle, feather)
        own = here.unbalance, here.left, here.right, here.lift, here.couple
        expected.append([*sizes, *own, roll_at(paddle, POSITIONS[int(position)])])
    off = found - expected
    off[:, -1] = np.remainder(off[:, -1] + np.pi, 2 * np.pi) - np.pi
    assert np.abs(off).max() < 1e-9


def shown_paddles(name):
    """The names of the demo paddles that a lesson's picture offers, as its cell loads them."""
    source = "\n".join(cell.source for cell in nbformat.read(FOLDER / f"{name}.ipynb", 4).cells[:6])
    return re.findall(r'"(ocean|sprint|far_cranked|mended)"', source)


def test_placement_at_any_position_of_its_sliders_is_what_the_library_computes(opened):
    shown, rng, count = opened("03_counterweight_placement.html"), np.random.default_rng(15), 2000
    paddles = [
        load_paddle(data_path("paddles", f"{name}.toml"))
        for name in shown_paddles("03_counterweight_placement")
    ]
    materials = list(material_densities())
    names = ["paddle", "material", "arm_mm", "error_deg", "x_mm"]
    low, high = [0, 0, 20, -20, -700], [len(paddles), len(materials), 120, 20, 700]
    rows = rng.uniform(low, high, (count, 5))
    rows[:, :2] = np.floor(rows[:, :2])
    asked = ["mass", "diameter", "length", "left_over", "shift", "swing", "before", "after"]
    asked += ["work_added", "afloat", "where"]
    found = shown.evaluate(ALL, [names, rows.tolist(), asked])
    heaviest, expected, stands = 10.0, [], []
    for number, material, arm, error, x in rows:
        paddle, material = paddles[int(number)], materials[int(material)]
        arm, x = arm * MM, x * MM
        limits = Limits.for_paddle(
            paddle, material=material, arm=(0, LONGEST_ARM), mass=(0, heaviest)
        )
        here = mass_against_arm(paddle.unbalance(), limits, [arm])
        kind = here.materials.index(material)
        exact = counterweight_adding(-paddle.unbalance(), arm, x, limits.density)
        weight = replace(exact, angle=exact.angle + np.radians(error))
        after = paddle.with_counterweights(weight)
        cost = counterweight_cost(paddle, after)
        expected.append(
            [
                weight.mass,
                float(here.diameter[kind, 0]),
                float(here.length[kind, 0]),
                np.hypot(*after.unbalance()),
                cost.balance_shift,
                cost.swing_inertia,
                cost.holding_torque_before,
                cost.holding_torque_after,
                -cost.work_saved,
                cost.flotation,
            ]
        )
        try:
            place_counterweight(paddle.unbalance(), limits, arm=arm, x=x, paddle=paddle)
        except InputError as error:
            stands.append(str(error))
        else:
            stands.append("")
    off = np.array([row[:-1] for row in found]) - expected
    assert np.abs(off).max() < 1e-9
    for row, refusal in zip(found, stands, strict=True):
        assert (row[-1] == "free") == (not refusal), (row[-1], refusal)
    assert {"free", "too near the shaft", "beyond the free shaft"} < {row[-1] for row in found}


def test_the_static_picture_anywhere_is_what_the_library_computes(opened):
    shown, rng, count = opened("01_static_imbalance.html"), np.random.default_rng(16), 1000
    paddles = [
        load_paddle(data_path("paddles", f"{name}.toml"))
        for name in shown_paddles("01_static_imbalance")
    ]
    names = ["paddle", "roll_deg", "feather_deg", "inclination_deg"]
    rows = rng.uniform([0, -180, 0, -30], [len(paddles), 180, 180, 30], (count, 4))
    rows[:, 0] = np.floor(rows[:, 0])
    asked = ["U_y", "U_z", "torque", "hold_left", "hold_right", "couple"]
    found = np.array(shown.evaluate(ALL, [names, rows.tolist(), asked]))
    expected = []
    for number, roll, feather, inclination in rows:
        paddle = paddles[int(number)].with_feather(feather)
        U, (theta, beta) = paddle.unbalance(), np.radians([roll, inclination])
        holding = catch_torques(U, [paddle.catch_angle(side) for side in SIDES], beta)
        couple = np.hypot(*couple_unbalance(paddle))
        expected.append([*U, roll_torque(U, theta, beta), *holding, couple])
    assert np.abs(found - expected).max() < 1e-9


def test_the_paddle_in_space_stays_in_its_frame_wherever_it_is_turned(opened):
    shown = opened("01_static_imbalance.html")
    over = """async ([inclination_deg, view_deg, roll_deg, tilt_deg]) => {
      const { live } = document.querySelector(".live-place"), { place, view } = live.views[2];
      await live.set({ inclination_deg, view_deg, roll_deg, tilt_deg });
      const frame = place.querySelector("svg").getBoundingClientRect();
      const boxes = [...place.querySelectorAll(".mark-line path")]
        .map((each) => each.getBoundingClientRect());
      return Math.max(...boxes.flatMap((box) => [frame.top + view.padding().top - box.top,
        box.bottom - frame.bottom, frame.left - box.left, box.right - frame.right]));
    }"""
    shown.wait_for_timeout(300)
    for inclination in (-30, 0, 30):
        for view in range(-180, 181, 45):
            for roll, tilt in ((0, 15), (90, -90), (45, 60), (90, 90)):
                assert shown.evaluate(over, [inclination, view, roll, tilt]) < 2


def test_the_paddle_in_space_turns_under_the_hand(opened):
    shown = opened("01_static_imbalance.html")
    chart = shown.locator(".live-chart").nth(2)
    chart.scroll_into_view_if_needed()
    shown.wait_for_timeout(300)
    box = chart.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    shown.mouse.move(x, y)
    shown.mouse.down()
    shown.mouse.move(x - box["width"] / 4, y + box["height"] / 6, steps=5)
    shown.mouse.up()
    for name, value in (("the side", 20 + 45), ("above", 15 + 30)):
        exact = shown.get_by_label(f"look from {name} [deg], exactly")
        assert abs(float(exact.input_value()) - value) <= 5


def test_the_unbalance_in_space_is_seen_as_the_rotation_of_the_equations_turns_it(opened):
    """At view and tilt 0 the eye looks forward: across is X, above is Z of the world."""
    shown = opened("01_static_imbalance.html")
    seen = """async (values) => {
      const { live } = document.querySelector(".live-place"), { view } = live.views[2];
      await live.set(values);
      const found = Object.keys(view.getState({ data: () => true }).data)
        .map((name) => view.data(name)).find((rows) => rows.length === 1 && "above" in rows[0]);
      return [found[0].across, found[0].above, view.signal("zoom")];
    }"""
    U = PADDLES[0].unbalance()
    for roll, inclination in ((0, 0), (35, 20), (-120, -30)):
        values = {"roll_deg": roll, "inclination_deg": inclination, "view_deg": 0, "tilt_deg": 0}
        across, above, zoom = shown.evaluate(seen, values)
        turn = {theta: np.radians(roll), beta: np.radians(inclination)}
        X, _, Z = np.array(body_to_world().subs(turn), dtype=float) @ [0, *U]
        assert [across, above] == pytest.approx([ARROW * zoom * X, ARROW * zoom * Z], abs=1e-9)


def test_a_stroke_at_any_position_of_its_sliders_is_what_the_library_computes(opened):
    shown, rng, count = opened("04_work_per_stroke.html"), np.random.default_rng(16), 1000
    paddles = [
        load_paddle(data_path("paddles", f"{name}.toml"))
        for name in shown_paddles("04_work_per_stroke")
    ]
    names = ["paddle", "stroke", "rate", "feather_deg", "mass_g", "share_percent"]
    low, high = [0, 0, 40, 0, 150, 0], [len(paddles), 2, 120, 90, 380, 100]
    rows = rng.uniform(low, high, (count, 6))
    rows[:, :2] = np.floor(rows[:, :2])
    sums = ["mean", "peak", "given", "taken", "turning", "turned", "lift", "swing", *PARTS]
    asked = [f"{name}_{state}" for state in STATES for name in sums]
    found = shown.evaluate(
        ALL, [names, rows.tolist(), [*asked, "period", "x_left", "x_right", "stands"]]
    )
    strokes, compared = list(STROKES.values()), 0
    for (number, preset, rate, feather, mass, share), row in zip(rows, found, strict=True):
        paddle = paddles[int(number)].with_feather(feather)
        motion = strokes[int(preset)].motion(paddle).with_rate(rate)
        try:
            pieces = fitted_pair(paddle, mass * GRAM, share / 100)
        except InputError:
            assert row.pop() != "free"
            continue
        assert row.pop() == "free"
        both = compare_strokes(paddle, pieces, motion, SAMPLES)
        compared += 1
        *got, period, left, right = row
        expected: list[float] = []
        for side in (both.without, both.balanced):
            powers = (*side.full_work, side.roll.positive, side.roll.negative)
            expected += [float(side.roll.mean), float(side.roll.peak)]
            expected += [abs(float(work)) / period for work in powers]
            expected += [side.lift, side.swing, *(float(np.abs(p).max()) for p in side.parts)]
        assert got == pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert (left, right) == pytest.approx(tuple(piece.x for piece in pieces), abs=1e-9)
    assert compared > 0.8 * count


def test_the_cycle_drawn_is_the_torque_of_the_library(opened):
    shown = opened("04_work_per_stroke.html")
    drawn = shown.evaluate(
        """() => document.querySelector(".live-place").live.views[0].view.data("cycle")
          .map((row) => [row.bare_torque, row.now_torque])"""
    )
    paddle = PADDLES[1]
    both = compare_strokes(paddle, fitted_pair(paddle, 0.2), SPRINT.motion(paddle), SAMPLES)
    torques = np.transpose([both.without.torque, both.balanced.torque])
    assert np.abs(np.array(drawn)[:-1] - torques[::4]).max() < 1e-9
    assert np.abs(np.array(drawn)[-1] - torques[0]).max() < 1e-9


def test_an_hour_at_any_position_of_its_sliders_is_what_the_library_computes(opened):
    shown, rng, count = opened("05_grip_and_fatigue.html"), np.random.default_rng(17), 1000
    paddles = [
        load_paddle(data_path("paddles", f"{name}.toml"))
        for name in shown_paddles("05_grip_and_fatigue")
    ]
    names = ["paddle", "balanced_percent", "rate", "hand", "who", "age", "own_kgf", "diameter_mm"]
    low, high = [0, 0, 40, 0, 0, 20, -40, 24], [len(paddles), 100, 130, 2, 2, 91, 80, 34]
    rows = rng.uniform(low, high, (count, 8))
    rows[:, [0, 3, 4, 5]] = np.floor(rows[:, [0, 3, 4, 5]])
    rows[:, 6] = np.maximum(rows[:, 6], 0)
    levels = ("static", "median", "peak")
    asked = [f"{level}_{s}_{end}" for s in STATES for level in levels for end in ("low", "high")]
    found = shown.evaluate(ALL, [names, rows.tolist(), [*asked, "mean_bare", "mean_now"]])
    for (number, balanced, rate, hand, who, age, own, diameter), row in zip(
        rows, found, strict=True
    ):
        paddle, own = paddles[int(number)], own * STANDARD_GRAVITY
        strength = strength_range(PEOPLE[int(who)], age) if own == 0 else (own, own)
        ranges, means = [], []
        for each in (paddle, part_balanced(paddle, balanced / 100)):
            time, parts = stroke_series(each, rate)
            torque = sum(parts)
            hand_of = diameter * MM, friction_range(HANDS[int(hand)]), strength
            for pair in hour_ranges(time, torque, *hand_of):
                ranges += [100 * end.share for end in pair]
            means.append(mean_torque(time, torque))
        assert row[-2:] == pytest.approx(means, rel=1e-9, abs=1e-9)
        assert row[:-2] == pytest.approx(ranges, rel=1e-8, abs=1e-8)


def test_what_is_to_be_seen_is_folded_on_the_screen_and_open_on_paper(opened):
    shown = opened("00_start_here.html")
    words = "Ten degrees off bring back"
    assert not shown.get_by_text(words).is_visible()
    with pdfplumber.open(io.BytesIO(shown.pdf(format="A4"))) as pdf:
        assert any(words in page.extract_text() for page in pdf.pages)
    assert not shown.get_by_text(words).is_visible()


def test_the_page_for_a_course_is_one_sheet_with_the_library_s_numbers(opened):
    shown = opened(COACH)
    paddle, hand = PADDLES[0], (friction_range("dry"), strength_range("woman", 40))
    time, parts = stroke_series(part_balanced(paddle, 0.5))
    with pdfplumber.open(io.BytesIO(shown.pdf(format="A4"))) as pdf:
        (sheet,) = pdf.pages
        text = sheet.extract_text()
    for low, high in hour_ranges(time, sum(parts), 2 * paddle.shaft.radius, *hand):
        assert f"{100 * low.share:.1f} to {100 * high.share:.1f} %" in text
    for words in ("You may conclude", "You may not conclude", "not medical advice", "static load"):
        assert words in text


LIVING = ["00_start_here", *(path.stem for path in NOTEBOOKS if path.stem[:2] in "01 02 03 04 05")]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", LIVING)
def test_no_words_of_a_live_picture_touch_each_other_or_leave_it(opened, name, size):
    shown = opened(f"{name}.html", size)
    found = shown.evaluate(
        """async () => {
          const { live } = document.querySelector(".live-place"), found = new Set();
          const sliders = live.picture.controls.filter((each) => !each.entries);
          for (const end of ["value", "low", "high"]) {
            await live.set(Object.fromEntries(sliders.map((each) => [each.name, each[end]])));
            for (const svg of document.querySelectorAll(".live-chart svg")) {
              const frame = svg.getBoundingClientRect();
              const texts = [...svg.querySelectorAll("text")].filter((e) => e.textContent.trim()
                && getComputedStyle(e).opacity > 0 && e.getAttribute("opacity") !== "0");
              const boxes = texts.map((e) => e.getBoundingClientRect());
              boxes.forEach((a, i) => {
                if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1
                    || a.bottom > frame.bottom + 1) found.add(texts[i].textContent + " leaves");
                boxes.slice(0, i).forEach((b, j) => {
                  const x = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                  const y = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                  const both = [texts[i].textContent, texts[j].textContent];
                  if (x > 1 && y > 3) found.add(both.join(" on "));
                });
              });
            }
          }
          return [...found];
        }"""
    )
    assert found == []
