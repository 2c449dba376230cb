"""From films to the unbalance, against paddles that MuJoCo swings.

Neither the motion nor the friction comes from the project's equations: MuJoCo's rigid bodies (E.
Todorov, T. Erez, Y. Tassa, MuJoCo: a physics engine for model-based control, IROS 2012) swing
under dry friction that is constant, greater near rest (R. Stribeck, Die wesentlichen
Eigenschaften der Gleit- und Rollenlager, Z. VDI 46, 1902) or grows with the load.
"""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from scipy.stats import binom, chi2

from paddlebal.bench.films import (
    ANGLE_U,
    ARM_U,
    BARE,
    MASS_U,
    PLUMB_U,
    KnownMass,
    film_readings,
    fit_films,
    one_swing,
)
from paddlebal.bench.fit import fit_bench
from paddlebal.files.text import data_path
from paddlebal.film.drawn import Camera
from paddlebal.film.record import film_record
from paddlebal.formats.bench import read_bench
from paddlebal.units import DEG, GRAM_MM
from tests.film.swung import I_X, RADIUS, SMALL, Bench, M, U, film, known, swing

EXACT = {"mass_u": 1e-7, "arm_u": 1e-7, "angle_u": 1e-7}


def as_put(rng, put):
    """The mass as it really sits, off by its uncertainties."""
    off = rng.standard_normal(3)
    return replace(put, mass=put.mass + off[0] * MASS_U, arm=put.arm + off[1] * ARM_U,
                   angle=put.angle + off[2] * ANGLE_U)  # fmt: skip


def found(folder, puts, stated, bench, camera, seed=0, seconds=6.0, **options):
    """The fit of films, of what was really put on and with what was stated."""
    swings = []
    for i, put in enumerate(puts):
        path = film(folder / f"{i}.mp4", camera, swing(put, bench, seconds=seconds),
                    seed=100 * seed + i, blade=2.0, steps=3)  # fmt: skip
        seen = film_record(path, bench.support, RADIUS)
        swings.append(one_swing(seen.record, seen.filmed.plumb, seen.filmed.plumb_u, seen.doubts))
    return fit_films(film_readings(swings, stated, paddle_mass=M, **options))


def distance(fit):
    """Squared distance of the unbalance from the truth, in its own covariance."""
    off = fit.unbalance - U
    return off @ np.linalg.solve(fit.unbalance_covariance, off)


@pytest.mark.parametrize(
    "bench", [Bench(static=0.5), Bench("rails", by_load=True)], ids=["rollers", "rails"]
)
def test_two_films_at_full_size(tmp_path, bench):
    """1920 by 1080, 60 frames a second in the mean, rolling shutter, a camera rolled and askew."""
    camera = Camera(1920, 1080, 1900.0, 1.3, roll=2 * DEG, pitch=0.05, yaw=0.08, readout=0.012)
    put = known(30)
    fit = found(tmp_path, [BARE, put], [BARE, put], bench, camera, seconds=3.5, **EXACT)
    assert distance(fit) < chi2.ppf(0.999, 2) and fit.doubts == ()
    assert fit.polar.size_u < 60 * GRAM_MM
    assert fit.inertia == pytest.approx(I_X, abs=4 * fit.inertia_u)
    assert fit.friction == pytest.approx(bench.friction, rel=0.15)


def test_lever_added_mass_and_films_agree(tmp_path):
    """The demo ocean paddle measured in three ways; lever and added mass are the demo's files."""
    put = known(30)
    films = found(tmp_path, [BARE, put], [BARE, put], Bench(), SMALL)
    fits = [fit_bench(read_bench(data_path("bench", f"ocean_{way}.csv")))
            for way in ("lever", "add_on")]  # fmt: skip
    for one, other in combinations([films, *fits], 2):
        apart = one.unbalance - other.unbalance
        spread = one.unbalance_covariance + other.unbalance_covariance
        assert apart @ np.linalg.solve(spread, apart) < chi2.ppf(0.99, 2)
    assert films.polar.size_u < 2 * fits[0].polar.size_u


def test_a_compound_pendulum_of_the_textbooks_is_recovered(tmp_path):
    """A uniform thin rod that swings about its end: I = m l² / 3, its middle l / 2 below.

    D. Halliday, R. Resnick, J. Walker, Fundamentals of Physics, chapter 15, sample problem on a
    metre stick swung about one end: T = 2 pi sqrt(2 l / 3 g), for one metre 1.64 s (from memory).
    A rod of 0.24 m and 60 g is used here so that it swings as a paddle does.
    """
    length, mass = 0.24, 0.06
    rod = {"unbalance": np.array([0.0, -mass * length / 2]), "inertia": mass * length**2 / 3,
           "mass": mass}  # fmt: skip
    metre = 2 * np.pi * np.sqrt(2 * 1.0 / (3 * 9.80665))
    assert metre == pytest.approx(1.64, abs=0.005)
    swings, puts = [], [BARE, KnownMass(0.03, 0.1, 150 * DEG)]
    for i, put in enumerate(puts):
        moved = swing(put, Bench(friction=4e-4, drag=3e-5), **rod)
        path = film(tmp_path / f"{i}.mp4", SMALL, moved, seed=i, steps=3)
        seen = film_record(path)
        swings.append(one_swing(seen.record, seen.filmed.plumb, seen.filmed.plumb_u))
    period = 2 * np.pi / np.sqrt(swings[0].stiffness)
    assert period == pytest.approx(metre * np.sqrt(length), rel=1e-3)
    fit = fit_films(film_readings(swings, puts, **EXACT))
    assert fit.unbalance / GRAM_MM == pytest.approx([0, -7200], abs=40)
    assert fit.inertia == pytest.approx(mass * length**2 / 3, rel=0.01)


@pytest.mark.prove
def test_the_stated_region_holds_the_truth(tmp_path):
    """Masses off by their uncertainties, a bench off level, three laws of friction and cameras."""
    rng, inside, runs = np.random.default_rng(0), 0, 0
    cameras = SMALL, replace(SMALL, readout=0.02, roll=3 * DEG), replace(SMALL, pitch=0.1, yaw=0.1)
    laws = Bench(), Bench(static=0.5), Bench(by_load=True)
    for support in ("rollers", "rails"):
        for law in laws:
            for camera in cameras:
                for _ in range(3):
                    runs += 1
                    put, level = known(rng.uniform(-180, 180)), PLUMB_U * rng.standard_normal()
                    # On rollers a slanting gravity is a strip that does not hang plumb.
                    bench = replace(law, support=support, slope=level)
                    fit = found(tmp_path, [BARE, as_put(rng, put)], [BARE, put], bench, camera,
                                seed=runs, seconds=5.0)  # fmt: skip
                    inside += distance(fit) < chi2.ppf(0.95, 2)
    low, high = binom.ppf([0.0005, 0.9995], runs, 0.95)
    assert low <= inside <= high
