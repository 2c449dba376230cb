"""Roll effort of many paddles over one stroke cycle: time, memory and how both grow."""

import time
import tracemalloc
from pathlib import Path

import numpy as np

from paddlebal.formats.paddle import load_paddle
from paddlebal.stroke import SPRINT
from paddlebal.work import stroke_torque_many

SAMPLES = 1000
COUNTS = (1250, 2500, 5000, 10000, 20000)
PADDLE = load_paddle(Path(__file__).parent.parent / "data" / "paddles" / "sprint.toml")
MOTION = SPRINT.motion(PADDLE)


def variants(count):
    """First moments and inertias of `count` paddles near the demo paddle."""
    spread = np.random.default_rng(1).uniform(0.9, 1.1, count)
    return (
        spread[:, None] * PADDLE.first_moment(),
        spread[:, None, None] * PADDLE.inertia(),
    )


def run(moments, inertias):
    """The largest peak torque of all, each block dropped once it is looked at."""
    blocks = stroke_torque_many(moments, inertias, MOTION, SAMPLES)
    return max(block.peak.max() for block in blocks)


def seconds(count, repeats=3):
    moments, inertias = variants(count)
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run(moments, inertias)
        times.append(time.perf_counter() - start)
    return min(times)


def peak_memory(count):
    """Most memory [MB] in use at once while it runs, what the caller holds left out."""
    moments, inertias = variants(count)
    tracemalloc.start()
    run(moments, inertias)
    size = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return size / 1e6


if __name__ == "__main__":
    run(*variants(10))
    times = [seconds(count) for count in COUNTS]
    memory = [peak_memory(count) for count in COUNTS]
    print(f"stroke: roll effort over one cycle of {SAMPLES} samples")
    for count, taken, size in zip(COUNTS, times, memory, strict=True):
        print(f"  {count:6d} paddles  {taken:7.3f} s  {size:6.1f} MB at most")
    exponents = [np.polyfit(np.log(COUNTS), np.log(y), 1)[0] for y in (times, memory)]
    print(f"  time grows as n^{exponents[0]:.2f}, memory as n^{exponents[1]:.2f}")
    limit = times[COUNTS.index(10000)] < 2.0 and exponents[1] < 0.05
    print(f"  10000 paddles below 2 s in constant memory: {'yes' if limit else 'NO'}")
    raise SystemExit(0 if limit else 1)
