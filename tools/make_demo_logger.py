"""Make data/strokes/demo_logger.csv: an invented record of a logger strapped to the demo's ocean
paddle, paddled as in the ocean preset.

    python tools/make_demo_logger.py

Each cycle is a little faster or slower than the others, and rates and forces have the noise of a
phone's (common practice, no source). The logger's axes are turned by chance. The seed is fixed.
"""

import io
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

from paddlebal import OCEAN, load_paddle
from paddlebal.felt import specific_force
from paddlebal.files.saving import write_text
from paddlebal.logger import NEEDED, POSES, UP
from paddlebal.units import DEG, STANDARD_GRAVITY

DATA = Path(__file__).parents[1] / "data"
RATE = 100.0
PLACE = np.array([0.12, 0.0, 0.03])
CYCLES = (79.0, 80.5, 81.0, 79.5, 80.0)


def main():
    rng = np.random.default_rng(7)
    motion = OCEAN.motion(load_paddle(DATA / "paddles" / "ocean.toml"))
    turned = Rotation.random(random_state=7).as_matrix()
    rates, forces = [], []
    for name in NEEDED:
        held = round(2.5 * RATE)
        rates.append(np.zeros((held, 3)))
        forces.append(np.tile(STANDARD_GRAVITY * np.array(UP[int(POSES[name])]), (held, 1)))
        move = np.linspace(0, 2 * np.pi, round(RATE), endpoint=False)[:, None]
        rates.append(1.5 * np.sin(move) * rng.standard_normal(3))
        forces.append(forces[-1][:1] + 3 * np.sin(move) * rng.standard_normal(3))
    for strokes in CYCLES:
        cycle = motion.with_rate(strokes)
        times = np.arange(0, cycle.period - 0.5 / RATE, 1 / RATE)
        rates.append(cycle.state(times).omega)
        forces.append(specific_force(cycle, times, PLACE))
    rate, force = np.vstack(rates) @ turned.T, np.vstack(forces) @ turned.T
    rate = (rate + 0.01 * rng.standard_normal(rate.shape)) / DEG
    force = (force + 0.06 * rng.standard_normal(force.shape)) / STANDARD_GRAVITY
    stream = io.StringIO()
    stream.write("# Invented: made by tools/make_demo_logger.py from the ocean preset.\n")
    heads = (f"{kind} {axis} [{unit}]" for kind, unit in (("gyro", "deg/s"), ("acc", "g"))
             for axis in "xyz")  # fmt: skip
    stream.write(",".join(["time [s]", *heads]) + "\n")
    for i, (w, f) in enumerate(zip(rate, force, strict=True)):
        cells = [f"{i / RATE:.2f}", *(f"{v:.2f}" for v in w), *(f"{v:.4f}" for v in f)]
        stream.write(",".join(cells) + "\n")
    write_text(DATA / "strokes" / "demo_logger.csv", stream.getvalue(), overwrite=True)


if __name__ == "__main__":
    main()
