"""Bad input of every kind: each is told in one sentence that names the file, and nothing is lost.

The table in tests/README.md is checked here, row by row.
"""

import ast
import dataclasses
import errno
import os
import random
import re
import subprocess
import sys
import threading
import time
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spreadsheets import ods, xlsx

from paddlebal import (
    InputError,
    file_problems,
    load_any_paddle,
    load_paddle,
    read_bench,
    read_motion,
    save_paddle,
)
from paddlebal.batch import fit_all
from paddlebal.files.saving import write_text
from paddlebal.files.text import data_path
from paddlebal.panels.files import inside
from paddlebal.pipeline import paddle_file

ROOT = Path(__file__).resolve().parents[2]


def text_of(*parts):
    return data_path(*parts).read_text(encoding="utf-8")


RECORD = """\
# method = "swing record"
# support = "rails"
# radius_mm = 14.6
# angle_u_deg = 0.5
time [s],roll [deg]
""" + "".join(f"{0.02 * i:.2f},{50 * np.cos(0.2 * i):.2f}\n" for i in range(40))

READERS = {
    "paddle.toml": (load_any_paddle, text_of("paddles", "ocean.toml")),
    "glued.toml": (load_any_paddle, text_of("paddles", "glued.toml")),
    "lever.csv": (read_bench, text_of("bench", "ocean_lever.csv")),
    "swing.csv": (read_bench, text_of("bench", "ocean_swing.csv")),
    "record.csv": (read_bench, RECORD),
    "add_on.csv": (read_bench, text_of("bench", "ocean_add_on.csv")),
    "motion.csv": (read_motion, text_of("strokes", "demo.csv")),
}
PADDLE, LEVER = READERS["paddle.toml"][1], READERS["lever.csv"][1]
each_reader = pytest.mark.parametrize("name", READERS)


def attempt(name, content, folder):
    """What the reader of this kind of file makes of `content`, or the InputError it raises.

    Anything else that is raised fails the test, as does a file that was touched.
    """
    path = folder / name
    path.write_bytes(content)
    try:
        result = READERS[name][0](path)
    except InputError as error:
        check_sentence(error, path)
        result = error
    assert path.read_bytes() == content and list(folder.iterdir()) == [path]
    return result


def check_sentence(error, path):
    told = str(error)
    assert told.startswith(f"{path}, ") or told.startswith(f"{path}: ")
    assert told.endswith(".") and told.isprintable() and len(told) < len(str(path)) + 500


def refused(name, content, folder):
    result = attempt(name, content, folder)
    assert isinstance(result, InputError), content[:300]
    return result


# Files that were damaged.

PIECES = [
    *(b"", b" ", b"\n", b"\r", b"\t", b"\0", b"\xff", b"\xef\xbb\xbf", b"\xe2\x80\xa8", b"\x1c"),
    *(b",", b";", b".", b"-", b"=", b"#", b'"', b"'''", b"[", b"]", b"[[", b"{a=1}", b"_"),
    *(b"0", b"nan", b"inf", b"1e308", b"-1e308", b"1e-320", b"0,5", b"9" * 5000, b"x" * 5000),
    *(b"0x" + b"f" * 4000, b"true", b"1979-05-27", b"3-Feb", b"[mm]", b"[m**-9]", b"[dB*m]"),
    *(b"time", b"roll [deg]", b"\n# a = 1\n", b"\n\n[shaft]\n", "größe".encode()),
]
damage = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 30), st.sampled_from(PIECES)), min_size=1, max_size=4
)


@each_reader
@settings(max_examples=150)
@given(damage)
def test_a_damaged_file_is_taken_or_told(tmp_path_factory, name, damage):
    content = READERS[name][1].encode()
    for place, length, piece in damage:
        start = int(place * len(content))
        content = content[:start] + piece + content[start + length :]
    attempt(name, content, tmp_path_factory.mktemp("damaged"))


@each_reader
@settings(max_examples=40)
@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: text.encode("utf-8")))
def test_what_is_no_such_file_at_all_is_told(tmp_path_factory, name, content):
    refused(name, content, tmp_path_factory.mktemp("other"))


@each_reader
def test_a_file_cut_short_holds_no_wrong_number(tmp_path, name):
    """Cut anywhere, it is refused, unless whole rows or tables are missing at its end."""
    read, text = READERS[name]
    content = text.encode()
    whole = attempt(name, content, tmp_path)
    taken = 0
    for end in range(len(content.rstrip()) - 1, 0, -(1 + len(content) // 800)):
        result = attempt(name, content[:end], tmp_path)
        if not isinstance(result, InputError):
            taken += 1
            assert starts_as(result, whole), content[:end][-40:]
    assert taken < 40


def starts_as(part, whole):
    """Whether all numbers of `part` are those that `whole` starts with."""
    if isinstance(whole, np.ndarray | tuple) and np.ndim(whole):
        return np.array_equal(part, whole[: len(part)])
    if dataclasses.is_dataclass(whole):
        names = [field.name for field in dataclasses.fields(whole)]
        return all(starts_as(getattr(part, n), getattr(whole, n)) for n in names)
    return part == whole


# Files from other programs.


BENCHES = ("lever.csv", "swing.csv", "record.csv", "add_on.csv")
UTF_8_ONLY = [name for name in READERS if name not in BENCHES]


@pytest.mark.parametrize("name", UTF_8_ONLY)
@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_another_encoding_is_told(tmp_path, name, encoding):
    told = refused(name, READERS[name][1].encode(encoding), tmp_path)
    assert "is not UTF-8 text, expected a" in str(told)


@pytest.mark.parametrize("name", UTF_8_ONLY)
@pytest.mark.parametrize("encoding", ["latin-1", "cp1252", "mac-roman"])
def test_an_umlaut_in_an_older_encoding_is_told_with_its_row(tmp_path, name, encoding):
    told = refused(name, with_umlaut(name).encode(encoding), tmp_path)
    assert "is not UTF-8 text" in str(told) and told.row == 2


def with_umlaut(name):
    lines = READERS[name][1].splitlines()
    mark = "" if name.endswith("toml") else "# "
    return "\n".join([*lines[:1], f'{mark}note = "für Köln"', *lines[1:]])


@pytest.mark.parametrize("name", BENCHES)
@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "latin-1", "cp1252"])
def test_a_bench_file_may_come_in_what_spreadsheets_write(tmp_path, name, encoding):
    text = re.sub("# note.*\n", "", with_umlaut(name).replace("für Köln", "x"), count=1) + "\n"
    whole = attempt(name, text.encode(), tmp_path)
    other = attempt(name, text.replace("x", "ü").encode(encoding), tmp_path)
    assert not isinstance(other, InputError), other
    assert starts_as(other, whole) and starts_as(whole, other)


@pytest.mark.parametrize("name", BENCHES)
def test_utf_32_is_told(tmp_path, name):
    told = refused(name, READERS[name][1].encode("utf-32"), tmp_path)
    assert "is no text and no spreadsheet" in str(told)


def with_commas(text, separator):
    """A bench file as a spreadsheet with a decimal comma writes it."""
    head = [line for line in text.splitlines() if line.startswith("#")]
    rows = [line for line in text.splitlines() if not line.startswith("#")]
    rows = [row.replace(",", separator).replace(".", ",") for row in rows]
    return "\n".join([*head, *rows]) + "\n"


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("name", BENCHES)
def test_decimal_commas_between_other_separators_are_read(tmp_path, name, separator):
    text = READERS[name][1]
    whole = attempt(name, text.encode(), tmp_path)
    other = attempt(name, with_commas(text, separator).encode(), tmp_path)
    assert not isinstance(other, InputError), other
    assert starts_as(other, whole) and starts_as(whole, other)


@pytest.mark.parametrize("written", [xlsx, ods])
@pytest.mark.parametrize("name", BENCHES)
def test_a_workbook_holds_the_lines_of_a_bench_file(tmp_path, name, written):
    text = READERS[name][1]
    whole = attempt(name, text.encode(), tmp_path)

    def cell(word):
        return float(word) if re.fullmatch(r"-?\d+(\.\d*)?", word) else word

    rows = [
        [line] if line.startswith("#") else [cell(word) for word in line.split(",")]
        for line in text.splitlines()
    ]
    other = attempt(name, written(rows), tmp_path)
    assert not isinstance(other, InputError), other
    assert starts_as(other, whole) and starts_as(whole, other)


@each_reader
def test_a_byte_order_mark_and_other_line_ends_change_nothing(tmp_path, name):
    text = READERS[name][1]
    whole = attempt(name, text.encode(), tmp_path)
    for other in ("\ufeff" + text, text.replace("\n", "\r\n"), text.replace("\n", "\r")):
        result = attempt(name, other.encode(), tmp_path)
        assert not isinstance(result, InputError)
        if dataclasses.is_dataclass(whole) and name not in ("motion.csv", "paddle.toml"):
            assert starts_as(result, whole) and starts_as(whole, result)


CSV_NAMES = [name for name in READERS if name.endswith("csv")]
MANGLED = ["3-Feb", "Feb 03", "#REF!", "#DIV/0!", "#####", "1_0", "1 000", "0x1F", "½", "", "TRUE"]


@pytest.mark.parametrize("name", CSV_NAMES)
@pytest.mark.parametrize("cell", [*MANGLED, "0,5", "1.234,5", "1,234.5"])
def test_what_spreadsheets_make_of_a_number_is_told_with_its_row(tmp_path, name, cell):
    *rows, last, _ = READERS[name][1].split("\n")
    for separator in ",;":
        names = next(i for i, row in enumerate(rows) if not row.startswith("#"))
        table = [row.replace(",", separator) for row in (*rows[names:], last)]
        fields = table[4].split(separator)
        table[4] = separator.join([cell, *fields[1:]])
        told = refused(name, "\n".join([*rows[:names], *table, ""]).encode(), tmp_path)
        assert told.row == names + 5
        if "," in cell:
            assert "decimal" in str(told)


@pytest.mark.parametrize("name", CSV_NAMES)
def test_empty_columns_and_rows_of_a_spreadsheet_are_told(tmp_path, name):
    text = READERS[name][1]
    count = text.splitlines()[-1].count(",")
    assert "is blank" in str(refused(name, (text + "," * count + "\n").encode(), tmp_path))
    refused(name, text.replace("\n", ",,\n").encode(), tmp_path)


@pytest.mark.parametrize("name", ["record.csv", "motion.csv"])
def test_time_that_goes_back_is_told_wherever_it_does(tmp_path, name):
    """Long tables are read in batches; each row is one of a batch's seams in turn."""
    lines = READERS[name][1].splitlines()
    head = next(i for i, line in enumerate(lines) if not line.startswith("#")) + 1
    rest = lines[head].partition(",")[2]
    for seam in (299, 300, 301, 600):
        times = np.arange(900.0)
        times[seam] = times[seam - 1]
        rows = [f"{value},{rest}" for value in times]
        told = refused(name, ("\n".join([*lines[:head], *rows]) + "\n").encode(), tmp_path)
        assert (told.row, told.field) == (head + seam + 1, "time")


# Places that cannot be read or written.


@each_reader
def test_links_folders_and_odd_names(tmp_path, name):
    read, text = READERS[name]
    (tmp_path / "real").write_text(text, encoding="utf-8")
    link = tmp_path / name
    link.symlink_to("real")
    read(link)
    for target in (name, "nowhere", "."):
        link.unlink()
        link.symlink_to(target)
        with pytest.raises(InputError, match="cannot be read") as caught:
            read(link)
        check_sentence(caught.value, link)
    for odd in ("a\0b.csv", "x" * 300, ""):
        with pytest.raises(InputError, match="cannot be read"):
            read(tmp_path / odd)
    assert link.is_symlink() and (tmp_path / "real").read_text(encoding="utf-8") == text


@each_reader
@pytest.mark.parametrize("code", [errno.EACCES, errno.EIO, errno.ESTALE])
def test_a_file_the_system_withholds_is_told(tmp_path, monkeypatch, name, code):
    def fail(path):
        raise OSError(code, os.strerror(code), str(path))

    monkeypatch.setattr(Path, "read_bytes", fail)
    with pytest.raises(InputError) as caught:
        READERS[name][0](tmp_path / name)
    assert str(caught.value) == f"{tmp_path / name}: cannot be read ({os.strerror(code)})."


@contextmanager
def failing(name, code):
    """os.`name` fails, as for a protected folder or a full disk: root heeds no file modes."""

    def fail(*args, **kwargs):
        raise OSError(code, os.strerror(code))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, name, fail)
        yield


@pytest.mark.parametrize(
    ("call", "code", "overwrite"),
    [
        ("open", errno.EACCES, False),
        ("open", errno.EACCES, True),
        ("open", errno.EROFS, True),
        ("fsync", errno.ENOSPC, False),
        ("fsync", errno.ENOSPC, True),
        ("chmod", errno.EPERM, True),
    ],
)
def test_a_folder_that_cannot_be_written_keeps_what_it_holds(tmp_path, call, code, overwrite):
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(PADDLE, encoding="utf-8")
    path = old if overwrite else new
    paddle = load_paddle(old)
    with failing(call, code), pytest.raises(InputError, match="cannot be written") as caught:
        save_paddle(paddle, path, overwrite=overwrite)
    check_sentence(caught.value, path)
    assert {p.name: p.read_text(encoding="utf-8") for p in tmp_path.iterdir()} == {
        "old.toml": PADDLE
    }


# Two that write at once, and one that is killed.


def versions(count, size=200_000):
    """Paddle files of some size, each with another mass."""
    filling = "".join(f"# {i:07}\n" for i in range(size // 10))
    return [PADDLE.replace("300.0", f"{300 + i}.0") + filling for i in range(count)]


def test_two_writers_leave_one_whole_version_at_every_moment(tmp_path):
    path, texts = tmp_path / "shared.toml", versions(2)
    write_text(path, texts[0])
    stop = time.monotonic() + 1.0

    def write(text):
        while time.monotonic() < stop:
            write_text(path, text, overwrite=True)

    writers = [threading.Thread(target=write, args=[text]) for text in texts]
    for writer in writers:
        writer.start()
    seen = {path.read_bytes() for _ in iter(lambda: time.monotonic() < stop, False)}
    for writer in writers:
        writer.join()
    assert seen == {text.encode() for text in texts}
    assert [p.name for p in tmp_path.iterdir()] == ["shared.toml"]


@pytest.mark.parametrize("links", [True, False], ids=["links", "no links"])
def test_of_many_that_make_the_same_new_file_one_succeeds(tmp_path, monkeypatch, links):
    if not links:

        def refuse(*args):
            raise OSError(errno.EPERM, os.strerror(errno.EPERM))

        monkeypatch.setattr(os, "link", refuse)
    texts, told, start = versions(8, 1000), [], threading.Barrier(8)

    def write(text):
        start.wait()
        try:
            write_text(tmp_path / "new.toml", text)
        except InputError as error:
            told.append(str(error))
        else:
            told.append(text)

    writers = [threading.Thread(target=write, args=[text]) for text in texts]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    (winner,) = set(told) & set(texts)
    assert sum("already exists and was left as it is" in words for words in told) == 7
    assert (tmp_path / "new.toml").read_text(encoding="utf-8") == winner
    assert len(list(tmp_path.iterdir())) == 1


SAVE_FOREVER = """
import sys
from pathlib import Path
from paddlebal.files.saving import write_bytes
path, *sources = map(Path, sys.argv[1:])
texts = [source.read_bytes() for source in sources]
print("ready", flush=True)
while True:
    for text in texts:
        write_bytes(path, text, overwrite=True, keep=False)
"""


def test_a_program_killed_while_it_saves_leaves_a_whole_file(tmp_path):
    texts, rng = versions(2), random.Random(1)
    sources = [tmp_path / f"source{i}" for i in range(len(texts))]
    for source, text in zip(sources, texts, strict=True):
        source.write_text(text, encoding="utf-8")
    folder = tmp_path / "saved"
    folder.mkdir()
    path = folder / "mine.toml"
    path.write_text(PADDLE, encoding="utf-8")
    for _ in range(12):
        words = [sys.executable, "-c", SAVE_FOREVER, path, *sources]
        with subprocess.Popen(words, stdout=subprocess.PIPE, cwd=ROOT) as program:
            assert program.stdout.readline() == b"ready\n"
            time.sleep(rng.uniform(0, 0.03))
            program.kill()
        assert program.returncode == -9
        assert path.read_text(encoding="utf-8") in (*texts, PADDLE)
        assert load_paddle(path).name == "Demo ocean"
    assert path.read_text(encoding="utf-8") != PADDLE
    assert all(p == path or p.name.startswith(".mine.toml.") for p in folder.iterdir())


# All that is wrong, not only the first.

NUMBERS = re.findall(r"^(\w+) = [-\d.]+$", PADDLE.partition("[[keep_out]]")[0], re.M)


@given(st.sets(st.integers(0, len(NUMBERS) - 1)))
def test_each_bad_field_of_a_paddle_is_told_and_no_other(chosen):
    count, fields, lines, table = 0, [], [], ""
    for line in PADDLE.splitlines():
        if line.startswith("["):
            table = line.strip("[]") + "."
        if re.fullmatch(r"\w+ = [-\d.]+", line):
            if count in chosen:
                key = line.split()[0]
                line = f'{key} = "bad"'
                fields.append(table + key)
            count += 1
        lines.append(line)
    found = file_problems("\n".join(lines), "paddle")
    assert sorted(error.field for error in found) == sorted(fields)
    assert all("is 'bad', expected a finite number" in str(error) for error in found)


def test_what_is_no_table_is_told_once():
    text = re.sub(r"\[shaft\][^\[]*", "", PADDLE.partition("[[keep_out]]")[0])
    found = file_problems("shaft = 3\nkeep_out = 3\n" + text, "paddle")
    assert [error.field for error in found] == ["shaft", "keep_out"]
    assert all("expected" in str(error) and "table" in str(error) for error in found)


@pytest.mark.parametrize("name", [name for name in CSV_NAMES if name != "motion.csv"])
@given(st.data())
def test_each_bad_cell_of_a_bench_file_is_told_and_no_other(name, data):
    lines = READERS[name][1].rstrip("\n").split("\n")
    head = next(i for i, line in enumerate(lines) if not line.startswith("#"))
    names = [re.sub(r" \[.*", "", title) for title in lines[head].split(",")]
    row = st.integers(head + 1, len(lines) - 1)
    chosen = data.draw(st.sets(st.tuples(row, st.sampled_from(names)), max_size=8))
    cut = data.draw(st.sets(row, max_size=2)) - {row for row, _ in chosen}
    for row, column in chosen:
        cells = lines[row].split(",")
        cells[names.index(column)] = "bad"
        lines[row] = ",".join(cells)
    for row in cut:
        lines[row] = lines[row].rpartition(",")[0]
    found = file_problems("\n".join(lines) + "\n", "bench")
    expected = {(row + 1, column) for row, column in chosen} | {(row + 1, None) for row in cut}
    assert {(error.row, error.field) for error in found} == expected
    assert len(found) == len(expected)
    assert [error.row for error in found] == sorted(error.row for error in found)


@pytest.mark.parametrize("name", [name for name in READERS if name != "motion.csv"])
@settings(max_examples=80)
@given(damage)
def test_there_are_problems_just_where_the_reader_refuses(tmp_path_factory, name, damage):
    text = READERS[name][1]
    for place, length, piece in damage:
        start = int(place * len(text))
        text = text[:start] + piece.decode("utf-8", "ignore") + text[start + length :]
    text = re.sub(r"[\0\r\ufeff]", "", text) + "\n"
    folder = tmp_path_factory.mktemp("both")
    result = attempt(name, text.encode(), folder)
    found = file_problems(text, "paddle" if name.endswith("toml") else "bench", folder / name)
    assert bool(found) == isinstance(result, InputError)
    assert not found or str(result) in map(str, found)


def test_problems_of_header_names_and_rows_are_told_together():
    text = LEVER.replace('"rollers"', '"knives"').replace("arm_u_mm = 0.5", "arm_u_cm = 0.05")
    text = text.replace("arm [mm]", "arm [g]").replace("pull [kgf]", "force [N]")
    fields = {error.field for error in file_problems(text + "1,2\n", "bench")}
    assert fields == {"support", "arm_u_mm", "arm_u_cm", "arm", "force", "pull", None}


# No text is ever run as a program.

RUNS_TEXT = {"eval", "exec", "compile", "__import__", "sympify", "parse_expr"}
LOADS_OBJECTS = {"pickle", "cPickle", "dill", "cloudpickle", "marshal", "shelve", "joblib", "code"}


def test_no_module_runs_text_or_loads_pickled_objects():
    modules = sorted((ROOT / "paddlebal").rglob("*.py"))
    assert len(modules) > 20
    for module in modules:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            called = node.func if isinstance(node, ast.Call) else None
            if isinstance(called, ast.Name):
                assert called.id not in RUNS_TEXT, f"{module.name}, row {called.lineno}"
            if isinstance(called, ast.Attribute):
                assert called.attr not in {"eval", "sympify", "parse_expr", "literal_eval"}
            if isinstance(node, ast.Import):
                imported = {alias.name.partition(".")[0] for alias in node.names}
                assert not imported & LOADS_OBJECTS, f"{module.name}, row {node.lineno}"
            if isinstance(node, ast.ImportFrom):
                assert (node.module or "").partition(".")[0] not in LOADS_OBJECTS, module.name
            if isinstance(node, ast.keyword):
                assert node.arg != "allow_pickle", module.name


# The table in tests/README.md.


def bad(name, old, new):
    """Reads a file in which `old` stands as `new`."""
    text = READERS[name][1]
    assert old in text
    return lambda folder: read_content(name, text.replace(old, new, 1).encode(), folder)


def raw(name, content):
    return lambda folder: read_content(name, content, folder)


def read_content(name, content, folder):
    (folder / name).write_bytes(content)
    return lambda: READERS[name][0](folder / name)


def saving(name, **trouble):
    """Saves a paddle, while the named calls of the system fail."""

    def make(folder):
        paddle = load_paddle(data_path("paddles", "ocean.toml"))
        (folder / "mine.toml").write_text("what was there")

        def save():
            save_paddle(paddle, folder / name, overwrite=bool(trouble))

        def save_in_trouble():
            ((call, code),) = trouble.items()
            with failing(call, code):
                save()

        return save_in_trouble if trouble else save

    return make


def dangling(folder):
    (folder / "link.csv").symlink_to("nowhere.csv")
    return lambda: read_bench(folder / "link.csv")


def a_folder(folder):
    (folder / "lever.csv").mkdir()
    return lambda: read_bench(folder / "lever.csv")


def bench_as_results(folder):
    (folder / "bench").mkdir()
    (folder / "bench" / "lever.csv").write_text(LEVER, encoding="utf-8")
    return lambda: fit_all(folder / "bench", folder / "bench", None, overwrite=True)


def saving_unreadable(folder):
    (folder / "mine.toml").write_text("what was there")
    paddle = dataclasses.replace(load_paddle(data_path("paddles", "ocean.toml")), feather=5.0)
    return lambda: save_paddle(paddle, folder / "mine.toml", overwrite=True)


SECOND = LEVER.splitlines()[16]
HEAD_LINES = "".join(line + "\n" for line in LEVER.splitlines() if line.startswith("#"))
CASES = {
    "a file that is not there": lambda folder: lambda: read_bench(folder / "lever.csv"),
    "a link that leads nowhere": dangling,
    "a folder in place of a file": a_folder,
    "an empty file": raw("lever.csv", b""),
    "a picture named as a paddle": raw("paddle.toml", b"\x89PNG\r\n\x1a\n"),
    "a text in UTF-32": raw("lever.csv", LEVER.encode("utf-32")),
    "a workbook cut short": raw("lever.csv", xlsx([["a", "b"]])[:200]),
    "an umlaut in an older encoding": raw(
        "paddle.toml", PADDLE.replace("Demo", "Dëmo").encode("latin-1")
    ),
    "a decimal comma between commas": bad("lever.csv", "0.0998", "0,0998"),
    "a decimal comma among decimal points": raw(
        "lever.csv", LEVER.replace(",", ";").replace("0.0998", "0,0998").encode()
    ),
    "a comma that may part thousands": raw(
        "lever.csv",
        (HEAD_LINES + "roll [deg];arm [mm];pull [g];turning\n0;250;1,234;with\n").encode(),
    ),
    "a number that a spreadsheet took for a date": bad("lever.csv", "0.0998", "3-Feb"),
    "a spreadsheet's failed formula": bad("lever.csv", "0.0998", "#REF!"),
    "a blank cell": bad("lever.csv", "0.0998", ""),
    "a cell that holds nan": bad("lever.csv", "0.0998", "nan"),
    "a force without its arm": raw(
        "lever.csv", re.sub(r"arm \[mm\],|(?<=,)250\.0,", "", LEVER).encode()
    ),
    "a force on an arm of 0": bad("lever.csv", SECOND, SECOND.replace("250.0", "0")),
    "a column without its unit": bad("lever.csv", "pull [kgf]", "pull"),
    "a unit of the wrong kind": bad("lever.csv", "pull [kgf]", "pull [mm]"),
    "a unit that would take forever": bad("lever.csv", "arm [mm]", "arm [9**9**9]"),
    "a column twice": bad("lever.csv", "arm [mm]", "roll [deg]"),
    "a word that is not known": bad("lever.csv", "against", "down"),
    "an unknown method": bad("lever.csv", '"lever"', '"scales"'),
    "a quotation mark without its partner": bad("lever.csv", "against", '"against'),
    "a row cut short": raw("lever.csv", LEVER[: LEVER.index(SECOND) + 10].encode() + b"\n"),
    "a file cut short within its last number": raw(
        "swing.csv", READERS["swing.csv"][1].rstrip()[:-1].encode()
    ),
    "a paddle file cut short": raw("paddle.toml", PADDLE[: PADDLE.index("52.0") - 2].encode()),
    "a field without its unit": bad("paddle.toml", "mass_g = 300.0", "mass = 300.0"),
    "a misspelt field": bad("paddle.toml", "feather_deg", "fether_deg"),
    "a negative mass": bad("paddle.toml", "mass_g = 300.0", "mass_g = -300.0"),
    "a text in place of a number": bad("paddle.toml", "mass_g = 300.0", 'mass_g = "heavy"'),
    "a date in place of a number": bad("paddle.toml", "mass_g = 300.0", "mass_g = 2026-02-03"),
    "a number of 5000 digits": bad("paddle.toml", "300.0", "9" * 5000),
    "brackets in brackets without end": raw("paddle.toml", b"a = " + b"[" * 100_000),
    "a motion whose time goes back": bad("motion.csv", "\n0.10,", "\n0.01,"),
    "a motion that states far less than its noise": bad("motion.csv", "deg = 0.5", "deg = 1e-6"),
    "a motion without end of uncertainty": bad("motion.csv", "mm = 4.0", "mm = 1e308"),
    "a motion with a leap": bad("motion.csv", "\n0.20,2.8", "\n0.20,1e9"),
    "an uncertainty of almost nothing": bad("lever.csv", "scale_u_N = 0.01", "scale_u_N = 1e-300"),
    "grams typed as kilograms": bad("paddle.toml", "mass_g = 175.0", "mass_g = 0.175"),
    "words without quotation marks": bad("lever.csv", '"rollers"', "rollers"),
    "a bench file that names a file elsewhere": lambda folder: (
        lambda: paddle_file(folder / "lever.csv", "../secret.toml")
    ),
    "results where the bench files are": bench_as_results,
    "saving over a file without being told to": saving("mine.toml"),
    "saving into a folder that is not there": saving("nowhere/mine.toml"),
    "replacing a file on a full disk": saving("mine.toml", fsync=errno.ENOSPC),
    "replacing a file in a protected folder": saving("mine.toml", open=errno.EACCES),
    "saving what could not be read back": saving_unreadable,
    "a name that leads out of the panel's folder": lambda folder: (
        lambda: inside(folder, "../lever.csv")
    ),
}


def table_rows():
    """{what was tried: (what the user sees, what was lost)} of the table in tests/README.md."""
    text = (ROOT / "tests" / "README.md").read_text(encoding="utf-8")
    lines = text.partition("\n## Mutation run")[0].splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("| bad input tried |")) + 2
    rows = [line.strip("| ").split(" | ") for line in lines[start:] if line.startswith("|")]
    return {tried: (sees, lost) for tried, sees, lost in rows}


def test_the_table_lists_every_case_once():
    assert list(table_rows()) == list(CASES)


@pytest.mark.parametrize("case", CASES)
def test_the_table_tells_what_the_user_sees_and_loses(tmp_path, case):
    act = CASES[case](tmp_path)
    before = snapshot(tmp_path)
    with pytest.raises(InputError) as caught:
        act()
    sees = str(caught.value).replace(f"{tmp_path}{os.sep}", "")
    lost = "nothing" if snapshot(tmp_path) == before else "something"
    assert table_rows()[case] == (sees, lost)


def snapshot(folder):
    """Everything in a folder: what each file holds, where each link leads."""
    return {
        path.name: os.readlink(path)
        if path.is_symlink()
        else path.read_bytes()
        if path.is_file()
        else snapshot(path)
        for path in folder.iterdir()
    }
