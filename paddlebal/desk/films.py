"""Films on the desk: a film that comes in pieces, the swing found in it as text, and all of them as
readings."""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Iterator, Mapping

import numpy as np

from paddlebal.bench.films import KnownMass, OneSwing, film_readings
from paddlebal.bench.readings import FilmReadings, SwingRecord
from paddlebal.desk.entry import BARE, RECTANGLE, Typed
from paddlebal.desk.form import FILMS, Field, film_fields
from paddlebal.errors import InputError
from paddlebal.film.record import swing_from
from paddlebal.film.search import Search
from paddlebal.film.video import refuse_too_large
from paddlebal.language import _

FILMED, FILMED_ON = "film", "film_on"
"""Under which films stand: of the paddle as it came, and with the weight on it."""


MOST_FILMS = 8


RECORD = "record"
"""Under which the angles of a film stand."""


NUMBERS = ("stiffness", "rest", "friction", "radius", "plumb", "plumb_u")


AT_A_TIME = 0.3
"""s that one step of a search takes, so that the page stays awake."""


def films_name(grid: str) -> str:
    """Under which films stand while readings go into a grid."""
    return FILMED if grid == BARE else FILMED_ON


def swing_text(swing: OneSwing) -> str:
    """What a film says, as a text to keep: support, numbers, and half of the covariance."""
    numbers = [getattr(swing, name) for name in NUMBERS]
    half = swing.covariance[np.triu_indices(3)]
    return " ".join([swing.support, *(f"{value:.10g}" for value in numbers),
                     *(f"{value:.6g}" for value in half)])  # fmt: skip


def swing_of(text: str, told: str = "") -> OneSwing | None:
    """The swing that a text keeps, with sentences on it; None if it keeps none."""
    support, *rest = text.split() or [""]
    try:
        values = [float(part) for part in rest]
    except ValueError:
        return None
    if len(values) != len(NUMBERS) + 6 or np.isnan(values).any():
        return None
    covariance = np.zeros((3, 3))
    covariance[np.triu_indices(3)] = values[len(NUMBERS) :]
    covariance += np.triu(covariance, 1).T
    named = dict(zip(NUMBERS, values, strict=False))
    return OneSwing(support=support, covariance=covariance, told=tuple(told.splitlines()), **named)


def film_rows(texts: Mapping[str, str], under: str) -> tuple[int, ...]:
    """The rows that hold a film."""
    return tuple(row for row in range(MOST_FILMS) if texts.get(f"{under}/{row}/swing", "").strip())


def texts_of_film(
    texts: Mapping[str, str],
    under: str,
    name: str,
    swing: OneSwing,
    record: SwingRecord | None = None,
) -> dict[str, str]:
    """The texts that keep a film in the first free row: what it says, and the angles as read."""
    taken = film_rows(texts, under)
    row = next((row for row in range(MOST_FILMS) if row not in taken), None)
    if row is None:
        raise InputError(_("holds more films than the desk"), file=name)
    fresh = {f"{under}/{row}/{field.name}": field.preset for field in film_fields()}
    return fresh | {
        f"{under}/{row}/name": name,
        f"{under}/{row}/swing": swing_text(swing),
        f"{under}/{row}/told": "\n".join(swing.told),
        f"{under}/{row}/{RECORD}": "" if record is None else record_as_text(record),
    }


def record_as_text(record: SwingRecord) -> str:
    """Times [s], angles [rad] and their uncertainties, a line for each frame."""
    rows = np.broadcast_arrays(record.time, record.roll, record.angle_u)
    return "\n".join(f"{t:.6f} {angle:.6f} {u:.6f}" for t, angle, u in zip(*rows, strict=True))


def texts_without_film(under: str, row: int) -> dict[str, str]:
    """The texts that take a film out."""
    names = ("name", "swing", "told", RECORD, *(field.name for field in film_fields()))
    return {f"{under}/{row}/{name}": "" for name in names}


def texts_of_films(readings: FilmReadings, under: str) -> dict[str, str]:
    """The texts of the films of a bench file."""
    per = 1 / RECTANGLE
    texts = {
        "way": FILMS,
        "support": readings.support,
        "known_step": f"{1e3 * per * readings.mass_u:.6g}",
        "known_arm_step": f"{1e3 * per * readings.arm_u:.6g}",
        "known_angle_step": f"{math.degrees(per * readings.angle_u):.6g}",
        "slope_step": f"{math.degrees(per * readings.slope_u):.6g}",
    }
    if readings.rest is not None:
        texts["rest"] = f"{math.degrees(readings.rest):.6g}"
    if readings.stiffness.size > MOST_FILMS:
        raise InputError(_("holds more films than the desk"))
    for row in range(readings.stiffness.size):
        left, here = bool(readings.from_left[row]), f"{under}/{row}"
        seen, mirror = float(readings.rest_roll[row]), np.array([1, -1 if left else 1, 1])
        swing = OneSwing(
            float(readings.stiffness[row]), math.pi - seen if left else seen,
            float(readings.friction[row]), readings.covariance[row] * np.outer(mirror, mirror),
            readings.support, readings.radius,
            plumb_u=readings.camera_u, told=readings.told if row == 0 else (),
        )  # fmt: skip
        mass, inertia = float(readings.mass[row]), float(readings.inertia[row])
        diameter = math.sqrt(8 * inertia / mass) if mass else 0.0
        texts |= {
            f"{here}/name": _("film {number}").format(number=row + 1),
            f"{here}/swing": swing_text(swing),
            f"{here}/told": "\n".join(swing.told),
            f"{here}/mass": f"{1e3 * mass:.6g}" if mass else "",
            f"{here}/arm": f"{1e3 * float(readings.arm[row]):.6g}" if mass else "",
            f"{here}/angle": f"{math.degrees(readings.angle[row]):.6g}" if mass else "",
            f"{here}/diameter": f"{1e3 * diameter:.6g}" if diameter else "",
            f"{here}/end": "left" if left else "right",
        }
    return texts


def films_from(typed: Typed, under: str) -> FilmReadings | None:
    """The films as readings; None if there are fewer than two, or something is missing."""
    steps = [typed.number(name) for name in ("known_step", "known_arm_step", "known_angle_step",
                                             "slope_step")]  # fmt: skip
    paddle_mass, rest = typed.number("mass"), typed.number("rest")
    support, shaft = typed.choice("support"), typed.number("shaft")
    swings: list[OneSwing] = []
    masses: list[KnownMass] = []
    left: list[bool] = []
    whole = True
    for row in film_rows(typed.texts, under):
        here = f"{under}/{row}"
        swing = swing_of(typed.texts[f"{here}/swing"], typed.texts.get(f"{here}/told", ""))
        if swing is None:
            continue
        if swing.support != support or (
            support == "rails" and shaft and abs(swing.radius - shaft / 2) > 1e-6
        ):
            typed.wrong(f"{here}/mass", _("was read for another support or shaft: bring it anew"))
            whole = False
        known = _known(typed, here)
        whole = whole and known is not None
        swings.append(swing)
        masses.append(known or KnownMass())
        left.append(typed.texts.get(f"{here}/end") == "left")
    if len(swings) < 2 or not whole or None in steps or (support == "rails" and not paddle_mass):
        return None
    mass_u, arm_u, angle_u, slope_u = (RECTANGLE * step for step in steps if step is not None)
    return film_readings(
        swings, masses, paddle_mass=paddle_mass, from_left=left, mass_u=mass_u, arm_u=arm_u,
        angle_u=angle_u, slope_u=slope_u, rest=rest,
    )  # fmt: skip


def _known(typed: Typed, here: str) -> KnownMass | None:
    """The known mass of a film; None if something about it is missing or wrong."""
    asked: dict[str, Field] = {field.name: field for field in film_fields()}
    values = {
        name: typed.cell(f"{here}/{name}", asked[name], typed.texts.get(f"{here}/{name}", ""))
        for name in ("mass", "arm", "angle", "diameter")
    }
    if not values["mass"]:
        return KnownMass()
    for name in ("arm", "angle"):
        if values[name] is None and not typed.texts.get(f"{here}/{name}", "").strip():
            typed.wrong(f"{here}/{name}", _("is needed for a known mass"))
    if values["arm"] is None or values["angle"] is None:
        return None
    return KnownMass.cylinder(
        values["mass"], values["arm"], values["angle"], values["diameter"] or 0.0
    )


class IncomingFilm:
    """A film that a browser sends in pieces and that is then searched step by step.

    Parameters
    ----------
    name : str
        What it is called.
    size : int
        Bytes in all.

    Raises
    ------
    InputError
        If it is too large.
    """

    def __init__(self, name: str, size: int) -> None:
        refuse_too_large(size, name)
        self.name, self.size, self.there = name, size, 0
        self._file = tempfile.NamedTemporaryFile(prefix="paddlebal-")  # noqa: SIM115 closed by close
        self._search: Search | None = None
        self._shares: Iterator[float] = iter(())

    def add(self, piece: bytes) -> None:
        """Take the next piece; no more than was said."""
        if self.there + len(piece) > self.size:
            raise InputError(_("is longer than was said"), file=self.name)
        try:
            self._file.write(piece)
            self._file.flush()
        except OSError as error:
            raise InputError(
                _("cannot be kept while it is searched ({why})").format(why=error.strerror),
                file=self.name,
            ) from error
        self.there += len(piece)

    def step(self) -> float | None:
        """Search on for a moment; the share that is done, None at its end."""
        if self._search is None:
            self._search = Search(self._file.name, name=self.name)
            self._shares = iter(self._search)
        ends = time.monotonic() + AT_A_TIME
        for share in self._shares:
            if time.monotonic() > ends:
                return share
        return None

    def swing(
        self, support: str, radius: float, frame_rate: float | None
    ) -> tuple[OneSwing, SwingRecord]:
        """The swing that was found, and its angles; arguments as for `film_record`."""
        if self._search is None:
            raise InputError(_("was not searched yet"), file=self.name)
        filmed = swing_from(self._search.found, support, radius, frame_rate)
        return filmed.fitted(), filmed.record

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()
