"""Command line: `paddlebal fit FILE_OR_FOLDER --out DIR`, `paddlebal film RECORD RECORD ...`."""

import argparse
import datetime
import os
import sys

from paddlebal.errors import InputError

NUMBERS = (
    ("least-mass-g", 0.0, "lightest piece"),
    ("most-mass-g", 400.0, "heaviest piece"),
    ("shortest-arm-mm", 0.0, "shortest arm, from the shaft axis"),
    ("longest-arm-mm", 60.0, "longest arm, from the shaft axis"),
    ("farthest-mm", 500.0, "farthest place, from mid-shaft"),
    ("mass-step-g", 0.0, "whole steps of the mass, 0 for none"),
    ("arm-step-mm", 0.0, "whole steps of the arm, 0 for none"),
    ("angle-step-deg", 0.0, "whole steps of the angle, 0 for none"),
    ("slenderness", 2.0, "length over diameter of the piece"),
    ("holder-mass-g", 0.0, "mass of what holds the piece, if it isn't on yet"),
    ("holder-arm-mm", 0.0, "its distance from the shaft axis"),
    ("holder-angle-deg", 0.0, "from the piece's direction to its own"),
    ("mass-u-g", 0.3, "standard uncertainty of the piece's mass as made"),
    ("arm-u-mm", 0.3, "standard uncertainty of its arm as fitted"),
    ("angle-u-deg", 0.3, "standard uncertainty of its angle as fitted"),
)
"""Options that take a number: name, default and what it is."""


def parser():
    top = argparse.ArgumentParser(prog="paddlebal", description=__doc__)
    commands = top.add_subparsers(dest="command", required=True)
    fit = commands.add_parser("fit", help="fit bench files, place counterweights, write the sheets")
    fit.add_argument("path", metavar="FILE_OR_FOLDER", help="a bench file, or a folder of them")
    fit.add_argument("--out", metavar="DIR", required=True, help="folder for the results")
    fit.add_argument("--material", default="brass", help="of the counterweight (default: brass)")
    fit.add_argument(
        "--pieces",
        choices=("one", "pair", "halves"),
        default="one",
        help="one counterweight, two either side of where it would sit, or one for each half",
    )
    for name, default, words in NUMBERS:
        fit.add_argument(
            f"--{name}", type=float, default=default, metavar="X", help=f"{words} ({default:g})"
        )
    fit.add_argument(
        "--leave-out-wrong", action="store_true", help="leave out a reading that all others doubt"
    )
    fit.add_argument(
        "--second-weight",
        action="store_true",
        help="give a paddle that carries weights further ones, in place of a change of these",
    )
    fit.add_argument(
        "--decimal-comma",
        action="store_true",
        help="write the table with decimal commas between semicolons",
    )
    fit.add_argument("--overwrite", action="store_true", help="replace results of an earlier run")
    fit.add_argument("--jobs", type=int, help="files at once (default: one a processor)")
    add_film(commands)
    return top


KNOWN = (
    ("mass-g", "known mass of each record, 0 where the paddle was bare"),
    ("arm-mm", "its arm, from the shaft axis"),
    ("angle-deg", "its angle, as that of a counterweight"),
    ("diameter-mm", "its diameter, if it is a cylinder along the shaft"),
)
"""Options of `film` that take a number for each record: name and what it is."""


SURE = (
    ("mass-u-g", 0.1, "standard uncertainty of a known mass"),
    ("arm-u-mm", 0.3, "standard uncertainty of its arm"),
    ("angle-u-deg", 0.5, "standard uncertainty of its angle"),
)


def add_film(commands):
    """The command `film`."""
    film = commands.add_parser(
        "film", help="unbalance from recorded swings, bare and with a known mass"
    )
    film.add_argument("records", metavar="RECORD", nargs="+", help="a bench file, 'swing record'")
    for name, words in KNOWN:
        film.add_argument(f"--{name}", type=float, nargs="+", metavar="X", help=words)
    for name, default, words in SURE:
        film.add_argument(
            f"--{name}", type=float, default=default, metavar="X", help=f"{words} ({default:g})"
        )
    film.add_argument(
        "--paddle-mass-g", type=float, metavar="X", help="of the bare paddle, needed on rails"
    )
    film.add_argument(
        "--camera-u-deg",
        type=float,
        metavar="X",
        help="standard uncertainty of the camera's roll, with a plumb line in view (unknown)",
    )
    film.add_argument(
        "--weight-arm-mm",
        type=float,
        default=60.0,
        metavar="X",
        help="arm of the weight to fit (60)",
    )


def limits_of(given):
    """The limits [SI] that the options state, as for `fit_file`."""
    from paddlebal.limits import Holder
    from paddlebal.units import DEG, GRAM, MM

    holder = None
    if given.holder_mass_g:
        holder = Holder(
            given.holder_mass_g * GRAM, given.holder_arm_mm * MM, given.holder_angle_deg * DEG
        )
    return {
        "material": given.material,
        "mass": (given.least_mass_g * GRAM, given.most_mass_g * GRAM),
        "arm": (given.shortest_arm_mm * MM, given.longest_arm_mm * MM),
        "reach": given.farthest_mm * MM,
        "mass_step": given.mass_step_g * GRAM,
        "arm_step": given.arm_step_mm * MM,
        "angle_step": given.angle_step_deg * DEG,
        "slenderness": given.slenderness,
        "holder": holder,
        "workshop_u": (given.mass_u_g * GRAM, given.arm_u_mm * MM, given.angle_u_deg * DEG),
        "pieces": given.pieces,
        "leave_out": given.leave_out_wrong,
        "second": given.second_weight,
    }


def films_of(given):
    """Records and known masses that the options state."""
    from paddlebal.bench.films import KnownMass
    from paddlebal.bench.readings import SwingRecord
    from paddlebal.formats.bench import read_bench
    from paddlebal.units import DEG, GRAM, MM

    records = [read_bench(path) for path in given.records]
    for path, record in zip(given.records, records, strict=True):
        if not isinstance(record, SwingRecord):
            raise InputError(f"{path}: expected a swing record")
    count = len(records)
    columns = {}
    for name, _words in KNOWN:
        values = getattr(given, name.replace("-", "_")) or [0.0] * count
        if len(values) != count:
            raise InputError(
                f"--{name}: expected a number for each of the {count} records, got {len(values)}"
            )
        columns[name] = values
    sure = given.mass_u_g * GRAM, given.arm_u_mm * MM, given.angle_u_deg * DEG
    masses = [
        KnownMass(m * GRAM, r * MM, a * DEG, m * GRAM * (d * MM) ** 2 / 8, *sure)
        for m, r, a, d in zip(*columns.values(), strict=True)
    ]
    return records, masses


def film(given):
    """Print what recorded swings say together."""
    import numpy as np

    from paddlebal.bench.films import best_angle, fit_films
    from paddlebal.unbalance import magnitude
    from paddlebal.units import DEG, GRAM, GRAM_MM, MM

    records, masses = films_of(given)
    if given.paddle_mass_g is None and any(each.support == "rails" for each in records):
        raise InputError("on rails the paddle's mass matters: state --paddle-mass-g")
    mass = (given.paddle_mass_g or 1000.0) * GRAM
    camera_u = np.inf if given.camera_u_deg is None else given.camera_u_deg * DEG
    found = fit_films(records, masses, mass, camera_u)
    scale = (GRAM_MM, GRAM_MM, 1.0, DEG)
    rows = (("U_y", "g·mm", ",.0f"), ("U_z", "g·mm", ",.0f"),
            ("roll inertia", "kg·m²", ".6f"), ("camera's roll", "deg", ".2f"))  # fmt: skip
    values = (*found.unbalance, found.inertia, found.camera)
    for (name, unit, form), value, u, one in zip(
        rows, values, found.uncertainties, scale, strict=True
    ):
        print(f"{name:14} {value / one:{form}} ± {u / one:{form}} {unit}")
    for path, friction in zip(given.records, found.friction_moments, strict=True):
        print(f"friction       {1e3 * friction:.2f} N·mm in {path}")
    size, arm = float(magnitude(found.unbalance)), given.weight_arm_mm * MM
    away = np.arctan2(-found.unbalance[1], -found.unbalance[0]) / DEG
    print(f"to balance it  {size / arm / GRAM:.0f} g on {arm / MM:g} mm at {away:.1f}°")
    for sentence in found.doubts:
        print(f"In doubt: {sentence}")
    heaviest = max(masses, key=lambda each: each.mass * each.arm)
    angle = best_angle(found, heaviest, mass) / DEG
    print(f"One more record tells most with the known mass at about {angle:.0f}°.")
    return int(bool(found.doubts))


def main(words=None):
    """Run a command.

    `fit` gives 0 if every file could be used and 1 if not, `film` 0 if nothing is in doubt and 1
    if something is; 2 if nothing can be told or written, 130 if it was stopped.
    """
    given = parser().parse_args(words)
    for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(threads, "1")  # more only get in each other's way here
    try:
        return film(given) if given.command == "film" else fit(given)
    except InputError as error:
        print(error, file=sys.stderr)
        return 2


def fit(given):
    """Fit bench files, and say how many there were of each state."""
    from tqdm import tqdm

    from paddlebal.batch import FAILED, fit_all

    def track(outcomes, total):
        return tqdm(outcomes, total=total, unit="file")

    try:
        counts = fit_all(
            given.path,
            given.out,
            datetime.date.today(),
            overwrite=given.overwrite,
            track=track,
            report=lambda sentence: tqdm.write(sentence, file=sys.stderr),
            jobs=given.jobs,
            decimal_comma=given.decimal_comma,
            **limits_of(given),
        )
    except KeyboardInterrupt:
        print(f"stopped; what is done stands in {given.out}", file=sys.stderr)
        return 130
    print(", ".join(f"{count} {state}" for state, count in counts.items() if count))
    return int(counts[FAILED] > 0)


if __name__ == "__main__":
    sys.exit(main())
