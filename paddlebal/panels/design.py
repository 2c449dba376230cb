"""Slider panels for the designer: blade and crank, fronts and variants, tolerances."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from html import escape
from typing import NamedTuple

import ipywidgets as widgets
import numpy as np

from paddlebal.arrays import Array
from paddlebal.blade import (
    BladeShape,
    CrankedShape,
    Design,
    blade_body,
    design_map,
    design_slope,
    straight_body,
)
from paddlebal.designs import Variant, cloud, design_variant, pareto_front, variants_csv
from paddlebal.paddle import SIDES, Paddle
from paddlebal.panels.panel import Panel, chooser, download_link, slider
from paddlebal.pictures.design import DesignPicture, FrontPicture, TornadoPicture
from paddlebal.placement import Placement, half_unbalance
from paddlebal.tolerance import placement_tolerance
from paddlebal.unbalance import magnitude
from paddlebal.units import DEG, GRAM, GRAM_MM, MM, PERCENT, STANDARD_GRAVITY

CRANKS, FEATHERS = np.radians(np.linspace(0, 12, 201)), np.radians(np.linspace(0, 90, 201))


MASSES, ARMS = np.linspace(0.12, 0.25, 201), np.linspace(0.03, 0.12, 201)
"""rad, rad, kg, m: what the maps span."""


DEPTHS_MM = np.arange(0, 51, 5)


NET = 14, 20
"""Stations and vertices around of the net that is drawn."""


QUANTITIES = {
    "unbalance": ("unbalance [kg·mm]", np.arange(0, 31, 2.5)),
    "holding torque": ("holding torque at a catch [N·m]", np.arange(0, 0.31, 0.025)),
    "counterweight mass": ("counterweight that balances [g]", np.arange(0, 481, 40)),
}
"""Of the crank and feather map: what is shown, its label and the edges of its bands."""


WEIGHT_LEVELS = np.arange(0, 721, 60)


def _design_sliders(paddle, shape):
    """A slider for the depth only if it is known; a drawn blade begins with its own mass."""
    known = math.isfinite(shape.depth)
    depth, mass = {}, 0.175 if known else shape.straight().mass
    if known:
        depth["depth"] = slider("depth of the spoon [mm]", 0, 50, 5, shape.depth / MM, unit=MM)
        for each in DEPTHS_MM:
            straight_body(_shape(shape, 0, MM * each))
    return {
        "crank": slider("crank [deg]", 0, 12, 0.2, math.degrees(shape.crank), 1, DEG),
        **depth,
        "mass": slider("mass of a blade [g]", 120, 250, 1, mass / GRAM, unit=GRAM),
        "feather": slider("feather [deg]", 0, 90, 1, math.degrees(paddle.feather), unit=DEG),
        "arm": slider("counterweight arm [mm]", 30, 120, 1, 80, unit=MM),
    }


def _shape(shape, crank, depth=None):
    """The shape at a crank [rad] and, if it can be chosen, a depth [m]."""
    shape = replace(shape, crank=crank)
    return shape if depth is None else replace(shape, depth=round(depth, 9))


@dataclass(frozen=True, eq=False)
class DesignState:
    """A design, what follows from it, its slopes with the crank, and the maps around it.

    scale is the chosen blade mass over that of the shape; maps are arrays over CRANKS and
    FEATHERS by quantity, weights [kg] one over ARMS and MASSES; quantity is the map shown.
    """

    shape: CrankedShape
    centre: Array
    mass: float
    feather: float
    arm: float
    now: Variant
    slope: Design
    scale: float
    maps: dict[str, Array]
    weights: Array
    quantity: str


def design_state(paddle, start, crank, mass, feather, arm, quantity, depth=None):
    """The state of a paddle with blades that begin as a shape; all in SI."""
    shape = _shape(start, crank, depth)
    body = blade_body(shape)
    scale = mass / body.mass
    made = design_map(shape, CRANKS, FEATHERS, arm)
    now = design_variant(paddle, shape, mass, feather, arm, 0.0, 0.0)
    maps = {
        "unbalance": scale * made.unbalance,
        "holding torque": scale * _greater(made),
        "counterweight mass": scale * made.counterweight,
    }
    weights = GRAM * now.full_counterweight_g * np.outer(arm / ARMS, MASSES / mass)
    slope = design_slope(shape, shape.crank, feather, arm)
    found = now, slope, scale, maps, weights, quantity
    return DesignState(shape, body.centre, mass, feather, arm, *found)


UNITS = {"unbalance": 1e3 * GRAM_MM, "holding torque": 1.0, "counterweight mass": GRAM}
"""Of each quantity on its map."""


def draw_design(picture, state):
    now, quantity = state.now, state.quantity
    words = {
        "unbalance": f"{now.unbalance_g_mm / 1e3:.1f} kg·mm",
        "holding torque": f"{now.holding_torque_N_m:.3f} N·m",
        "counterweight mass": f"{now.full_counterweight_g:.0f} g",
    }
    here = math.degrees(state.shape.crank), math.degrees(state.feather)
    shown = state.maps[quantity].T / UNITS[quantity]
    left = *QUANTITIES[quantity], shown, here, words[quantity]
    at, name = (state.mass / GRAM, state.arm / MM), "counterweight mass"
    right = QUANTITIES[name][0], WEIGHT_LEVELS, state.weights / GRAM, at, words[name]
    picture.update(state.shape.net(*NET), state.centre, (left, right))


def design_rows(state):
    now, slope = state.now, state.slope
    # A size of nothing can only grow, whichever way its slope is taken.
    more = slope.unbalance if now.unbalance_g_mm > 0.5 else abs(slope.unbalance)
    return [
        ("offset of a blade", f"{now.offset_mm:z.1f} mm"),
        ("… for each degree more crank", f"{DEG * slope.offset / MM:+z.2f} mm"),
        ("unbalance", f"{now.unbalance_g_mm:z,.0f} g·mm"),
        ("… for each degree more crank", f"{state.scale * DEG * more / GRAM_MM:+,.0f} g·mm"),
        ("holding torque at a catch", f"{now.holding_torque_N_m:.3f} N·m"),
        ("counterweight that balances", f"{now.full_counterweight_g:.0f} g"),
        ("swing inertia without it", f"{now.swing_inertia_kg_m2:.4f} kg·m²"),
    ]


def design_panel(paddle: Paddle, shape: CrankedShape | None = None) -> widgets.VBox:
    """Crank, depth, blade mass, feather and arm: the blade, and maps around the design.

    Parameters
    ----------
    paddle : Paddle
        Gives the shaft and the feather to begin with.
    shape : BladeShape or MeshShape, optional
        The blade to begin with, by default the invented example.

    Returns
    -------
    ipywidgets.VBox
    """
    shape = shape or BladeShape()
    controls = _design_sliders(paddle, shape)
    controls["quantity"] = chooser("map of", list(QUANTITIES))
    start, stop = shape.crank_point - 0.05, shape.root + shape.length + 0.04
    extents = (
        (*np.degrees(CRANKS[[0, -1]]), *np.degrees(FEATHERS[[0, -1]])),
        (*MASSES[[0, -1]] / GRAM, *ARMS[[0, -1]] / MM),
    )
    picture = DesignPicture(start, stop, shape.net(*NET), extents)
    state, draw = partial(design_state, paddle, shape), partial(draw_design, picture)
    return Panel("design", controls, [picture], state, draw, design_rows).widget


def _greater(design):
    return np.maximum(np.abs(design.holding_control), np.abs(design.holding_other))


SHARES, BLADES = np.linspace(0, 1, 11), (0.14, 0.175, 0.21)
"""Parts of the balancing counterweight, and masses of a blade [kg], of the grey points."""


TABLE = {
    "name": ("name", ""),
    "crank_deg": ("crank [deg]", ".1f"),
    "depth_mm": ("depth [mm]", ".0f"),
    "blade_mass_g": ("blade [g]", ".0f"),
    "feather_deg": ("feather [deg]", ".0f"),
    "arm_mm": ("arm [mm]", ".0f"),
    "share_percent": ("balanced [%]", ".0f"),
    "unbalance_g_mm": ("unbalance [g·mm]", "z,.0f"),
    "holding_torque_N_m": ("holding torque [N·m]", ".3f"),
    "fitted_counterweight_g": ("counterweight [g]", ".0f"),
    "total_mass_g": ("paddle [g]", ".0f"),
    "swing_inertia_kg_m2": ("swing inertia [kg·m²]", ".4f"),
    "flotation_g": ("carried afloat [g]", ".0f"),
}
"""Columns of the table of variants that is shown: field, title, format."""


X = 0.1
"""Place of the counterweight along the shaft [m]."""


class Front(NamedTuple):
    """Holding torque against one cost: all designs, the front, the path to balance, the present.

    Arrays (2, n) of cost and torque [N·m]; the present (2,).
    """

    every: Array
    front: Array
    path: Array
    here: Array


@dataclass(frozen=True, eq=False)
class VariantState:
    """A variant, and the fronts of holding torque against mass [kg] and swing inertia [kg·m²]."""

    now: Variant
    mass: Front
    swing_inertia: Front


def variant_state(paddle, start, crank, mass, feather, arm, share, depth=None):
    """The state of a paddle with blades that begin as a shape; all in SI."""
    shape = _shape(start, crank, depth)
    cranks, feathers = CRANKS[::20], FEATHERS[::40]
    every = [cloud(paddle, shape, one, cranks, feathers, SHARES, arm, X) for one in BLADES]
    path = cloud(paddle, shape, mass, [crank], [feather], SHARES, arm, X)
    here = cloud(paddle, shape, mass, [crank], [feather], [share], arm, X)
    fronts = {}
    for name in ("mass", "swing_inertia"):
        points = np.hstack([_points(one, name) for one in every])
        front = points[:, pareto_front(*points)]
        fronts[name] = Front(points, front, _points(path, name), _points(here, name)[:, 0])
    now = design_variant(paddle, shape, mass, feather, arm, share, X)
    return VariantState(now, **fronts)


def draw_fronts(picture, state):
    units = np.array([GRAM, 1.0])
    in_grams = Front(*((part.T / units).T for part in state.mass))
    picture.update(in_grams, state.swing_inertia)


def variant_rows(state):
    now = state.now
    return [
        ("holding torque at a catch", f"{now.holding_torque_N_m:.3f} N·m"),
        ("residual unbalance", f"{now.unbalance_g_mm:z,.0f} g·mm"),
        ("counterweight", f"{now.fitted_counterweight_g:.0f} g"),
        ("mass of the paddle", f"{now.total_mass_g:.0f} g"),
        ("swing inertia", f"{now.swing_inertia_kg_m2:.4f} kg·m²"),
        ("still carried afloat", f"{now.flotation_g:z.0f} g"),
    ]


def _points(cloud, name):
    return np.stack([np.ravel(getattr(cloud, name)), np.ravel(cloud.holding)])


def variants_panel(paddle: Paddle, shape: CrankedShape | None = None) -> widgets.VBox:
    """What holding torque costs in mass and in swing inertia, and a table of one's own variants.

    Parameters
    ----------
    paddle : Paddle
        As for `design_panel`.
    shape : BladeShape or MeshShape, optional
        As for `design_panel`.

    Returns
    -------
    ipywidgets.VBox
    """
    shape = shape or BladeShape()
    controls = _design_sliders(paddle, shape)
    controls["share"] = slider("part that is balanced [%]", 0, 100, 5, 0, unit=PERCENT)
    picture = FrontPicture((500, 1100), (0.25, 0.5), (0.0, 0.35))
    state, draw = partial(variant_state, paddle, shape), partial(draw_fronts, picture)
    panel = Panel("variants", controls, [picture], state, draw, variant_rows)

    def named(name):
        return replace(state(**panel.values()).now, name=name)

    panel.widget.children += (_variants_table(named),)
    return panel.widget


def _variants_table(make):
    """Buttons to add make(name) as a row and to take the last row away, and a link to the rows.

    The link hands the rows to the browser as a CSV file: nothing is written here.
    """
    rows: list[Variant] = []
    shown, said = widgets.HTML(), widgets.HTML()
    name = widgets.Text(description="name of the variant", style={"description_width": "initial"})

    def draw():
        shown.value = variants_html(rows)
        links = []
        if rows:
            links = [download_link("variants.csv", "text/csv", variants_csv(rows).encode())]
        said.value = f'<p role="status">{" ".join([f"{len(rows)} in the table", *links])}</p>'

    def add(_):
        rows.append(make(name.value.strip()))
        draw()

    def drop(_):
        del rows[-1:]
        draw()

    buttons = []
    for words, action in (("Add to my table", add), ("Drop the last", drop)):
        button = widgets.Button(description=words)
        button.on_click(action)
        buttons.append(button)
    draw()
    return widgets.VBox([widgets.HBox([name, *buttons]), said, shown])


def variants_html(rows):
    """The variants as an HTML table, one a row."""
    style = 'style="text-align:right;padding:0 0.7em;font-weight:normal"'
    head = "".join(f'<th scope="col" {style}>{escape(title)}</th>' for title, _ in TABLE.values())
    body = "".join(
        "<tr>"
        + "".join(
            f"<td {style}>{_written(getattr(r, f), spec)}</td>" for f, (_, spec) in TABLE.items()
        )
        + "</tr>"
        for r in rows
    )
    return f'<table style="font-size:14px;line-height:1.6"><tr>{head}</tr>{body}</table>'


def _written(value, spec):
    unknown = isinstance(value, float) and math.isnan(value)
    return "–" if unknown else escape(format(value, spec))


ERRORS = ("mass", "arm", "angle", "feather")


@dataclass(frozen=True, eq=False)
class ToleranceState:
    """What errors of fitting leave, and what friction holds [kg·m].

    alone holds the 95 % quantile of the residual [kg·m] with one error only, together that
    with all; stays is the share of pieces that stay where they are put.
    """

    bare: float
    held: float
    alone: dict[str, float]
    together: float
    stays: float

    @property
    def worst(self):
        """The error that leaves most; 'none' if all leave next to nothing."""
        name = max(self.alone, key=self.alone.__getitem__)
        return name if self.alone[name] > 0.5 * GRAM_MM else "none"


def tolerance_state(paddle, placement, friction, draws, mass, arm, angle, feather):
    """The state for standard errors of mass [kg], arm [m], angle and feather [rad]."""
    far = next(side for side in SIDES if side != paddle.half(placement.x))
    U, held = paddle.unbalance(), friction / STANDARD_GRAVITY
    spread = placement_tolerance(
        placement, U, mass, arm, angle, draws, np.random.default_rng(1), (0.95,),
        feather_u=feather, far_half=half_unbalance(paddle, far),
    )  # fmt: skip
    edge = np.searchsorted(spread.edges, held)
    return ToleranceState(
        float(magnitude(U)),
        held,
        {name: float(quantile[0]) for name, quantile in spread.alone.items()},
        float(spread.quantiles[0]),
        spread.counts[:edge].sum() / spread.draws,
    )


def tolerance_rows(state):
    return [
        ("unbalance without counterweight", f"{state.bare / GRAM_MM:,.0f} g·mm"),
        ("the error that leaves most", state.worst),
        ("pieces that stay where they are put", f"{100 * state.stays:.0f} of 100"),
    ]


def tolerance_panel(
    paddle: Paddle, placement: Placement, friction: float, draws: int = 40_000
) -> widgets.VBox:
    """Which error at the bench leaves most: mass, arm, angle or feather.

    Parameters
    ----------
    paddle : Paddle
        Without the counterweight.
    placement : Placement
    friction : float
        Friction moment of the bench [N·m].
    draws : int
        Of the Monte Carlo study at each move of a slider.

    Returns
    -------
    ipywidgets.VBox
    """
    controls = {
        "mass": slider("error of mass [g]", 0, 3, 0.1, 1, 1, GRAM),
        "arm": slider("error of arm [mm]", 0, 2, 0.1, 0.5, 1, MM),
        "angle": slider("error of angle [deg]", 0, 3, 0.1, 1, 1, DEG),
        "feather": slider("error of feather [deg]", 0, 3, 0.1, 1, 1, DEG),
    }
    picture = TornadoPicture(ERRORS, 2000, friction / STANDARD_GRAVITY / GRAM_MM)

    def draw(state):
        alone = {name: left / GRAM_MM for name, left in state.alone.items()}
        picture.update(alone, state.together / GRAM_MM)

    state = partial(tolerance_state, paddle, placement, friction, draws)
    return Panel("tolerance", controls, [picture], state, draw, tolerance_rows).widget
