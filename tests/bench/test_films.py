"""Unbalance from several recorded swings, against the paddle that they were computed from."""

from dataclasses import fields, replace
from shutil import copyfile

import numpy as np
import pytest
from scipy.stats import binom, chi2

from paddlebal import InputError, load_paddle
from paddlebal.__main__ import main
from paddlebal.bench.films import (
    ANGLE_U,
    ARM_U,
    BARE,
    MASS_U,
    KnownMass,
    best_angle,
    end_seen,
    film_readings,
    fit_films,
    one_swing,
    pace_doubts,
)
from paddlebal.bench.fit import fit_bench
from paddlebal.bench.readings import SwingRecord
from paddlebal.bench.record import swing_angles
from paddlebal.compiled import numeric
from paddlebal.files.text import data_path
from paddlebal.formats.bench import films_text, read_bench
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
    return replace(put, mass=put.mass + off[0] * MASS_U, arm=put.arm + off[1] * ARM_U,
                   angle=put.angle + off[2] * ANGLE_U)  # fmt: skip


SURE = {"mass_u": 1e-7, "arm_u": 1e-7, "angle_u": 1e-7}


def fitted(records, masses, **stated):
    """The fit of records."""
    return fit_films(readings_of(records, masses, **stated))


def readings_of(records, masses, **stated):
    stated = {"paddle_mass": M} | stated
    return film_readings([one_swing(each) for each in records], masses, **stated)


@pytest.mark.parametrize(("support", "angle_deg"), [("rollers", 90), ("rails", 150)])
def test_two_films_give_unbalance_inertia_friction_and_the_cameras_roll(support, angle_deg):
    rng, put = np.random.default_rng(1), known(angle_deg)
    records = [filmed(rng, BARE, support, 0.02), filmed(rng, put, support, 0.02, 0.03)]
    found = fitted(records, [BARE, put], rest=rest_angle(U))
    value = [*found.unbalance, found.inertia, found.camera]
    u = np.sqrt(np.diag(found.together))[:4]
    assert np.abs(np.subtract(value, [*U, I_X, 0.02]) / u).max() < 4
    assert u[0] < 200 * GRAM_MM and found.doubts == ()
    moment = 0.03 * STANDARD_GRAVITY * magnitude(U + put.vector)
    assert found.moments[1] == pytest.approx(moment, rel=0.1)
    assert min(found.moments) < found.friction < max(found.moments)


def test_an_exact_mass_and_a_plumb_line_leave_little_open():
    rng, put = np.random.default_rng(2), known(90)
    records = [filmed(rng), filmed(rng, put)]
    loose = fitted(records, [BARE, put])
    tight = fitted(records, [BARE, put], camera_u=0.1 * DEG, **SURE)
    assert np.trace(tight.unbalance_covariance) < 0.1 * np.trace(loose.unbalance_covariance)
    assert tight.polar.size_u < 25 * GRAM_MM


def test_a_clips_own_inertia_left_out_is_missed():
    """A cylinder of 100 g and 30 mm: about 100 g·mm of this paddle's unbalance."""
    rng, put = np.random.default_rng(3), known(150)
    records = [filmed(rng), filmed(rng, put)]
    whole, less = (
        fitted(records, [BARE, each], **SURE) for each in (put, replace(put, inertia=0.0))
    )
    assert 50 < magnitude(whole.unbalance - less.unbalance) / GRAM_MM < 200


def test_a_wrong_angle_and_a_film_from_the_other_end_are_told():
    rng, put = np.random.default_rng(4), known(90)
    records = [filmed(rng), filmed(rng, put)]
    opposite = fitted(records, [BARE, known(-90)])
    assert any("rolled" in each for each in opposite.doubts)
    aside = known(30)
    seen = [filmed(rng), filmed(rng, aside)]
    mirrored = [replace(r, roll=np.pi - r.roll) for r in seen]
    assert fitted(mirrored, [BARE, aside]).doubts
    plumb = {"camera_u": 0.2 * DEG}
    assert any("disagree" in each for each in fitted(mirrored, [BARE, aside], **plumb).doubts)
    assert any("disagree" in each for each in fitted(records, [BARE, known(60)], **plumb).doubts)
    assert fitted(seen, [BARE, aside], **plumb).doubts == ()


def test_a_mass_at_the_mark_hides_the_wrong_end_but_a_look_does_not():
    rng, at, plumb = np.random.default_rng(5), known(180), {"camera_u": 0.2 * DEG}
    mirrored = [replace(r, roll=np.pi - r.roll) for r in (filmed(rng), filmed(rng, at))]
    hidden = readings_of(mirrored, [BARE, at], **plumb)
    assert fit_films(hidden).doubts == () and not end_seen(hidden)
    looked = fitted(mirrored, [BARE, at], rest=rest_angle(U), **plumb)
    assert any("mirrored" in each for each in looked.doubts)
    aside = readings_of(mirrored, [BARE, known(30)], **plumb)
    assert end_seen(aside) and not end_seen(replace(aside, camera_u=np.inf))


def test_turned_end_for_end_shows_rails_that_are_not_level():
    rng, put = np.random.default_rng(6), known(30)
    slope = 1 * DEG  # what it does to the rest angle is of the statics, M R sin(slope) / |U|
    shift = [slope * (M + each.mass) * RADIUS / magnitude(U + each.vector) for each in (BARE, put)]
    bare, loaded = filmed(rng, BARE, "rails"), filmed(rng, put, "rails")
    right = [replace(bare, roll=bare.roll + shift[0]), replace(loaded, roll=loaded.roll + shift[1])]
    again = filmed(rng, BARE, "rails")
    left = replace(again, roll=np.pi - (again.roll - shift[0]))
    plumb = {"camera_u": 0.1 * DEG, "slope_u": 1 * DEG}
    one = fitted(right, [BARE, put], **plumb)
    both = fitted([*right, left], [BARE, put, BARE], from_left=[False, False, True], **plumb)
    assert np.sqrt(both.together[4, 4]) < 0.3 * np.sqrt(one.together[4, 4])
    off = both.unbalance - U
    assert off @ np.linalg.solve(both.unbalance_covariance, off) < chi2.ppf(0.999, 2)
    assert both.doubts == ()


def test_two_films_with_nothing_to_spare_are_doubted_until_something_checks_them():
    rng, put = np.random.default_rng(7), known(30)
    records = [filmed(rng), filmed(rng, put)]
    assert any("to spare" in each for each in fitted(records, [BARE, put]).doubts)
    third = [*records, filmed(rng, known(150))]
    assert fitted(third, [BARE, put, known(150)]).doubts == ()


def test_a_mass_that_was_forgotten_and_a_film_in_slow_motion_are_told():
    rng, put, plumb = np.random.default_rng(8), known(30), {"camera_u": 0.2 * DEG}
    forgotten = fitted([filmed(rng), filmed(rng)], [BARE, put], **plumb)
    assert any("was it on" in each for each in forgotten.doubts)
    slow = [replace(r, time=4 * r.time) for r in (filmed(rng), filmed(rng, put))]
    assert any("slower" in each for each in pace_doubts(fitted(slow, [BARE, put], **plumb), M))
    true = fitted([filmed(rng), filmed(rng, put)], [BARE, put], **plumb)
    assert pace_doubts(true, M) == ()


def test_a_camera_that_moved_turns_each_film_by_its_own_plumb_line():
    rng, put = np.random.default_rng(17), known(30)
    rolls = [0.0, 5 * DEG]
    swings = [
        one_swing(replace(each, roll=each.roll + roll), roll, 0.05 * DEG)
        for each, roll in zip((filmed(rng), filmed(rng, put)), rolls, strict=True)
    ]
    moved = fit_films(film_readings(swings, [BARE, put]))
    assert any("turned by 5.0° between" in each for each in moved.doubts)
    off = moved.unbalance - U
    assert off @ np.linalg.solve(moved.unbalance_covariance, off) < chi2.ppf(0.999, 2)


def test_a_touched_swing_is_told():
    rng = np.random.default_rng(18)
    free = filmed(rng)
    touched = replace(free, roll=free.roll + np.where(free.time > 3, 0.05, 0.0))
    assert one_swing(free).told == ()
    assert any("touch it" in each for each in one_swing(touched).told)


def test_one_more_film_at_the_proposed_angle_tells_more():
    rng, put = np.random.default_rng(9), known(0)
    records = [filmed(rng), filmed(rng, put)]
    readings = readings_of(records, [BARE, put])
    third = known(best_angle(readings, fit_films(readings)) / DEG)
    after = fitted([*records, filmed(rng, third)], [BARE, put, third])
    again = fitted([*records, filmed(rng, put)], [BARE, put, put])
    assert np.trace(after.unbalance_covariance) < np.trace(again.unbalance_covariance)


@pytest.mark.parametrize(
    ("masses", "words"),
    [([BARE], "2 films and 1 known"), ([BARE, BARE], "the same mass on the same place")],
)
def test_what_tells_nothing_is_refused(masses, words):
    rng = np.random.default_rng(10)
    with pytest.raises(InputError, match=words):
        fitted([filmed(rng), filmed(rng)], masses)
    rails, rollers = filmed(rng, support="rails"), filmed(rng)
    with pytest.raises(InputError, match="different supports"):
        fitted([rails, rollers], [BARE, known(0)])
    with pytest.raises(InputError, match="rails the paddle's mass matters"):
        readings_of([rails, rails], [BARE, known(0)], paddle_mass=None)
    strip = [one_swing(rollers, 0.0, 1e-3), one_swing(rollers)]
    with pytest.raises(InputError, match="strip hangs in some films only"):
        film_readings(strip, [BARE, known(0)])
    for bad in ({"mass": -1.0}, {"arm": np.inf}):
        with pytest.raises(InputError):
            KnownMass(**bad)


def test_a_bench_file_of_films_keeps_all_and_gives_the_same(tmp_path):
    rng, put = np.random.default_rng(11), known(30)
    readings = readings_of(
        [filmed(rng, BARE, "rails"), filmed(rng, put, "rails")], [BARE, put],
        from_left=[False, True], camera_u=0.2 * DEG, rest=0.3, paddle="ocean.toml",
    )  # fmt: skip
    path = tmp_path / "films.csv"
    path.write_text(films_text(readings), encoding="utf-8")
    again = read_bench(path)
    for field in fields(readings):
        one, other = (getattr(each, field.name) for each in (readings, again))
        same = one == other if isinstance(one, str | tuple) else np.allclose(one, other, rtol=1e-9)
        assert same, field.name
    assert fit_bench(again).unbalance == pytest.approx(fit_films(readings).unbalance, rel=1e-6)


def test_a_bench_file_of_films_gets_its_sheet(tmp_path):
    rng, put = np.random.default_rng(12), known(30)
    readings = readings_of(
        [filmed(rng), filmed(rng, put)], [BARE, put], camera_u=0.2 * DEG, paddle="ocean.toml"
    )
    (tmp_path / "bench").mkdir()
    (tmp_path / "bench" / "films.csv").write_text(films_text(readings), encoding="utf-8")
    copyfile(data_path("paddles", "ocean.toml"), tmp_path / "bench" / "ocean.toml")
    assert main(["fit", str(tmp_path / "bench"), "--out", str(tmp_path / "out")]) == 0
    page = (tmp_path / "out" / "films.html").read_text(encoding="utf-8")
    assert "2 filmed swings, on rollers" in page and "Camera" in page
    table = (tmp_path / "out" / "comparison.csv").read_text(encoding="utf-8")
    assert "stays" in table or "settled" in table


def written(path, record):
    rows = "".join(
        f"{t:.4f},{a / DEG:.3f}\n" for t, a in zip(record.time, record.roll, strict=True)
    )
    head = f'# method = "swing record"\n# support = "{record.support}"\n# radius_mm = 14.6\n'
    path.write_text(f"{head}# angle_u_deg = 0.15\ntime [s],roll [deg]\n{rows}", encoding="utf-8")
    return str(path)


def test_the_command_tells_the_unbalance_and_the_weight(tmp_path, capsys):
    rng, put = np.random.default_rng(13), known(30)
    files = [written(tmp_path / "bare.csv", filmed(rng)),
             written(tmp_path / "with.csv", filmed(rng, put))]  # fmt: skip
    options = ["--mass-g", "0", "100", "--arm-mm", "0", "60", "--angle-deg", "0", "30",
               "--diameter-mm", "0", "30", "--camera-u-deg", "0.2"]  # fmt: skip
    out = tmp_path / "bench.csv"
    assert main(["film", *files, *options, "--out", str(out), "--paddle", "ocean.toml"]) == 0
    told = capsys.readouterr().out
    value, _, u = told.split("\n")[0].removeprefix("U_y").split()[:3]
    value, u = (float(each.replace(",", "")) for each in (value, u))
    assert abs(value - U[0] / GRAM_MM) < 2 * u
    assert "on 60 mm at 1" in told and "One more film" in told
    assert fit_bench(read_bench(out)).unbalance[0] / GRAM_MM == pytest.approx(value, abs=1)
    assert main(["film", *files, *options, "--out", str(out)]) == 2
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--mass-g", "0"], "one for each of the 2 films, got 1"),
        ([], "the same mass on the same place"),
        (["--mass-g", "0", "-5"], "0 or more"),
    ],
)
def test_the_command_says_why_it_cannot(tmp_path, capsys, options, words):
    rng = np.random.default_rng(14)
    files = [written(tmp_path / f"{i}.csv", filmed(rng)) for i in range(2)]
    assert main(["film", *files, *options]) == 2
    assert words in capsys.readouterr().err


def test_the_command_takes_swing_records_only_and_asks_for_the_mass_on_rails(tmp_path, capsys):
    rng = np.random.default_rng(15)
    rails = [written(tmp_path / f"{i}.csv", filmed(rng, support="rails")) for i in range(2)]
    options = ["--mass-g", "0", "100", "--arm-mm", "0", "60"]
    assert main(["film", *rails, *options]) == 2
    assert "the paddle's mass matters" in capsys.readouterr().err
    lever = str(data_path("bench", "ocean_lever.csv"))
    assert main(["film", rails[0], lever, *options]) == 2
    assert "expected a swing record" in capsys.readouterr().err


@pytest.mark.prove
def test_the_stated_region_holds_the_truth():
    rng, runs, inside = np.random.default_rng(16), 60, 0
    for _ in range(runs):
        put = known(rng.uniform(-180, 180))
        records = [filmed(rng, BARE, "rollers", 0.01), filmed(rng, as_put(rng, put), camera=0.01)]
        off = (found := fitted(records, [BARE, put])).unbalance - U
        inside += off @ np.linalg.solve(found.unbalance_covariance, off) < chi2.ppf(0.95, 2)
    low, high = binom.ppf([0.001, 0.999], runs, 0.95)
    assert low <= inside <= high
