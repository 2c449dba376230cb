"""Blade designs on one paddle: what crank, depth, blade mass and feather do, side by side.

The two blades of the paddle are replaced by blades of one shape (`paddlebal.blade`), scaled to
a wanted mass. Balance is all that is compared: nothing here knows how a blade pulls water.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import asdict, dataclass, fields, replace
from typing import NamedTuple

import numpy as np

from paddlebal.arrays import Array
from paddlebal.blade import CrankedShape, blade_body, blade_from
from paddlebal.errors import InputError
from paddlebal.files.text import plain_cell
from paddlebal.mesh import inertia_of
from paddlebal.paddle import SIDES, Paddle, counterweight_adding
from paddlebal.unbalance import catch_torque, catch_torques, magnitude
from paddlebal.units import GRAM_MM


def body_of_mass(shape, mass):
    """The cranked blade's `Body` scaled to a mass [kg], its surface unchanged."""
    body = blade_body(shape)
    return body._replace(mass=mass, inertia=mass / body.mass * body.inertia)


def with_blades(paddle, shape, mass, feather):
    """A paddle without counterweights, with two blades of a shape, each of a mass [kg].

    feather [rad].
    """
    body = body_of_mass(shape, mass)
    blades = {side: blade_from(body, side, shape.length, shape.width) for side in SIDES}
    return replace(paddle, feather=feather, counterweights=(), **blades)


def with_share(paddle: Paddle, share: float, arm: float, x: float) -> Paddle:
    """The paddle with a counterweight of a share of the balancing mass.

    share from 0, none, to 1, balanced; arm and place along the shaft x [m].

    Parameters
    ----------
    paddle : Paddle
    share : float
        0 to 1.
    arm, x : float
        m.

    Returns
    -------
    Paddle
    """
    if share == 0 or not paddle.unbalance().any():
        return paddle
    return paddle.with_counterweights(counterweight_adding(-share * paddle.unbalance(), arm, x))


@dataclass(frozen=True)
class Variant:
    """One design in the units of the drawing board, what was chosen and what follows.

    Angles in degrees, masses in g, lengths in mm, unbalance in g·mm, torque in N·m, swing
    inertia in kg·m². share_percent is the part of the unbalance that the fitted counterweight,
    at that arm and place along the shaft, takes away.
    """

    name: str
    crank_deg: float
    depth_mm: float
    blade_mass_g: float
    feather_deg: float
    arm_mm: float
    x_mm: float
    share_percent: float
    offset_mm: float
    unbalance_g_mm: float
    holding_torque_N_m: float
    full_counterweight_g: float
    fitted_counterweight_g: float
    total_mass_g: float
    swing_inertia_kg_m2: float
    flotation_g: float


DECIMALS = {
    "depth_mm": 1,
    "share_percent": 0,
    "unbalance_g_mm": 0,
    "holding_torque_N_m": 4,
    "swing_inertia_kg_m2": 5,
}
"""Decimals of a variant's numbers in a table, one for those that are not named."""


def design_variant(
    paddle: Paddle,
    shape: CrankedShape,
    mass: float,
    feather: float,
    arm: float,
    share: float,
    x: float,
    name: str = "",
) -> Variant:
    """The `Variant` of a paddle with blades of a shape; arguments as above, in SI.

    Parameters
    ----------
    paddle : Paddle
        Gives shaft, length and hands.
    shape : BladeShape or MeshShape
    mass : float
        Of a blade [kg].
    feather : float
        rad.
    arm : float
        Of the counterweight [m].
    share : float
        Of the unbalance that it takes away, 0 to 1.
    x : float
        Of the counterweight [m].
    name : str
        What the designer calls it.

    Returns
    -------
    Variant
    """
    bare = with_blades(paddle, shape, mass, feather)
    fitted = with_share(bare, share, arm, x)
    return Variant(
        name=name,
        crank_deg=math.degrees(shape.crank),
        depth_mm=1e3 * shape.depth,
        blade_mass_g=1e3 * mass,
        feather_deg=math.degrees(feather),
        arm_mm=1e3 * arm,
        x_mm=1e3 * x,
        share_percent=100 * share,
        offset_mm=1e3 * bare.right.offset,
        unbalance_g_mm=float(magnitude(fitted.unbalance())) / GRAM_MM,
        holding_torque_N_m=catch_torque(fitted),
        full_counterweight_g=1e3 * float(magnitude(bare.unbalance())) / arm,
        fitted_counterweight_g=1e3 * sum(w.mass for w in fitted.counterweights),
        total_mass_g=1e3 * fitted.mass,
        swing_inertia_kg_m2=float(fitted.inertia()[2, 2]),
        flotation_g=1e3 * fitted.flotation,
    )


def variants_csv(variants):
    """The variants as the text of a CSV file, one a row; units stand in the column names.

    Raises InputError if there is none.
    """
    if not variants:
        raise InputError("there is no variant to write, expected at least one in the table")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(field.name for field in fields(Variant))
    writer.writerows([_cell(*item) for item in asdict(one).items()] for one in variants)
    return text.getvalue()


def _cell(name, value):
    if isinstance(value, str):
        return plain_cell(value)
    if math.isnan(value):
        return ""
    return f"{value:z.{DECIMALS.get(name, 1)}f}"


class Cloud(NamedTuple):
    """Many designs: total mass [kg], swing inertia [kg·m²] and holding torque [N·m], (n, m, k)
    over cranks, feathers and shares of the balancing counterweight."""

    mass: Array
    swing_inertia: Array
    holding: Array


def cloud(paddle, shape, mass, cranks, feathers, shares, arm, x):
    """The `Cloud` over cranks (n,), feathers (m,) [rad] and shares (k,); the rest as above."""
    feathers, shares = np.asarray(feathers), np.asarray(shares)
    bodies = [body_of_mass(replace(shape, crank=crank), mass) for crank in cranks]
    centres = np.array([body.centre[1:] for body in bodies])
    about_O = [body.inertia + inertia_of(body.centre[None], np.array([mass])) for body in bodies]
    across = np.array(about_O)[:, None, 1:, 1:]
    c, s = np.cos(feathers), np.sin(feathers)
    turn = np.moveaxis(np.array([[c, s], [-s, c]]), -1, 0)
    turned = turn @ across @ turn.swapaxes(-1, -2)
    U = mass * (centres[:, None] + np.einsum("mij,nj->nmi", turn, centres))
    I_zz = paddle.shaft.inertia[2, 2] + (across + turned)[..., 1, 1]
    holding = np.abs(catch_torques(U, (0.0, feathers))).max(axis=0)
    size = magnitude(U)
    weight = size / arm
    place = x**2 + (arm * U[..., 0] / np.where(size, size, 1.0)) ** 2
    added = shares * weight[..., None]
    return Cloud(
        paddle.shaft.mass + 2 * mass + added,
        I_zz[..., None] + added * place[..., None],
        (1 - shares) * holding[..., None],
    )


def pareto_front(cost, other):
    """Places (n,) in two flat arrays of the pairs that no pair undercuts in both, cost rising."""
    order = np.lexsort((other, cost))
    best = np.minimum.accumulate(other[order])
    return order[np.diff(best, prepend=np.inf) < 0]
