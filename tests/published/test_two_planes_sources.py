"""Two-plane balance against worked examples of rotating masses in textbooks.

B. K. Sarkar, Theory of Machines (Tata McGraw-Hill), chapter 8, illustrations 1 and 3, pages
221 and 223: masses, radii, correction radii and the answer of illustration 1 were looked up,
as was the 7.3 kg·m² from which illustration 3 takes the mass in plane Y. The planes and angles
of illustration 3, and its remaining answers, are from memory of the same problem in
R. S. Khurmi & J. K. Gupta, Theory of Machines (S. Chand), example 21.2. Those answers were
measured off a drawn polygon, so they hold to a per cent and a degree or two.
"""

import numpy as np
import pytest

from paddlebal import balance_two_planes


def rotor(masses, radii, angles_deg, places):
    """Unbalance and couple unbalance of point masses."""
    angles = np.radians(angles_deg)
    products = (np.array(masses) * radii * [np.cos(angles), np.sin(angles)]).T
    return products.sum(axis=0), (products * np.array(places)[:, None]).sum(axis=0)


def size_and_angle(vector):
    return np.hypot(*vector), np.degrees(np.arctan2(vector[1], vector[0])) % 360


def test_four_masses_in_one_plane():
    single = rotor([12, 10, 18, 15], [0.040, 0.050, 0.060, 0.030], [0, 60, 130, 270], [0] * 4)
    left, right = balance_two_planes(single, 0.0, 1.0)
    size, angle = size_and_angle(left)
    assert size / 0.100 == pytest.approx(8.1, abs=0.05)
    assert angle == pytest.approx(267.5, abs=0.05)
    assert right == pytest.approx([0, 0], abs=1e-15)


def test_four_masses_in_four_planes():
    x_x, x_y = 0.1, 0.5
    masses, radii = [200, 300, 400, 200], [0.080, 0.070, 0.060, 0.080]
    four = rotor(masses, radii, [0, 45, 115, 235], [0.0, 0.3, 0.4, 0.7])
    plane_x, plane_y = balance_two_planes(four, x_x, x_y)
    size_x, angle_x = size_and_angle(plane_x)
    size_y, angle_y = size_and_angle(plane_y)
    assert size_y * (x_y - x_x) == pytest.approx(7.3, rel=0.01)
    assert size_y / 0.100 == pytest.approx(182.5, rel=0.01)
    assert size_x / 0.100 == pytest.approx(355, rel=0.01)
    assert 360 - angle_y == pytest.approx(12, abs=2)
    assert 360 - angle_x == pytest.approx(145, abs=2)


def test_four_masses_are_then_in_balance_about_any_point():
    masses, radii = [200, 300, 400, 200], [0.080, 0.070, 0.060, 0.080]
    unbalance, couple = rotor(masses, radii, [0, 45, 115, 235], [0.0, 0.3, 0.4, 0.7])
    plane_x, plane_y = balance_two_planes((unbalance, couple), 0.1, 0.5)
    for point in (-0.2, 0.0, 0.9):
        about = couple - point * unbalance + (0.1 - point) * plane_x + (0.5 - point) * plane_y
        assert about == pytest.approx([0, 0], abs=1e-12)
    assert unbalance + plane_x + plane_y == pytest.approx([0, 0], abs=1e-12)
