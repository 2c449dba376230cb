"""What `import paddlebal` costs beyond numpy: fresh interpreters, taken in turns, medians."""

import statistics
import subprocess
import sys
from time import perf_counter

ROUNDS, ALLOWED_S = 15, 0.1


def fresh(code):
    """Wall time [s] of a new Python that runs `code`."""
    start = perf_counter()
    subprocess.run([sys.executable, "-c", code], check=True)
    return perf_counter() - start


def main():
    codes = ("import numpy", "import paddlebal, paddlebal.paddle, paddlebal.unbalance")
    times = [[fresh(code) for code in codes] for _ in range(ROUNDS + 1)][1:]
    numpy_s, all_s = (statistics.median(column) for column in zip(*times, strict=True))
    print(
        f"a Python with numpy {numpy_s:.3f} s, with paddlebal's core {all_s:.3f} s: "
        f"{all_s - numpy_s:.3f} s more (allowed {ALLOWED_S})"
    )


if __name__ == "__main__":
    main()
