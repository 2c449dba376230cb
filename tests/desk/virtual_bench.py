"""A bench that does not exist: what its scale shows, and the texts that a reader would type."""

import math
from dataclasses import replace

import numpy as np

from paddlebal.bench.lever import Guess
from paddlebal.bench.plan import expected_readings
from paddlebal.desk.entry import Typed, bench_from
from paddlebal.units import STANDARD_GRAVITY

PADDLE = {
    "name": "A", "model": "Virtual", "size": "M", "mass": "637", "length": "2410",
    "balance": "1197,5", "shaft": "29.2",
}  # fmt: skip
BENCH = {"lever": "300", "step": "2"}
UNBALANCE = np.array([-7.7e-3, 13.3e-3])
TRUTH = Guess(UNBALANCE, 5e-3, 1.2)
REST = {"rest": f"{math.degrees(-math.pi / 2 - math.atan2(*UNBALANCE[::-1])) % 360:.0f}"}
"""Where it comes to rest by itself: the unbalance points down."""


def read(gauge, truth=TRUTH, mirrored=False, step=2.0, texts=BENCH):
    """The scale [g], as text, with the turning and against it, at an angle on the gauge."""
    bench = replace(bench_from(Typed(PADDLE | texts)), arm=np.array([0.3]))
    roll = math.radians(-gauge if mirrored else gauge)
    pulls = expected_readings(bench, [roll], truth).pull / STANDARD_GRAVITY * 1e3
    return [f"{step * round(pull / step):g}" for pull in pulls]


def rows(gauges, grid="bare", **options):
    """Texts of a grid with the readings at these angles on the gauge."""
    texts = {}
    for row, gauge in enumerate(gauges):
        pulls = read(gauge, **options)
        for column, text in zip(("angle", "with", "against"), [f"{gauge:g}", *pulls], strict=True):
            texts[f"{grid}/{row}/{column}"] = text
    return texts
