"""The figure of a case drawn with Altair, as SVG: a light page, colours that colour-blind eyes tell apart."""

from __future__ import annotations

import re
from html import escape

import numpy as np

from tests.make_docs.case_figure import Figure, Line, Panel

WIDTH = 560
# Okabe and Ito's palette, without its yellow, which is faint on white.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#000000")
DASHES = ([1, 0], [7, 2], [2, 2], [9, 2, 2, 2], [1, 4], [4, 4])
LIMIT, LIMIT_DASH = "#444444", [4, 3]
FAULT = "#FBE7C6"


def svg(figure: Figure) -> str:
    """Draw a figure.

    Parameters
    ----------
    figure : Figure
        As ``case_figure.figure_of`` returns it.

    Returns
    -------
    str
        The SVG document.
    """
    import altair as alt
    import vl_convert

    days = figure.span[1] - figure.span[0] > 48
    last = len(figure.panels) - 1
    panels = [_panel(panel, figure, days, with_time=n == last) for n, panel in enumerate(figure.panels)]
    chart = alt.vconcat(*panels, spacing=10, background="white").configure(
        font="sans-serif",
        view=alt.ViewConfig(stroke="#999999"),
        axis=alt.AxisConfig(gridColor="#e6e6e6", titleFontWeight="normal"),
    )
    return _slim(vl_convert.vegalite_to_svg(chart.to_dict(validate=False)), figure.case)


def _slim(drawn: str, name: str) -> str:
    """Leave out what a picture in a page does not need: a role for every mark, and the third decimal of a pixel.

    What is clipped is numbered within the picture: the library counts on from one picture to the next, so that a rule
    that is added would change the pictures of those behind it.
    """
    for number, clip in enumerate(dict.fromkeys(re.findall(r'id="(clip\d+)"', drawn))):
        drawn = re.sub(rf"\b{clip}\b", f"c{number}", drawn)
    drawn = re.sub(r' (?:aria-[a-z]+|role|class)="[^"]*"', "", drawn)
    drawn = re.sub(r"\d+\.\d{2,}", lambda number: f"{float(number[0]):.1f}".removesuffix(".0"), drawn)
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{escape(name, quote=True)}" ', 1) + "\n"


def _panel(panel: Panel, figure: Figure, days: bool, *, with_time: bool):
    import altair as alt

    scale = 24 if days else 1
    domain = [figure.span[0] / scale, figure.span[1] / scale]
    told = "days since the first midnight [d]" if days else "hours since midnight [h]"
    title = told if with_time else None
    x = alt.X(
        "x:Q",
        scale=alt.Scale(domain=domain, nice=False, zero=False),
        axis=alt.Axis(title=title, labels=with_time, ticks=with_time, tickCount=8),
    )
    bands = [{"x": max(a / scale, domain[0]), "x2": min(b / scale, domain[1])} for a, b in figure.episodes]
    bands = [band for band in bands if band["x"] < band["x2"]]
    band = alt.Chart(alt.Data(values=bands)).mark_rect(color=FAULT).encode(x=x, x2="x2:Q")
    heading = panel.title if not panel.unit else f"{panel.title} [{panel.unit.replace('degC', '°C')}]"
    axis = alt.Axis(title=None, tickCount=4, format="~r")
    if panel.state:
        axis = alt.Axis(title=None, values=[0, 1], labelExpr="datum.value ? 'on' : 'off'")
    y = alt.Y("y:Q", axis=axis, scale=alt.Scale(domain=_reach(panel), zero=False, nice=False))
    names, colours, dashes = _looks(panel.lines)
    legend = alt.Legend(
        title=None, orient="top", symbolType="stroke", symbolSize=260, columns=3, labelLimit=260, offset=2
    )
    line = (
        alt.Chart(alt.Data(values=_rows(panel.lines, scale)))
        .mark_line(strokeWidth=1.6, interpolate="step-after" if panel.state else "linear", clip=True)
        .encode(
            x=x,
            y=y,
            color=alt.Color("name:N", sort=None, scale=alt.Scale(domain=names, range=colours), legend=legend),
            strokeDash=alt.StrokeDash("name:N", sort=None, scale=alt.Scale(domain=names, range=dashes), legend=legend),
        )
    )
    title = alt.TitleParams(heading, anchor="start", fontSize=11, fontWeight="normal", color="#333333", offset=2)
    return (
        alt.layer(band, line)
        .properties(width=WIDTH, height=44 if panel.state else 96, title=title)
        .resolve_scale(color="independent", strokeDash="independent")
    )


def _reach(panel: Panel) -> list[float]:
    """Return the ends of the value axis: a little beyond the lines, so that none lies on the frame."""
    if panel.state:
        return [-0.15, 1.15]
    values = np.concatenate([line.values for line in panel.lines])
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    beyond = 0.08 * (high - low) or 0.1 * abs(high) or 1.0
    return [low - beyond, high + beyond]


def _looks(lines: list[Line]) -> tuple[list[str], list[str], list[list[int]]]:
    names, colours, dashes = [], [], []
    plain = 0
    for line in lines:
        names.append(line.name)
        colours.append(LIMIT if line.limit else COLOURS[plain % len(COLOURS)])
        dashes.append(LIMIT_DASH if line.limit else DASHES[plain % len(DASHES)])
        plain += not line.limit
    return names, colours, dashes


def _rows(lines: list[Line], scale: float) -> list[dict]:
    return [
        {"x": round(float(hour) / scale, 4), "y": None if np.isnan(value) else float(f"{value:.5g}"), "name": line.name}
        for line in lines
        for hour, value in zip(line.hours, line.values, strict=True)
    ]
