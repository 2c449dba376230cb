"""Swings that MuJoCo computes, and films drawn of them.

The motion comes from another library's rigid bodies with friction laws of its own; only the drawing
is the project's.
"""

from dataclasses import dataclass
from math import cos, sin

import mujoco
import numpy as np

from paddlebal import KnownMass, load_paddle
from paddlebal.bench.films import BARE
from paddlebal.files.text import data_path
from paddlebal.film.drawn import Camera, frames_of, write_film
from paddlebal.units import DEG, GRAM, MM, STANDARD_GRAVITY

OCEAN = load_paddle(data_path("paddles", "ocean.toml"))
U, I_X, M, RADIUS = OCEAN.unbalance(), OCEAN.inertia()[0, 0], OCEAN.mass, OCEAN.shaft.radius
DIAMETER = 0.03
STEP = 2e-4


def known(angle_deg, mass_g=100.0, arm_mm=60.0):
    own = mass_g * GRAM * DIAMETER**2 / 8
    return KnownMass(mass_g * GRAM, arm_mm * MM, angle_deg * DEG, own)


@dataclass(frozen=True)
class Bench:
    """A bench and how a paddle rubs on it.

    friction [N·m]: dry, at rate; static: how much more of it holds at rest, a share (Stribeck);
    by_load: whether it grows with the load on the support; drag [N·m·s]; slope [rad] of rails.
    """

    support: str = "rollers"
    friction: float = 3e-3
    static: float = 0.0
    by_load: bool = False
    drag: float = 3e-4
    slope: float = 0.0


def swing(put=BARE, bench=None, start=50 * DEG, seconds=6.0, unbalance=U, inertia=I_X, mass=M):
    """Times [s] and roll angles [rad] of a paddle let go so far from rest, and the axis' way [m].

    The paddle is one body, the known mass another fastened to it.
    """
    bench = bench or Bench()
    middle = unbalance / mass
    own = inertia - mass * (middle @ middle)
    place = put.arm * np.array([cos(put.angle), sin(put.angle)])
    slide = '<joint name="along" type="slide" axis="0 1 0"/>' if bench.support == "rails" else ""
    fasten = f"""<body pos="0 {place[0]:.17g} {place[1]:.17g}">
      <inertial pos="0 0 0" mass="{put.mass:.17g}"
        diaginertia="{put.inertia:.17g} {put.inertia:.17g} {put.inertia:.17g}"/></body>"""
    loaded = unbalance + put.vector
    rest = -np.pi / 2 - np.arctan2(loaded[1], loaded[0])
    no_slip = f"""<equality><joint joint1="along" joint2="roll"
      polycoef="{RADIUS * rest:.17g} {-RADIUS:.17g} 0 0 0"
      solimp="0.9999 0.9999 0.001" solref="0.001 1"/>
      </equality>"""
    model = mujoco.MjModel.from_xml_string(f"""
    <mujoco><option timestep="{STEP}" integrator="implicitfast"
      gravity="0 {STANDARD_GRAVITY * sin(bench.slope):.17g}
      {-STANDARD_GRAVITY * cos(bench.slope):.17g}"/>
    <worldbody><body>{slide}
      <joint name="roll" type="hinge" axis="1 0 0" frictionloss="{bench.friction}"
        damping="{bench.drag}" solreffriction="0.001 1" solimpfriction="0.999 0.999 0.001"/>
      <inertial pos="0 {middle[0]:.17g} {middle[1]:.17g}" mass="{mass}"
        diaginertia="{own:.17g} {own:.17g} {own:.17g}"/>
      {fasten if put.mass else ""}
    </body></worldbody>{no_slip if slide else ""}</mujoco>""")
    data = mujoco.MjData(model)
    hinge = model.joint("roll").qposadr[0]
    data.qpos[hinge] = rest + start
    if slide:
        data.qpos[0] = -RADIUS * start
    count = round(seconds / STEP)
    angles, ways = np.empty(count), np.zeros((count, 2))
    weight = STANDARD_GRAVITY * (mass + put.mass)
    down = np.hypot(*loaded)
    for i in range(count):
        angles[i] = data.qpos[hinge]
        if slide:
            ways[i, 0] = data.qpos[0]
        rate = data.qvel[hinge]
        dry = bench.friction * (1 + bench.static * np.exp(-((rate / 0.3) ** 2)))
        if bench.by_load:  # what swings below presses more on its support
            dry *= 1 + down * rate**2 * np.cos(angles[i] - rest) / weight
        model.dof_frictionloss[hinge] = dry
        mujoco.mj_step(model, data)
    return np.arange(count) * STEP, angles, ways


def film(path, camera, moved, rate=60.0, uneven=0.0, seed=0, hold=0.4, codec="libx264", **options):
    """Draw and write the film of a swing; for a while the hand still holds the paddle."""
    time, angles, ways = moved
    rng = np.random.default_rng(seed)
    times = np.arange(0, time[-1] + hold - 0.05, 1 / rate)
    times += uneven / rate * rng.uniform(-0.5, 0.5, times.size)
    times -= times[0]

    def at(values):
        return lambda when: np.interp(np.asarray(when) - hold, time, values)

    def middle(when):
        return np.column_stack([at(ways[:, 0])(when), 0 * np.asarray(when)])

    rolling = {"middle": middle} if np.any(ways) else {}
    drawn = frames_of(camera, at(angles), times, rng=rng, **rolling, **options)
    write_film(path, drawn, times, codec)
    return str(path)


SMALL = Camera(width=640, height=360, focal=900.0, distance=1.2, noise=4.0)
"""A small picture with markers of 25 pixels, for many films."""
