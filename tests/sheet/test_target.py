"""The printed target: to scale, and what a camera would find on it."""

import io

import numpy as np
import pdfplumber
import pytest

from paddlebal import InputError
from paddlebal.__main__ import main
from paddlebal.film.markers import DISC, STRIP, detector, disc_corners, strip_corners
from paddlebal.language import speaking
from paddlebal.sheet.target import AXIS, HUNG, film_notes, target_page
from paddlebal.units import MM

DPI = 300
MARGINS = 10.0, 9.0


def found(page):
    """Corners [mm on the page, up upward] of the markers on the printed page, by number."""
    grey = np.array(page.to_image(resolution=DPI).original.convert("L"))
    squares, numbers, _ = detector().detectMarkers(grey)
    corners = {}
    for square, number in zip(squares, np.ravel(numbers).tolist(), strict=True):
        across, down = square.reshape(4, 2).T / DPI * 25.4
        corners[number] = np.column_stack([across - MARGINS[0], 277 + MARGINS[1] - down])
    return corners


def test_the_markers_are_printed_where_the_film_takes_them_to_be():
    with pdfplumber.open(io.BytesIO(target_page(0.03))) as pdf:
        first, second = pdf.pages
        corners = found(first)
        assert first.width / 72 * 25.4 == pytest.approx(210, abs=0.1)
        assert "100 mm" in first.extract_text()
        for words in ("Nobody and no phone", "Tie the known mass on twice", "plumb line"):
            assert words in second.extract_text().replace("\n", " ")
    assert sorted(corners) == sorted((*DISC, *STRIP))
    for number, own in zip(DISC, disc_corners() / MM, strict=True):
        assert corners[number] - AXIS == pytest.approx(own, abs=0.25)
    lying = strip_corners() / MM @ np.array([(0, -1), (1, 0)])
    for number, own in zip(STRIP, lying, strict=True):
        assert corners[number] - HUNG == pytest.approx(own, abs=0.25)


def test_a_disc_adds_no_unbalance():
    """Its markers, and with them all that is printed, lie round the axis evenly."""
    assert np.abs(disc_corners().sum(axis=(0, 1))).max() < 1e-12


def test_the_page_is_the_same_each_time_and_speaks_german():
    assert target_page(0.03) == target_page(0.03)
    with speaking("de"):
        assert film_notes()[0][0] == "Herstellen"
        assert target_page(0.03).startswith(b"%PDF")


@pytest.mark.parametrize("shaft", [0.005, 0.2])
def test_a_shaft_that_no_disc_fits_is_refused(shaft):
    with pytest.raises(InputError, match="expected 15 to 50 mm"):
        target_page(shaft)


def test_the_command_writes_it_once(tmp_path, capsys):
    out = tmp_path / "target.pdf"
    assert main(["target", "--shaft-mm", "28", "--out", str(out)]) == 0
    assert "print at 100 %" in capsys.readouterr().out and out.read_bytes().startswith(b"%PDF")
    assert main(["target", "--out", str(out)]) == 2
    assert main(["target", "--out", str(out), "--overwrite"]) == 0
