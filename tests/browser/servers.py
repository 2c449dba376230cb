"""Start a server for a test and see to it that it ends."""

import os
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from contextlib import contextmanager


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def serving(command, address, folder, environment, log, seconds=60):
    """Run a server in a folder from when it answers at an address until the block ends.

    environment : dict, what to add to this process's own; log : Path of the server's words.
    RuntimeError with these words if it ends or does not answer in time.
    """
    with log.open("w") as words:
        server = subprocess.Popen(
            command,
            cwd=folder,
            env=os.environ | environment,
            stdout=words,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
    try:
        _wait(server, address, log, seconds)
        yield server
    finally:
        _end(server)


def _wait(server, address, log, seconds):
    stop = time.monotonic() + seconds
    while time.monotonic() < stop and server.poll() is None:
        try:
            urllib.request.urlopen(address, timeout=2)
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise RuntimeError(f"the server did not start:\n{log.read_text()}")


def _end(server):
    try:
        os.killpg(server.pid, signal.SIGTERM)
        server.wait(10)
    except subprocess.TimeoutExpired:
        os.killpg(server.pid, signal.SIGKILL)
        server.wait()
    except ProcessLookupError:
        server.wait()
