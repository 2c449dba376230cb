"""A panel to look at, check, edit and save the paddle and bench files of a folder."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import escape
from pathlib import Path

import ipywidgets as widgets

from paddlebal.bench.fit import fit_bench
from paddlebal.bench.readings import SWINGS
from paddlebal.errors import InputError
from paddlebal.files.saving import write_text
from paddlebal.files.text import data_files, data_path, decode, read_text
from paddlebal.formats.bench import parse_bench
from paddlebal.formats.checks import file_problems, kind_of
from paddlebal.panels.panel import COLUMN, FLOW, PanelBox, alert_html, close_earlier, sentence_for
from paddlebal.pipeline import paddle_file

LARGEST = 1_000_000
"""Bytes of the largest file that a browser's text area holds with ease."""


MOST_SHOWN, MOST_ALIKE = 50, 10
"""Problems listed at once, in all and of one kind."""


STYLE = """<style>
.paddlebal-file textarea { font-family: monospace; white-space: pre; }
.paddlebal-file .widget-label { position: absolute; clip-path: inset(50%); }  /* heard, not seen */
</style>"""


def files_panel(folder: str | Path) -> widgets.VBox:
    """Look at, check, edit and save the paddle (.toml) and bench (.csv) files of a folder.

    A new file begins empty, with an upload, or with a copy of a demo file.
    'Check' lists all that is wrong with the text. 'Save' writes a new file; if there is one of
    this name it asks first, and the button 'Replace' keeps the version before, under its name
    with .bak1, .bak2, ... added. Only files in the folder itself are read and written, and no
    links.

    Parameters
    ----------
    folder : str or Path

    Returns
    -------
    ipywidgets.VBox
    """
    return _FilesPanel(Path(folder)).widget


def listed(folder):
    """Names of the paddle and bench files in a folder, sorted; links are left out."""
    return [path.name for path in data_files(folder, ".toml", ".csv")]


def demo_files():
    """(name, path) of the demo workshop's paddle and bench files."""
    paddles, bench = (
        data_files(data_path("paddles"), ".toml"),
        data_files(data_path("bench"), ".csv"),
    )
    return [(path.name, path) for path in (*paddles, *bench)]


def inside(folder, name):
    """Path of the data file `name` in the folder; InputError if it may lead anywhere else."""
    plain = name.isprintable() and not set(name) & set('/\\:*?"<>|') and len(name) < 60
    if not plain or name.startswith("."):
        problem = "expected a plain and short file name, without folders"
        raise InputError(problem, file=name, field="file name")
    kind_of(name)
    path = Path(folder) / name
    if path.is_symlink() or path.exists() and not path.is_file():
        raise InputError("is a link or a folder, expected a file", file=path)
    return path


class _FilesPanel:
    """The text in the text area goes to a file only through `_write`."""

    def __init__(self, folder):
        self.folder, self.saved = folder, ""
        self.agreed: Callable[[], None] = lambda: None
        self.files = widgets.Select(description="files", rows=14, layout={"width": "240px"})
        self.files.add_class("paddlebal-file")
        self.upload = widgets.FileUpload(accept=".toml,.csv", description="Upload")
        self.demo = widgets.Dropdown(
            description="copy a demo file",
            options=[("copy a demo file …", ""), *demo_files()],
            layout={"width": "240px"},
        )
        self.demo.add_class("paddlebal-file")
        self.name = widgets.Text(description="file name", continuous_update=False)
        self.text = widgets.Textarea(
            description="text of the file",
            rows=20,
            continuous_update=False,
            layout={"width": "auto"},
        )
        self.text.add_class("paddlebal-file")
        self.told = widgets.HTML(layout={"width": "100%"})
        self.confirm = widgets.Button(button_style="warning", layout={"display": "none"})
        buttons = [self._button("Check", self._check), self._button("Save", self._save)]
        self.confirm.on_click(lambda _: self._attempt(self._go_on))
        self.files.observe(lambda _: self._attempt(self._chosen), "value")
        self.demo.observe(lambda _: self._attempt(self._copied), "value")
        self.upload.observe(lambda _: self._attempt(self._uploaded), "value")
        for typed in (self.name, self.text):
            typed.observe(lambda _: self._typed(), "value")
        label = widgets.Label("files in this folder")
        left = widgets.VBox([widgets.HTML(STYLE), label, self.files, self.demo, self.upload])
        right = [self.name, self.text, widgets.HBox([*buttons, self.confirm]), self.told]
        right = widgets.VBox(right, layout=COLUMN | {"min_width": "0"})
        self.widget = PanelBox("files", [], [widgets.HBox([left, right], layout=FLOW)])
        self._attempt(self._list)
        close_earlier("files", self.widget)

    def _button(self, description, action):
        button = widgets.Button(description=description)
        button.on_click(lambda _: self._attempt(action))
        return button

    def _attempt(self, action):
        try:
            action()
        except Exception as error:
            self.told.value = alert_html(sentence_for(error))

    def _typed(self):
        """What was said of the text before no longer holds."""
        self._ask(None)
        self.told.value = ""

    def _tell(self, words, found=()):
        lines = _lines(found)
        items = "".join(f"<li>{escape(line)}</li>" for line in lines[:MOST_SHOWN])
        rest = len(lines) - MOST_SHOWN
        more = f"<p>and {rest} more</p>" if rest > 0 else ""
        self.told.value = f'<p role="status">{escape(words)}</p><ol>{items}</ol>{more}'

    def _ask(self, action, description="", words=""):
        """Show a button that does `action`, until something else is typed or done."""
        self.agreed, self.confirm.description = action, description
        self.confirm.layout.display = "none" if action is None else None
        if action:
            self._tell(words)

    def _go_on(self):
        action, _ = self.agreed, self._ask(None)
        action()

    def _list(self):
        self.files.options = listed(self.folder)

    def _chosen(self):
        name, self.files.value = self.files.value, None
        if name is not None:
            self._put(name, read_text(_small(self.folder, name), _expected(name)))

    def _copied(self):
        path, self.demo.value = self.demo.value, ""
        if path:
            self._put(path.name, read_text(path, _expected(path)))

    def _uploaded(self):
        files, self.upload.value = self.upload.value, ()
        for file in files:
            name, content = file["name"], bytes(file["content"])
            _refuse_large(len(content), name)
            self._put(name, decode(content, _expected(name), name))

    def _put(self, name, text):
        """Show a text, but ask first if that would lose what was typed."""

        def put():
            self.name.value, self.text.value, self.saved = name, text, text
            self._check()

        if self.text.value == self.saved:
            put()
        else:
            words = "The text was changed and not saved. Save it, or discard the changes."
            self._ask(put, "Discard changes", words)

    def _check(self):
        name = self.name.value.strip()
        found = file_problems(self.text.value, kind_of(name), name)
        advice = () if found else self._advice(name)
        self._tell(f"{name}: {_counted(len(found), len(advice))}", [*found, *advice])

    def _advice(self, name):
        """What a bench file without a mistake still lacks, or makes doubtful."""
        if kind_of(name) != "bench":
            return ()
        readings = parse_bench(self.text.value, name)
        if isinstance(readings, SWINGS):
            return ()
        try:
            doubts = fit_bench(readings).doubts
            paddle_file(self.folder / name, readings.paddle)
        except InputError as error:
            return (error,)
        if readings.rest is None:
            return (*doubts, "Where the paddle comes to rest by itself is not stated (rest_deg).")
        return doubts

    def _save(self):
        path = inside(self.folder, self.name.value.strip())
        if path.exists():
            words = f"{path.name} exists. Replace it? The version before will be kept beside it."
            self._ask(lambda: self._write(path, overwrite=True), "Replace", words)
        else:
            self._write(path)

    def _write(self, path, overwrite=False):
        text = self.text.value
        whole = text if text.endswith("\n") else text + "\n"
        kept = write_text(path, whole, overwrite, keep=True)
        self.saved = text
        self._list()
        found = file_problems(text, kind_of(path), path.name)
        advice = () if found else self._advice(path.name)
        version = f", the version before is {kept.name}" if kept else ""
        words = f"{path.name} is saved{version}: {_counted(len(found), len(advice))}"
        self._tell(words, [*found, *advice])


def _lines(found):
    """The problems as they are listed: of many of one kind some, and how many more there are."""
    kinds: dict[tuple[str | None, str], list[str]] = {}
    for problem in found:
        words = re.sub(r"'[^']*'|[0-9]+", "", getattr(problem, "problem", problem))
        kinds.setdefault((getattr(problem, "field", None), words), []).append(str(problem))
    lines = []
    for alike in kinds.values():
        lines += alike[:MOST_ALIKE]
        if len(alike) > MOST_ALIKE:
            lines.append(f"and {len(alike) - MOST_ALIKE} more like this one")
    return lines


def _counted(count, doubts):
    if not count and doubts:
        return "every entry can be read, but"
    return {0: "nothing is wrong", 1: "1 problem"}.get(count, f"{count} problems")


def _expected(name):
    return {"paddle": "a TOML file", "bench": "a CSV file"}[kind_of(name)]


def _small(folder, name):
    path = inside(folder, name)
    _refuse_large(path.stat().st_size, path)
    return path


def _refuse_large(size, file):
    if size > LARGEST:
        raise InputError(f"is larger than {LARGEST / 1e6:g} MB, edit it elsewhere", file=file)
