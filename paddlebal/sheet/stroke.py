"""The sheet of counterweights that were computed for a stroke."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from paddlebal.arrays import Array
from paddlebal.cost import counterweight_cost
from paddlebal.errors import InputError
from paddlebal.felt import force_at, specific_force
from paddlebal.language import _
from paddlebal.limits import Envelope, Limits, beyond_hands, usual_size, weight_cautions
from paddlebal.logger import LoggedTorque
from paddlebal.motion_balance.best import MotionBalance
from paddlebal.motion_balance.limits import MOTION_CAUTION
from paddlebal.paddle import Counterweight, Paddle
from paddlebal.placement import Placement
from paddlebal.sheet import drawings
from paddlebal.sheet.canvas import plain
from paddlebal.sheet.content import (
    RETENTION,
    Section,
    Sheet,
    every_sheet,
    lost_letters,
)
from paddlebal.sheet.drawings import named
from paddlebal.stroke import Motion
from paddlebal.unbalance import magnitude, rest_angle
from paddlebal.units import GRAM, GRAM_MM, MM, STANDARD_GRAVITY, turn_deg

SAMPLES = 240
"""Instants of a cycle at which a fastening is looked at."""


@dataclass(frozen=True)
class Confirmed:
    """An envelope that the user has measured and stands for.

    Parameters
    ----------
    envelope : Envelope
    by : str
        Who measured it over the whole stroke, in the boat.
    """

    envelope: Envelope
    by: str


def fastening_load(stroke: Motion | LoggedTorque, piece: Counterweight) -> float:
    """Greatest force that a stroke asks of a piece's fastening.

    Parameters
    ----------
    stroke : Motion or LoggedTorque
    piece : Counterweight

    Returns
    -------
    float
        N.
    """
    place = np.array([piece.x, *(piece.unbalance / piece.mass)])
    if isinstance(stroke, Motion):
        force: Array = specific_force(stroke, stroke.times(SAMPLES), place)
    else:
        force = force_at(stroke.omega, stroke.domega, stroke.force, place)
    return float(piece.mass * np.linalg.norm(force, axis=1).max())


def stroke_sheet(
    paddle: Paddle,
    found: MotionBalance,
    stroke: Motion | LoggedTorque,
    stroke_name: str,
    confirmed: Confirmed | None,
    date: datetime.date | str,
    material: str = "brass",
) -> Sheet:
    """The sheet of pieces that `balance_for_motion` found, as far as an envelope allows them.

    Parameters
    ----------
    paddle : Paddle
        Without the pieces.
    found : MotionBalance
    stroke : Motion or LoggedTorque
        For which they were found.
    stroke_name : str
    confirmed : Confirmed or None
        Needed for a piece beyond the hands.
    date : datetime.date or str
        To print on the sheet.
    material : str
        A name of `material_densities`.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there is no piece, one lies beyond the hands and no envelope was confirmed that holds
        it, one would touch the shaft or a stretch kept free, or nothing can be drawn to scale.
    """
    if not found.pieces:
        raise InputError(_("there is no piece to fit"))
    pieces = tuple(_placed(paddle, each, material, confirmed) for each in found.pieces)
    weights = [weight for piece in pieces for weight in piece.counterweights]
    balanced = paddle.with_counterweights(*weights)
    shared = every_sheet(paddle, pieces, date)
    return Sheet(
        **shared,
        first=(_untried(confirmed),),
        work=(
            _fastening(stroke, pieces),
            _before_the_water(),
            Section(_("Take care"), notes=weight_cautions(pieces[0].density)),
        ),
        found=(
            _in_the_stroke(found, stroke_name),
            _at_rest(balanced),
            _price(paddle, balanced),
            *lost_letters(shared["lost"]),
        ),
        readings=Section(_("No bench reading stands behind this sheet"), notes=(
            _("The paddle's masses and offsets are those of its file; the torque is computed."),
        )),
        title=_("Counterweights for the stroke"),
    )  # fmt: skip


def _placed(paddle, piece, material, confirmed):
    """A piece as it is to be made, once it may be there."""
    limits = Limits.for_paddle(paddle, material=material)
    weight = Counterweight(piece.mass, piece.arm, piece.angle, piece.x, limits.density)
    diameter, length = usual_size(weight)
    where = f"x = {piece.x / MM:.0f} mm"
    if beyond_hands(paddle, piece.x):
        if confirmed is None:
            raise InputError(
                _(
                    "the piece at {where} lies beyond the hands: no sheet is made for it before "
                    "you have measured and confirmed how far a weight may reach there"
                ).format(where=where)
            )
        longest = confirmed.envelope.arm_at(piece.x)
        if piece.arm > longest + 1e-6:
            raise InputError(
                _(
                    "the piece at {where} has an arm of {arm:.0f} mm, your envelope ends at "
                    "{longest:.0f} mm there"
                ).format(where=where, arm=piece.arm / MM, longest=longest / MM)
            )
    least = limits.least_arm(piece.mass)
    if piece.arm < least:
        raise InputError(
            _(
                "the piece at {where} would touch the shaft: its arm is {arm:.0f} mm, the least is "
                "{least:.0f} mm"
            ).format(where=where, arm=piece.arm / MM, least=least / MM)
        )
    if not any(low <= piece.x <= high for low, high in limits.free_places(length)):
        raise InputError(
            _("the piece at {where} is {length:.0f} mm long and finds no room there").format(
                where=where, length=length / MM
            )
        )
    return Placement(
        weight.mass, weight.arm, weight.angle, weight.x, np.zeros(2), weight.density, diameter,
        length,
    )  # fmt: skip


def _untried(confirmed):
    notes = [_(MOTION_CAUTION)]
    if confirmed is not None:
        ends = zip(confirmed.envelope.distances, confirmed.envelope.arms, strict=True)
        listed = "; ".join(
            _("{arm:.0f} mm at {distance:.0f} mm").format(arm=arm / MM, distance=distance / MM)
            for distance, arm in ends
        )
        notes.append(
            _(
                "{by} states that over the whole stroke an arm may be, by the distance from "
                "mid-shaft: {listed}."
            ).format(by=plain(confirmed.by), listed=listed)
        )
    return Section(_("Computed, not tried on the water"), notes=tuple(notes))


def _fastening(stroke, pieces):
    facts = []
    for piece in pieces:
        asked, weight = fastening_load(stroke, piece.counterweight), piece.mass * STANDARD_GRAVITY
        must = max(RETENTION, 3 * asked / weight) * weight
        facts.append(
            (
                named(piece, pieces),
                _("the stroke asks {asked:.1f} N, {times:.1f} times its weight; each fastening "
                  "alone must hold {must:.0f} N").format(
                      asked=asked, times=asked / weight, must=must),
            )
        )  # fmt: skip
    return Section(
        _("Fasten each piece twice"),
        facts=tuple(facts),
        notes=(
            _(
                "Two fastenings that don't depend on each other, such as a clamp and a lashing "
                "through the weight. Each alone must hold {times} times the weight (assumed, no "
                "source), or three times what the stroke asks if that is more."
            ).format(times=RETENTION),
            _("Nothing may slide along, turn round or leave the shaft; at the end of a swing it "
              "pulls outward. Round all edges; seal against water."),
        ),
        ticks=tuple(
            f"{named(piece, pieces)}: {each}" for piece in pieces
            for each in (_("clamped"), _("tied a second time"), _("pulled: holds"))
        ),
    )  # fmt: skip


def _before_the_water():
    return Section(
        _("Before it goes on the water"),
        notes=(
            _(
                "Sit in the boat on land and go through the whole stroke slowly on both sides, "
                "then a low brace, getting in and getting out: no piece may touch or nearly touch "
                "hands, knees, hull or face."
            ),
            _(
                "Let the paddle float in shallow water. Go out near the shore, with company, and "
                "look at the fastenings again afterwards."
            ),
        ),
        ticks=(
            _("clear of hands"), _("clear of knees"), _("clear of the hull"),
            _("clear of the face"), _("floats"), _("fastening after the first outing"),
        ),
    )  # fmt: skip


def _in_the_stroke(found, stroke_name):
    aims = {
        "mean": _("mean size"), "mean square": _("root of the mean square"), "peak": _("peak"),
    }  # fmt: skip
    return Section(
        _("In the stroke"),
        facts=(
            (_("Stroke"), plain(stroke_name)),
            (_("Made least"), aims[found.aim]),
            (_("Bare"), f"{found.before:.3f} N·m"),
            (_("With these pieces"), f"{found.after:.3f} N·m"),
            (_("None at these places below"), f"{found.bound:.3f} N·m"),
        ),
        notes=(
            _(
                "Roll torque of the hands by the weight and inertia of the paddle alone. In "
                "another stroke it is another: look at it in the panel."
            ),
        ),
    )


def _at_rest(balanced):
    left = balanced.unbalance()
    size = float(magnitude(left))
    if size < GRAM_MM:
        return Section(_("At rest"), notes=(_("By this plan it stays at every roll angle."),))
    return Section(
        _("At rest"),
        notes=(
            _(
                "{size:.0f} g·mm are left: unless friction holds that, it rolls by itself until "
                "{start} points to {angle:.0f}°."
            ).format(
                size=size / GRAM_MM,
                angle=turn_deg(rest_angle(left)),
                start=drawings.start_of_angles(balanced),
            ),  # fmt: skip
        ),
    )


def _price(paddle, balanced):
    cost = counterweight_cost(paddle, balanced)
    facts = [
        (_("More to carry"), f"{cost.mass / GRAM:.0f} g"),
        (
            _("Swing inertia"),
            f"+ {1e3 * cost.swing_inertia:.1f} g·m²"
            f" ({cost.swing_inertia / paddle.inertia()[2, 2]:.0%})",
        ),
        (_("Balance point moves"), f"{cost.balance_shift / MM:z.0f} mm"),
    ]
    if cost.flotation is not None:
        carries = _("sinks") if cost.sinks else f"{cost.flotation / GRAM:.0f} g"
        facts.append((_("Sealed, it still carries"), carries))
    return Section(_("What it costs"), facts=tuple(facts))
