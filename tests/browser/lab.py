"""Drives notebooks in a real JupyterLab in headless Chromium.

    with Lab(browser, folder, Path("notebooks"), Path("data")) as lab:
        page = lab.open("00_start_here.ipynb")
        page.run_all()
        page.drag("roll angle", 0.5, 0.8)
        page.screenshot("whole.png")
        page.cell(2).screenshot(path="third_cell.png")

The server works on a copy, on a free port of this machine only. `page` has Playwright's own
page as `page.page`, for everything that is not here.
"""

import json
import shutil
import sys
import time
from base64 import b64decode
from contextlib import ExitStack

from browser.app import OWN
from browser.servers import free_port, serving
from playwright.sync_api import Error as PlaywrightError

SETTINGS = {
    "notebook-extension/tracker": {"windowingMode": "none"},
    "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
}


class Lab:
    """A JupyterLab server on copies of folders, and a browser's window to it.

    Parameters
    ----------
    browser : playwright.sync_api.Browser
    folder : Path
        An empty folder to work in.
    notebooks : Path
        Folder to copy and serve.
    *beside : Path
        Folders to copy next to it, for notebooks that read `../data`.
    width, height, scale
        Size of the browser's window [CSS pixels] and device pixels per CSS pixel.
    """

    def __init__(self, browser, folder, notebooks, *beside, width=1300, height=1000, scale=1):
        self.browser, self.folder, self.notebooks = browser, folder, notebooks
        self.beside, self.held = beside, ExitStack()
        size = {"width": width, "height": height}
        self.window = {"viewport": size, "device_scale_factor": scale}

    def __enter__(self):
        with ExitStack() as held:
            self.context = self._start(held)
            self.held = held.pop_all()
        return self

    def _start(self, held):
        for source in (self.notebooks, *self.beside):
            shutil.copytree(source, self.folder / "work" / source.name, ignore=OWN)
        for name, values in SETTINGS.items():
            file = self.folder / "settings/@jupyterlab" / f"{name}.jupyterlab-settings"
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps(values))
        port = free_port()
        self.address = f"http://127.0.0.1:{port}"
        places = {"CONFIG": "config", "RUNTIME": "runtime", "DATA": "data"}
        places = {f"JUPYTER_{k}_DIR": str(self.folder / v) for k, v in places.items()}
        places["JUPYTERLAB_SETTINGS_DIR"] = str(self.folder / "settings")
        places["JUPYTERLAB_WORKSPACES_DIR"] = str(self.folder / "workspaces")
        command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"]
        command += ["--expose-app-in-browser", "--IdentityProvider.token="]
        command += ["--ServerApp.ip=127.0.0.1", f"--ServerApp.port={port}"]
        command += ["--ServerApp.port_retries=0"]
        log = self.folder / "server.log"
        work = self.folder / "work"
        held.enter_context(serving(command, f"{self.address}/api", work, places, log))
        context = self.browser.new_context(**self.window)
        held.callback(context.close)
        return context

    def open(self, name):
        """Open a notebook of the served folder and wait for its kernel."""
        page = self.context.new_page()
        page.goto(f"{self.address}/lab/tree/{self.notebooks.name}/{name}?reset")
        notebook = NotebookPage(page)
        notebook.wait_idle(120)
        return notebook

    def __exit__(self, *_):
        self.held.close()


class NotebookPage:
    """One open notebook."""

    def __init__(self, page):
        self.page = page
        self.messages: list[str] = []
        page.on("console", lambda m: self.messages.append(f"{m.type}: {m.text}"))
        page.on("pageerror", lambda error: self.messages.append(f"error: {error}"))

    def run_all(self, seconds=180):
        """Run every cell and wait until the kernel is idle."""
        self._command("notebook:run-all-cells", seconds)
        self.wait_idle(seconds)

    def run_cell(self, index, seconds=60):
        """Run one cell, counted from 0, and wait until the kernel is idle."""
        self.page.evaluate(
            "i => { jupyterapp.shell.currentWidget.content.activeCellIndex = i }", index
        )
        self._command("notebook:run-cell", seconds)
        self.wait_idle(seconds)

    def _command(self, command, seconds):
        self.page.set_default_timeout(seconds * 1000)
        self.page.evaluate("c => jupyterapp.commands.execute(c)", command)
        self.page.set_default_timeout(30_000)

    def wait_idle(self, seconds=60, settle=0.5):
        """Wait until the kernel has been idle for `settle` seconds."""
        idle = "() => window.jupyterapp?.shell.currentWidget?.sessionContext?.session"
        idle += "?.kernel?.status === 'idle'"
        stop, since = time.monotonic() + seconds, None
        while time.monotonic() < stop:
            if not self._is(idle):
                since = None
            elif since is None:
                since = time.monotonic()
            elif time.monotonic() - since > settle:
                return
            self.page.wait_for_timeout(50)
        raise TimeoutError("the kernel is still busy")

    def _is(self, condition):
        """Whether a condition holds in the page; not while it loads anew."""
        try:
            return self.page.evaluate(condition)
        except PlaywrightError as error:
            if "Execution context was destroyed" in str(error):
                return False
            raise

    def errors(self):
        """Texts of the tracebacks in the cells' outputs."""
        shown = self.page.locator(
            ".jp-RenderedText[data-mime-type='application/vnd.jupyter.stderr']"
        )
        return shown.all_inner_texts()

    def cell(self, index):
        """The cell, counted from 0, as a Playwright locator."""
        return self.page.locator(".jp-Notebook .jp-Cell").nth(index)

    def _within(self, cell):
        return self.page.locator(".jp-Notebook") if cell is None else self.cell(cell)

    def slider(self, description, cell=None):
        """The first slider described by these words, in the whole notebook or in one cell."""
        return self._within(cell).locator(".widget-slider", has_text=description).first

    def value(self, description, cell=None):
        """What the slider's readout says."""
        return self.slider(description, cell).locator(".widget-readout").inner_text()

    def drag(self, description, start, stop, moves=20, pause=0.01, cell=None):
        """Drag a slider between two places of its track, 0 left and 1 right.

        The mouse goes to `start` first, then makes `moves` moves, `pause` seconds apart.
        """
        slider = self.slider(description, cell)
        slider.scroll_into_view_if_needed()
        box = slider.locator(".noUi-target").bounding_box()
        handle = slider.locator(".noUi-handle").bounding_box()
        y, mouse = handle["y"] + handle["height"] / 2, self.page.mouse
        mouse.move(handle["x"] + handle["width"] / 2, y)
        mouse.down()
        for i in range(moves + 1):
            mouse.move(box["x"] + box["width"] * (start + (stop - start) * i / moves), y)
            self.page.wait_for_timeout(1000 * pause)
        mouse.up()

    def press(self, description, key, times=1, cell=None):
        """Focus a slider and press a key on it, such as 'ArrowRight'."""
        self.slider(description, cell).locator(".noUi-handle").focus()
        for _ in range(times):
            self.page.keyboard.press(key)

    def click(self, name, cell=None):
        """Click the first button of this name."""
        self._within(cell).get_by_role("button", name=name, exact=True).first.click()

    def choose(self, description, label, cell=None):
        """Choose from the first list described by these words."""
        chooser = self._within(cell).locator(".widget-dropdown", has_text=description).first
        chooser.locator("select").select_option(label)

    def pixels(self, index=0, cell=None):
        """What the browser shows of a matplotlib canvas, as a PNG's bytes."""
        canvas = self._within(cell).locator(".jupyter-matplotlib-canvas-div canvas").nth(index)
        return b64decode(canvas.evaluate("c => c.toDataURL()").split(",")[1])

    def screenshot(self, path):
        self.page.screenshot(path=path)
