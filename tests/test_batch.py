"""A folder of bench files becomes sheets and one table; a bad file does not stop the rest."""

import csv
import datetime
import math
import shutil
from runpy import run_path

import numpy as np
import pytest

from paddlebal.__main__ import main
from paddlebal.batch import bench_files, fit_all
from paddlebal.files.text import data_path
from paddlebal.formats.bench import read_bench
from paddlebal.pipeline import fit_file

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
        bad, swing, row = csv.DictReader(stream)
    assert "pull" in bad["problem"] and "timed swings" in swing["problem"]
    assert bad["forecast"] == swing["forecast"] == row["problem"] == ""
    fit = fit_file(
        data_path("bench", "sprint_lever.csv"),
        read_bench(data_path("bench", "sprint_lever.csv")),
        arm=(0, 0.06),
    )
    U, piece = fit.fit.unbalance, fit.pieces[0]
    unit = U / np.hypot(*U)
    expected = {
        "unbalance [g·mm]": 1e6 * np.hypot(*U),
        "uncertainty, k = 2 [g·mm]": 2e6 * math.sqrt(unit @ fit.fit.unbalance_covariance @ unit),
        "direction [deg]": math.degrees(math.atan2(U[1], U[0])) % 360,
        "friction [mN·m]": 1e3 * fit.fit.friction,
        "counterweight [g]": 1e3 * np.hypot(*U) / 0.06,
        "arm [mm]": 60.0,
        "angle [deg]": math.degrees(math.atan2(-U[1], -U[0])) % 360,
        "x [mm]": 1e3 * piece.x,
    }
    page = (out / "comparison.html").read_text(encoding="utf-8")
    for name, value in expected.items():
        assert float(row[name]) == pytest.approx(value, abs=0.51 if "g·mm" in name else 0.051), name
        assert f"<td>{row[name]}</td>" in page
    assert (row["forecast"], row["doubts"]) == (fit.forecast, "")


def test_python_runs_the_command(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.argv", ["paddlebal", "fit", str(tmp_path), "--out", str(tmp_path)])
    with pytest.raises(SystemExit) as ended:
        run_path(main.__code__.co_filename, run_name="__main__")
    assert ended.value.code == 2


def test_each_complaint_names_its_file_and_a_second_run_keeps_what_was_made(club, capsys):
    bench, out, _ = club
    before = {path: path.stat().st_mtime_ns for path in out.iterdir() if "sprint" in path.name}
    assert main(["fit", str(bench), "--out", str(out)]) == 1
    told = capsys.readouterr()
    assert "broken.csv" in told.err and "pull" in told.err
    assert "ocean_swing.csv: left out" in told.err
    assert told.out == "1 kept from before, 1 left out, 1 not made\n"
    assert before == {path: path.stat().st_mtime_ns for path in before}


def test_a_changed_bench_file_does_not_count_as_made(tmp_path, capsys):
    bench, out = tmp_path / "bench", tmp_path / "out"
    shutil.copytree(data_path("paddles"), tmp_path / "paddles")
    bench.mkdir()
    shutil.copy(data_path("bench", "sprint_lever.csv"), bench)
    assert main(["fit", str(bench), "--out", str(out)]) == 0
    with (bench / "sprint_lever.csv").open("a") as stream:
        stream.write("15,250,1.0,with\n")
    assert main(["fit", str(bench), "--out", str(out)]) == 1
    assert "already exists and was left as it is" in capsys.readouterr().err
    with open(out / "comparison.csv", newline="", encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    assert "already exists" in row["problem"]


def test_a_stopped_run_leaves_a_table_and_goes_on_where_it_was(tmp_path, capsys):
    out = tmp_path / "out"

    def stopping(outcomes, total):
        for count, each in enumerate(outcomes):
            if count == 2:
                raise KeyboardInterrupt
            yield each

    with pytest.raises(KeyboardInterrupt):
        fit_all(data_path("bench"), out, DAY, track=stopping)
    with open(out / "comparison.csv", newline="", encoding="utf-8") as stream:
        assert len(list(csv.DictReader(stream))) >= 2
    counts = fit_all(data_path("bench"), out, DAY, report=lambda sentence: None)
    assert counts["kept from before"] >= 2 and counts["not made"] == 0
    assert sum(counts.values()) == 9 and counts["left out"] == 2


def test_a_club_is_shared_among_processors(tmp_path, monkeypatch):
    monkeypatch.setattr("paddlebal.batch.FEW", 1)
    counts = fit_all(data_path("bench"), tmp_path / "out", DAY, report=lambda _: None, jobs=2)
    assert (counts["made"], counts["left out"]) == (7, 2)


def test_every_limit_reaches_the_counterweight(tmp_path):
    file = str(data_path("bench", "ocean_lever.csv"))
    options = [
        "--mass-step-g", "10", "--arm-step-mm", "0.5", "--angle-step-deg", "5",
        "--holder-mass-g", "20", "--holder-arm-mm", "40", "--longest-arm-mm", "70",
        "--material", "steel", "--farthest-mm", "200", "--least-mass-g", "1",
        "--most-mass-g", "390", "--shortest-arm-mm", "20", "--slenderness", "1.5",
        "--mass-u-g", "0.1", "--arm-u-mm", "0.1", "--angle-u-deg", "0.1",
    ]  # fmt: skip
    assert main(["fit", file, "--out", str(tmp_path / "out"), *options]) == 0
    with open(tmp_path / "out" / "comparison.csv", newline="", encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    assert float(row["counterweight [g]"]) % 10 == float(row["angle [deg]"]) % 5 == 0
    assert float(row["arm [mm]"]) % 0.5 == 0 and float(row["arm [mm]"]) <= 70
    page = (tmp_path / "out" / "ocean_lever.html").read_text(encoding="utf-8")
    assert "A cylinder of steel" in page and "Its holder is counted: 20.0 g, 40.0 mm" in page


def test_doubts_are_told_by_the_command_and_in_the_table(tmp_path, capsys):
    text = data_path("bench", "ocean_lever.csv").read_text(encoding="utf-8")
    bench = tmp_path / "bench"
    bench.mkdir()
    shutil.copytree(data_path("paddles"), tmp_path / "paddles")
    (bench / "mirrored.csv").write_text(text.replace("rest_deg = 3", "rest_deg = 1"))
    assert main(["fit", str(bench), "--out", str(tmp_path / "out")]) == 0
    assert "mirrored.csv: made, but doubtful. By these readings" in capsys.readouterr().err
    with open(tmp_path / "out" / "comparison.csv", newline="", encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    assert "seen to rest at 100°" in row["doubts"] and row["forecast"].startswith("not said")
    page = (tmp_path / "out" / "mirrored.html").read_text(encoding="utf-8")
    assert page.index("Settle this") < page.index("Mass")


def test_a_pair_has_two_weights_on_its_sheet(tmp_path):
    file = str(data_path("bench", "ocean_lever.csv"))
    assert main(["fit", file, "--out", str(tmp_path / "out"), "--pieces", "pair"]) == 0
    page = (tmp_path / "out" / "ocean_lever.html").read_text(encoding="utf-8")
    assert "WEIGHT 1" in page and "WEIGHT 2" in page


def test_a_folder_without_bench_files_is_told(tmp_path, capsys):
    assert main(["fit", str(tmp_path), "--out", str(tmp_path / "out")]) == 2
    assert "holds no CSV, XLSX or ODS file" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_files_are_taken_in_order_and_a_missing_one_is_told(tmp_path):
    for name in ("b.csv", "a.csv", "c.txt"):
        (tmp_path / name).touch()
    assert [path.name for path in bench_files(tmp_path)] == ["a.csv", "b.csv"]
    assert main(["fit", str(tmp_path / "none.csv"), "--out", str(tmp_path / "out")]) == 1


def test_an_earlier_result_is_replaced_on_request_only(tmp_path):
    out = tmp_path / "out"
    command = ["fit", str(data_path("bench", "sprint_lever.csv")), "--out", str(out)]

    def run(arm, *more):
        status = main([*command, "--longest-arm-mm", arm, *more])
        sheets = (path for path in out.iterdir() if "comparison" not in path.name)
        return status, {path.name: path.read_bytes() for path in sheets}

    (first, old), (again, kept), (last, new) = run("60"), run("80"), run("80", "--overwrite")
    assert (first, again, last) == (0, 1, 0)
    assert kept == old and new.keys() == old.keys() and len(new) == 2
    assert all(new[name] != old[name] for name in new)


def test_names_are_shown_as_text_and_run_as_nothing(tmp_path):
    (tmp_path / "bench").mkdir()
    shutil.copy(data_path("bench", "ocean_add_on.csv"), tmp_path / "bench")
    text = data_path("paddles", "ocean.toml").read_text(encoding="utf-8")
    (tmp_path / "bench" / "ocean.toml").write_text(text.replace("Demo ocean", "=1+1<b>"))
    assert main(["fit", str(tmp_path / "bench"), "--out", str(tmp_path / "out")]) == 0
    with open(tmp_path / "out" / "comparison.csv", newline="", encoding="utf-8") as stream:
        (row,) = csv.DictReader(stream)
    assert (row["paddle"], row["friction [mN·m]"]) == ("'=1+1<b>", "–")
    assert "=1+1&lt;b&gt;" in (tmp_path / "out" / "comparison.html").read_text(encoding="utf-8")


def test_results_do_not_meet_the_bench_files(tmp_path, capsys):
    shutil.copy(data_path("bench", "ocean_lever.csv"), tmp_path)
    before = sorted(tmp_path.iterdir())
    assert main(["fit", str(tmp_path), "--out", str(tmp_path), "--overwrite"]) == 2
    assert "holds the bench files, expected another folder" in capsys.readouterr().err
    (tmp_path / "ocean_lever.csv").rename(tmp_path / "Comparison.csv")
    assert main(["fit", str(tmp_path), "--out", str(tmp_path / "out"), "--overwrite"]) == 2
    assert "has the name of the table" in capsys.readouterr().err
    assert main(["fit", str(data_path("bench")), "--out", str(tmp_path / "Comparison.csv")]) == 2
    assert "cannot be made a folder" in capsys.readouterr().err
    assert len(before) == len(list(tmp_path.iterdir())) == 1


def test_whatever_goes_wrong_with_one_file_the_others_go_on(tmp_path, monkeypatch, capsys):
    def fit(file, *args, **stated):
        if file.stem == "mended_lever":
            raise MemoryError("too much")
        return fit_file(file, *args, **stated)

    monkeypatch.setattr("paddlebal.batch.fit_file", fit)
    assert main(["fit", str(data_path("bench")), "--out", str(tmp_path)]) == 1
    assert "could not be used (MemoryError: too much)" in capsys.readouterr().err
    assert (tmp_path / "sprint_lever.pdf").exists() and (tmp_path / "comparison.csv").exists()


def test_the_table_can_have_decimal_commas(tmp_path):
    bench = data_path("bench", "sprint_lever.csv")
    command = ["fit", str(bench), "--out"]
    assert main([*command, str(tmp_path / "points")]) == 0
    assert main([*command, str(tmp_path / "commas"), "--decimal-comma"]) == 0
    assert main([*command, str(tmp_path / "commas"), "--decimal-comma"]) == 0  # a second time

    def cells(folder, encoding, separator):
        with (tmp_path / folder / "comparison.csv").open(encoding=encoding, newline="") as stream:
            return list(csv.reader(stream, delimiter=separator))

    points, commas = cells("points", "utf-8", ","), cells("commas", "utf-8-sig", ";")
    assert points[0] == commas[0] and len(points) == len(commas) == 2
    numbers = [(a, b) for a, b in zip(points[1], commas[1], strict=True) if a != b]
    assert len(numbers) >= 4
    assert all(float(a) == float(b.replace(",", ".")) for a, b in numbers)
