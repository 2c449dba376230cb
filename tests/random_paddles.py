"""Hypothesis strategies for paddles that could exist."""

from math import pi, radians

import numpy as np
from hypothesis import strategies as st

from paddlebal import Blade, Counterweight, KeepOut, Paddle, Shaft

angles = st.floats(-pi, pi)
components = st.floats(-1, 1)
unbalances = st.tuples(components, components).map(lambda pair: 0.02 * np.array(pair))


def vectors(size):
    """Arrays (3,) with components within plus and minus `size`."""
    return st.tuples(components, components, components).map(lambda v: size * np.array(v))


@st.composite
def body_inertias(draw, mass):
    """Inertia (3, 3) about its centre of three equal particles within some 0.3 m."""
    places = np.array([draw(vectors(0.3)) for _ in range(3)])
    places -= places.mean(axis=0)
    squares = np.einsum("ni,ni->", places, places) * np.eye(3)
    return mass / 3 * (squares - places.T @ places)


@st.composite
def blades(draw, side, own_inertia):
    mass = draw(st.floats(0.05, 0.4))
    distance = draw(st.floats(0.6, 1.2))
    return Blade(
        mass=mass,
        x=-distance if side == "left" else distance,
        offset=draw(st.floats(-0.1, 0.1)),
        length=draw(st.floats(0.3, 0.6)),
        width=draw(st.floats(0.1, 0.25)),
        volume=draw(st.floats(0, 5e-4)),
        inertia=draw(body_inertias(mass)) if own_inertia else None,
        across=draw(st.floats(-0.03, 0.03)),
    )


counterweights = st.builds(
    Counterweight,
    mass=st.floats(0.001, 0.5),
    arm=st.floats(1e-3, 0.2),
    angle=angles,
    x=st.floats(-0.7, 0.7),
    density=st.floats(1000, 20000),
)


@st.composite
def keep_outs(draw):
    start = draw(st.floats(-0.7, 0.6))
    return KeepOut("hand", start, start + draw(st.floats(0.001, 0.2)))


def paddles(own_inertia=True):
    """Paddles; without `own_inertia` every blade is the flat plate that a file describes."""
    limits = st.tuples(st.floats(-90, 0), st.floats(0, 90)).map(
        lambda pair: (radians(pair[0]), radians(pair[1]))
    )
    return st.builds(
        Paddle,
        name=st.text(st.characters(codec="utf-8"), max_size=20),
        note=st.text(st.characters(codec="utf-8"), max_size=20),
        shaft=st.builds(
            Shaft,
            mass=st.floats(0.1, 0.5),
            length=st.floats(1.2, 1.8),
            radius=st.floats(0.012, 0.018),
            volume=st.floats(0, 1e-3),
        ),
        left=blades("left", own_inertia),
        right=blades("right", own_inertia),
        feather=angles,
        control=st.sampled_from(["left", "right"]),
        ferrule_x=st.floats(-0.2, 0.2),
        feather_range=st.none() | limits,
        keep_outs=st.lists(keep_outs(), max_size=2).map(tuple),
        counterweights=st.lists(counterweights, max_size=3).map(tuple),
    )
