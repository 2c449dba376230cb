"""Unbalance from several recorded swings, against the paddle that they were computed from."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom, chi2

from paddlebal import InputError, load_paddle
from paddlebal.__main__ import main
from paddlebal.bench.films import BARE, KnownMass, best_angle, fit_films
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.record import swing_angles
from paddlebal.compiled import numeric
from paddlebal.files.text import data_path
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, STANDARD_GRAVITY

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
U, I_X, M, RADIUS = OCEAN.unbalance(), OCEAN.inertia()[0, 0], OCEAN.mass, OCEAN.shaft.radius
DIAMETER = 0.03


def known(angle_deg, mass_g=100.0, arm_mm=60.0):
    own = mass_g * GRAM * DIAMETER**2 / 8
    return KnownMass(mass_g * GRAM, arm_mm * MM, angle_deg * DEG, own)


def filmed(rng, put=BARE, support="rollers", camera=0.0, friction=0.02):
    """A record of 6 s at 60 frames a second, 0.15° a frame, of the paddle with a mass on it."""
    time, radius = np.arange(0, 6, 1 / 60), RADIUS if support == "rails" else 0.0
    away = np.array([np.cos(put.angle), np.sin(put.angle)])
    loaded, inertia = U + put.mass * put.arm * away, I_X + put.mass * put.arm**2 + put.inertia
    size = magnitude(loaded)
    stiffness = numeric("small_swing")(size, inertia, M + put.mass, radius, STANDARD_GRAVITY)
    swing = swing_angles(time, float(stiffness), friction, 0.2, 0.9, 0.0, radius)
    roll = camera + rest_angle(loaded) + swing + 0.15 * DEG * rng.standard_normal(time.size)
    return SwingRecord(time, roll, support, RADIUS, 0.15 * DEG)


def as_put(rng, put):
    """The mass as it really sits, off by its uncertainties."""
    off = rng.standard_normal(3)
    return replace(put, mass=put.mass + off[0] * put.mass_u, arm=put.arm + off[1] * put.arm_u,
                   angle=put.angle + off[2] * put.angle_u)  # fmt: skip


@pytest.mark.parametrize(("support", "angle_deg"), [("rollers", 90), ("rails", 150)])
def test_two_records_give_unbalance_inertia_and_the_cameras_roll(support, angle_deg):
    rng, put = np.random.default_rng(1), known(angle_deg)
    records = [filmed(rng, BARE, support, 0.02), filmed(rng, put, support, 0.02, 0.03)]
    found = fit_films(records, [BARE, put], M)
    truth = [*U, I_X, 0.02]
    value = [*found.unbalance, found.inertia, found.camera]
    assert np.abs(np.subtract(value, truth) / found.uncertainties).max() < 4
    assert found.uncertainties[0] < 200 * GRAM_MM and found.doubts == ()
    moment = 0.03 * STANDARD_GRAVITY * magnitude(U + put.mass * put.arm * np.array(
        [np.cos(put.angle), np.sin(put.angle)]))  # fmt: skip
    assert found.friction_moments[1] == pytest.approx(moment, rel=0.1)


def test_an_exact_mass_and_a_plumb_line_leave_little_open():
    rng, put = np.random.default_rng(2), known(90)
    sure = replace(put, mass_u=1e-7, arm_u=1e-7, angle_u=1e-7)
    records = [filmed(rng), filmed(rng, put)]
    loose = fit_films(records, [BARE, put], M)
    tight = fit_films(records, [BARE, sure], M, camera_u=0.1 * DEG)
    assert np.all(tight.uncertainties[:2] < 0.3 * loose.uncertainties[:2])
    assert tight.uncertainties[0] < 25 * GRAM_MM


def test_a_clips_own_inertia_left_out_is_missed():
    """A cylinder of 100 g and 30 mm: about 100 g·mm of this paddle's unbalance."""
    rng, put = np.random.default_rng(3), replace(known(150), mass_u=1e-7, arm_u=1e-7, angle_u=1e-7)
    records = [filmed(rng), filmed(rng, put)]
    whole, less = (fit_films(records, [BARE, each], M) for each in (put, replace(put, inertia=0.0)))
    apart = magnitude(whole.unbalance - less.unbalance) / GRAM_MM
    assert 50 < apart < 200


def test_a_wrong_angle_of_the_mass_and_a_film_from_the_other_end_are_told():
    rng, put = np.random.default_rng(4), known(90)
    records = [filmed(rng), filmed(rng, put)]
    opposite = fit_films(records, [BARE, known(-90)], M)
    assert any("rolled" in each for each in opposite.doubts)
    aside = known(30)
    seen = [filmed(rng), filmed(rng, aside)]
    mirrored = fit_films([replace(r, roll=-r.roll) for r in seen], [BARE, aside], M)
    assert mirrored.doubts
    with_plumb_line = fit_films(records, [BARE, known(60)], M, camera_u=0.2 * DEG)
    assert any("disagree" in each for each in with_plumb_line.doubts)


def test_one_more_record_at_the_proposed_angle_tells_more():
    rng, put = np.random.default_rng(5), known(0)
    records = [filmed(rng), filmed(rng, put)]
    found = fit_films(records, [BARE, put], M)
    best = best_angle(found, put, M) / DEG
    third = known(best)
    after = fit_films([*records, filmed(rng, third)], [BARE, put, third], M)
    again = fit_films([*records, filmed(rng, put)], [BARE, put, put], M)
    left, right = (np.trace(each.covariance[:2, :2]) for each in (after, again))
    assert left < right


@pytest.mark.parametrize(
    ("masses", "words"),
    [([BARE], "2 records and 1 known"), ([BARE, BARE], "the same mass on the same place")],
)
def test_what_tells_nothing_is_refused(masses, words):
    rng = np.random.default_rng(6)
    with pytest.raises(InputError, match=words):
        fit_films([filmed(rng), filmed(rng)], masses, M)


def test_numbers_that_mean_nothing_are_refused():
    for bad in ({"mass": -1.0}, {"arm": np.inf}, {"angle_u": 0.0}):
        with pytest.raises(InputError):
            KnownMass(**bad)


def written(path, record):
    rows = "".join(
        f"{t:.4f},{a / DEG:.3f}\n" for t, a in zip(record.time, record.roll, strict=True)
    )
    head = f'# method = "swing record"\n# support = "{record.support}"\n# radius_mm = 14.6\n'
    path.write_text(f"{head}# angle_u_deg = 0.15\ntime [s],roll [deg]\n{rows}", encoding="utf-8")
    return str(path)


def test_the_command_tells_the_unbalance_and_the_weight(tmp_path, capsys):
    rng, put = np.random.default_rng(7), known(90)
    files = [written(tmp_path / "bare.csv", filmed(rng)),
             written(tmp_path / "with.csv", filmed(rng, put))]  # fmt: skip
    options = ["--mass-g", "0", "100", "--arm-mm", "0", "60", "--angle-deg", "0", "90"]
    assert main(["film", *files, *options, "--diameter-mm", "0", "30"]) == 0
    told = capsys.readouterr().out
    value, _, u = told.split("\n")[0].removeprefix("U_y").split()[:3]
    value, u = (float(each.replace(",", "")) for each in (value, u))
    assert abs(value - U[0] / GRAM_MM) < 4 * u
    assert "on 60 mm at 1" in told and "One more record" in told


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--mass-g", "0"], "a number for each of the 2 records, got 1"),
        ([], "the same mass on the same place"),
        (["--mass-g", "0", "-5"], "0 or more"),
    ],
)
def test_the_command_says_why_it_cannot(tmp_path, capsys, options, words):
    rng = np.random.default_rng(8)
    files = [written(tmp_path / f"{i}.csv", filmed(rng)) for i in range(2)]
    assert main(["film", *files, *options]) == 2
    assert words in capsys.readouterr().err


def test_the_command_takes_swing_records_only_and_asks_for_the_mass_on_rails(tmp_path, capsys):
    rng = np.random.default_rng(9)
    rails = [written(tmp_path / f"{i}.csv", filmed(rng, support="rails")) for i in range(2)]
    options = ["--mass-g", "0", "100", "--arm-mm", "0", "60"]
    assert main(["film", *rails, *options]) == 2
    assert "--paddle-mass-g" in capsys.readouterr().err
    lever = str(data_path("bench", "ocean_lever.csv"))
    assert main(["film", rails[0], lever, *options]) == 2
    assert "expected a swing record" in capsys.readouterr().err


@pytest.mark.prove
def test_the_stated_region_holds_the_truth():
    rng, runs, inside = np.random.default_rng(10), 60, 0
    for _ in range(runs):
        put = known(rng.uniform(-180, 180))
        records = [filmed(rng, BARE, "rollers", 0.01), filmed(rng, as_put(rng, put), camera=0.01)]
        found = fit_films(records, [BARE, put], M)
        off, own = found.unbalance - U, found.covariance[:2, :2]
        inside += off @ np.linalg.solve(own, off) < chi2.ppf(0.95, 2)
    low, high = binom.ppf([0.001, 0.999], runs, 0.95)
    assert low <= inside <= high
