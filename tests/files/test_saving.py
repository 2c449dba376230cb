"""Files appear whole or not at all, and an existing one is never harmed."""

import errno
import os

import pytest

from paddlebal import InputError
from paddlebal.files.saving import write_bytes, write_text
from paddlebal.files.text import data_files, data_path


def failing(name, code):
    """A stand-in for os.`name` that fails as a full disk or a protected folder would."""

    def fail(*args, **kwargs):
        raise OSError(code, os.strerror(code))

    return name, fail


FULL = failing("fsync", errno.ENOSPC)
PROTECTED = failing("replace", errno.EACCES)
NO_NAME = failing("link", errno.EROFS)


def test_text_is_written_as_utf_8(tmp_path):
    write_text(tmp_path / "note.txt", "Größe 5 g·mm\n")
    assert (tmp_path / "note.txt").read_bytes() == "Größe 5 g·mm\n".encode()


def test_an_existing_file_is_left_as_it_is(tmp_path):
    path = tmp_path / "note.txt"
    path.write_bytes(b"precious")
    with pytest.raises(InputError, match="already exists and was left as it is") as caught:
        write_text(path, "new")
    assert str(path) in str(caught.value)
    assert files_in(tmp_path) == {"note.txt": b"precious"}


def test_an_existing_file_is_replaced_as_a_whole_when_asked(tmp_path):
    path = tmp_path / "note.txt"
    path.write_bytes(b"a much longer text than the new one")
    write_bytes(path, b"new", overwrite=True)
    assert files_in(tmp_path) == {"note.txt": b"new"}


@pytest.mark.parametrize("trouble", [FULL, PROTECTED], ids=["full disk", "protected folder"])
def test_failure_midway_leaves_the_old_file_and_nothing_beside_it(tmp_path, monkeypatch, trouble):
    path = tmp_path / "note.txt"
    path.write_bytes(b"precious")
    monkeypatch.setattr(os, *trouble)
    with pytest.raises(InputError, match="cannot be written") as caught:
        write_text(path, "new", overwrite=True)
    assert str(path) in str(caught.value)
    assert files_in(tmp_path) == {"note.txt": b"precious"}


@pytest.mark.parametrize("trouble", [FULL, NO_NAME], ids=["full disk", "read-only folder"])
def test_failure_midway_leaves_no_half_written_new_file(tmp_path, monkeypatch, trouble):
    monkeypatch.setattr(os, *trouble)
    with pytest.raises(InputError, match="cannot be written"):
        write_text(tmp_path / "note.txt", "new")
    assert files_in(tmp_path) == {}


def test_a_memory_stick_without_links_takes_new_files_and_keeps_old_ones(tmp_path, monkeypatch):
    monkeypatch.setattr(os, *failing("link", errno.EPERM))
    write_text(tmp_path / "note.txt", "precious")
    with pytest.raises(InputError, match="already exists and was left as it is"):
        write_text(tmp_path / "note.txt", "new")
    assert files_in(tmp_path) == {"note.txt": b"precious"}


def test_an_interruption_leaves_the_old_file(tmp_path, monkeypatch):
    def interrupt(*args):
        raise KeyboardInterrupt

    path = tmp_path / "note.txt"
    path.write_bytes(b"precious")
    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_text(path, "new", overwrite=True)
    assert files_in(tmp_path) == {"note.txt": b"precious"}


def test_the_version_before_is_kept_when_asked(tmp_path, monkeypatch):
    path = tmp_path / "note.txt"
    assert write_bytes(path, b"first", overwrite=True, keep=True) is None
    assert write_bytes(path, b"second", overwrite=True, keep=True).name == "note.txt.bak1"
    monkeypatch.setattr(os, *failing("link", errno.EPERM))
    assert write_bytes(path, b"third", overwrite=True, keep=True).name == "note.txt.bak2"
    kept = {"note.txt.bak1": b"first", "note.txt.bak2": b"second"}
    assert files_in(tmp_path) == {"note.txt": b"third", **kept}


def test_a_version_is_not_kept_twice_if_replacing_fails(tmp_path, monkeypatch):
    path = tmp_path / "note.txt"
    path.write_bytes(b"precious")
    monkeypatch.setattr(os, *PROTECTED)
    with pytest.raises(InputError, match="cannot be written"):
        write_bytes(path, b"new", overwrite=True, keep=True)
    assert files_in(tmp_path) == {"note.txt": b"precious"}


def test_a_name_taken_on_a_memory_stick_is_given_back_if_the_file_cannot_follow(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(os, *failing("link", errno.EPERM))
    monkeypatch.setattr(os, *PROTECTED)
    with pytest.raises(InputError, match="cannot be written"):
        write_text(tmp_path / "note.txt", "new")
    assert files_in(tmp_path) == {}


def test_text_that_cannot_be_encoded_touches_nothing(tmp_path):
    path = tmp_path / "note.txt"
    path.write_bytes(b"precious")
    with pytest.raises(InputError, match="holds half a character"):
        write_text(path, "half a pair: \ud800", overwrite=True)
    assert files_in(tmp_path) == {"note.txt": b"precious"}


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be written") as caught:
        write_text(tmp_path / "nowhere" / "note.txt", "new")
    assert "nowhere" in str(caught.value)
    assert files_in(tmp_path) == {}


def test_a_folder_is_not_replaced_by_a_file(tmp_path):
    (tmp_path / "note.txt").mkdir()
    for overwrite in (False, True):
        with pytest.raises(InputError):
            write_text(tmp_path / "note.txt", "new", overwrite=overwrite)
    assert (tmp_path / "note.txt").is_dir() and len(list(tmp_path.iterdir())) == 1


def test_data_path_leads_to_the_projects_data():
    assert data_path("paddles", "ocean.toml").is_file()


def files_in(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_who_may_read_a_file_may_read_what_replaces_it(tmp_path):
    private, new = tmp_path / "private.txt", tmp_path / "new.txt"
    private.write_text("mine")
    private.chmod(0o600)
    write_bytes(private, b"still mine", overwrite=True, keep=True)
    before = os.umask(0o027)
    try:
        write_text(new, "ours")
    finally:
        os.umask(before)
    modes = {path.name: path.stat().st_mode & 0o777 for path in tmp_path.iterdir()}
    assert modes == {"private.txt": 0o600, "private.txt.bak1": 0o600, "new.txt": 0o640}


def test_data_files_are_plain_files_of_the_endings_in_any_case(tmp_path):
    for name in ("b.csv", "A.CSV", ".hidden.csv", "c.toml", "d.txt"):
        (tmp_path / name).touch()
    (tmp_path / "folder.csv").mkdir()
    (tmp_path / "link.csv").symlink_to(tmp_path / "b.csv")
    assert [path.name for path in data_files(tmp_path, ".csv")] == ["A.CSV", "b.csv"]
    assert [path.name for path in data_files(tmp_path, ".csv", ".toml")][-1] == "c.toml"
    with pytest.raises(InputError, match="cannot be listed"):
        data_files(tmp_path / "nowhere", ".csv")


def test_what_a_killed_writer_left_is_removed_by_the_next_one(tmp_path):
    left, writing, other = (
        tmp_path / name
        for name in (".a[1].csv.0123456789abcdef", ".a[1].csv.fedcba9876543210", ".a[1].csv.mine")
    )
    for path in (left, writing, other):
        path.touch()
    for path in (left, other):
        os.utime(path, (0, 0))
    write_text(tmp_path / "a[1].csv", "whole")
    assert sorted(tmp_path.iterdir()) == sorted([writing, other, tmp_path / "a[1].csv"])
