"""Pictures shown in a notebook: ipympl's canvas, frame by whole frame."""

import io
from contextlib import nullcontext

import numpy as np
from ipympl.backend_nbagg import Canvas, FigureManager
from PIL import Image


class WholeFrameCanvas(Canvas):
    """A notebook canvas that sends whole frames.

    The browser may skip a frame while it decodes another; a frame that only holds the
    difference from the one before must not be skipped.
    """

    lock = nullcontext()
    """Held while a frame is drawn or read."""

    _png_is_old: bool

    def draw(self):
        with self.lock:
            super().draw()

    def get_diff_image(self):
        """The frame as a PNG file's bytes, or None if the browser has it already."""
        if not self._png_is_old:
            return None
        self.set_image_mode("full")
        with self.lock:
            pixels = np.array(self.buffer_rgba())
        self._last_buff = pixels.view(np.uint32)[..., 0]
        self._png_is_old = False
        with io.BytesIO() as file:
            Image.fromarray(pixels).save(file, format="png", compress_level=1)
            return file.getvalue()


def notebook_canvas(picture):
    """The widget that shows a picture in a notebook, without header, footer and toolbar."""
    canvas = WholeFrameCanvas(picture.figure)
    canvas.lock = picture.lock
    FigureManager(canvas, 0)
    canvas.header_visible = canvas.footer_visible = canvas.resizable = False
    canvas.toolbar_visible = False
    return canvas
