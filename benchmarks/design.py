"""The designer's panel, a fine map and a large tolerance study: time and memory.

A slider move is what the panel does for each value, in the kernel: from the measured depths the
maps are computed, the artists set, drawn and sent as a frame (the sending left out). The same
machine's bare draw of two axes is printed beside it, taken in turns, so that a busy machine
slows both.
"""

import math
import statistics
import time
import tracemalloc

import ipywidgets as widgets
import numpy as np
from slider import bare_figure

from paddlebal import BladeShape, Limits, design_map, load_paddle, place_counterweight
from paddlebal.files.text import data_path
from paddlebal.panels.canvas import WholeFrameCanvas
from paddlebal.panels.design import design_panel
from paddlebal.placement import half_unbalance
from paddlebal.tolerance import placement_tolerance

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
MOVES, ALLOWED_MS = 20, 50
SIDE, ALLOWED_MAP_S = 200, 0.5
DRAWS, ALLOWED_STUDY_S, ALLOWED_STUDY_MB = 10_000_000, 5.0, 32


def inside(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from inside(child)


def slider_moves():
    """Median time [ms] of a move of each slider, by its name, and of a bare draw."""
    panel = design_panel(OCEAN)
    parts = list(inside(panel))
    canvas = next(part for part in parts if isinstance(part, WholeFrameCanvas))
    canvas.syncing_data_url = False
    canvas.draw()
    bare, times, drawn = bare_figure(canvas.figure), {}, []
    for control in (part for part in parts if isinstance(part, widgets.FloatSlider)):
        taken, span = [], control.max - control.min
        for i in range(MOVES):
            value = control.min + span * ((7 * i + 3) % MOVES) / MOVES
            start = time.perf_counter()
            control.value = control.min + control.step * round((value - control.min) / control.step)
            middle = time.perf_counter()
            bare.canvas.draw()
            taken.append(1e3 * (middle - start))
            drawn.append(1e3 * (time.perf_counter() - middle))
        times[control.description] = statistics.median(taken)
    return times, statistics.median(drawn)


def map_seconds():
    """Time [s] of a map over cranks and feathers, blade measured and formulas made before."""
    cranks, feathers = np.radians(np.linspace(0, 12, SIDE)), np.radians(np.linspace(0, 90, SIDE))
    design_map(BladeShape(), cranks[:2], feathers[:2], 0.08)
    start = time.perf_counter()
    design_map(BladeShape(), cranks, feathers, 0.08)
    return time.perf_counter() - start


def study(draws):
    limits = Limits.for_paddle(OCEAN, material="brass", arm=(0, 0.08))
    placed = place_counterweight(OCEAN.unbalance(), limits, paddle=OCEAN)
    far = half_unbalance(OCEAN, "left")
    one = math.radians(1)
    return placement_tolerance(
        placed, OCEAN.unbalance(), 1e-3, 5e-4, one, draws, np.random.default_rng(1),
        feather_u=one, far_half=far,
    )  # fmt: skip


def study_cost():
    """Time [s] of the tolerance study and the most memory [MB] that a tenth and all of it take."""
    study(1000)
    start = time.perf_counter()
    study(DRAWS)
    taken, peaks = time.perf_counter() - start, []
    for draws in (DRAWS // 10, DRAWS):
        tracemalloc.start()
        study(draws)
        peaks.append(tracemalloc.get_traced_memory()[1] / 1e6)
        tracemalloc.stop()
    return taken, peaks


def main():
    times, drawn = slider_moves()
    for name, taken in times.items():
        print(
            f"slider move, {name}: {taken:.1f} ms (allowed {ALLOWED_MS}), "
            f"bare draw {drawn:.1f} ms, ratio {taken / drawn:.2f}"
        )
    print(f"map of {SIDE} by {SIDE}: {map_seconds():.4f} s (allowed {ALLOWED_MAP_S})")
    taken, (tenth, whole) = study_cost()
    print(f"tolerance study of {DRAWS:,} draws: {taken:.2f} s (allowed {ALLOWED_STUDY_S:g})")
    print(
        f"  memory {whole:.1f} MB at most (allowed {ALLOWED_STUDY_MB}), "
        f"{whole / tenth:.2f} times that of a tenth of the draws"
    )


if __name__ == "__main__":
    main()
