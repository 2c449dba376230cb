"""Each notebook in a real browser: run whole, every slider moved, nothing goes wrong.

Screenshots stay in pytest's temporary folder for whoever wants to look.
"""

import pytest
from notebook_files import LESSONS, NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_runs_and_its_sliders_move(lab, path, tmp_path):
    notebook = lab.open(path.name)
    notebook.run_all()
    assert notebook.errors() == []
    page = notebook.page
    sliders = page.locator(".jp-Notebook .widget-slider")
    living = page.locator(".jp-Notebook .live input[type=range]")
    assert (sliders.count() + living.count() > 0) == (path in LESSONS)
    for i in range(living.count()):
        slider, box = (
            living.nth(i),
            living.nth(i).locator("xpath=ancestor::*[contains(@class, 'live-host')]"),
        )
        slider.focus()
        before = slider.input_value()
        page.keyboard.press("End")
        page.keyboard.press("PageDown")
        assert slider.input_value() != before
        assert "NaN" not in box.locator(".live-numbers").inner_text()
    if living.count():
        living.first.scroll_into_view_if_needed()
        page.screenshot(path=tmp_path / "living.png")
    for i in range(sliders.count()):
        slider = sliders.nth(i)
        slider.scroll_into_view_if_needed()
        handle = slider.locator(".noUi-handle")
        assert handle.get_attribute("aria-label") == slider.locator("label").inner_text()
        handle.focus()
        before = slider.locator(".widget-readout").inner_text()
        page.keyboard.press("End")
        page.keyboard.press("PageDown")
        notebook.wait_idle(settle=0.15)
        assert slider.locator(".widget-readout").inner_text() != before
        page.screenshot(path=tmp_path / f"{i:02d}.png")
    notebook.wait_idle()
    told = page.get_by_role("alert").all_inner_texts()
    assert not any("could not be computed" in sentence for sentence in told)
    assert notebook.errors() == []
    assert not [m for m in notebook.messages if m.startswith("error: ")]
    page.close()
