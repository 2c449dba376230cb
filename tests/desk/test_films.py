"""Films on the desk: kept as texts, taken as readings, and what they come to."""

from dataclasses import replace

import numpy as np
import pytest

from paddlebal import InputError, expected_swing, load_paddle
from paddlebal.bench.films import BARE, KnownMass, film_readings, fit_films
from paddlebal.bench.readings import FilmReadings
from paddlebal.desk.entry import BARE as BARE_GRID
from paddlebal.desk.films import (
    FILMED,
    MOST_FILMS,
    IncomingFilm,
    film_rows,
    films_name,
    swing_of,
    swing_text,
    texts_of_film,
    texts_of_films,
    texts_without_film,
)
from paddlebal.desk.found import found
from paddlebal.files.text import data_path
from paddlebal.film.drawn import Camera, frames_of, write_film
from paddlebal.film.drawn import swing_of as drawn_swing
from paddlebal.units import DEG, GRAM_MM

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
PUT = KnownMass(0.1, 0.06, 30 * DEG, 0.1 * 0.03**2 / 8)
PADDLE = {"way": "films", "mass": "650", "length": "2200", "balance": "1100", "shaft": "29.2"}
KNOWN = {"mass": "100", "arm": "60", "angle": "30", "diameter": "30", "end": "right"}


def filmed(put=BARE, support="rollers"):
    return replace(expected_swing(OCEAN, put, support), plumb=0.01, plumb_u=0.001)


def two_films(**more):
    texts = PADDLE | texts_of_film({}, FILMED, "bare.mp4", filmed())
    texts |= texts_of_film(texts, FILMED, "with.mp4", filmed(PUT))
    return texts | {f"film/1/{name}": text for name, text in KNOWN.items()} | more


def test_a_swing_is_kept_as_a_short_text():
    swing = filmed()
    text = swing_text(swing)
    assert len(text) < 200
    again = swing_of(text, "one\ntwo")
    assert again.told == ("one", "two") and again.support == swing.support
    for name in ("stiffness", "rest", "friction", "radius", "plumb", "plumb_u"):
        assert getattr(again, name) == pytest.approx(getattr(swing, name), rel=1e-9)
    np.testing.assert_allclose(again.covariance, swing.covariance, rtol=1e-5)
    assert np.linalg.eigvalsh(again.covariance).min() > 0
    for broken in ("", "rollers", "rollers 1 2", f"{text} 3", text.replace(" ", " x", 1)):
        assert swing_of(broken) is None


def test_two_films_come_to_a_weight():
    result = found(two_films())
    assert result.films == 2 and result.troubles == () and result.missing == ()
    assert isinstance(result.readings, FilmReadings) and result.fitting.doubts == ()
    exact = fit_films(film_readings([filmed(), filmed(PUT)], [BARE, PUT]))
    assert result.fit.unbalance == pytest.approx(exact.unbalance, abs=5 * GRAM_MM)
    assert abs(np.sin(result.best)) > 0.3
    assert result.enough == result.fitting.settled


@pytest.mark.parametrize(
    ("count", "more"), [(0, {}), (1, {}), (2, {"film/1/arm": ""}), (2, {"film/1/mass": "a lot"})]
)
def test_before_that_it_says_what_is_missing(count, more):
    texts = two_films(**more)
    for row in range(count, 2):
        texts |= texts_without_film(FILMED, row)
    result = found(texts)
    assert result.films == count and result.fit is None
    if more:
        (name,) = more
        assert [each.name for each in result.troubles] == [name]


def test_a_film_read_for_another_support_is_not_taken():
    assert [each.name for each in found(two_films(support="rails")).troubles] == [
        "film/0/mass", "film/1/mass",
    ]  # fmt: skip


def test_a_forgotten_mass_is_told_and_no_verdict_is_given():
    texts = PADDLE | texts_of_film({}, FILMED, "bare.mp4", filmed())
    texts |= texts_of_film(texts, FILMED, "with.mp4", filmed())
    result = found(texts | {f"film/1/{name}": text for name, text in KNOWN.items()})
    assert any("was it on" in each for each in result.fit.doubts)
    assert not result.enough


def test_films_of_a_bench_file_come_to_the_desk_and_go_again():
    readings = film_readings([filmed(), filmed(PUT)], [BARE, PUT], from_left=[False, True])
    texts = PADDLE | texts_of_films(readings, FILMED)
    again = found(texts).readings
    for name in ("stiffness", "rest_roll", "friction", "mass", "arm", "angle", "inertia"):
        assert getattr(again, name) == pytest.approx(getattr(readings, name), rel=1e-5)
    assert again.from_left.tolist() == [False, True]
    assert again.arm_u == pytest.approx(readings.arm_u)


def test_no_more_films_than_the_desk_has_rows():
    texts: dict[str, str] = {}
    for _ in range(MOST_FILMS):
        texts |= texts_of_film(texts, FILMED, "a.mp4", filmed())
    assert len(film_rows(texts, FILMED)) == MOST_FILMS
    with pytest.raises(InputError, match="more films than the desk"):
        texts_of_film(texts, FILMED, "a.mp4", filmed())
    assert films_name(BARE_GRID) == FILMED


def test_a_film_comes_in_pieces_and_is_searched_in_steps(tmp_path):
    path, times = tmp_path / "a.mp4", np.arange(0, 2, 1 / 60)
    camera = Camera(640, 360, 900.0)
    rng = np.random.default_rng(0)
    write_film(path, frames_of(camera, drawn_swing(rest=0.4), times, rng=rng, steps=2), times)
    content = path.read_bytes()
    film = IncomingFilm("a.mp4", len(content))
    for start in range(0, len(content), 50_000):
        film.add(content[start : start + 50_000])
    assert film.there == film.size
    shares = []
    while (share := film.step()) is not None:
        shares.append(share)
    assert shares == sorted(shares)
    swing, record = film.swing("rollers", 0.015, None)
    assert np.sqrt(swing.stiffness) == pytest.approx(2 * np.pi / 0.7, rel=0.05)
    film.close()


def test_what_comes_and_is_no_film_is_told_by_its_own_name():
    film = IncomingFilm("notes.mp4", 5)
    film.add(b"hello")
    with pytest.raises(InputError, match=r"^notes\.mp4: is no film"):
        film.step()
    film.close()
    with pytest.raises(InputError, match=r"^long\.mp4: is 4\.0 GB long"):
        IncomingFilm("long.mp4", 4_000_000_000)


def test_a_film_that_is_longer_than_was_said_is_refused():
    film = IncomingFilm("a.mp4", 3)
    with pytest.raises(InputError, match="longer than was said"):
        film.add(b"hello")
    film.close()


def test_a_full_disk_is_told(monkeypatch):
    film = IncomingFilm("a.mp4", 10)

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(film._file, "write", full)
    with pytest.raises(InputError, match="cannot be kept while it is searched .No space"):
        film.add(b"hello")
    film.close()
