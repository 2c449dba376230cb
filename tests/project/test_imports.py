"""Importing the package stays light, and every public name can be had."""

import subprocess
import sys

import pytest

import paddlebal

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
    assert value.__module__ == f"paddlebal.{paddlebal._HOMES[name]}"
    assert value.__doc__
    assert name in dir(paddlebal)


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'rest_angel'"):
        paddlebal.rest_angel  # noqa: B018
