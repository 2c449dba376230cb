"""A live picture as it begins, for paper and for where no script runs."""

from __future__ import annotations

import re

from paddlebal.live.picture import LivePicture, View

COLUMN = 470
"""px of one of the two columns."""


TALLEST = 420
"""px of a chart that goes across both."""


SHARP = 1.5
"""Pixels of a PNG for each px."""


def svg(picture: LivePicture) -> str:
    """The charts of a picture in two columns, as one SVG.

    Parameters
    ----------
    picture : LivePicture

    Returns
    -------
    str
    """
    parts, heights = [], [0.0, 0.0]
    for view in picture.views:
        column = 0 if view.across else heights.index(min(heights))
        wide = len(picture.views) == 1 or view.across
        top = max(heights) if wide else heights[column]
        drawn, height = _drawn(picture, view, 2 * COLUMN if wide else COLUMN)
        parts.append(drawn.replace("<svg", f'<svg x="{column * COLUMN}" y="{top:.0f}"', 1))
        if wide:
            heights = [top + height, top + height]
        else:
            heights[column] += height
    width, height = 2 * COLUMN, round(max(heights))
    size = f'width="{width}" height="{height}" viewBox="0 0 {width} {height}"'
    paper = '<rect width="100%" height="100%" fill="white"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{paper}{"".join(parts)}</svg>'


def _drawn(picture: LivePicture, view: View, width: float) -> tuple[str, float]:
    """SVG of one chart as wide as told [px], and its height."""
    import vl_convert

    spec = view.spec(picture.parameters())
    inner = width - view.left - view.right
    if view.across:
        inner = min(inner, TALLEST / view.aspect)
    height = inner * view.aspect
    spec |= {"width": inner, "height": height}
    if view.cycle and picture.series:
        spec["datasets"] = {"cycle": picture.series.begins}
    made = vl_convert.vegalite_to_svg(spec)
    return re.sub(r"<\?xml.*?\?>", "", made), height + view.top + view.bottom


def png(picture: LivePicture) -> bytes:
    """The charts of a picture as a PNG.

    Parameters
    ----------
    picture : LivePicture

    Returns
    -------
    bytes
    """
    import vl_convert

    return vl_convert.svg_to_png(svg(picture), scale=SHARP)


def pdf(picture: LivePicture) -> bytes:
    """The charts of a picture as a PDF of one page.

    Parameters
    ----------
    picture : LivePicture

    Returns
    -------
    bytes
    """
    import vl_convert

    return vl_convert.svg_to_pdf(svg(picture))
