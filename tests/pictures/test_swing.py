import numpy as np

from paddlebal.pictures.swing import RecordPicture


def test_the_line_is_the_fit_and_breaks_where_frames_are_missing():
    time = np.array([0.0, 0.1, 0.2, 0.3, 1.0, 1.1, 1.2])
    roll, residuals = np.radians(10 * time), np.radians(0.5 * np.ones(7))
    above, below = RecordPicture(time, roll, residuals).figure.axes
    recorded, fitted = above.lines
    assert np.allclose(recorded.get_ydata(), 10 * time)
    x, y = fitted.get_data()
    assert np.isnan(x[4]) and np.isnan(y[4]) and np.isnan(x).sum() == 1
    assert np.allclose(np.delete(y, 4), 10 * time - 0.5)
    assert np.allclose(below.lines[-1].get_ydata(), 0.5)
