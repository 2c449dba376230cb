"""A picture: a figure whose parts are drawn once and then moved in place."""

import io
from base64 import b64encode
from threading import RLock

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

DPI = 80


class Picture:
    """A figure whose live artists change in place over a kept background.

    A notebook's cells and its sliders run in different threads: `lock` is held while the
    picture is drawn, so that neither draws into the other's frame.

    Parameters
    ----------
    width, height : float
        Inches; at 80 dots an inch a point is a little more than a pixel.
    """

    shows = ""
    """What is shown, a sentence for those who cannot see it."""

    def __init__(self, width, height):
        self.figure = Figure(figsize=(width, height), dpi=DPI)
        FigureCanvasAgg(self.figure)
        self.lock = RLock()
        self._live = []
        self._background = None
        self._cleared = False
        self.figure.canvas.mpl_connect("draw_event", self._keep_background)

    def png(self):
        """The picture as it is now, the bytes of a PNG file."""
        stream = io.BytesIO()
        with self.lock:
            self.figure.savefig(stream, format="png")
        return stream.getvalue()

    def _repr_mimebundle_(self, **kwargs):
        """The picture as a notebook shows it."""
        png = b64encode(self.png()).decode()
        return (
            {"text/plain": type(self).__name__, "image/png": png},
            {"image/png": {"alt": self.shows}},
        )

    def live(self, artist):
        """Register an artist as live and return it."""
        artist.set_animated(True)
        self._live.append(artist)
        return artist

    def refresh(self):
        """Show the live artists as they are now."""
        self._cleared = False
        self._show()

    def redraw(self):
        """Draw everything anew, after a change of what is not live."""
        self._background = None
        self.refresh()

    def clear(self):
        """Show no live artist until the next update."""
        self._cleared = True
        self._show()

    def _show(self):
        with self.lock:
            canvas = self.figure.canvas
            if self._background is None or self._background[0] != self._size():
                canvas.draw_idle()
                return
            canvas.restore_region(self._background[1])
            self._draw_live()
            canvas.blit(self.figure.bbox)

    def _size(self):
        return self.figure.canvas.get_width_height(physical=True)

    def _keep_background(self, event):
        if not event.canvas.is_saving():
            self._background = self._size(), event.canvas.copy_from_bbox(self.figure.bbox)
            self._draw_live()

    def _draw_live(self):
        for artist in () if self._cleared else self._live:
            if hasattr(artist, "do_3d_projection"):
                artist.do_3d_projection()
            artist.axes.draw_artist(artist)
