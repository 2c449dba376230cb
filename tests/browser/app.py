"""The notebooks as pages without code, served by the command behind `make app`."""

import re
import shutil
import sys
from contextlib import ExitStack
from pathlib import Path

from browser.servers import free_port, serving

ROOT = Path(__file__).resolve().parents[2]
SERVED = ("notebooks", "data", "app")
OWN = shutil.ignore_patterns("workshop.sqlite*")


class App:
    """The app in a copy of the project, with the set-up taken as done.

    address : str, without the token; token : str, which the address that is opened carries;
    server : the process.
    """

    def __init__(self, folder):
        self.folder, self.open = folder, ExitStack()

    def __enter__(self):
        for name in SERVED:
            shutil.copytree(ROOT / name, self.folder / name, ignore=OWN)
        shutil.copy(ROOT / "Makefile", self.folder)
        (self.folder / ".venv").symlink_to(Path(sys.executable).parents[1])
        port = free_port()
        self.address = f"http://127.0.0.1:{port}"
        command = ["make", "--old-file=.venv/ready", "app"]
        command += [f"OPTIONS=--no-browser --port={port}"]
        kinds = ("CONFIG", "RUNTIME", "DATA")
        own = {f"JUPYTER_{kind}_DIR": str(self.folder / kind) for kind in kinds}
        log = self.folder / "app.log"
        self.server = self.open.enter_context(serving(command, self.address, self.folder, own, log))
        self.token = re.search(r"\?token=(\w+)", log.read_text())[1]
        return self

    def __exit__(self, *_):
        self.open.close()

    def page(self, name=""):
        """The address, with its token, of a notebook's page; without a name that of the list."""
        path = f"/voila/render/{name}.ipynb" if name else "/"
        return f"{self.address}{path}?token={self.token}"
