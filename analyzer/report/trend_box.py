"""One terminal's charts over a stretch of time, for pages beside the report: what the page embeds, and its panels."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL, shown_unit
from analyzer.report import words
from analyzer.report.chart_data import TerminalRows, chart_series, clock_changes, fan_starts, occupied_stretches
from analyzer.report.scales import flow_limits, panel_reach
from analyzer.report.series import PANELS, Panel, Series, drawn_panels
from analyzer.trends import Trends

JUDGED = ("occupied", "heating_setpoint", "cooling_setpoint")  # drawn as they were judged, not as they were trended


@dataclass
class TrendBox:
    """The charts of one terminal over one stretch.

    Attributes
    ----------
    data : dict
        What ``Plots`` (assets/plots.js) draws from.
    panels : list of Panel
        The panels in which something is drawn.
    units : str
        'ip' or 'si'.
    """

    data: dict
    panels: list[Panel]
    units: str
    shown: list[dict] = field(init=False)

    def __post_init__(self):
        self.shown = [self._panel(panel) for panel in self.panels]

    def _panel(self, panel: Panel) -> dict:
        unit = words.sign(shown_unit(panel.dimension, self.units))
        lines = [line for line in reversed(panel.series) if line.name in self.data["series"]]
        return {
            "name": panel.name,
            "title": panel.heading({line.name for line in lines}),
            "unit": unit,
            "state": panel.dimension == "state",
            "lines": lines,
            "spoken": "; ".join(self._spoken(line, unit) for line in lines),
        }

    def _spoken(self, line: Series, unit: str) -> str:
        low, high = self.ends(line.name)
        if line.dimension == "state":
            steady = "always on" if low else "always off"
            return f"{line.label} {'changes' if low != high else steady}"
        return f"{line.label} from {low:g} to {high:g} {unit}"

    def ends(self, name: str) -> tuple[float, float]:
        """Return the lowest and the highest value of a series."""
        low, high = self.data["series"][name]["ends"]
        return low, high

    def marked(self, stretches: list[tuple[pd.Timestamp, pd.Timestamp]]) -> TrendBox:
        """Return the same charts with other stretches marked through every panel."""
        origin = self.data["origin"]
        episodes = [[round(edge.timestamp() - origin) for edge in stretch] for stretch in stretches]
        told = {"findings": [{"rule": "marked", "episodes": episodes}], "reach": dict(self.data["reach"])}
        return TrendBox(self.data | told, self.panels, self.units)

    @property
    def embedded(self):
        """The data as a page embeds it."""
        return words.embedded(self.data)


def trend_box(
    trends: Trends,
    terminal: str,
    *,
    in_force: pd.DataFrame,
    schedule: dict,
    air_handler: str | None,
    units: str,
    start: pd.Timestamp,
    end: pd.Timestamp,
    marked: list[tuple[pd.Timestamp, pd.Timestamp]],
    only: tuple[str, ...] | None = None,
) -> TrendBox | None:
    """Pack one terminal's trends between two moments; None where none of them lies there.

    Parameters
    ----------
    in_force : DataFrame
        Row by row beside ``trends.terminals``: ``JUDGED``.
    schedule : dict
        The terminal's row of the schedule [SI].
    marked : list of (Timestamp, Timestamp)
        The stretches that are marked through every panel.
    only : tuple of str, optional
        The names of the panels to show; all of them where not given.
    """
    rows = _rows(trends, terminal, in_force, start, end)
    if rows is None:
        return None
    origin = int(start.timestamp())
    series = chart_series(rows, units, origin)
    if "primary_temp" not in series and air_handler:
        series |= _supply(trends, air_handler, units, start, end)
    limits = flow_limits(schedule, units)
    panels = [panel for panel in drawn_panels(series, PANELS) if only is None or panel.name in only]
    data = {
        "origin": origin,
        "length": max(int(end.timestamp()) - origin, 900),
        "clock": _clock_changes(start.tz_convert("UTC"), end.tz_convert("UTC"), trends.time_zone),
        "series": series,
        "reach": panel_reach(series, limits, units) | {"episodes": [1]},
        **limits,
        "starts": fan_starts(rows, origin),
        "occupied": occupied_stretches(rows, origin),
        "findings": [],
    }
    return TrendBox(data, panels, units).marked(marked)


_clock_changes = lru_cache(maxsize=8)(clock_changes)  # the same for all terminals of a period


def _rows(trends: Trends, terminal: str, in_force: pd.DataFrame, start, end) -> TerminalRows | None:
    table = trends.terminals
    # The table is sorted by terminal then time: a terminal's rows are found, not looked for.
    code, time = table["terminal"].cat.codes.to_numpy(), table["time"].array
    own = table["terminal"].cat.categories.get_indexer([terminal])[0]
    first, last = np.searchsorted(code, [own, own + 1]) if own >= 0 else (0, 0)
    first, last = first + time[first:last].searchsorted([start, end + pd.Timedelta("1us")])
    at = slice(first, last)
    if first == last:
        return None
    columns = {name: table[name].to_numpy()[at] for name in TERMINAL}
    columns |= {name: in_force[name].to_numpy(dtype=float)[at] for name in JUDGED}
    seconds = table["time"].astype("int64").to_numpy()[at] // 1_000_000
    return TerminalRows(seconds, columns, trends.logging.loc[terminal].to_dict())


def _supply(trends: Trends, air_handler: str, units: str, start, end) -> dict[str, dict]:
    """The air handler's supply temperature, which stands in for the primary air's."""
    table = trends.air_handlers
    rows = table[(table["air_handler"] == air_handler) & (table["time"] >= start) & (table["time"] <= end)]
    seconds = rows["time"].astype("int64").to_numpy() // 1_000_000
    supply = TerminalRows(seconds, {"supply_temp": rows["supply_temp"].to_numpy()}, {})
    return chart_series(supply, units, int(start.timestamp()))


def same_reach(boxes: list[TrendBox]) -> None:
    """Give boxes that are compared the same value axes, so that a line stands where it stands in the other."""
    for name in {panel.name for box in boxes for panel in box.panels}:
        drawn = [box for box in boxes if any(panel.name == name for panel in box.panels)]
        ends = np.array([box.data["reach"][name] for box in drawn])
        for box in drawn:
            box.data["reach"][name] = [float(ends[:, 0].min()), float(ends[:, 1].max())]
