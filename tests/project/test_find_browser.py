"""The tests' browser: found, brought, or its absence told in one sentence at once."""

import os
import subprocess
import sys
from pathlib import Path

import find_browser
import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def bare(tmp_path, monkeypatch):
    """A PATH with no browser on it."""
    for name in ("make", "sh", "echo"):
        (tmp_path / name).symlink_to(find_browser.shutil.which(name))
    (tmp_path / "python3").symlink_to(sys.executable)
    monkeypatch.setenv("PATH", str(tmp_path))
    return tmp_path


def test_a_browser_on_the_path_is_found(bare):
    program = bare / "chromium"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    assert find_browser.find_browser() == str(program)


def test_make_test_stops_with_one_sentence_before_anything_is_installed(bare, tmp_path):
    copy = tmp_path / "copy"
    (copy / "tools").mkdir(parents=True)
    (copy / "Makefile").write_bytes((ROOT / "Makefile").read_bytes())
    source = (ROOT / "tools" / "find_browser.py").read_text(encoding="utf-8")
    nowhere = source.replace('DOWNLOADS = ("cdn.playwright.dev", 443)', 'DOWNLOADS = ("::1", 9)')
    nowhere = nowhere.replace("    from_the_system()\n", "")
    (copy / "tools" / "find_browser.py").write_text(nowhere, encoding="utf-8")
    environment = {"PATH": os.environ["PATH"], "PLAYWRIGHT_BROWSERS_PATH": str(bare)}
    run = subprocess.run(
        ["make", "test"], cwd=copy, env=environment, capture_output=True, text=True
    )
    assert run.returncode != 0
    assert find_browser.MISSING in run.stderr
    assert not (copy / ".venv").exists()


def test_the_systems_package_is_installed_only_where_nobody_is_asked(bare, monkeypatch):
    ran = []
    monkeypatch.setattr(find_browser, "_quietly", lambda *command, seconds: ran.append(command))
    find_browser.from_the_system()
    assert ran == []
    program = bare / "apt-get"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.setattr(find_browser.os, "geteuid", lambda: 1000)
    find_browser.from_the_system()
    assert ran == []
    monkeypatch.setattr(find_browser.os, "geteuid", lambda: 0)
    find_browser.from_the_system()
    assert ran[-1][:3] == ("apt-get", "install", "-y") and ran[-1][-1] == "chromium"
