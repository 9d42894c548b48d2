"""A review in a notebook: its summary as HTML, and the chart of a terminal's page as one Altair chart."""

from __future__ import annotations

import json
import re
from functools import cache
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from analyzer.errors import CallError, nearest
from analyzer.findings import Results
from analyzer.report import words
from analyzer.report.building import AIR_HANDLER, Building
from analyzer.report.frame import ASSETS
from analyzer.report.overview import summary
from analyzer.report.series import ALL_PANELS, LIMITS_OF, Panel
from analyzer.report.terminal_trends import TerminalTrends

if TYPE_CHECKING:
    import altair as alt

MOST_SHOWN = 20  # findings in the summary
WIDTH, HEIGHT, ROW = 640, 120, 18  # px
_TIMES = ("t", "a", "b", "at")  # the fields that hold seconds after the origin
_STYLES = "report.css"


def review_html(results: Results) -> str:
    """Return a review's summary and its first findings as HTML."""
    told = "".join(
        f"<dt><b>{escape(name)}</b></dt><dd>{escape(said)}</dd>" for name, said in summary(Building(results))
    )
    rows = "".join(
        f"<tr><td>{rank}</td><td>{escape(found.severity)}</td><td>{escape(found.terminal)}</td>"
        f"<td>{escape(found.title)}</td><td>{escape(words.hours(found.fault_hours))}</td></tr>"
        for rank, found in enumerate(results.findings[:MOST_SHOWN], 1)
    )
    head = "".join(f"<th>{name}</th>" for name in ("No.", "Severity", "Terminal", "Finding", "Fault"))
    more = len(results.findings) - MOST_SHOWN
    also = f"<p>and {words.plural(more, 'more finding')}, in <code>review.findings</code></p>" if more > 0 else ""
    return f"<dl>{told}</dl><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>{also}"


def terminal_chart(results: Results, terminal: str) -> alt.VConcatChart:
    """Return the charts of a terminal's page, or of an air handler's, under each other on one time axis.

    Times are the site's wall clock, values in the site's units, as on the page; the most severe finding is marked.

    Raises
    ------
    CallError
        There is no such terminal, or it has no trends.
    """
    import altair as alt

    building = Building(results)
    place = building.every_place.get(terminal)
    if place is None:
        known = list(building.every_place)
        raise CallError(terminal, f"is no terminal of this review{nearest(terminal, known)}", "Name one of its tags.")
    tags = () if place.kind == AIR_HANDLER else (terminal,)
    trends = TerminalTrends(building, results.trends.of(tags, {place.air_handler}))
    findings = building.findings_of.get(terminal, [])
    context = trends.context(place, findings)
    if context["data"] is None:
        raise CallError(terminal, "has no trends", "Name a terminal that was exported.")
    page = _Page(json.loads(context["data"]), [finding.title for finding in findings])
    shown = {panel["name"] for panel in context["panels"]}
    panels = [page.panel(panel, results.site.units) for panel in ALL_PANELS if panel.name in shown]
    told = {
        "vconcat": [*([page.episodes()] if findings else []), *panels],
        "datasets": page.datasets,
        "resolve": {"scale": {"color": "independent"}},
        "title": {"text": terminal, "anchor": "start"},
        "config": {
            "view": {"stroke": _colours()["--rule"]},
            "axis": {"gridColor": _colours()["--grid"], "title": None},
        },
    }
    return alt.VConcatChart.from_dict(told)


class _Page:
    """What a page embeds, as data and specifications that stand by themselves.

    Attributes
    ----------
    datasets : dict
        Name to rows, as the specifications name them; the names of a review's other charts do not meet with them.
    """

    def __init__(self, data: dict[str, Any], titles: list[str]):
        self.data, self.titles = data, titles
        marked = data["findings"][0]["episodes"] if data["findings"] else []
        stretch = [{"a": self._clock(a), "b": self._clock(b)} for a, b in data["occupied"]]
        self.datasets: dict[str, list[dict]] = {
            name: self._series(packed) for name, packed in data["series"].items()
        } | {
            "occupied": stretch,
            "left_out": [{"a": self._clock(a), "b": self._clock(b), "at": self._clock(a), "why": why, "line": i % 3}
                         for i, (a, b, why) in enumerate(data["excluded"])],
            "fault": [{"a": self._clock(a), "b": self._clock(b)} for a, b in marked],
            **{name: [{"v": value, "label": label} for value, label in data[name]] for name in LIMITS_OF.values()},
            "starts": [{"t": self._clock(t), "n": n} for t, n in data["starts"]],
            "episodes": [{"a": self._clock(a), "b": self._clock(b), "row": row, "chosen": row == 1}
                         for row, finding in enumerate(data["findings"], 1) for a, b in finding["episodes"]],
        }  # fmt: skip
        self.span = [self._clock(0), self._clock(data["length"])]

    def panel(self, panel: Panel, units: str) -> dict[str, Any]:
        """Return the specification of one chart of the page."""
        from analyzer.quantities import shown_unit
        from analyzer.report.charts import panel_layers

        unit = words.sign(shown_unit(panel.dimension, units))
        lines = {line.name: line.label for line in panel.series if line.name in self.data["series"]}
        layers = [layer.to_dict(validate=False) for layer in panel_layers(panel)]
        layers = [layer for layer in layers if layer["data"]["name"] in self.datasets]
        named = {"domain": list(lines.values()), "range": [_colours()[f"--s-{name}"] for name in lines]}
        for layer in layers:
            if layer["data"]["name"] in lines and layer["mark"]["type"] == "line":
                layer["mark"].pop("color")
                legend = {"orient": "top", "title": None}
                layer["transform"] = [{"calculate": json.dumps(lines[layer["data"]["name"]]), "as": "series"}]
                layer["encoding"]["color"] = {"field": "series", "type": "nominal", "scale": named, "legend": legend}
        title = f"{panel.heading(set(lines))}{f' ({unit})' if unit else ''}"
        return self._stand_alone(layers, self.data["reach"][panel.name], HEIGHT, title)

    def episodes(self) -> dict[str, Any]:
        """Return the specification of the strip that shows when each finding was active."""
        from analyzer.report.charts import episode_layers

        told = "; ".join(f"{number} {title}" for number, title in enumerate(self.titles, 1))
        layers = [layer.to_dict(validate=False) for layer in episode_layers()]
        return self._stand_alone(layers, self.data["reach"]["episodes"], ROW * len(self.titles), f"Findings: {told}")

    def _stand_alone(self, layers: list[dict], reach: list, height: int, title: str) -> dict[str, Any]:
        """Put in what the page's script gives by parameters: the span of time, the reach of values, colours."""
        for layer in layers:
            for name in ("config", "$schema", "datasets"):
                layer.pop(name, None)
        told = _with_values(layers, {"span": self.span, "reach": reach})
        return {"layer": told, "width": WIDTH, "height": height, "title": {"text": title, "anchor": "start"}}

    def _series(self, packed: dict[str, Any]) -> list[dict]:
        """Unpack a line; where it breaks, a row without a value."""
        values, times = (_expanded(packed[name]) for name in ("values", "times"))
        breaks = set(packed["breaks"])
        rows: list[dict] = []
        for at, (time, value) in enumerate(zip(times.tolist(), (values / packed["scale"]).tolist(), strict=True)):
            if at in breaks:
                rows.append({"t": rows[-1]["t"] + 1, "v": None})
            rows.append({"t": self._clock(time), "v": value})
        return rows

    def _clock(self, seconds: float) -> int:
        """The site's wall clock, as milliseconds that a chart reads as UTC."""
        moment = self.data["origin"] + seconds
        offset = [change for since, change in self.data["clock"] if moment >= since] or [self.data["clock"][0][1]]
        return int((moment + offset[-1]) * 1000)


def _expanded(packed: dict[str, list[int]]) -> np.ndarray:
    """Unpack a column of whole numbers, as the page's script does."""
    if "r" in packed:
        runs = np.asarray(packed["r"], dtype=np.int64).reshape(-1, 2)
        return np.cumsum(np.repeat(runs[:, 0], runs[:, 1]))
    return np.cumsum(np.asarray(packed["d"], dtype=np.int64))


def _with_values(told: Any, values: dict[str, Any]) -> Any:
    """Return a specification with values in the place of parameters and variables, and times as times."""
    if isinstance(told, list):
        return [_with_values(one, values) for one in told]
    if isinstance(told, str):
        return re.sub(r"var\((--[\w-]+)\)", lambda found: _colours()[found.group(1)], told)
    if not isinstance(told, dict):
        return told
    if told.get("expr") in values:
        return values[told["expr"]]
    done = {key: _with_values(one, values) for key, one in told.items()}
    if done.get("field") in _TIMES:
        if "type" in done:
            done["type"] = "temporal"
        if "scale" in done:
            done["scale"] = {"type": "utc", "domain": values["span"], "nice": False}
        if "axis" in done:
            done["axis"] = {"grid": True, "tickCount": 8, "title": None}
    return done


@cache
def _colours() -> dict[str, str]:
    """The colours of the report's light scheme by the names of their variables."""
    light = (ASSETS / _STYLES).read_text("utf-8").partition("@media")[0]
    return dict(re.findall(r"(--[\w-]+):\s*([^;]+);", light))
