"""The trends on the report's own pages: one terminal after another, or an air handler, over the whole period."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from analyzer.findings import Finding, plain_name
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.report.building import AIR_HANDLER as AN_AIR_HANDLER
from analyzer.report.building import Building, Place
from analyzer.report.chart_data import (
    TerminalRows,
    chart_series,
    clock_changes,
    excluded_stretches,
    fan_starts,
    log_ended,
    occupied_stretches,
)
from analyzer.report.observed import design_against_observed
from analyzer.report.scales import flow_limits, panel_reach
from analyzer.report.series import AIR_HANDLER_PANELS, PANELS, drawn_panels, not_trended
from analyzer.report.trend_box import JUDGED, TrendBox
from analyzer.signals import Scene
from analyzer.trends import Trends

NOTHING: dict[str, Any] = {
    "panels": [],
    "not_trended": [],
    "design": [],
    "data": None,
    "has_limits": False,
    "excluded": [],
}


class TerminalTrends:
    """Packs the trends of one place after another; what all pages share is worked out once.

    Parameters
    ----------
    building : Building
    trends : Trends
        Of the terminals and air handlers whose pages are made.
    """

    def __init__(self, building: Building, trends: Trends):
        self.building = building
        results = building.results
        self.units = results.site.units
        table = trends.terminals
        self._seconds = table["time"].astype("int64").to_numpy() // 1_000_000
        self._columns = {name: table[name].to_numpy() for name in TERMINAL if table[name].notna().any()}
        # What is left out of judging is drawn all the same.
        scene = Scene(trends, replace(results.site, excluded=()))
        self._columns |= {name: scene.value(name) for name in JUDGED}
        self._stretch = dict(zip(trends.tags, zip(scene.first[:-1], scene.first[1:], strict=True), strict=True))
        self._logging = trends.logging.to_dict("index")
        self._handlers = dict(_handler_rows(trends))
        start, end = results.period
        self._sources = results.site.sources
        self._origin = int(start.timestamp())
        self._length = max(int(end.timestamp()) - self._origin, 900)
        self._clock = clock_changes(start.tz_convert("UTC"), end.tz_convert("UTC"), results.site.time_zone)
        self._supply = {handler: self._supply_of(rows) for handler, rows in self._handlers.items()}

    def _supply_of(self, rows: TerminalRows) -> dict[str, dict]:
        """An air handler's supply temperature, packed once for all its terminals."""
        supply = TerminalRows(rows.seconds, {"supply_temp": rows.columns["supply_temp"]}, {})
        return chart_series(supply, self.units, self._origin)

    def context(self, place: Place, findings: list[Finding]) -> dict:
        """Return what the template of a page needs for its charts and its table of scheduled against observed."""
        if place.kind == AN_AIR_HANDLER:
            return self._air_handler(place, findings)
        rows = self._rows(place.terminal)
        if rows is None:
            return NOTHING
        series = chart_series(rows, self.units, self._origin)
        if "primary_temp" not in series:
            series |= self._supply.get(place.air_handler, {})
        limits = flow_limits(place.schedule, self.units)
        data = self._data(place.terminal, rows, series, limits, findings)
        box = TrendBox(data, drawn_panels(series, PANELS), self.units)
        reheat = place.schedule.get("reheat")
        present = {name for name, column in rows.columns.items() if not np.isnan(column).all()}
        return {
            "panels": box.shown,
            "not_trended": not_trended(present, place.kind, reheat if isinstance(reheat, str) else None),
            "design": design_against_observed(
                place.schedule,
                _judged(rows, data["excluded"], self._origin),
                self.units,
                self._sources.get(place.terminal, {}),
            ),
            "data": box.embedded,
            "has_limits": bool(limits["limits"]),
            "excluded": list(dict.fromkeys(why.removeprefix("left out: ") for _, _, why in data["excluded"])),
        }

    def _air_handler(self, place: Place, findings: list[Finding]) -> dict:
        rows = self._handlers.get(place.terminal)
        if rows is None:
            return NOTHING
        series = chart_series(rows, self.units, self._origin)
        missing = [plain_name(name) for name in AIR_HANDLER if np.isnan(rows.columns[name]).all()]
        data = self._data(place.terminal, rows, series, flow_limits({}, self.units), findings)
        box = TrendBox(data, drawn_panels(series, AIR_HANDLER_PANELS), self.units)
        return NOTHING | {"panels": box.shown, "not_trended": missing, "data": box.embedded}

    def _rows(self, terminal: str) -> TerminalRows | None:
        if terminal not in self._stretch:
            return None
        stretch = slice(*self._stretch[terminal])
        columns = {name: column[stretch] for name, column in self._columns.items()}
        return TerminalRows(self._seconds[stretch], columns, self._logging.get(terminal, {}))

    def _data(
        self, tag: str, rows: TerminalRows, series: dict, limits: dict[str, list], findings: list[Finding]
    ) -> dict:
        return {
            "origin": self._origin,
            "length": self._length,
            "clock": self._clock,
            "series": series,
            "reach": panel_reach(series, limits, self.units) | {"episodes": list(range(1, len(findings) + 1))},
            **limits,
            "starts": fan_starts(rows, self._origin),
            "occupied": occupied_stretches(rows, self._origin),
            "excluded": excluded_stretches(self.building.results.site, tag, self._origin, self._length),
            "findings": [self._marks(finding) for finding in findings],
        }

    def _marks(self, finding: Finding) -> dict:
        episodes = np.round(finding.episodes.seconds - self._origin).astype(int).tolist()
        return {"rule": finding.rule, "episodes": episodes, "ended": self._ended(finding)}

    def _ended(self, finding: Finding) -> list[int] | None:
        """The stretch after the end of a finding's log, where it ended before its time: nothing was judged there."""
        if finding.logged_until is None:
            return None
        end = round(finding.logged_until.timestamp()) - self._origin
        return [end, self._length] if log_ended(end, self._length) else None


def _handler_rows(trends: Trends):
    """Each air handler's stretch of its table; when it is occupied is not known of an air handler."""
    for handler, rows in trends.air_handlers.groupby("air_handler", observed=True):
        columns = {name: rows[name].to_numpy() for name in AIR_HANDLER}
        columns["occupied"] = np.zeros(len(rows))
        yield handler, TerminalRows(rows["time"].astype("int64").to_numpy() // 1_000_000, columns, {})


def _judged(rows: TerminalRows, excluded: list[list], origin: int) -> dict[str, np.ndarray]:
    """Return a terminal's columns without what is left out of judging: a functional test is not how it runs."""
    left_out = np.zeros(len(rows.seconds), dtype=bool)
    for start, end, _ in excluded:
        left_out |= (rows.seconds - origin >= start) & (rows.seconds - origin < end)
    return {name: np.where(left_out, np.nan, column) for name, column in rows.columns.items()}
