"""Command line: `paddlebal fit FILE_OR_FOLDER --out DIR`."""

import argparse
import datetime
import sys

from paddlebal.errors import InputError


def parser():
    top = argparse.ArgumentParser(prog="paddlebal", description=__doc__)
    commands = top.add_subparsers(dest="command", required=True)
    fit = commands.add_parser("fit", help="fit bench files, place counterweights, write the sheets")
    fit.add_argument("path", metavar="FILE_OR_FOLDER", help="a bench file, or a folder of them")
    fit.add_argument("--out", metavar="DIR", required=True, help="folder for the results")
    fit.add_argument("--material", default="brass", help="of the counterweight (default: brass)")
    fit.add_argument(
        "--longest-arm-mm", type=float, default=60.0, help="from the shaft axis (default: 60)"
    )
    fit.add_argument(
        "--farthest-mm", type=float, default=500.0, help="from mid-shaft (default: 500)"
    )
    fit.add_argument("--overwrite", action="store_true", help="replace results of an earlier run")
    return top


def main(words=None):
    """Run the command: 0 if every file could be used, 1 if not, 2 if nothing can be written."""
    given = parser().parse_args(words)
    from tqdm import tqdm

    from paddlebal.batch import fit_all

    try:
        failed = fit_all(
            given.path,
            given.out,
            datetime.date.today(),
            overwrite=given.overwrite,
            track=lambda files: tqdm(files, unit="file"),
            report=lambda sentence: tqdm.write(sentence, file=sys.stderr),
            material=given.material,
            arm=(0.0, 1e-3 * given.longest_arm_mm),
            reach=1e-3 * given.farthest_mm,
        )
    except InputError as error:
        print(error, file=sys.stderr)
        return 2
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
