"""Each notebook in a real browser: run whole, every slider moved, nothing goes wrong.

Screenshots stay in pytest's temporary folder for whoever wants to look.
"""

from pathlib import Path

import pytest
from browser.lab import Lab

ROOT = Path(__file__).resolve().parents[2]
NAMES = sorted(path.name for path in (ROOT / "notebooks").glob("*.ipynb"))


@pytest.fixture(scope="module")
def lab():
    with Lab(ROOT / "notebooks", beside=[ROOT / "data"]) as lab:
        yield lab


@pytest.mark.parametrize("name", NAMES)
def test_runs_and_its_sliders_move(lab, name, tmp_path):
    notebook = lab.open(name)
    notebook.run_all()
    assert notebook.errors() == []
    page = notebook.page
    sliders = page.locator(".jp-Notebook .widget-slider")
    assert sliders.count() > 0
    for i in range(sliders.count()):
        slider = sliders.nth(i)
        slider.scroll_into_view_if_needed()
        slider.locator(".noUi-handle").focus()
        before = slider.locator(".widget-readout").inner_text()
        page.keyboard.press("End")
        page.keyboard.press("PageDown")
        notebook.wait_idle()
        assert slider.locator(".widget-readout").inner_text() != before
        page.screenshot(path=tmp_path / f"{i:02d}.png")
    told = page.get_by_role("alert").all_inner_texts()
    assert not any("could not be computed" in sentence for sentence in told)
    assert notebook.errors() == []
    assert not [m for m in notebook.messages if m.startswith("error: ")]
    page.close()
