"""Every picture; no physics: results come in as arguments.

A picture is created once; `update` then changes its artists in place. What does not change is
kept as a background, and only the live artists are drawn over it. The same pictures work in a
notebook, on a page and in a test.
"""

import io
from base64 import b64encode
from threading import RLock

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from paddlebal.charts import CurveView, EllipseView, FitView
from paddlebal.views import AlongView, EndOnView, TorqueView, WholeView


class Picture:
    """A figure whose live artists change in place over a kept background.

    A notebook's cells and its sliders run in different threads: `lock` is held while the
    picture is drawn, so that neither draws into the other's frame.

    Parameters
    ----------
    width, height : float
        Inches; at `dpi` 80 a point is a little more than a pixel.
    """

    shows = ""
    """What is shown, a sentence for those who cannot see it."""

    def __init__(self, width, height, dpi=80):
        self.figure = Figure(figsize=(width, height), dpi=dpi)
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


class EndOnPicture(Picture):
    """The paddle seen end-on, and gravity's roll torque over the full circle.

    Parameters
    ----------
    largest_unbalance : float
        kg·m; the arrow's scale is chosen to show unbalances up to this.
    largest_torque : float
        N·m; the torque axis holds torques up to this.
    """

    shows = (
        "The paddle seen from its right end, with its unbalance as an arrow; beside it a "
        "curve of gravity's roll torque at every roll angle, with both catches, the rest and "
        "the tipping point."
    )

    def __init__(self, largest_unbalance, largest_torque):
        super().__init__(10.4, 4.9)
        left, right = self.figure.subplots(1, 2, width_ratios=(1, 1.15))
        self.figure.subplots_adjust(left=0.085, right=0.98, top=0.91, bottom=0.15, wspace=0.28)
        self._end_on = EndOnView(left, self.live, largest_unbalance)
        self._torque = TorqueView(right, self.live, largest_torque)

    def update(self, paddle, theta, unbalance, torque, rest=None, inclination=0.0):
        """Show a paddle at one roll angle.

        Parameters
        ----------
        paddle : Paddle
            Its sizes and counterweights are drawn.
        theta : float
            Roll angle [rad].
        unbalance : ndarray (2,)
            Unbalance vector [kg·m] in body axes.
        torque : callable
            Roll angles [rad] to torque [N·m].
        rest : float or None
            Rest angle [rad]; None where the paddle stays at any angle.
        inclination : float
            Of the shaft to the horizontal [rad]; shortens the gravity arrow.
        """
        self._end_on.update(paddle, theta, unbalance, inclination)
        self._torque.update(paddle, theta, torque, rest)
        self.refresh()


class WholePaddle(Picture):
    """The paddle in space."""

    shows = "The paddle in space, with both blades and its counterweights."

    def __init__(self):
        super().__init__(10.4, 3.6)
        axes = self.figure.add_axes((-0.02, 0.03, 1.0, 1.12), projection="3d")
        self._whole = WholeView(axes, self.live, half_length=1.3)

    def update(self, paddle, theta, inclination=0.0):
        """Turn the paddle to theta [rad] and raise its right end by inclination [rad]."""
        self._whole.update(paddle, theta, inclination)
        self.refresh()


class CurvePicture(Picture):
    """Grey curves with the present point marked on them; parameters as for `CurveView`."""

    def __init__(self, xlabel, ylabel, xlim, ylim, curves):
        super().__init__(8.0, 4.6)
        axes = self.figure.add_axes((0.13, 0.16, 0.84, 0.8))
        self.shows = f"Curves of {ylabel} against {xlabel}: {', '.join(curves)}."
        self._curve = CurveView(axes, self.live, xlabel, ylabel, xlim, ylim, curves)

    def update(self, curves, point, words):
        """Show curves, by name their (x, y) arrays, and the point (x, y) with its words."""
        self._curve.update(curves, point, words)
        self.refresh()


class PlacementPicture(Picture):
    """A counterweight end-on, along the shaft, and on the trade of mass against arm.

    Parameters
    ----------
    largest_unbalance : float
        kg·m.
    longest_arm, largest_mass : float
        m and kg; what the trade shows.
    half_length : float
        m; half of the longest shaft, with some room.
    """

    shows = (
        "The paddle with its counterweight seen from the right end; beside it a curve of "
        "counterweight mass against arm; below them the shaft with its keep-outs, the "
        "counterweight and the balance point."
    )

    def __init__(self, largest_unbalance, longest_arm, largest_mass, half_length):
        super().__init__(10.4, 6.6)
        rows = self.figure.add_gridspec(2, 2, height_ratios=(2.6, 1), width_ratios=(1, 1.15))
        self.figure.subplots_adjust(
            left=0.085, right=0.98, top=0.94, bottom=0.1, wspace=0.28, hspace=0.3
        )
        end_on, trade = (self.figure.add_subplot(rows[0, i]) for i in (0, 1))
        along = self.figure.add_subplot(rows[1, :])
        self._end_on = EndOnView(end_on, self.live, largest_unbalance)
        self._trade = CurveView(
            trade,
            self.live,
            "arm [mm]",
            "counterweight mass [g]",
            (0, 1e3 * longest_arm),
            (0, 1e3 * largest_mass),
            {"clears the shaft": "solid", "too near the shaft": (0, (2, 2))},
        )
        self._along = AlongView(along, self.live, half_length)

    def update(self, paddle, unbalance, arms, masses, clear, piece_length):
        """Show a paddle with one counterweight, its last.

        Parameters
        ----------
        paddle : Paddle
        unbalance : ndarray (2,)
            What it leaves [kg·m].
        arms, masses : ndarray (n,)
            The trade [m, kg], and `clear` (n,) bool where the piece clears the shaft.
        piece_length : float
            m.
        """
        weight = paddle.counterweights[-1]
        self._end_on.update(paddle, 0.0, unbalance)
        curves = {
            name: (1e3 * arms[mask], 1e3 * masses[mask])
            for name, mask in (("clears the shaft", clear), ("too near the shaft", ~clear))
        }
        words = f"{1e3 * weight.mass:.0f} g at {1e3 * weight.arm:.0f} mm"
        self._trade.update(curves, (1e3 * weight.arm, 1e3 * weight.mass), words)
        self._along.update(paddle, [(weight.x, piece_length)], paddle.balance_point)
        self.refresh()


class BenchPicture(Picture):
    """Lever readings with the fitted curves and residuals, and the fitted unbalance."""

    shows = (
        "Moment of the pull at every roll angle, readings and fitted curves, with the "
        "residuals below; beside them the fitted unbalance with its 95 % region."
    )

    def __init__(self):
        super().__init__(10.4, 5.6)
        grid = self.figure.add_gridspec(2, 2, height_ratios=(2, 1), width_ratios=(1.25, 1))
        self.figure.subplots_adjust(
            left=0.1, right=0.985, top=0.93, bottom=0.12, wspace=0.32, hspace=0.12
        )
        upper, lower = (self.figure.add_subplot(grid[i, 0]) for i in (0, 1))
        self._fit = FitView(upper, lower, self.live)
        self._ellipse = EllipseView(self.figure.add_subplot(grid[:, 1]), self.live)

    def update(self, curves, readings, residuals, unbalance, covariance, second, second_name):
        """Arguments as for `FitView.update` and `EllipseView.update`."""
        self._fit.update(curves, readings, residuals)
        self._ellipse.update(unbalance, covariance, second, second_name)
        self.redraw()
