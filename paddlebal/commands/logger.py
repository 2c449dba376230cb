"""`paddlebal logger`: roll torque in your own stroke from a logger on the shaft."""

from paddlebal.commands.options import refuse_existing
from paddlebal.errors import InputError


def add(commands):
    """Add the command to those of the parser."""
    logger = commands.add_parser(
        "logger", help="roll torque of your own stroke from an inertial logger on the shaft"
    )
    logger.add_argument("record", metavar="FILE", help="CSV of rates and specific forces")
    logger.add_argument("--paddle", metavar="FILE", required=True, help="the paddle's file")
    logger.add_argument("--out", metavar="FILE", help="table of the mean cycle to write")
    logger.add_argument("--overwrite", action="store_true", help="replace that file")


def run(given):
    """Print what the record says, and write the mean cycle."""
    import numpy as np

    from paddlebal.files.saving import write_text
    from paddlebal.formats.logger import read_logger
    from paddlebal.formats.paddle import load_any_paddle
    from paddlebal.logger import cycle_words, logged_torque
    from paddlebal.paddle import Paddle

    refuse_existing(given)
    paddle = load_any_paddle(given.paddle)
    if not isinstance(paddle, Paddle):
        raise InputError(
            "is known only from outside: measure its swing inertia as a pendulum, its roll inertia "
            "by a swing, and the couple half by half, and write a file of its parts",
            file=given.paddle,
        )
    logged = logged_torque(read_logger(given.record), paddle)
    for what, value in cycle_words(logged):
        print(f"{what:26} {value}")
    print("± is two standard uncertainties; the torque is that of hands and water together")
    if given.out:
        mean, spread = logged.mean_cycle()
        share = np.arange(mean.size) / mean.size
        rows = [f"{s:.3f},{m:.6f},{d:.6f}" for s, m, d in zip(share, mean, spread, strict=True)]
        head = "share of the cycle,torque [N·m],spread of the cycles [N·m]"
        write_text(given.out, "\n".join([head, *rows]) + "\n", given.overwrite)
    return 0
