"""A book of each kind: an SQLite file, and a database on a PostgreSQL server of the test's own."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest
import sqlalchemy as sa

from paddlebal.book.book import Book

PROGRAMS = next(iter(sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)), None)


def as_postgres(*command):
    """The command as a user that may run the server: it refuses to run as root."""
    if os.geteuid() != 0:
        return list(command)
    return ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", *command]


class Server:
    """A server on a socket in a folder."""

    def __init__(self, folder):
        self.folder, self._data = folder, folder / "data"
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres", "postgres")
        self._run("initdb", "-D", self._data, "-U", "book", "-A", "trust", "-E", "UTF8",
                  "--no-sync", "--locale=C")  # fmt: skip
        self.start()

    def _run(self, program, *options):
        command = as_postgres(str(PROGRAMS / program), *map(str, options))
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=self.folder,
                       stderr=subprocess.DEVNULL)  # fmt: skip

    def start(self):
        socket = f"-c listen_addresses='' -c unix_socket_directories='{self.folder}'"
        self._run(
            "pg_ctl", "-D", self._data, "-w", "-l", self.folder / "log", "-o", socket, "start"
        )

    def stop(self):
        self._run("pg_ctl", "-D", self._data, "-w", "-m", "immediate", "stop")

    def address(self, name):
        return f"postgresql+psycopg://book@/{name}?host={self.folder}"

    def new(self, name):
        engine = sa.create_engine(self.address("postgres"), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(sa.text(f"create database {name}"))
        engine.dispose()
        return self.address(name)


@pytest.fixture(scope="session")
def server():
    if PROGRAMS is None:
        pytest.skip("PostgreSQL is not installed: only SQLite is tested")
    # The path of a socket must be short.
    folder = Path(subprocess.check_output(["mktemp", "-d"], text=True).strip())
    folder.chmod(0o755)
    running = Server(folder)
    yield running
    running.stop()
    shutil.rmtree(folder)


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """Where a book may lie: a folder, or an address."""
    if request.param == "sqlite":
        return tmp_path
    name = "".join(c for c in request.node.name.lower() if c.isalnum())[-40:]
    return request.getfixturevalue("server").new(f"t{name}{os.getpid()}")


@pytest.fixture
def book(place):
    made = Book(place)
    yield made
    made.close()
