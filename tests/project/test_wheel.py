"""The wheel and the source package hold all that the main job needs, away from the tree."""

import os
import subprocess
import sys
import tarfile
import venv
import zipfile
from importlib.metadata import PathDistribution, distribution
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]

JOB = """
import sys
from pathlib import Path
import paddlebal
from paddlebal import Limits, data_path, fit_bench, load_paddle, place_counterweight, read_bench
assert Path(sys.prefix) in Path(paddlebal.__file__).parents
paddle = load_paddle(data_path("paddles", "ocean.toml"))
fit = fit_bench(read_bench(data_path("bench", "ocean_lever.csv")))
print(place_counterweight(fit.unbalance, Limits.for_paddle(paddle), paddle=paddle))
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The folder with the wheel and the source package."""
    folder = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-t", "sdist"]
    subprocess.run([*command, "-d", folder], cwd=ROOT, check=True, capture_output=True)
    return folder


def needed(requirements):
    """The installed distributions that these requirements ask for, and what those ask for."""
    found: dict[Any, Any] = {}
    waiting: list[tuple[str, tuple[str, ...]]] = [(text, ("",)) for text in requirements]
    while waiting:
        text, extras = waiting.pop()
        wanted = Requirement(text)
        marker = wanted.marker
        if marker and not any(marker.evaluate({"extra": extra}) for extra in extras):
            continue
        key = wanted.name, ("", *sorted(wanted.extras))
        if key not in found:
            found[key] = distribution(wanted.name)
            waiting += [(each, key[1]) for each in found[key].requires or []]
    return {one.name: one for one in found.values()}.values()


@pytest.fixture(scope="module")
def installed(built, tmp_path_factory):
    """A Python that has the wheel and what its metadata asks for, and nothing else."""
    folder = tmp_path_factory.mktemp("empty")
    venv.create(folder, with_pip=False)
    (site,) = folder.glob("lib/python*/site-packages")
    (wheel,) = built.glob("*.whl")
    python = folder / "bin" / "python"
    subprocess.run(
        [sys.executable, "-m", "uv", "pip", "install", "--quiet", "--no-deps", "--offline"]
        + ["--python", python, wheel],
        check=True,
    )
    (metadata,) = site.glob("paddlebal-*.dist-info")
    for one in needed(PathDistribution(metadata).requires):
        for name in {file.parts[0] for file in one.files if file.parts[0] not in ("..", "")}:
            if name != "__pycache__" and not (site / name).exists():
                (site / name).symlink_to(one.locate_file(name))
    return python


def run(command, folder):
    clean = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    return subprocess.run(command, cwd=folder, env=clean, capture_output=True, text=True)


def test_the_main_job_runs_from_the_wheel(installed, tmp_path):
    done = run([installed, "-c", JOB], tmp_path)
    assert done.returncode == 0, done.stderr
    assert "g on an arm of" in done.stdout


@pytest.mark.parametrize("form", ["script", "module"])
def test_the_command_makes_a_sheet_from_the_wheel(installed, tmp_path, form):
    found = run(
        [installed, "-c", "from paddlebal import data_path; print(data_path('bench'))"], tmp_path
    )
    file = Path(found.stdout.strip()) / "sprint_lever.csv"
    bench, paddles = tmp_path / "bench", tmp_path / "paddles"
    for folder, source in ((bench, file), (paddles, file.parents[1] / "paddles" / "sprint.toml")):
        folder.mkdir()
        (folder / source.name).write_bytes(source.read_bytes())
    command = (
        [installed.parent / "paddlebal"] if form == "script" else [installed, "-m", "paddlebal"]
    )
    done = run([*command, "fit", "bench/sprint_lever.csv", "--out", "results"], tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "results" / "sprint_lever.pdf").read_bytes().startswith(b"%PDF")


def test_sliders_are_an_extra_that_the_command_does_not_need(installed, tmp_path):
    done = run([installed, "-c", "import ipywidgets"], tmp_path)
    assert "ModuleNotFoundError" in done.stderr


def test_wheel_and_source_hold_the_data_and_the_types(built):
    (wheel,), (source,) = built.glob("*.whl"), built.glob("*.tar.gz")
    with zipfile.ZipFile(wheel) as archive:
        packed = set(archive.namelist())
    with tarfile.open(source) as archive:
        kept = {name.partition("/")[2] for name in archive.getnames()}
    for path in (ROOT / "data").rglob("*"):
        if path.is_file():
            name = path.relative_to(ROOT).as_posix()
            assert f"paddlebal/{name}" in packed and name in kept
    for name in ("__init__.pyi", "py.typed", "panels/spoken.js", "sheet/sheet.html"):
        assert f"paddlebal/{name}" in packed and f"paddlebal/{name}" in kept
