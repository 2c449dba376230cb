"""How long the fit of a recorded swing takes, by collocation against numerical integration."""

from time import perf_counter
from unittest.mock import patch

import numpy as np

from paddlebal import fit_swing_record, read_bench
from paddlebal.bench import record
from paddlebal.bench.half_swings import swings
from paddlebal.bench.readings import SwingRecord
from paddlebal.files.text import data_path

LEAST = 8


def integrated(time, swing, start, rate, radius):
    """In the place of `half_swings.swings`: leaves every swing to the integration."""
    return np.empty((len(start), len(time))), np.zeros(len(start), dtype=bool)


def main():
    seen, quick = read_bench(data_path("bench", "ocean_record.csv")), swings
    assert isinstance(seen, SwingRecord)
    fit_swing_record(seen)
    times = {}
    for name, way in (("collocation", quick), ("integration", integrated)):
        with patch.object(record, "swings", way):
            start = perf_counter()
            fit_swing_record(seen)
            times[name] = perf_counter() - start
    ratio = times["integration"] / times["collocation"]
    print(
        f"fit of a recorded swing: {times['collocation']:.2f} s by collocation, "
        f"{times['integration']:.2f} s by integration, {ratio:.0f} times (at least {LEAST})"
    )


if __name__ == "__main__":
    main()
