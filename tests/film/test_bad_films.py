"""Films that cannot be used: one sentence for each, and nothing is written."""

import os

import numpy as np
import pytest

from paddlebal import InputError
from paddlebal.__main__ import main
from paddlebal.film import roll, search
from paddlebal.film.drawn import Camera, frame, frames_of, swing_of, write_film
from paddlebal.film.record import film_record, swing_from
from paddlebal.film.search import Search
from paddlebal.units import DEG

NEAR = Camera(width=640, height=360, focal=900.0)
SWING = swing_of(start=50 * DEG, rest=0.4)


def film(path, pictures, rate=30.0, codec="libx264"):
    pictures = list(pictures)
    write_film(path, pictures, np.arange(len(pictures)) / rate, codec)
    return path


def swung(count=60, rate=30.0, camera=NEAR, **drawn):
    options = {"steps": 2, "rng": np.random.default_rng(0)} | drawn
    return list(frames_of(camera, SWING, np.arange(count) / rate, **options))


def refused(path, words, **options):
    with pytest.raises(InputError, match=words) as told:
        film_record(path, **options)
    assert str(told.value).count("\n") == 0 and str(told.value).endswith(".")


def test_what_is_no_film(tmp_path):
    text = tmp_path / "a.mp4"
    text.write_text("time,roll\n0,1\n", encoding="utf-8")
    refused(text, "is no film that can be read")
    (tmp_path / "empty.mp4").touch()
    refused(tmp_path / "empty.mp4", "is no film that can be read")
    refused(tmp_path / "none.mp4", "cannot be read")
    refused(tmp_path, "no film that can be read|cannot be read")


def test_a_film_of_4_gb_is_not_even_opened(tmp_path):
    with open(tmp_path / "a.mp4", "wb") as stream:
        os.truncate(stream.fileno(), 4_000_000_000)  # takes no room on the disk
    refused(tmp_path / "a.mp4", "is 4.0 GB long, expected at most 2 GB")


def test_a_sound_has_no_pictures(tmp_path):
    import av

    with av.open(str(tmp_path / "a.mp4"), "w") as container:
        stream = container.add_stream("aac", rate=44100)
        sound = av.AudioFrame.from_ndarray(np.zeros((1, 4096), np.float32), "fltp", "mono")
        sound.sample_rate = 44100
        container.mux(stream.encode(sound))
        container.mux(stream.encode(None))
    refused(tmp_path / "a.mp4", "holds no pictures")


def test_a_film_that_breaks_off(tmp_path):
    whole = film(tmp_path / "a.mp4", swung()).read_bytes()
    (tmp_path / "half.mp4").write_bytes(whole[: len(whole) // 2])
    refused(tmp_path / "half.mp4", "is no film that can be read|breaks off")


def test_no_marker_in_view(tmp_path):
    grey = np.random.default_rng(0).integers(80, 120, (40, 360, 640)).astype(np.uint8)
    refused(film(tmp_path / "a.mp4", grey), "shows no marker of the target")


def test_too_few_frames_with_a_marker(tmp_path):
    grey = np.full((360, 640), 100, np.uint8)
    refused(film(tmp_path / "a.mp4", [*swung(10), *[grey] * 40]), "in 10 of 50 frames only")


def test_a_mirrored_film(tmp_path):
    mirrored = [np.ascontiguousarray(each[:, ::-1]) for each in swung(20)]
    refused(film(tmp_path / "a.mp4", mirrored), "is mirrored, as front cameras do")


def test_two_paddles_in_view(tmp_path):
    one = swung(20, plumb=False)
    refused(film(tmp_path / "a.mp4", [np.hstack([each, each]) for each in one]),
            "shows the same marker in two places")  # fmt: skip


def test_a_camera_that_is_moved(tmp_path):
    still = swung(60, plumb=False)
    moved = [*still[:30], *[np.roll(each, 20, axis=1) for each in still[30:]]]
    refused(film(tmp_path / "a.mp4", moved), "mm from where it should stay")


def test_a_camera_far_beside_the_shaft(tmp_path):
    refused(
        film(tmp_path / "a.mp4", swung(camera=Camera(640, 360, 900.0, yaw=35 * DEG))),
        "beside the shaft's line, expected at most 25°",
    )


def test_fifteen_frames_a_second(tmp_path):
    pictures = swung(45, 15.0)
    refused(film(tmp_path / "a.mp4", pictures, 15.0), "holds 15 frames a second, expected 24")


def test_a_film_cut_before_three_passes(tmp_path):
    from paddlebal.bench.record import fit_swing_record

    found = film_record(film(tmp_path / "a.mp4", swung(40, 60.0), 60.0))
    with pytest.raises(InputError, match="passes rest fewer than three times"):
        fit_swing_record(found.record)


def test_a_film_that_is_too_long(tmp_path, monkeypatch):
    path = film(tmp_path / "a.mp4", swung(40))
    monkeypatch.setattr("paddlebal.film.video.LONGEST", 1.0)
    refused(path, "is 1 s long, expected at most 1 s")
    monkeypatch.setattr("paddlebal.film.video.LONGEST", 180.0)
    monkeypatch.setattr(search, "LONGEST", 1.0)  # where the file does not say how long it is
    refused(path, "is longer than 1 s")


def test_slow_motion_that_the_file_tells_is_asked(tmp_path):
    path = film(tmp_path / "a.mp4", swung(150, 120.0), 30.0)
    looked = Search(path)
    for _ in looked:
        pass
    from dataclasses import replace

    slow = replace(looked.found, filmed_at=120.0)
    asked = swing_from(slow, "rollers", 0.015)
    assert any("slow motion? State the rate" in each for each in asked.doubts)
    told = swing_from(slow, "rollers", 0.015, frame_rate=120.0)
    assert told.doubts == ()
    assert asked.record.time[-1] == pytest.approx(4 * told.record.time[-1])


def test_small_markers_and_lost_frames_are_told(tmp_path):
    far = film(tmp_path / "a.mp4", swung(camera=Camera(640, 360, 400.0)))
    looked = Search(far)
    for _ in looked:
        pass
    doubts = roll.filmed_roll(looked.found).doubts
    assert any("pixels large" in each for each in doubts)
    gone = np.full((360, 640), 100, np.uint8)
    pictures = [each for i, each in enumerate(swung(100))]
    holes = [gone if i % 2 else each for i, each in enumerate(pictures)]
    looked = Search(film(tmp_path / "b.mp4", holes))
    for _ in looked:
        pass
    assert any("50% of the frames" in each for each in roll.filmed_roll(looked.found).doubts)


def test_the_command_writes_nothing_when_it_refuses(tmp_path, capsys):
    text = tmp_path / "a.mp4"
    text.write_text("no film", encoding="utf-8")
    out = tmp_path / "bench.csv"
    assert main(["film", str(text), str(text), "--mass-g", "0", "100", "--out", str(out)]) == 2
    assert "is no film that can be read" in capsys.readouterr().err
    assert not out.exists()


def test_one_picture_is_no_film(tmp_path):
    one = frame(NEAR, SWING)
    refused(film(tmp_path / "a.mp4", [one]), "fewer than two pictures")
