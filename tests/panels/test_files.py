"""The panel for a folder's own files: it tells all, asks before it replaces, and stays inside."""

import re
from datetime import UTC, datetime
from pathlib import Path

import ipywidgets as widgets
import pytest
from panel_parts import inside as inside_of

from paddlebal import file_problems, files_panel, load_paddle, read_bench
from paddlebal.files.text import data_path
from paddlebal.panels import files as panel_module
from paddlebal.panels.files import LARGEST, MOST_ALIKE, MOST_SHOWN, inside, listed

PADDLE = data_path("paddles", "ocean.toml").read_text(encoding="utf-8")
BENCH = data_path("bench", "ocean_lever.csv").read_text(encoding="utf-8")
NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "ocean.toml").write_text(PADDLE, encoding="utf-8")
    (folder / "bench.csv").write_text(BENCH, encoding="utf-8")
    (folder / "notes.txt").write_text("not a data file")
    (tmp_path / "outside.csv").write_text("outside")
    (folder / "link.csv").symlink_to(tmp_path / "outside.csv")
    return folder


class Panel:
    """The panel as a reader meets it: by what its parts are called."""

    def __init__(self, folder):
        self.parts = list(inside_of(files_panel(folder)))
        self.list, self.upload = self._one(widgets.Select), self._one(widgets.FileUpload)
        self.demo = self._one(widgets.Dropdown)
        self.name, self.text = self._one(widgets.Text), self._one(widgets.Textarea)

    def _one(self, kind):
        return next(part for part in self.parts if type(part) is kind)

    @property
    def told(self):
        _, told, _ = (part for part in self.parts if isinstance(part, widgets.HTML))
        return told.value

    def buttons(self):
        shown = (p for p in self.parts if isinstance(p, widgets.Button))
        return {p.description: p for p in shown if p.layout.display != "none"}

    def click(self, description):
        self.buttons()[description].click()

    def send(self, name, content):
        file = {"name": name, "type": "text/csv", "size": len(content), "last_modified": NOON}
        self.upload.value = ({**file, "content": memoryview(content)},)


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_data_files_of_the_folder_are_listed_and_no_links(folder):
    assert listed(folder) == ["bench.csv", "ocean.toml"]
    assert Panel(folder).list.options == ("bench.csv", "ocean.toml")


def test_a_chosen_file_is_shown_as_it_is_and_checked(folder):
    panel = Panel(folder)
    for name, text in (("bench.csv", BENCH), ("ocean.toml", PADDLE)):
        panel.list.value = name
        assert (panel.name.value, panel.text.value) == (name, text)
        assert f"{name}: nothing is wrong" in panel.told


def test_a_copy_of_a_demo_file_is_shown_and_saved_only_on_request(folder):
    panel, before = Panel(folder), contents(folder)
    for name, text in (("sprint_lever.csv", None), ("ocean.toml", PADDLE)):
        panel.demo.value = dict(panel.demo.options)[name]
        assert panel.name.value == name and panel.text.value == (text or panel.text.value)
        assert f"{name}: " in panel.told and "problem" not in panel.told
        assert panel.demo.value == ""
    assert contents(folder) == before
    panel.text.value += "# changed"
    panel.demo.value = dict(panel.demo.options)["sprint.toml"]
    assert panel.name.value == "ocean.toml" and "Discard changes" in panel.buttons()


def test_check_lists_every_problem_row_by_row(folder):
    panel = Panel(folder)
    panel.list.value = "bench.csv"
    rows = panel.text.value.splitlines()
    rows[3] = '# support = "knives"'
    rows[16] = "0.0,250.0,0,0988,against"
    rows[18] = "3-Feb,0,0.1,up"
    panel.text.value = "\n".join(rows) + "\n"
    panel.click("Check")
    found = file_problems(panel.text.value, "bench")
    assert [error.row for error in found] == [None, 17, 19, 19, 19]
    assert [error.field for error in found] == ["support", None, "roll", "arm", "turning"]
    assert "bench.csv: 5 problems" in panel.told and panel.told.count("<li>") == 5


def test_a_long_list_of_problems_is_cut(folder):
    panel = Panel(folder)
    strange = "".join(f"# {'x' * n} = 1\n" for n in range(2, MOST_SHOWN + 9))
    panel.name.value, panel.text.value = "b.csv", strange + BENCH
    panel.click("Check")
    assert panel.told.count("<li>") == MOST_SHOWN and "<p>and 7 more</p>" in panel.told


def test_of_many_problems_of_one_kind_some_are_listed(folder):
    panel = Panel(folder)
    commas = "".join(f'0,250,"1,{n}",with\n' for n in range(MOST_ALIKE + 30))
    panel.name.value, panel.text.value = "b.csv", BENCH + commas + "0,250,1.1,sideways\n"
    panel.click("Check")
    assert f"{MOST_ALIKE + 31} problems" in panel.told
    assert panel.told.count("with a decimal point") == MOST_ALIKE
    assert "and 30 more like this one" in panel.told and "sideways" in panel.told


def test_saving_a_new_file_asks_nothing(folder):
    panel = Panel(folder)
    panel.list.value = "ocean.toml"
    panel.name.value = "Größe 2.toml"
    panel.click("Save")
    assert "Größe 2.toml is saved: nothing is wrong" in panel.told
    assert load_paddle(folder / "Größe 2.toml").name == "Demo ocean"
    assert panel.list.options == ("Größe 2.toml", "bench.csv", "ocean.toml")


def test_replacing_takes_a_second_button_and_keeps_the_version_before(folder):
    panel = Panel(folder)
    panel.list.value = "ocean.toml"
    for number, mass in ((1, "301.0"), (2, "302.0")):
        before = contents(folder)
        panel.text.value = PADDLE.replace("mass_g = 300.0", f"mass_g = {mass}")
        panel.click("Save")
        assert contents(folder) == before and "exists. Replace it?" in panel.told
        panel.click("Replace")
        assert "Replace" not in panel.buttons()
        assert f"the version before is ocean.toml.bak{number}" in panel.told
        new = {"ocean.toml": panel.text.value.encode()}
        assert contents(folder) == before | new | {f"ocean.toml.bak{number}": before["ocean.toml"]}
    assert load_paddle(folder / "ocean.toml").shaft.mass == pytest.approx(0.302)


def test_a_yes_holds_only_for_what_was_asked(folder):
    panel = Panel(folder)
    panel.list.value = "ocean.toml"
    for typed in (panel.text, panel.name):
        panel.click("Save")
        assert "Replace" in panel.buttons()
        typed.value = "x" + typed.value
        assert "Replace" not in panel.buttons() and panel.told == ""


def test_what_was_typed_is_not_lost_by_choosing_another_file(folder):
    panel = Panel(folder)
    panel.list.value = "ocean.toml"
    panel.text.value = typed = PADDLE + "# my remark\n"
    panel.list.value = "bench.csv"
    assert panel.text.value == typed and panel.name.value == "ocean.toml"
    panel.click("Discard changes")
    assert panel.text.value == BENCH and panel.name.value == "bench.csv"


def test_a_file_with_problems_can_be_saved_and_says_so(folder):
    panel = Panel(folder)
    panel.name.value, panel.text.value = "half.csv", '# method = "lever"'
    panel.click("Save")
    assert "half.csv is saved: " in panel.told and "problems" in panel.told
    assert (folder / "half.csv").read_text() == '# method = "lever"\n'


def test_an_uploaded_file_is_shown_and_saved_only_when_asked(folder):
    panel, before = Panel(folder), contents(folder)
    panel.send("new.csv", b"\xef\xbb\xbf" + BENCH.replace("\n", "\r\n").encode())
    assert panel.text.value == BENCH and contents(folder) == before
    panel.click("Save")
    assert read_bench(folder / "new.csv").pull.size == 24


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("u.csv", BENCH.encode("utf-16"), "u.csv, row 1: is not UTF-8 text, expected a CSV file."),
        ("p.toml", b"mass_g = 30", "row 1: ends with a number and no line break"),
        ("picture.png", b"\x89PNG", "expected a name that ends in .toml (a paddle) or .csv"),
    ],
)
def test_an_upload_that_is_no_such_text_is_told(folder, name, content, told):
    panel = Panel(folder)
    panel.send(name, content)
    assert told in panel.told and 'role="alert"' in panel.told and panel.text.value == ""


def test_nothing_in_a_file_is_taken_for_html(folder):
    evil = "<script>alert(1)</script>"
    panel = Panel(folder)
    panel.send(f"{evil}.csv".replace("/", ""), f"# {evil} = 1\n# a = 2\n{evil},b\n".encode())
    for act in (lambda: panel.click("Check"), lambda: panel.click("Save")):
        act()
        assert "script" in panel.told and "<script" not in panel.told
    panel.name.value = "evil.csv"
    panel.text.value = BENCH.replace("against", evil, 1)
    panel.click("Check")
    assert "&lt;script&gt;" in panel.told and "<script" not in panel.told
    html = [p for p in panel.parts if isinstance(p, widgets.HTML)]
    assert all("<script" not in p.value for p in html)


OUTSIDE = [
    "../outside.csv",
    "..\\outside.csv",
    "/etc/outside.csv",
    "c:outside.csv",
    "sub/x.csv",
    ".hidden.csv",
    "a\0.csv",
    "a\n.csv",
    "x" * 300 + ".csv",
    "link.csv",
    "notes.txt",
    "ocean.toml.bak1",
    "",
    "..",
]


@pytest.mark.parametrize("name", OUTSIDE)
def test_names_are_confined_to_data_files_of_the_folder(folder, name):
    before, beside = contents(folder), (folder.parent / "outside.csv").read_text()
    panel = Panel(folder)
    panel.name.value, panel.text.value = name, "overwritten"
    panel.click("Save")
    assert 'role="alert"' in panel.told and "Replace" not in panel.buttons()
    assert "could not be computed" not in panel.told
    assert contents(folder) == before and (folder.parent / "outside.csv").read_text() == beside
    assert sorted(path.name for path in folder.parent.iterdir()) == ["mine", "outside.csv"]


def test_a_plain_name_is_a_path_in_the_folder(folder):
    assert inside(folder, "ocean.toml") == folder / "ocean.toml"


def test_a_very_long_file_is_left_to_other_tools(folder):
    (folder / "long.csv").write_bytes(b"#" * (LARGEST + 1))
    panel = Panel(folder)
    panel.list.value = "long.csv"
    assert "is larger than 1 MB" in panel.told and panel.text.value == ""


def test_a_folder_that_is_not_there_is_told(tmp_path):
    assert "cannot be listed" in Panel(tmp_path / "nowhere").told


def test_half_a_character_is_told(folder):
    panel, before = Panel(folder), contents(folder)
    panel.name.value, panel.text.value = "half.csv", "half a pair: \ud800"
    panel.click("Save")
    assert "half.csv: holds half a character" in panel.told and contents(folder) == before


def test_the_panel_can_be_stored_without_a_picture(folder):
    bundle, _ = files_panel(folder)._repr_mimebundle_()
    assert bundle["text/plain"] == "Panel: files" and "image/png" not in bundle


def test_check_says_what_a_bench_file_without_a_mistake_still_lacks(folder):
    panel = Panel(folder)
    panel.list.value = "bench.csv"
    assert "nothing is wrong" in panel.told and "<li>" not in panel.told
    lines = BENCH.splitlines(keepends=True)
    head = next(i for i, line in enumerate(lines) if line[0].isdigit())
    for text, said in (
        ("".join(lines[: head + 2]), "2 readings cannot give the 4 unknowns"),
        (BENCH.replace("ocean.toml", "Ocean.toml"), "was not found"),
        (BENCH.replace(",with", ",x").replace(",against", ",with").replace(",x", ",against"),
         "exchanged?"),
        (re.sub("# rest_deg.*", "#", BENCH), "rest_deg"),
    ):  # fmt: skip
        panel.text.value = text
        panel.click("Check")
        assert "every entry can be read, but" in panel.told and said in panel.told
        assert "nothing is wrong" not in panel.told


def test_a_large_upload_is_refused(folder):
    panel = Panel(folder)
    panel.send("large.csv", b"#" * (LARGEST + 1))
    assert "is larger than 1 MB" in panel.told and panel.text.value == ""


def test_no_other_panel_writes_a_file():
    writing = re.compile(r"write_text|write_bytes|files\.saving|open\(|save_html|save_pdf")
    folder = Path(panel_module.__file__).parent
    found = {path.name for path in folder.glob("*.py") if writing.search(path.read_text("utf-8"))}
    assert found == {"files.py"}
