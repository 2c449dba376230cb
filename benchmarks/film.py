"""Frames a second of a film searched for its markers, against decoding it and against its own rate.

The decoder may use one thread only. The peak memory of a film four times as long shows that frames
are not kept.
"""

import re
import tempfile
import time
from itertools import cycle, islice
from multiprocessing import get_context
from pathlib import Path

import av
import numpy as np

from paddlebal.film.drawn import Camera, frames_of, swing_of, write_film
from paddlebal.film.roll import filmed_roll
from paddlebal.film.search import Search

FULL = Camera(1920, 1080, 1900.0, 1.3)
PERIOD = 0.7


def drawn_film(path, seconds, codec="libx264"):
    """A film at 60 frames a second of a swing that repeats, each frame drawn once."""
    times = np.arange(42) * PERIOD / 42
    roll = swing_of(period=PERIOD, fade=1e9)
    pictures = list(frames_of(FULL, roll, times, rng=np.random.default_rng(0), steps=2, blade=2.0))
    count = round(60 * seconds)
    write_film(path, islice(cycle(pictures), count), np.arange(count) / 60, codec)
    return count


def decoded(path):
    """Seconds to decode a film on one core."""
    begun = time.perf_counter()
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "NONE"
        container.streams.video[0].codec_context.thread_count = 1
        for _frame in container.decode(video=0):
            pass
    return time.perf_counter() - begun


def searched(path):
    """Seconds to find the markers, and to find the angles from them."""
    begun = time.perf_counter()
    search = Search(path, threads=1)
    for _share in search:
        pass
    middle = time.perf_counter()
    filmed_roll(search.found)
    return middle - begun, time.perf_counter() - middle


def peak(path):
    """Greatest memory [bytes] of a process that searches a film; Linux tells it."""
    searched(path)
    told = re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    assert told
    return 1024 * int(told[1])


def main():
    with tempfile.TemporaryDirectory() as folder:
        for codec in ("libx264", "libx265"):
            path = Path(folder) / f"{codec}.mp4"
            count = drawn_film(path, 5, codec)
            plain = decoded(path)
            markers, angles = searched(path)
            print(
                f"{codec}: {count / markers:.0f} frames a second with markers, "
                f"{count / plain:.0f} decoded only ({markers / plain:.2f} times its time); "
                f"{count / (markers + angles) / 60:.1f} times the film's own rate, angles included"
            )
            assert count / (markers + angles) > 60
        peaks = []
        for seconds in (5, 20):
            path = Path(folder) / f"{seconds}.mp4"
            drawn_film(path, seconds)
            with get_context("spawn").Pool(1) as pool:  # a process that drew nothing
                peaks.append(pool.apply(peak, (path,)))
        short, long = (each / 1e6 for each in peaks)
        print(f"peak memory {short:.0f} MB for 5 s of film, {long:.0f} MB for 20 s")
        assert long < 1.2 * short


if __name__ == "__main__":
    main()
