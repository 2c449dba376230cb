"""A server that a test starts ends, whatever happens."""

import sys

import psutil
import pytest
from browser.servers import free_port, serving

SLEEP = [sys.executable, "-c", "import time; print('no answer', flush=True); time.sleep(60)"]


def children():
    return {child.pid for child in psutil.Process().children(recursive=True)}


def test_a_server_that_does_not_answer_is_ended_and_its_words_told(tmp_path):
    before, address = children(), f"http://127.0.0.1:{free_port()}"
    with (
        pytest.raises(RuntimeError, match="no answer"),
        serving(SLEEP, address, tmp_path, {}, tmp_path / "log", seconds=1),
    ):
        pass
    assert children() <= before


def test_a_server_ends_when_the_test_fails(tmp_path):
    before, port = children(), free_port()
    command = [sys.executable, "-m", "http.server", str(port), "--bind", "127.0.0.1"]
    address = f"http://127.0.0.1:{port}"
    with (
        pytest.raises(ZeroDivisionError),
        serving(command, address, tmp_path, {}, tmp_path / "log"),
    ):
        1 / 0  # noqa: B018
    assert children() <= before
