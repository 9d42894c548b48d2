"""The charts of a terminal page, specified once with Altair; each page brings its data by name.

Each panel is a specification of its own, so that a page can leave out what was not trended and print a panel whole.
What is shared is passed in as parameters that the page's script sets: ``span`` (the time axis), ``reach`` (the value
axis), ``ticks`` and ``labels`` (the wall clock of the site, which no time scale knows). Colours are the style sheet's
variables, so light, dark and print need no second chart.

The specifications hang on no review's data. They are an asset of the pages (``SPECIFICATIONS``), which is written anew
by ``python -m tests.make_docs`` after a change here; a test holds that it was. So no review waits for Altair.
"""

from __future__ import annotations

import altair as alt

from analyzer.report.frame import ASSETS, script
from analyzer.report.series import ALL_PANELS, LIMITS_OF, Panel, Series

SPECIFICATIONS = ASSETS / "chart_specifications.js"
HEIGHT = 120  # px; the page's script may stretch it
PARAMETERS = {"span": [0, 1], "reach": [0, 1], "ticks": [], "labels": []}
PADDING = {"left": 56, "right": 26, "top": 6, "bottom": 20}  # the same in every panel, so that times line up


def specifications_script() -> str:
    """Return the script that a page loads: the specification of every chart, by name."""
    return script("chartSpecifications", chart_specifications())


def chart_specifications() -> dict[str, dict]:
    """Return the Vega-Lite specification of every chart, by name."""
    layers = {"standing": _standing(), "episodes": episode_layers()} | {
        panel.name: panel_layers(panel) for panel in ALL_PANELS
    }
    # Tests hold the specifications against the schema.
    charts = {name: alt.layer(*parts, **_frame(name)) for name, parts in layers.items()}
    return {name: chart.to_dict(validate=False) for name, chart in charts.items()}


def _frame(name: str) -> dict:
    """What all charts share: parameters, size, and the looks of axes."""
    return {
        "params": [alt.param(name=name, value=value).param for name, value in PARAMETERS.items()],
        "width": 600,
        "height": HEIGHT,
        "padding": PADDING if name != "standing" else PADDING | {"left": 30, "right": 30},
        "autosize": alt.AutoSizeParams(type="none"),
        "config": alt.Config(
            background="transparent",
            font="inherit",
            view=alt.ViewConfig(stroke="var(--rule)", fill="var(--plot)"),
            axis=alt.AxisConfig(
                domain=False,
                tickColor="var(--rule)",
                gridColor="var(--grid)",
                labelColor="var(--soft)",
                labelFontSize=11,
                title=None,
            ),
        ),
    }


def panel_layers(panel: Panel) -> list[alt.Chart]:
    """The layers of a panel, the later drawn over the earlier."""
    layers = [_band("occupied", "var(--occupied)"), _band("left_out", "var(--left-out)")]
    layers += [_band("fault", "var(--episode)"), *_band_edges("fault"), *_why_left_out()]
    if panel.dimension == "state":
        layers.append(_running(panel.series[-1].name))
    if panel.name in LIMITS_OF:
        layers += _limits(LIMITS_OF[panel.name])
    value = _on_or_off() if panel.dimension == "state" else _value()
    layers += [_line(series, value) for series in panel.series]
    if panel.name == "fan":
        layers += _starts()
    return layers


def _on(data: str) -> alt.Chart:
    """A chart over data that the page brings as numbers: nothing is to be parsed or sorted out."""
    return alt.Chart(alt.NamedData(data, format=alt.JsonDataFormat(parse=None)))


def _time(name: str) -> alt.X:
    axis = alt.Axis(
        values=alt.ExprRef("ticks"),
        labelExpr="labels[indexof(ticks, datum.value)]",
        labelFlush=False,
        labelOverlap=False,
        grid=True,
    )
    return alt.X(f"{name}:Q", axis=axis, scale=alt.Scale(domain=alt.ExprRef("span"), nice=False, zero=False))


def _value(axis: alt.Axis | None = None) -> alt.Y:
    scale = alt.Scale(domain=alt.ExprRef("reach"), nice=False, zero=False)
    return alt.Y("v:Q", axis=axis or alt.Axis(tickCount=4, format=",~r"), scale=scale)


def _on_or_off() -> alt.Y:
    return _value(alt.Axis(values=[0, 1], labelExpr="datum.value ? 'on' : 'off'"))


def _line(series: Series, value: alt.Y) -> alt.Chart:
    mark = {
        "clip": True,
        "color": f"var(--s-{series.name})",
        "strokeWidth": series.width,
        "strokeJoin": "round",
        "interpolate": "step-after" if series.held else "linear",
    }
    if series.dash:
        mark["strokeDash"] = list(series.dash)
    return _on(series.name).mark_line(**mark).encode(x=_time("t"), y=value)


def _band(data: str, colour: str) -> alt.Chart:
    return _on(data).mark_rect(clip=True, color=colour, invalid="show").encode(x=_time("a"), x2="b:Q")


def _band_edges(data: str) -> list[alt.Chart]:
    rule = _on(data).mark_rule(clip=True, color="var(--episode-edge)", strokeDash=[4, 3], invalid="show")
    return [rule.encode(x=_time("a")), rule.encode(x=_time("b"))]


def _why_left_out() -> list[alt.Chart]:
    """Why a stretch was not judged, at its upper left, read on paper too; neighbours stand on lines of their own.

    The page's script says from when on (``at``): further left where the words would run over the chart's edge.
    """
    base = _on("left_out").encode(x=_time("at"), y=alt.value(3), text="why:N")
    style = {
        "align": "left",
        "baseline": "top",
        "dx": 3,
        "dy": alt.ExprRef("12 * datum.line"),
        "fontSize": 10.5,
        "clip": True,
    }
    return [base.mark_text(stroke="var(--plot)", strokeWidth=3, **style), base.mark_text(color="var(--soft)", **style)]


def _limits(name: str) -> list[alt.Chart]:
    base = _on(name).encode(y=_value())
    label = base.mark_text(align="left", baseline="bottom", dx=4, dy=-2, fontSize=11, color="var(--ink)", clip=True)
    halo = base.mark_text(
        align="left", baseline="bottom", dx=4, dy=-2, fontSize=11, stroke="var(--plot)", strokeWidth=3, clip=True
    )
    return [
        base.mark_rule(color="var(--limit)", strokeWidth=1.2, strokeDash=[1, 2], clip=True),
        halo.encode(text="label:N", x=alt.value(0)),
        label.encode(text="label:N", x=alt.value(0)),
    ]


def _running(status: str) -> alt.Chart:
    area = _on(status).mark_area(clip=True, interpolate="step-after", color="var(--running)")
    return area.encode(x=_time("t"), y=_on_or_off())


def _starts() -> list[alt.Chart]:
    base = _on("starts").encode(x=_time("t"), y=alt.value(8))
    mark = base.mark_point(
        clip=True, shape="triangle-down", filled=True, size=34, color="var(--s-fan_status)", opacity=1
    )
    count = base.transform_filter("datum.n > 1").mark_text(clip=True, dy=-1, dx=9, fontSize=10, color="var(--ink)")
    return [mark, count.encode(text="n:Q")]


def _standing() -> list[alt.Chart]:
    """A strip per rule; the page says where each lies, in pixels."""
    place = {"scale": None, "axis": None}
    shade = alt.Opacity("share:Q", scale=alt.Scale(domain=[0, 1], range=[0.25, 1]), legend=None)
    ended = _on("left_out").mark_rect(clip=True, color="var(--left-out)", invalid="show")
    strips = _on("stretches").mark_rect(clip=True, color="var(--chosen)", invalid="show")
    names = _on("titles").mark_text(align="left", baseline="bottom", fontSize=11.5, color="var(--ink)")
    return [
        ended.encode(x=_time("a"), x2="b:Q", y=alt.Y("top:Q", **place), y2="bottom:Q"),
        strips.encode(x=_time("a"), x2="b:Q", y=alt.Y("top:Q", **place), y2="bottom:Q", opacity=shade),
        names.encode(x=alt.value(2), y=alt.Y("top:Q", **place), text="title:N"),
    ]


def episode_layers() -> list[alt.Chart]:
    """The layers of the strip that shows when each finding was active."""
    bars = _on("episodes").mark_bar(clip=True, cornerRadius=2, height=alt.RelativeBandSize(band=0.7))
    colour = alt.when("datum.chosen").then(alt.value("var(--chosen)")).otherwise(alt.value("var(--unchosen)"))
    rows = alt.Y(
        "row:O", axis=alt.Axis(ticks=False, labelColor="var(--ink)"), scale=alt.Scale(domain=alt.ExprRef("reach"))
    )
    return [
        _band("occupied", "var(--occupied)"),
        _band("left_out", "var(--left-out)"),
        bars.encode(x=_time("a"), x2="b:Q", y=rows, color=colour),
    ]
