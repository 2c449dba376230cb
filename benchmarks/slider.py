"""How long one slider move of the placement's picture takes, against a bare canvas draw.

A move is what the panel does for each value: the unbalance and the trade computed, the artists
set, the kept background restored, the live artists drawn and blitted. The bare draw is that of
three axes with two lines each, of the same size on the same kind of canvas. On the
notebook's canvas both include the PNG frame that is sent to the browser (not the sending).
The two are measured in turns, so that a busy machine slows both.
"""

import math
import statistics
from time import perf_counter

import ipympl.backend_nbagg as notebook
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from paddlebal import (
    Counterweight,
    Limits,
    load_paddle,
    mass_against_arm,
    place_counterweight,
)
from paddlebal.files.text import data_path
from paddlebal.panels.canvas import notebook_canvas
from paddlebal.pictures.placement import PlacementPicture

REPEATS, ALLOWED_RATIO, ALLOWED_MS = 60, 1.3, 50


def new_picture():
    """A picture for the demo paddle."""
    return PlacementPicture(0.03, 0.12, 0.5, 1.2)


def bare_figure(like):
    """Three axes with two lines each, as large as the figure `like`."""
    figure = Figure(figsize=like.get_size_inches(), dpi=like.dpi)
    FigureCanvasAgg(figure)
    x = np.linspace(0, 2 * np.pi, 241)
    for axes in figure.subplots(1, 3):
        axes.plot(x, np.sin(x), x, np.cos(x))
    return figure


def move(picture, paddle, i):
    """One slider move: another arm and another angle."""
    arm = 0.06 + 5e-4 * i
    U = paddle.unbalance()
    piece = Counterweight(float(np.hypot(*U)) / arm, arm, math.radians(140 + i))
    trade = mass_against_arm(U, Limits.for_paddle(paddle))
    after = paddle.with_counterweights(piece)
    clear = trade.clearance[0] >= 0
    picture.update(after, after.unbalance(), trade.arm, trade.mass, clear, [(piece, 0.04)])


def compare(name, picture, bare):
    """Print the medians of moves and bare draws, taken in turns."""
    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    times: dict[str, list[float]] = {"move": [], "bare": []}
    for i in range(-3, REPEATS):
        start = perf_counter()
        move(picture, paddle, i)
        middle = perf_counter()
        bare.canvas.draw()
        if i >= 0:
            times["move"].append(1e3 * (middle - start))
            times["bare"].append(1e3 * (perf_counter() - middle))
    moved, drawn = (statistics.median(times[key]) for key in ("move", "bare"))
    print(
        f"slider move, {name}: {moved:.1f} ms (allowed {ALLOWED_MS}), "
        f"bare draw {drawn:.1f} ms, ratio {moved / drawn:.2f} (allowed {ALLOWED_RATIO})"
    )


def place():
    """Print the least time to place a counterweight, against a bare draw."""
    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    bare = bare_figure(new_picture().figure)
    U, limits = paddle.unbalance(), Limits.for_paddle(paddle)
    times: dict[str, list[float]] = {"place": [], "bare": []}
    for _ in range(20):
        start = perf_counter()
        place_counterweight(U, limits, paddle=paddle)
        middle = perf_counter()
        bare.canvas.draw()
        times["place"].append(1e3 * (middle - start))
        times["bare"].append(1e3 * (perf_counter() - middle))
    placed, drawn = (min(times[key]) for key in ("place", "bare"))
    ratio = placed / drawn
    print(f"placing a counterweight: {placed:.2f} ms, {ratio:.3f} of a bare draw (allowed 0.1)")


def main():
    place()
    picture = new_picture()
    compare("no frame", picture, bare_figure(picture.figure))
    shown = new_picture()
    bare = bare_figure(shown.figure)
    notebook.FigureManager(notebook.Canvas(bare), 0)
    for canvas in (notebook_canvas(shown), bare.canvas):
        canvas.syncing_data_url = False
    shown.figure.canvas.draw()
    compare("with the browser's frame", shown, bare)


if __name__ == "__main__":
    main()
