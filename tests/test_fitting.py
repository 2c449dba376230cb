"""One bench file becomes a fit, a placement and a forecast."""

import pytest

from paddlebal import fitting
from paddlebal.errors import InputError
from paddlebal.files import data_path
from paddlebal.fitting import fit_file, paddle_file
from paddlebal.readings import read_bench


def test_a_method_without_friction_has_no_forecast():
    file = data_path("bench", "ocean_add_on.csv")
    assert fit_file(file, read_bench(file)).forecast.startswith("not known")


def test_the_forecast_counts_how_the_piece_is_made(monkeypatch):
    """A workshop that works a thousand times worse can promise nothing, with the same fit."""
    file = data_path("bench", "sprint_lever.csv")
    readings = read_bench(file)
    assert fit_file(file, readings).forecast == "stays"
    monkeypatch.setattr(fitting, "WORKSHOP_U", tuple(1000 * u for u in fitting.WORKSHOP_U))
    assert fit_file(file, readings).forecast == "rolls"


@pytest.mark.parametrize("name", ["", "nowhere.toml"])
def test_a_paddle_that_is_not_found_is_told(tmp_path, name):
    with pytest.raises(InputError, match="field 'paddle'"):
        paddle_file(tmp_path / "x.csv", name)
