"""`paddlebal film`: filmed swings, bare and with a known mass, to the unbalance."""

import math
import sys
from pathlib import Path

from paddlebal.commands.options import add_numbers, refuse_existing
from paddlebal.errors import InputError

EACH = (
    ("mass-g", "known mass of each film, 0 where the paddle was bare"),
    ("arm-mm", "its arm, from the shaft axis"),
    ("angle-deg", "its angle on the disc"),
    ("diameter-mm", "its diameter, if it is a cylinder along the shaft"),
)
"""Options that take a number for each film: name and what it is."""


NUMBERS = (
    ("mass-u-g", 0.1, "standard uncertainty of a known mass"),
    ("arm-u-mm", 0.3, "standard uncertainty of its arm"),
    ("angle-u-deg", 0.5, "standard uncertainty of its angle"),
    ("slope-u-deg", 0.2, "standard uncertainty of the rails' level, across the shaft"),
    ("camera-u-deg", None, "standard uncertainty of the camera's roll, if it was levelled"),
    ("paddle-mass-g", None, "of the bare paddle, needed on rails"),
    ("shaft-mm", None, "diameter of the shaft, needed on rails"),
    ("frame-rate", None, "frames a second at which it was filmed, if it plays slower"),
    ("rest-deg", None, "where the bare paddle comes to rest on the disc, by eye"),
    ("weight-arm-mm", 60.0, "arm of the weight to fit"),
)


TABLES = (".csv", ".tsv", ".txt", ".xlsx", ".ods")
"""Endings of swing records."""


def add(commands):
    """Add the command to those of the parser."""
    film = commands.add_parser(
        "film", help="unbalance from filmed swings, bare and with a known mass"
    )
    film.add_argument(
        "films", metavar="FILM", nargs="+",
        help="an MP4 or MOV of the printed target, or a bench file 'swing record'",
    )  # fmt: skip
    for name, words in EACH:
        film.add_argument(f"--{name}", type=float, nargs="+", metavar="X", help=words)
    film.add_argument(
        "--end", nargs="+", choices=("right", "left"),
        help="the paddle's end that each film looks at (right)",
    )  # fmt: skip
    film.add_argument("--support", choices=("rollers", "rails"), default="rollers")
    add_numbers(film, NUMBERS)
    film.add_argument("--paddle", default="", metavar="FILE", help="to name in the bench file")
    film.add_argument("--out", metavar="FILE", help="bench file to write, for `paddlebal fit`")
    film.add_argument("--overwrite", action="store_true", help="replace that file")


def run(given):
    """Print what the films say together, and write the bench file."""
    from paddlebal.bench.films import best_angle, fit_films
    from paddlebal.units import DEG

    refuse_existing(given)
    readings = _readings(given)
    found = fit_films(readings)
    _tell(given, readings, found)
    for sentence in found.doubts:
        print(f"In doubt: {sentence}")
    angle = best_angle(readings, found) / DEG
    print(f"One more film tells most with the known mass at about {angle:.0f}°.")
    if given.out:
        from paddlebal.files.saving import write_text
        from paddlebal.formats.bench import films_text

        write_text(given.out, films_text(readings), given.overwrite)
    return int(bool(found.doubts))


def _readings(given):
    """Films and known masses that the options state, as `FilmReadings`."""
    from paddlebal.bench.films import KnownMass, film_readings
    from paddlebal.units import DEG, GRAM, MM

    count = len(given.films)
    columns = [
        _each(f"--{name}", getattr(given, name.replace("-", "_")), count, 0.0) for name, _ in EACH
    ]
    ends = _each("--end", given.end, count, "right")
    masses = [
        KnownMass.cylinder(m * GRAM, r * MM, a * DEG, d * MM)
        for m, r, a, d in zip(*columns, strict=True)
    ]
    swings = [_swing(given, path) for path in given.films]
    return film_readings(
        swings,
        masses,
        paddle_mass=None if given.paddle_mass_g is None else given.paddle_mass_g * GRAM,
        from_left=[end == "left" for end in ends],
        mass_u=given.mass_u_g * GRAM,
        arm_u=given.arm_u_mm * MM,
        angle_u=given.angle_u_deg * DEG,
        camera_u=None if given.camera_u_deg is None else given.camera_u_deg * DEG,
        slope_u=given.slope_u_deg * DEG,
        rest=None if given.rest_deg is None else given.rest_deg * DEG,
        paddle=given.paddle,
    )  # fmt: skip


def _each(name, values, count, default):
    values = values or [default] * count
    if len(values) != count:
        raise InputError(f"{name}: expected one for each of the {count} films, got {len(values)}")
    return values


def _swing(given, path):
    """The swing in a film or in a bench file."""
    from paddlebal.bench.films import one_swing
    from paddlebal.bench.readings import SwingRecord
    from paddlebal.units import MM

    if Path(path).suffix.lower() in TABLES:
        from paddlebal.formats.bench import read_bench

        record = read_bench(path)
        if not isinstance(record, SwingRecord):
            raise InputError("expected a swing record", file=path)
        return one_swing(record)
    from tqdm import tqdm

    from paddlebal.film.record import film_record

    if given.support == "rails" and given.shaft_mm is None:
        raise InputError("on rails the shaft's diameter matters: state --shaft-mm")
    with tqdm(total=1.0, desc=Path(path).name, unit="film", file=sys.stderr,
              bar_format="{desc} {percentage:3.0f}%|{bar}| {elapsed}") as bar:  # fmt: skip

        def track(shares):
            for share in shares:
                bar.update(share - bar.n)
                yield share
            bar.update(1 - bar.n)

        radius = (given.shaft_mm or 30.0) / 2 * MM
        return film_record(path, given.support, radius, given.frame_rate, track).fitted()


def _tell(given, readings, found):
    import numpy as np

    from paddlebal.unbalance import magnitude
    from paddlebal.units import DEG, GRAM, GRAM_MM, MM

    u = np.sqrt(np.diag(found.covariance))
    turned = "plumb line off" if math.isfinite(readings.camera_u) else "camera's roll"
    for name, value, one_u in zip(("U_y", "U_z"), found.unbalance, u, strict=False):
        print(f"{name:14} {value / GRAM_MM:,.0f} ± {2 * one_u / GRAM_MM:,.0f} g·mm")
    print(f"roll inertia   {1e6 * found.inertia:.0f} ± {2e6 * found.inertia_u:.0f} kg·mm²")
    print(f"{turned:14} {found.camera / DEG:.1f} ± {2 * found.camera_u / DEG:.1f}°")
    for path, friction in zip(given.films, found.moments, strict=True):
        print(f"friction       {1e3 * friction:.2f} N·mm in {path}")
    print("± is two standard uncertainties, about 95 %")
    size, arm = float(magnitude(found.unbalance)), given.weight_arm_mm * MM
    away = np.arctan2(-found.unbalance[1], -found.unbalance[0]) / DEG
    print(f"to balance it  {size / arm / GRAM:.0f} g on {arm / MM:g} mm at {away:.1f}°")
