"""Importing the package stays light, and every public name can be had."""

import ast
import inspect
import json
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from public_names import public_names

import paddlebal

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"

HEAVY = ("sympy", "scipy", "matplotlib", "ipywidgets", "pint", "IPython", "mujoco", "pinocchio")


def loaded_after(code):
    """Names of the modules that a fresh Python holds after running `code`."""
    code += "\nimport sys\nprint(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


def test_the_package_loads_no_heavy_module():
    assert not loaded_after("import paddlebal").intersection(HEAVY)


def test_reading_a_paddle_loads_no_heavy_module():
    code = """
from paddlebal import load_paddle
from paddlebal.files.text import data_path
paddle = load_paddle(data_path("paddles", "ocean.toml"))
paddle.unbalance(), paddle.inertia()
"""
    assert not loaded_after(code).intersection(HEAVY)


@pytest.mark.parametrize("name", paddlebal.__all__)
def test_every_public_name_is_there_and_documented(name):
    value = getattr(paddlebal, name)
    home = import_module(f"paddlebal.{public_names()[name] or name}")
    assert value is (getattr(home, name) if public_names()[name] else home)
    if inspect.isroutine(value) or inspect.isclass(value) or inspect.ismodule(value):
        assert value.__doc__
    assert name in dir(paddlebal)


def test_the_stub_lists_what_the_package_offers():
    assert sorted(public_names()) == sorted(paddlebal.__all__)


@pytest.mark.parametrize("path", sorted(NOTEBOOKS.glob("*.ipynb")), ids=lambda path: path.stem)
def test_notebooks_need_public_names_only(path):
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.ImportFrom) and node.module.startswith("paddlebal"):
            assert node.module == "paddlebal", f"{path.name} imports from {node.module}"


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="rest_angel"):
        getattr(paddlebal, "rest_angel")  # noqa: B009
