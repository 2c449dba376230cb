"""The fitting sheet: A4 pages for the workshop, as PDF and as HTML, from the same content.

`fitting_sheet` gathers the words and the drawings; typst sets them as PDF, a browser as HTML. The
drawings are to scale, so the pages are to be printed at 100 %.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import count

import numpy as np

from paddlebal.bench.films import FilmsFit
from paddlebal.bench.readings import AddOnReadings, FilmReadings, LeverReadings
from paddlebal.bench.result import BenchFit
from paddlebal.book.alike import Prediction, polar_of
from paddlebal.cost import counterweight_cost
from paddlebal.couple import blade_middles, couple_of_one_piece
from paddlebal.errors import InputError
from paddlebal.language import _
from paddlebal.limits import beyond_hands, weight_cautions
from paddlebal.outside import AnyPaddle, blade_moments, not_known
from paddlebal.paddle import Paddle
from paddlebal.placement import Placement
from paddlebal.sheet.content import (
    Section,
    Sheet,
    every_sheet,
    lost_letters,
    mounting,
)
from paddlebal.sheet.drawings import named
from paddlebal.trim import Trim, left_by, trim_words
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY, turn_deg

MOST_COLUMNS, MOST_READINGS = 14, 480
"""Readings that stand side by side in a table, and that are listed at all."""


COVERAGE = 2.0
"""Expanded uncertainties are this many standard uncertainties (JCGM 100, k = 2)."""


def fitting_sheet(
    paddle: AnyPaddle,
    readings: LeverReadings | AddOnReadings | FilmReadings,
    fit: BenchFit,
    placement: Placement | Sequence[Placement],
    date: datetime.date | str,
    *,
    doubts: Sequence[str] | None = None,
    forecast: str = "",
    remedy: str = "",
    trim: Trim | None = None,
    better: Placement | None = None,
    before: Prediction | None = None,
) -> Sheet:
    """The fitting sheet of a paddle measured at the bench and its counterweights.

    Parameters
    ----------
    paddle : Paddle or OutsidePaddle
        As it was measured.
    readings : LeverReadings, AddOnReadings or FilmReadings
        What was read at the bench.
    fit : BenchFit
        What `fit_bench` made of the readings.
    placement : Placement or sequence of Placement
        The counterweight to fit, or the several; with a trim, those that are on as they are
        to be.
    date : datetime.date or str
        To print on the sheet, as 2026-11-25.
    doubts : sequence of str, optional
        What to settle first; by default what the fit doubts.
    forecast, remedy : str
        Whether the paddle will stay, and what would settle it, in words.
    trim : Trim, optional
        What to change about the weights that are on.
    better : Placement, optional
        A heavier piece that would leave less.
    before : Prediction, optional
        What the paddles of its model before say, if it was counted in.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a weight lies beyond the hands, or something cannot be drawn to scale on the page.
    """
    pieces = (placement,) if isinstance(placement, Placement) else tuple(placement)
    if not all(piece.mass > 0 for piece in pieces):
        raise InputError(_("the placement has no mass, expected a counterweight to fit"))
    doubts = fit.doubts if doubts is None else doubts
    shared = every_sheet(paddle, pieces, date, better)
    for piece in pieces if trim is None else ():
        if beyond_hands(paddle, piece.x):
            raise InputError(
                _(
                    "the weight would sit at x = {x:.0f} mm, beyond the hands, where no sheet is "
                    "made for it: expected a nearer farthest place"
                ).format(x=piece.x / MM)
            )
    return Sheet(
        **shared,
        first=(*_doubts(doubts), *_change(paddle, trim)),
        work=(
            mounting(pieces),
            _check(paddle, pieces),
            Section(_("Take care"), notes=weight_cautions(pieces[0].density)),
        ),
        found=(
            _forecast(fit, pieces, trim, forecast, remedy),
            _fit(fit),
            *_before(before, fit),
            _cost(paddle, fit, pieces, trim),
            *_blades(paddle, fit),
            *_unknown(paddle),
            *lost_letters(shared["lost"]),
        ),
        readings=_readings(readings),
        title=_("Counterweight fitting sheet"),
    )


def _doubts(doubts):
    return (
        (Section(_("Settle this before you make the piece"), notes=tuple(doubts)),)
        if doubts
        else ()
    )


def _change(paddle, trim):
    if trim is None:
        return ()
    note = _(
        "The paddle was measured with its weights on. Below they stand as they are to "
        "be; none is to be added beside them."
    )
    return (Section(_("The weights that are on"), notes=(trim_words(paddle, trim), note)),)


def _as_unbalance(moment):
    """A moment [N·m] as the unbalance [g·mm] that gravity gives it at the most."""
    return moment / STANDARD_GRAVITY / GRAM_MM


def _fit(fit):
    size, direction, size_u, direction_u = fit.polar
    size, size_u = size / GRAM_MM, COVERAGE * size_u / GRAM_MM
    direction_u = COVERAGE * math.degrees(direction_u)
    rms = np.sqrt(np.mean(np.sum(fit.residuals.reshape(len(fit.residuals), -1) ** 2, axis=1)))
    facts = [
        (_("Unbalance"), f"{size:.0f} ± {size_u:.0f} g·mm"),
        (_("Direction"), f"{turn_deg(direction):.1f}° ± {direction_u:.1f}°"),
    ]
    if fit.friction is not None:
        facts.append((_("Friction"), f"{fit.friction_words(STANDARD_GRAVITY * GRAM_MM, 0)} g·mm"))
    if fit.zero is not None:
        zero, zero_u = fit.zero, COVERAGE * math.sqrt(fit.covariance[3, 3])
        in_grams = STANDARD_GRAVITY * GRAM
        facts.append((_("Scale zero"), f"{zero / in_grams:z.1f} ± {zero_u / in_grams:z.1f} g"))
        rms = rms / STANDARD_GRAVITY
    if isinstance(fit, FilmsFit):
        inertia, inertia_u = fit.inertia, COVERAGE * fit.inertia_u
        camera, camera_u = math.degrees(fit.camera), COVERAGE * math.degrees(fit.camera_u)
        facts += [
            (_("Roll inertia"), f"{1e6 * inertia:.0f} ± {1e6 * inertia_u:.0f} kg·mm²"),
            (_("Camera's roll"), f"{camera:z.1f}° ± {camera_u:.1f}°"),
        ]
    else:
        facts.append((_("Residuals, rms"), f"{rms / GRAM_MM:.0f} g·mm"))
    return Section(
        _("What the bench found"),
        facts=tuple(facts),
        notes=(
            _("±: k = {COVERAGE:.0f}, about 95 %. The direction is counted like the angle.").format(
                COVERAGE=COVERAGE
            ),
        ),
    )


def _before(before, fit):
    """What the paddles of its model before say, where they were counted in."""
    if before is None:
        return ()
    size, direction, size_u = polar_of(before)
    return (
        Section(
            _("The paddles of its model before"),
            facts=(
                (_("Of this model and size"), str(before.count)),
                (
                    _("They would say"),
                    f"{size / GRAM_MM:.0f} ± {COVERAGE * size_u / GRAM_MM:.0f} g·mm, "
                    f"{turn_deg(direction):.1f}°",
                ),
                (
                    _("So far off by chance"),
                    f"{before.agreement(fit.unbalance, fit.unbalance_covariance):.0%}",
                ),
            ),
            notes=(
                _(
                    "The weight is placed by these and the readings together. Whether it stays is "
                    "said by the readings alone; look where it comes to rest."
                ),
            ),
        ),
    )


def _readings(readings):
    if isinstance(readings, LeverReadings):
        return _lever_readings(readings)
    if isinstance(readings, AddOnReadings):
        columns = readings.mass / GRAM, readings.arm / MM, np.degrees(readings.angle)
        rows = zip((_("Mass, g"), _("Arm, mm"), _("Angle, °")), columns, strict=True)
        return _listed(
            _("Bench readings: {count} trials with a known mass on a known arm").format(
                count=readings.mass.size
            ),
            [(name, [f"{value:.1f}" for value in values]) for name, values in rows],
        )
    if isinstance(readings, FilmReadings):
        return _film_readings(readings)
    raise InputError(
        _("the readings are timed swings, expected those that the unbalance came from")
    )


def _film_readings(readings):
    period = 2 * math.pi / np.sqrt(readings.stiffness)
    columns = (
        (_("Known mass, g"), readings.mass / GRAM, ".1f"),
        (_("Arm, mm"), readings.arm / MM, ".1f"),
        (_("Angle, °"), np.degrees(readings.angle), ".1f"),
        (_("Comes to rest at, °"), np.degrees(readings.rest_roll), ".2f"),
        (_("Period of a small swing, s"), period, ".4f"),
        (_("Friction over unbalance"), readings.friction, ".4f"),
    )
    on = _("on rollers") if readings.support == "rollers" else _("on rails")
    return _listed(
        _("Bench readings: {count} filmed swings, {on}").format(count=period.size, on=on),
        [(name, [f"{value:z{form}}" for value in values]) for name, values, form in columns],
    )


def _lever_readings(readings):
    angles = np.round(np.degrees(readings.roll), 1).tolist()
    arms = np.round(readings.arm / MM, 1).tolist()
    scale = readings.pull / STANDARD_GRAVITY / GRAM
    pulls: dict[tuple[float, float, int], dict[float, float]] = {}
    for angle, arm, sense, pull in zip(angles, arms, readings.turning, scale, strict=True):
        again = count()
        column = next(
            found
            for found in (pulls.setdefault((angle, arm, time), {}) for time in again)
            if sense not in found
        )
        column[sense] = pull
    rows = [(_("Roll angle, °"), [f"{angle:g}" for angle, _, _ in pulls])]
    one_arm = len(set(arms)) == 1
    if not one_arm:
        rows.append((_("Arm, mm (+ lifts far side)"), [f"{arm:g}" for _, arm, _ in pulls]))
    for label, sense in ((_("Pull turning with it, g"), 1), (_("Pull turning against it, g"), -1)):
        found = [column.get(sense) for column in pulls.values()]
        rows.append((label, ["–" if pull is None else f"{pull:.0f}" for pull in found]))
    how = {
        "vertical": _("lever and scale"),
        "tangential": _("string and scale"),
        "hung": _("masses hung on a string"),
    }[readings.pull_direction]
    on = _("on rollers") if readings.support == "rollers" else _("on rails")
    method = f"{how}, {on}"
    arm = _(", arm {arm:g} mm").format(arm=arms[0]) if one_arm else ""
    listed = _listed(
        _("Bench readings: {method}{arm}, {count} readings").format(
            method=method, arm=arm, count=scale.size
        ),
        rows,
    )
    if not readings.left_out:
        return listed
    gone = _("Left out, as all others speak against it: {left_out}.").format(
        left_out=", ".join(readings.left_out)
    )
    return replace(listed, notes=(*listed.notes, gone))


def _listed(title, rows):
    """A section with tables of so many columns side by side as a page holds."""
    every = len(rows[0][1])
    tables = [
        tuple((heading, *cells[start : start + MOST_COLUMNS]) for heading, cells in rows)
        for start in range(0, min(every, MOST_READINGS), MOST_COLUMNS)
    ]
    cut = _(
        "Only the first {MOST_READINGS} of {every} columns are listed; the file holds all."
    ).format(MOST_READINGS=MOST_READINGS, every=every)
    return Section(title, tables=tuple(tables), notes=(cut,) if every > MOST_READINGS else ())


def _forecast(fit, pieces, trim, forecast, remedy):
    left = magnitude(left_by(pieces, fit.unbalance, trim)) / GRAM_MM
    # The bench's error points anywhere; twice the root of its mean square holds at least 95 %.
    left_u = COVERAGE * math.sqrt(np.trace(fit.unbalance_covariance)) / GRAM_MM
    facts = [
        (
            _("Left by this plan"),
            _("up to {left_u:.0f} g·mm (95 %) if fitted exactly").format(left_u=left + left_u),
        )
    ]
    if forecast:
        facts.insert(0, (_("On this bench it"), forecast))
    notes = [remedy] if remedy else []
    if fit.friction is not None and fit.friction > 0:
        held = _as_unbalance(fit.friction)
        facts.append((_("Friction holds"), _("up to {held:z.0f} g·mm").format(held=held)))
        room = held - left - left_u
        notes.append(
            _("Beside that nothing may be off: measure better first.")
            if room <= 0
            else _("Beside that one thing alone may be off by: ")
            + "; ".join(_tolerances(piece, room, pieces) for piece in pieces)
            + "."
        )
    return Section(_("Will it stay?"), facts=tuple(facts), notes=tuple(notes))


def _tolerances(piece, room, pieces):
    """How far mass, arm or angle of a piece may be off by itself for so much unbalance [g·mm]."""
    mass, arm = piece.mass / GRAM, piece.arm / MM
    which = "" if len(pieces) == 1 else f"{named(piece, pieces)} "
    parts = _("{which}± {mass:.1f} g, ± {arm:.1f} mm or ± {angle:.1f}°")
    angle = math.degrees(room / (mass * arm))
    return parts.format(which=which, mass=room / arm, arm=room / mass, angle=angle)


def _check(paddle, pieces):
    mass = sum(piece.mass for piece in pieces) / GRAM
    size = sum(piece.mass * piece.arm for piece in pieces) / GRAM_MM
    return Section(
        _("Check it afterwards"),
        notes=(
            _(
                "Put the paddle back on the same rollers or rails, turn it and let go at each of "
                "these roll angles: it must stay."
            ),
            _(
                "If the weight sinks, shorten the arm; if it rises, lengthen it: each mm is "
                "{mass:.0f} g·mm. If it stops at the side, turn the arm round the shaft toward "
                "the side that is up: each degree is {moment:.0f} g·mm. Or measure again with "
                "the weight on and let the change be computed."
            ).format(mass=mass, moment=size * math.radians(1)),
            _(
                "Then let the paddle float in shallow water, and look at the fastening again "
                "after the first outing."
            ),
        ),
        ticks=(
            *(f"{angle}°" for angle in range(0, 360, 45)),
            _("floats"),
            _("fastening after the first outing"),
        ),
    )


def _cost(paddle, fit, pieces, trim):
    if trim is not None:
        added = trim.added if trim.needed else 0.0
        more = _("{added:+.1f} g against now, {whole:.0f} g in all.").format(
            added=added / GRAM, whole=(paddle.mass + added) / GRAM
        )
        return Section(_("What it costs"), notes=(more,))
    weights = [w for piece in pieces for w in piece.counterweights]
    price = counterweight_cost(paddle, paddle.with_counterweights(*weights), measured=fit.unbalance)
    parts = [
        _("{mass:.0f} g more to carry, {whole:.0f} g in all").format(
            mass=price.mass / GRAM, whole=(paddle.mass + price.mass) / GRAM
        )
    ]
    if isinstance(paddle, Paddle):
        swing = 100 * price.swing_inertia / paddle.inertia()[2, 2]
        parts.append(_("{swing:.1f} % more swing inertia").format(swing=swing))
    else:
        parts.append(
            _("{swing_inertia:.4f} kg·m² more swing inertia").format(
                swing_inertia=price.swing_inertia
            )
        )
    if price.flotation is not None:
        parts.append(
            _("sealed and in fresh water it sinks, {flotation:z.0f} g too heavy").format(
                flotation=-price.flotation / GRAM
            )
            if price.sinks
            else _("sealed and in fresh water it still carries {flotation:z.0f} g").format(
                flotation=price.flotation / GRAM
            )
        )
    text = "; ".join(parts) + "."
    if price.holding_torque_before is not None:
        text += _(
            " Torque to hold at the catch: {holding_torque_before:.3f} N·m before, "
            "{holding_torque_after:.3f} N·m after."
        ).format(
            holding_torque_before=price.holding_torque_before,
            holding_torque_after=price.holding_torque_after,
        )
    return Section(_("What it costs"), notes=(text,))


def _blades(paddle, fit):
    """What the blades weigh on their offsets, where that is inferred from the bench."""
    if isinstance(paddle, Paddle) or not paddle.faces_known:
        return ()
    try:
        each = blade_moments(paddle, fit.unbalance, fit.unbalance_covariance)
    except InputError as error:
        return (Section(_("The blades"), notes=(str(error),)),)
    moments = zip(("control", "other"), each[:2], each[2:], strict=True)
    facts = [
        (
            _("control blade") if name == "control" else _("other blade"),
            f"{value / GRAM_MM:.0f} ± {COVERAGE * u / GRAM_MM:.0f} g·mm",
        )
        for name, value, u in moments
    ]
    if blade_middles(paddle) is not None:
        couple = couple_of_one_piece(paddle, fit.unbalance, fit.unbalance_covariance)
        size, u = 1e3 * couple.size, COVERAGE * 1e3 * couple.size_u
        facts.append((_("couple of both"), f"{size:.1f} ± {u:.1f} g·m²"))
    return (
        Section(
            _("The blades: mass times offset"),
            facts=tuple(facts),
            notes=(
                _(
                    "Inferred by an in-plane model: each blade's mass on the line along its back. "
                    "The ± counts the error of the face's angle and 2 mm of mass sideways."
                ),
            ),
        ),
    )


def _unknown(paddle):
    notes = tuple(
        _("{what}: measure {how}.").format(what=what, how=how) for what, how in not_known(paddle)
    )
    return (Section(_("Not known of this paddle"), notes=notes),) if notes else ()
