"""Run every part of the tests, each in a pytest of its own, and print what each took."""

import subprocess
import sys
import time
from pathlib import Path

from find_browser import MISSING, find_browser, from_playwright

ROOT = Path(__file__).resolve().parents[1]

TWO_AT_A_TIME = ["-n", "2", "--dist", "loadfile"]

PARTS = {
    "library": [
        *TWO_AT_A_TIME,
        "tests",
        "--ignore=tests/published",
        "--ignore=tests/notebooks",
        "--ignore=tests/browser",
    ],
    "published": ["tests/published"],
    "notebooks, stored form": ["tests/notebooks"],
    "notebooks, run anew": [
        *TWO_AT_A_TIME,
        "notebooks",
        "--nbval",
        "--nbval-sanitize-with=tests/notebooks/sanitize.cfg",
        "--nbval-cell-timeout=120",
    ],
    "browser": [*TWO_AT_A_TIME, "tests/browser"],
}


def run(part):
    """Exit status and wall time [s] of one part."""
    print(f"\n== {part} ==", flush=True)
    start = time.perf_counter()
    status = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", *PARTS[part]], cwd=ROOT
    ).returncode
    return status, time.perf_counter() - start


def main(names):
    names = names or list(PARTS)
    if "browser" in names:
        if not find_browser():
            from_playwright()
        if not find_browser():
            sys.exit(MISSING)
    if "library" in names and not Path("/usr/lib/postgresql").is_dir():
        print("PostgreSQL is not installed: the book is tested on SQLite only.")
    results = {part: run(part) for part in names}
    print("\nWall time of each part")
    for part, (status, seconds) in results.items():
        print(f"{seconds:7.1f} s  {part}: {'passed' if status == 0 else f'FAILED ({status})'}")
    print(f"{sum(seconds for _, seconds in results.values()):7.1f} s  in all")
    return int(any(status for status, _ in results.values()))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
