"""`paddlebal fit`: bench files to counterweights and fitting sheets."""

import datetime
import sys

from paddlebal.commands.options import add_numbers

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


def add(commands):
    """Add the command to those of the parser."""
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
    add_numbers(fit, NUMBERS)
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


def run(given):
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
