"""Command line: `paddlebal fit`, `film`, `target`, `logger` and `book`."""

import argparse
import os
import sys

from paddlebal.commands import book, film, fit, logger, target
from paddlebal.errors import InputError

COMMANDS = {"fit": fit, "film": film, "target": target, "logger": logger, "book": book}


def parser():
    top = argparse.ArgumentParser(prog="paddlebal", description=__doc__)
    commands = top.add_subparsers(dest="command", required=True)
    for command in COMMANDS.values():
        command.add(commands)
    return top


def main(words=None):
    """Run a command.

    `fit` gives 0 if every file could be used and 1 if not, `film` 0 if nothing is in doubt and 1
    if something is, the others 0; 2 if nothing can be told or written, 130 if it was stopped.
    """
    given = parser().parse_args(words)
    for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(threads, "1")  # more only get in each other's way here
    try:
        return COMMANDS[given.command].run(given)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
