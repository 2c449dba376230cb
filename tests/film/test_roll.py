"""The angle that a drawn film shows, against the angle with which it was drawn."""

import numpy as np
import pytest

from paddlebal import InputError
from paddlebal.film.drawn import Camera, frame, frames_of, seen_angle, swing_of, write_film
from paddlebal.film.record import film_record, free_swing
from paddlebal.film.roll import filmed_roll
from paddlebal.film.search import Search
from paddlebal.units import DEG

NEAR = {"width": 640, "height": 360, "focal": 900.0}
SWING = swing_of(start=50 * DEG, rest=0.4)
TIMES = np.arange(0, 2, 1 / 60)


def seen(path, camera, times=TIMES, codec="libx264", seed=0, **drawn):
    """What is found in the film of a swing, and how far it is off [degrees]."""
    rng = np.random.default_rng(seed)
    frames = frames_of(camera, SWING, times, rng=rng, steps=4, **({"blade": 2.0} | drawn))
    write_film(path, frames, times, codec)
    search = Search(path)
    shares = list(search)
    assert shares == sorted(shares) and 0.95 < shares[-1] <= 1
    found = filmed_roll(search.found)
    true = SWING(found.time + camera.exposure / 2)
    return found, (found.roll - found.plumb - true) / DEG


@pytest.mark.parametrize(
    ("camera", "drawn", "bias", "scatter"),
    [
        (Camera(**NEAR), {}, 0.3, 0.2),
        (Camera(**NEAR, roll=3 * DEG), {}, 0.3, 0.2),
        (Camera(**NEAR, pitch=0.2, yaw=-0.15), {}, 0.5, 0.25),
        (Camera(**NEAR, readout=0.02), {}, 0.3, 0.2),
        (Camera(**NEAR, exposure=1 / 60), {}, 0.3, 0.3),
        (Camera(**NEAR, dark=20, bright=60, noise=4), {}, 0.4, 0.3),
        (Camera(**NEAR, distance=1.6), {}, 0.5, 0.4),
        (Camera(width=1280, height=720, focal=1800), {}, 0.15, 0.06),
    ],
    ids=["plain", "rolled", "askew", "rolling-shutter", "blurred", "dark", "far", "large"],
)
def test_the_angle_is_found(tmp_path, camera, drawn, bias, scatter):
    found, off = seen(tmp_path / "a.mp4", camera, **drawn)
    assert abs(off.mean()) < bias and off.std() < scatter
    assert found.plumb_u < 0.5 * DEG
    # Each angle's own uncertainty is what it scatters.
    assert 0.6 < np.sqrt(np.mean(((off - off.mean()) * DEG / found.roll_u) ** 2)) < 1.5


def test_rolling_shutter_and_a_slanting_look_are_measured(tmp_path):
    found, _ = seen(tmp_path / "a.mp4", Camera(**NEAR, readout=0.02, pitch=0.2))
    assert found.readout == pytest.approx(0.02, abs=0.002)
    assert found.tilt == pytest.approx(0.2, abs=0.04)


def test_without_the_strip_the_pictures_own_level_counts(tmp_path):
    found, off = seen(tmp_path / "a.mp4", Camera(**NEAR, roll=3 * DEG), plumb=False)
    assert np.isinf(found.plumb_u) and found.plumb == 0
    assert off.mean() == pytest.approx(-3, abs=0.1)


@pytest.mark.parametrize(("codec", "ending"), [("libx265", "mp4"), ("libx264", "mov")])
def test_the_forms_that_phones_write(tmp_path, codec, ending):
    times = TIMES + np.random.default_rng(1).uniform(0, 0.4 / 60, TIMES.size)  # they vary the rate
    _, off = seen(tmp_path / f"a.{ending}", Camera(**NEAR), times - times[0], codec)
    assert abs(off.mean()) < 0.3 and off.std() < 0.2


def test_a_film_that_is_to_be_turned_upright(tmp_path):
    """A phone held upright writes its frames lying and says by a matrix how to turn them.

    The matrix of the track header, ISO/IEC 14496-12, 8.3.2, from memory: here a quarter turn
    clockwise.
    """
    path = tmp_path / "a.mp4"
    camera = Camera(width=480, height=640, focal=900, roll=-90 * DEG)  # what it sees lies
    frames = frames_of(camera, SWING, TIMES, rng=np.random.default_rng(0), steps=4)
    write_film(path, frames, TIMES)
    content = bytearray(path.read_bytes())
    start = content.index(b"tkhd") + 44
    turned = np.array([0, 1 << 16, 0, -(1 << 16), 0, 0, 0, 0, 1 << 30], dtype=">i4")
    content[start : start + 36] = turned.tobytes()
    path.write_bytes(content)
    search = Search(path)
    for _ in search:
        pass
    found = filmed_roll(search.found)
    off = (found.roll - SWING(found.time + camera.exposure / 2)) / DEG
    assert abs(off.mean()) < 0.3 and abs(found.plumb) < 0.5 * DEG


def test_the_table_of_where_the_angle_is_lost():
    """Bias and scatter of one frame's angle over distance, blur, tilt and light.

    Frames are searched by themselves; the first number is in how many of 12 a marker is found.
    """
    rows = {}
    for name, camera in {
        "40 pixels": Camera(**NEAR, distance=0.75),
        "15 pixels": Camera(**NEAR, distance=2.0),
        "5 pixels": Camera(**NEAR, distance=6.0),
        "blur 4 ms": Camera(**NEAR, exposure=0.004),
        "blur 33 ms": Camera(**NEAR, exposure=1 / 30),
        "tilt 20°": Camera(**NEAR, pitch=20 * DEG),
        "dim": Camera(**NEAR, dark=20, bright=45, noise=3),
        "dark": Camera(**NEAR, dark=20, bright=24, noise=6),
    }.items():
        rows[name] = found_in_frames(camera)
    assert all(rows[name][0] == 12 for name in ("40 pixels", "15 pixels", "blur 4 ms", "tilt 20°"))
    assert rows["dim"][0] > 8
    assert rows["5 pixels"][0] == rows["dark"][0] == 0
    assert rows["blur 33 ms"][0] < 12 or rows["blur 33 ms"][2] > 3 * rows["blur 4 ms"][2]
    assert rows["40 pixels"][2] < rows["15 pixels"][2] < 1.0
    for name in ("40 pixels", "15 pixels", "blur 4 ms", "dim"):
        assert abs(rows[name][1]) < 0.3


def found_in_frames(camera, count=12):
    """In how many frames a marker is found; bias and scatter of the angle there [degrees]."""
    off = []
    for i, time in enumerate(np.linspace(0.1, 0.7, count)):
        grey = frame(camera, SWING, float(time), rng=np.random.default_rng(i), plumb=False)
        angle = seen_angle(camera, grey)
        if angle is not None:
            off.append((angle - SWING(np.array(time + camera.exposure / 2))) / DEG)
    return len(off), np.mean(off or np.nan), np.std(off or np.nan)


def test_a_disc_that_comes_into_view_after_the_strip_is_found_whole(tmp_path):
    """And all its markers are, though a hand hid most of them at first."""
    camera, rng = Camera(**NEAR), np.random.default_rng(0)
    away = {"middle": lambda time: np.full((np.size(time), 2), 5.0)}
    first = [frame(camera, SWING, t, rng=rng, steps=2, **away) for t in TIMES[:20]]
    then = [frame(camera, SWING, t, rng=rng, steps=2) for t in TIMES[20:60]]
    for picture in then[:10]:
        picture[:, :330] = 100  # the hand
    write_film(tmp_path / "a.mp4", [*first, *then], TIMES[:60])
    search = Search(tmp_path / "a.mp4")
    for _ in search:
        pass
    seen = np.isfinite(search.found.corners[:, :6, 0, 0])
    assert not seen[:20].any() and seen[25:].any(axis=1).all() and seen[40:].all()


@pytest.mark.parametrize("turned", [-1, 1])
def test_the_free_swing_is_cut_out(turned):
    time = np.arange(0, 8, 1 / 60)
    swing = 0.4 + turned * 0.9 * np.exp(-(time - 1) / 2) * np.cos(9 * (time - 1))
    held = np.where(time < 1, 0.4 + turned * 0.9, swing)
    free = free_swing(time, held)
    begun, ended = time[free][[0, -1]]
    assert 1.0 < begun < 1.1  # the hand is off
    assert 5.5 < ended < 6.5  # it swings less than 4° by then
    assert np.all(np.diff(np.flatnonzero(free)) == 1)
    assert not free_swing(time, 0.4 + 0.01 * np.cos(9 * time)).any()


def test_a_swing_from_a_film_begins_and_ends_by_itself(tmp_path):
    times = np.arange(0, 3, 1 / 60)

    def held(time):
        return SWING(np.maximum(time - 0.5, 0.0))

    frames = frames_of(Camera(**NEAR), held, times, rng=np.random.default_rng(0), steps=3)
    write_film(tmp_path / "a.mp4", frames, times)
    found = film_record(tmp_path / "a.mp4")
    assert found.doubts == () and found.record.time[0] == 0
    assert 2.2 < found.record.time[-1] < 2.5
    with pytest.raises(InputError, match="shows no swing"):
        frames = frames_of(Camera(**NEAR), lambda time: 0 * time, times[:60], steps=1)
        write_film(tmp_path / "b.mp4", frames, times[:60])
        film_record(tmp_path / "b.mp4")
