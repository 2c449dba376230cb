"""Run the parts that need no server or browser under each Python that is found.

Each gets a virtual environment of its own, `.venv-3.x`, with the pinned packages.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

VERSIONS = ("3.11", "3.12", "3.13")
"""The versions of Python that are promised."""

PARTS = ("library", "published", "notebooks, stored form")


def runs(program, version):
    """Whether a program is a Python of this version."""
    tell = "import sys; print('%d.%d' % sys.version_info[:2])"
    try:
        told = subprocess.run([program, "-c", tell], capture_output=True, text=True)
    except OSError:
        return False
    return told.stdout.strip() == version


def find_python(version):
    """Path of a Python of this version: on the PATH or among pyenv's; None without."""
    if (here := shutil.which(f"python{version}")) and runs(here, version):
        return here
    home = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"))
    kept = sorted(home.glob(f"versions/{version}.*/bin/python"))
    return next((str(path) for path in reversed(kept) if runs(path, version)), None)


def set_up(python, folder):
    """A virtual environment with the pinned packages; made anew when they change."""
    ready, own = folder / "ready", folder / "bin" / "python"
    pins = ROOT / "constraints.txt"
    if not ready.exists() or ready.stat().st_mtime < pins.stat().st_mtime:
        install = [own, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        install += ["--no-deps"]
        for command in (
            [python, "-m", "venv", "--clear", folder],
            [*install, "--require-hashes", "-r", pins],
            [*install, "--no-build-isolation", "-e", ROOT],
        ):
            subprocess.run(command, check=True)
        ready.touch()
    return own


def main():
    found = {version: find_python(version) for version in VERSIONS}
    passed = {}
    for version, python in found.items():
        if python:
            print(f"\n==== Python {version} ====", flush=True)
            own = set_up(python, ROOT / f".venv-{version}")
            tests = [own, ROOT / "tools" / "run_tests.py", *PARTS]
            passed[version] = subprocess.run(tests).returncode == 0
    print()
    for version in VERSIONS:
        words = {True: "passed", False: "FAILED", None: "not found, not tried"}
        print(f"Python {version}: {words[passed.get(version)]}")
    return int(not passed or not all(passed.values()))


if __name__ == "__main__":
    sys.exit(main())
