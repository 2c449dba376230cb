"""The quickest of several runs, the one that other work on the machine disturbed least."""

import time
from collections.abc import Callable


def quickest(action: Callable[[], object], runs: int = 5) -> float:
    """Time [s] of the quickest of several runs."""
    best = float("inf")
    for _again in range(runs):
        start = time.perf_counter()
        action()
        best = min(best, time.perf_counter() - start)
    return best
