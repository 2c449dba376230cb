"""The stored notebooks are executed and whole, and lessons laid out as the guide says."""

import ast
import re

import nbformat
import pytest
from notebook_files import FOLDER, GLOSSARY, LESSONS, NOTEBOOKS

LONGEST_CELL = 15
HEADINGS = (
    "What you will be able to do",
    "Predict, then look",
    "Derivation",
    "Check against something outside",
    "What it means",
    "Exercises",
    "Where to go next",
)


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.stem)
def notebook(request):
    return nbformat.read(request.param, as_version=4)


@pytest.fixture(params=LESSONS, ids=lambda path: path.stem)
def lesson(request):
    return nbformat.read(request.param, as_version=4)


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def output_is_due(source):
    """Whether a cell ends in an expression, whose value Jupyter shows."""
    plain = "\n".join("" if line.startswith("%") else line for line in source.splitlines())
    statements = ast.parse(plain).body
    return bool(statements) and isinstance(statements[-1], ast.Expr)


def test_there_are_lessons_and_a_glossary():
    assert LESSONS and GLOSSARY in NOTEBOOKS


def test_is_valid(notebook):
    nbformat.validate(notebook)


def test_every_cell_ran_once_and_in_order(notebook):
    counts = [cell.execution_count for cell in code_cells(notebook)]
    assert counts == list(range(1, len(counts) + 1))


def test_no_cell_holds_an_error_or_a_warning(notebook):
    for cell in code_cells(notebook):
        for output in cell.outputs:
            assert output.output_type != "error", cell.source
            assert output.get("name") != "stderr", cell.source


def test_every_due_output_is_there(notebook):
    for cell in code_cells(notebook):
        if output_is_due(cell.source):
            assert cell.outputs, cell.source
        for output in cell.outputs:
            assert output.get("data") or output.get("text", "").strip(), cell.source


def pictures(notebook):
    return [cell for cell in code_cells(notebook) if "picture" in cell.metadata.get("tags", ())]


def test_pictures_are_tagged_and_stored_as_pictures(notebook):
    for cell in code_cells(notebook):
        holds_one = any("image/png" in output.get("data", {}) for output in cell.outputs)
        assert holds_one == (cell in pictures(notebook)), cell.source


def test_every_stored_picture_has_words_for_those_who_cannot_see_it(notebook):
    for cell in code_cells(notebook):
        for output in cell.outputs:
            if "image/png" in output.get("data", {}):
                assert len(output.metadata["image/png"]["alt"]) > 40, cell.source


def test_a_lesson_has_a_picture(lesson):
    assert pictures(lesson)


def test_no_live_widget_and_no_run_record_is_stored(notebook):
    assert set(notebook.metadata) == {"kernelspec", "language_info"}
    for cell in notebook.cells:
        assert set(cell.metadata) <= {"tags", "jupyter"}
        for output in cell.get("outputs", ()):
            assert "application/vnd.jupyter.widget-view+json" not in output.get("data", {})


def test_cells_are_short(notebook):
    for cell in code_cells(notebook):
        assert len(cell.source.splitlines()) <= LONGEST_CELL, cell.source


def test_sections_stand_in_order(lesson):
    text = "\n".join(cell.source for cell in lesson.cells if cell.cell_type == "markdown")
    found = re.findall(r"^## (.+)$", text, flags=re.MULTILINE)
    assert [heading for heading in found if heading in HEADINGS] == list(HEADINGS)


def test_starts_with_a_question_and_ends_with_its_answer(lesson):
    first, last = lesson.cells[0], lesson.cells[-1]
    assert first.source.startswith("# ") and "?" in first.source
    assert "answer" in last.source.lower()


def test_has_two_exercises(lesson):
    shown = [
        output
        for cell in code_cells(lesson)
        for output in cell.outputs
        if "<summary>Answer</summary>" in output.get("data", {}).get("text/html", "")
    ]
    assert len(shown) >= 2


def test_links_lead_somewhere(notebook):
    text = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", text):
        if "://" not in target:
            assert (FOLDER / target).exists(), target


def exercises(path):
    """Code of each cell of a notebook that asks an exercise."""
    cells = nbformat.read(path, as_version=4).cells
    return [c.source for c in cells if c.cell_type == "code" and "Exercise(\n" in c.source]


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_numbers_in_an_exercise_are_those_that_its_answer_is_computed_from(path):
    for code in exercises(path):
        tree = ast.parse(code)
        given = {n.value for n in ast.walk(tree) if isinstance(n, ast.Constant)}
        given = {value for value in given if isinstance(value, int | float)}
        calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call)]
        (ask,) = (n for n in calls if getattr(n.func, "id", "") == "Exercise")
        question = ask.args[0]
        texts = question.values if isinstance(question, ast.JoinedStr) else [question]
        typed = " ".join(n.value for n in texts if isinstance(n, ast.Constant))  # type: ignore[misc]
        for number in map(float, re.findall(r"\d+(?:\.\d+)?", typed)):
            scaled = {number, number / 1e3, number / 100}
            assert any(abs(s - v) < 1e-12 for s in scaled for v in given), f"{number} in {typed!r}"


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_comparison_shows_what_it_compares(path):
    for cell in nbformat.read(path, as_version=4).cells:
        for output in cell.get("outputs", ()):
            told = output.get("data", {}).get("text/plain", "").strip()
            assert told not in ("True", "0", "[True, True]"), cell.source
            assert not re.fullmatch(r"Matrix\(\[\s*(\[0\],?\s*)+\]\)", told), cell.source
            assert not told.startswith("Ne("), cell.source


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_what_is_to_be_seen_is_folded_behind_the_question(path):
    for cell in nbformat.read(path, as_version=4).cells:
        if "Predict, then look" in cell.source:
            assert cell.source.count("<details>") == cell.source.count("</details>") > 0
            assert "**What to see.**" not in cell.source


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_no_cell_writes_a_file(path):
    writing = re.compile(r"\.save_|write_text|write_bytes|mkdir|savefig|to_csv|open\([^)]*['\"][wax]")
    for cell in nbformat.read(path, as_version=4).cells:
        assert cell.cell_type != "code" or not writing.search(cell.source), cell.source
