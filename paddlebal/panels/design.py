"""Slider panels for the designer: blade and crank, fronts and variants, tolerances."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from html import escape

import ipywidgets as widgets
import numpy as np

from paddlebal.blade import (
    BladeShape,
    CrankedShape,
    blade_body,
    design_map,
    design_slope,
    straight_body,
)
from paddlebal.designs import cloud, design_variant, pareto_front, variants_csv
from paddlebal.paddle import SIDES, Paddle
from paddlebal.panels.panel import Panel, chooser, download_link, slider
from paddlebal.pictures.design import DesignPicture, FrontPicture, TornadoPicture
from paddlebal.placement import Placement, half_unbalance
from paddlebal.tolerance import placement_tolerance
from paddlebal.unbalance import magnitude
from paddlebal.units import GRAM_MM, STANDARD_GRAVITY

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
        depth["depth"] = slider("depth of the spoon [mm]", 0, 50, 5, 1e3 * shape.depth)
        for each in DEPTHS_MM:
            straight_body(_shape(shape, 0, each))
    return {
        "crank": slider("crank [deg]", 0, 12, 0.2, math.degrees(shape.crank), digits=1),
        **depth,
        "mass": slider("mass of a blade [g]", 120, 250, 1, 1e3 * mass),
        "feather": slider("feather [deg]", 0, 90, 1, math.degrees(paddle.feather)),
        "arm": slider("counterweight arm [mm]", 30, 120, 1, 80),
    }


def _shape(shape, crank, depth=None):
    """The shape at a crank [deg] and, if it can be chosen, a depth [mm]."""
    shape = replace(shape, crank=math.radians(crank))
    return shape if depth is None else replace(shape, depth=1e-3 * depth)


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
        (*1e3 * MASSES[[0, -1]], *1e3 * ARMS[[0, -1]]),
    )
    picture = DesignPicture(start, stop, shape.net(*NET), extents)

    def show(crank, mass, feather, arm, quantity, depth=None):
        chosen, phi = _shape(shape, crank, depth), math.radians(feather)
        m, r = _si(mass, arm)
        body = blade_body(chosen)
        scale = m / body.mass
        made = design_map(chosen, CRANKS, FEATHERS, r)
        maps = {
            "unbalance": scale * made.unbalance / GRAM_MM / 1e3,
            "holding torque": scale * _greater(made),
            "counterweight mass": 1e3 * scale * made.counterweight,
        }
        now = design_variant(paddle, chosen, m, phi, r, 0.0, 0.0)
        words = {
            "unbalance": f"{now.unbalance_g_mm / 1e3:.1f} kg·mm",
            "holding torque": f"{now.holding_torque_N_m:.3f} N·m",
            "counterweight mass": f"{now.full_counterweight_g:.0f} g",
        }
        weights = now.full_counterweight_g * np.outer(r / ARMS, MASSES / m)
        left = *QUANTITIES[quantity], maps[quantity].T, (crank, feather), words[quantity]
        right = (QUANTITIES["counterweight mass"][0], WEIGHT_LEVELS, weights, (mass, arm))
        picture.update(chosen.net(*NET), body.centre, (left, (*right, words["counterweight mass"])))
        slope = design_slope(chosen, chosen.crank, phi, r)
        per_degree = math.radians(1)
        # A size of nothing can only grow, whichever way its slope is taken.
        more = slope.unbalance if now.unbalance_g_mm > 0.5 else abs(slope.unbalance)
        return [
            ("offset of a blade", f"{round(now.offset_mm, 1) + 0.0:z.1f} mm"),
            ("… for each degree more crank", f"{1e3 * per_degree * slope.offset:+z.2f} mm"),
            ("unbalance", f"{now.unbalance_g_mm:,.0f} g·mm"),
            (
                "… for each degree more crank",
                f"{scale * per_degree * more / GRAM_MM:+,.0f} g·mm",
            ),
            ("holding torque at a catch", f"{now.holding_torque_N_m:.3f} N·m"),
            ("counterweight that balances", f"{now.full_counterweight_g:.0f} g"),
            ("swing inertia without it", f"{now.swing_inertia_kg_m2:.4f} kg·m²"),
        ]

    return Panel("design", controls, [picture], show).widget


def _si(mass, arm):
    return 1e-3 * mass, 1e-3 * arm


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
    controls["share"] = slider("part that is balanced [%]", 0, 100, 5, 0)
    picture = FrontPicture((500, 1100), (0.25, 0.5), (0.0, 0.35))
    cranks, feathers = CRANKS[::20], FEATHERS[::40]

    def chosen(crank, mass, feather, arm, share, depth=None):
        m, r = _si(mass, arm)
        return _shape(shape, crank, depth), m, math.radians(feather), r, share / 100

    def show(**values):
        at, m, phi, r, share = chosen(**values)
        every = [cloud(paddle, at, one, cranks, feathers, SHARES, r, X) for one in BLADES]
        path = cloud(paddle, at, m, [at.crank], [phi], SHARES, r, X)
        here = cloud(paddle, at, m, [at.crank], [phi], [share], r, X)
        against = []
        for name, of in (("mass", 1e3), ("swing_inertia", 1.0)):
            points = np.hstack([_points(one, name, of) for one in every])
            front = points[:, pareto_front(*points)]
            against.append((points, front, _points(path, name, of), _points(here, name, of)[:, 0]))
        picture.update(*against)
        now = design_variant(paddle, at, m, phi, r, share, X)
        return [
            ("holding torque at a catch", f"{now.holding_torque_N_m:.3f} N·m"),
            ("residual unbalance", f"{now.unbalance_g_mm:,.0f} g·mm"),
            ("counterweight", f"{now.fitted_counterweight_g:.0f} g"),
            ("mass of the paddle", f"{now.total_mass_g:.0f} g"),
            ("swing inertia", f"{now.swing_inertia_kg_m2:.4f} kg·m²"),
            ("still carried afloat", f"{now.flotation_g:z.0f} g"),
        ]

    panel = Panel("variants", controls, [picture], show)

    def named(name):
        at, m, phi, r, share = chosen(**panel.values())
        return design_variant(paddle, at, m, phi, r, share, X, name)

    panel.widget.children += (_variants_table(named),)
    return panel.widget


def _points(cloud, name, of):
    return np.stack([of * np.ravel(getattr(cloud, name)), np.ravel(cloud.holding)])


def _variants_table(make):
    """Buttons to add make(name) as a row and to take the last row away, and a link to the rows.

    The link hands the rows to the browser as a CSV file: nothing is written here.
    """
    rows: list = []
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
        "mass": slider("error of mass [g]", 0, 3, 0.1, 1, digits=1),
        "arm": slider("error of arm [mm]", 0, 2, 0.1, 0.5, digits=1),
        "angle": slider("error of angle [deg]", 0, 3, 0.1, 1, digits=1),
        "feather": slider("error of feather [deg]", 0, 3, 0.1, 1, digits=1),
    }
    far = next(side for side in SIDES if side != paddle.half(placement.x))
    study = partial(
        placement_tolerance,
        placement,
        paddle.unbalance(),
        draws=draws,
        probabilities=(0.95,),
        far_half=half_unbalance(paddle, far),
    )
    held = friction / STANDARD_GRAVITY / GRAM_MM
    picture = TornadoPicture(ERRORS, 2000, held)

    def show(mass, arm, angle, feather):
        spread = study(
            1e-3 * mass, 1e-3 * arm, math.radians(angle),
            feather_u=math.radians(feather), rng=np.random.default_rng(1),
        )  # fmt: skip
        alone = {name: float(q[0]) / GRAM_MM for name, q in spread.alone.items()}
        worst = max(alone, key=alone.__getitem__) if max(alone.values()) > 0.5 else "none"
        together = float(spread.quantiles[0]) / GRAM_MM
        picture.update(alone, together)
        edge = np.searchsorted(spread.edges, held * GRAM_MM)
        stays = 100 * spread.counts[:edge].sum() / spread.draws
        return [
            (
                "unbalance without counterweight",
                f"{magnitude(paddle.unbalance()) / GRAM_MM:,.0f} g·mm",
            ),
            ("the error to be careful with", worst),
            ("pieces that stay where they are put", f"{stays:.0f} of 100"),
        ]

    return Panel("tolerance", controls, [picture], show).widget
