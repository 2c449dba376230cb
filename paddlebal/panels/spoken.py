"""What a panel says to a screen reader beyond what its widgets say by themselves."""

from pathlib import Path

import anywidget


class Spoken(anywidget.AnyWidget):
    """Nothing to see: in the browser it names the handle and the box of every slider of the
    panel in which it stands, and has the numbers read out when they change."""

    _esm = Path(__file__).with_suffix(".js")
