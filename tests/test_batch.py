"""A folder of bench files becomes sheets and one table; a bad file does not stop the rest."""

import csv
import datetime
import shutil
from runpy import run_path

import pytest

from paddlebal.__main__ import main
from paddlebal.batch import bench_files
from paddlebal.files import data_path
from paddlebal.fitting import fit_file
from paddlebal.readings import read_bench

DAY = datetime.date(2026, 1, 2)


@pytest.fixture(scope="module")
def club(tmp_path_factory):
    """A folder with a good file, a broken one, one of timed swings, and what came of it."""
    root = tmp_path_factory.mktemp("a club")
    shutil.copytree(data_path("paddles"), root / "paddles")
    bench = root / "bench"
    bench.mkdir()
    for name in ("sprint_lever.csv", "ocean_swing.csv"):
        shutil.copy(data_path("bench", name), bench)
    text = data_path("bench", "ocean_lever.csv").read_text()
    (bench / "broken.csv").write_text(text.replace("[kgf]", ""))
    return bench, root / "out", main(["fit", str(bench), "--out", str(root / "out")])


def test_the_exit_status_tells_of_the_bad_file(club):
    assert club[2] == 1


def test_the_good_file_has_its_sheets_and_its_row(club):
    _, out, _ = club
    made = {path.name for path in out.iterdir()}
    assert made == {
        "sprint_lever.pdf", "sprint_lever.html", "comparison.csv", "comparison.html"
    }  # fmt: skip
    with open(out / "comparison.csv", newline="", encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    fit = fit_file(
        data_path("bench", "sprint_lever.csv"),
        read_bench(data_path("bench", "sprint_lever.csv")),
        arm=(0, 0.06),
    )
    assert float(row["counterweight [g]"]) == pytest.approx(1e3 * fit.placement.mass, abs=0.05)
    assert row["counterweight [g]"] in (out / "comparison.html").read_text(encoding="utf-8")


def test_python_runs_the_command(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.argv", ["paddlebal", "fit", str(tmp_path), "--out", str(tmp_path)])
    with pytest.raises(SystemExit) as ended:
        run_path(main.__code__.co_filename, run_name="__main__")
    assert ended.value.code == 2


def test_each_complaint_names_its_file(club, capsys):
    bench, out, _ = club
    assert main(["fit", str(bench), "--out", str(out)]) == 1
    told = capsys.readouterr().err
    assert "broken.csv" in told and "pull" in told
    assert "ocean_swing.csv: left out" in told
    assert "sprint_lever.pdf: already exists and was left as it is." in told


def test_a_folder_without_bench_files_is_told(tmp_path, capsys):
    assert main(["fit", str(tmp_path), "--out", str(tmp_path / "out")]) == 2
    assert "holds no CSV file" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_files_are_taken_in_order_and_a_missing_one_is_told(tmp_path):
    for name in ("b.csv", "a.csv", "c.txt"):
        (tmp_path / name).touch()
    assert [path.name for path in bench_files(tmp_path)] == ["a.csv", "b.csv"]
    assert main(["fit", str(tmp_path / "none.csv"), "--out", str(tmp_path / "out")]) == 1
