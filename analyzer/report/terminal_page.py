"""What a terminal's page says: its facts, findings in words, verdicts, and the trends behind them."""

from __future__ import annotations

import numpy as np

from analyzer.findings.results import SEVERITIES, Finding, Results
from analyzer.quantities import TERMINAL, shown_unit
from analyzer.report import words
from analyzer.report.building import Building, Place
from analyzer.report.chart_data import TerminalRows, chart_series, clock_changes, fan_starts, occupied_stretches
from analyzer.report.observed import design_against_observed
from analyzer.report.scales import flow_limits, panel_reach
from analyzer.report.series import PANELS, not_trended

MOST_EPISODES = 12  # told in words; the charts mark all of them
MOST_NEIGHBOURS = 14
_JUDGED = ("occupied", "heating_setpoint", "cooling_setpoint")  # drawn as they were judged, not as they were trended


class TerminalPages:
    """Makes the context of one terminal page after another.

    Parameters
    ----------
    results : Results
    building : Building
    """

    def __init__(self, results: Results, building: Building):
        self.results = results
        self.building = building
        self.zone = results.site.time_zone
        self.units = results.site.units
        table = results.trends.terminals
        self._seconds = table["time"].astype("int64").to_numpy() // 1_000_000
        self._columns = {name: table[name].to_numpy() for name in TERMINAL if table[name].notna().any()}
        self._columns |= {name: results.in_force[name].to_numpy(dtype=float) for name in _JUDGED}
        self._bounds = np.searchsorted(table["terminal"].cat.codes.to_numpy(), np.arange(len(building.trended) + 1))
        self._logging = results.trends.logging.to_dict("index")
        start, end = results.period
        self._origin = int(start.timestamp())
        self._length = max(int(end.timestamp()) - self._origin, 900)
        self._clock = clock_changes(start.tz_convert("UTC"), end.tz_convert("UTC"), self.zone)
        self._supply = self._supply_temperatures()
        requests = results.requests.groupby("terminal", observed=True, sort=False)
        self._requests = {terminal: rows.to_dict("records") for terminal, rows in requests}
        self._worst = {
            terminal: min((finding.severity for finding in found), key=SEVERITIES.index)
            for terminal, found in building.findings_of.items()
        }

    def context(self, place: Place) -> dict:
        """Return everything that the template of a terminal page needs."""
        findings = self.building.findings_of.get(place.terminal, [])
        applicable, beside_the_point = self._verdicts(place.terminal)
        told = {
            "place": place,
            "kind": words.KINDS.get(place.kind, place.kind or "kind not given"),
            "facts": self._facts(place),
            "findings": [self._finding(i, finding) for i, finding in enumerate(findings)],
            "verdicts": applicable,
            "beside_the_point": beside_the_point,
            "counts": {verdict: sum(row["verdict"] == verdict for row in applicable) for verdict in words.VERDICTS},
            "neighbours": self._neighbours(place),
            "requests": self._requests.get(place.terminal, []),
        }
        return told | self._trends(place, findings)

    def _rows(self, terminal: str) -> TerminalRows | None:
        at = self.building.trended.get(terminal)
        if at is None:
            return None
        stretch = slice(self._bounds[at], self._bounds[at + 1])
        columns = {name: column[stretch] for name, column in self._columns.items()}
        return TerminalRows(self._seconds[stretch], columns, self._logging.get(terminal, {}))

    def _supply_temperatures(self) -> dict[str, dict[str, dict]]:
        """Each air handler's supply temperature, packed once for all its terminals."""
        table = self.results.trends.air_handlers
        packed = {}
        for handler, rows in table.groupby("air_handler", observed=True):
            seconds = rows["time"].astype("int64").to_numpy() // 1_000_000
            supply = TerminalRows(seconds, {"supply_temp": rows["supply_temp"].to_numpy()}, {})
            packed[handler] = chart_series(supply, self.units, self._origin)
        return packed

    def _facts(self, place: Place) -> list[tuple[str, str]]:
        schedule = place.schedule
        reheat = {"none": "no reheat", "hot-water": "hot water", "electric": "electric"}.get(schedule.get("reheat"))
        capacity = self._scheduled(schedule, "reheat_capacity", "power")
        facts = [
            ("Air handler", place.air_handler),
            ("Zone", place.zone),
            ("Floor", place.floor),
            ("Distribution", schedule.get("distribution")),
            ("Reheat", f"{reheat}, {capacity}" if reheat and capacity else reheat),
            ("Inlet", self._scheduled(schedule, "inlet_diameter", "length")),
            ("Area", self._scheduled(schedule, "area", "area")),
            ("Open with", schedule.get("open_zone")),
        ]
        return [(name, fact) for name, fact in facts if isinstance(fact, str) and fact]

    def _scheduled(self, schedule: dict, key: str, dimension: str) -> str | None:
        value = schedule.get(key)
        return words.shown(value, dimension, self.units) if isinstance(value, float) and not np.isnan(value) else None

    def _finding(self, index: int, finding: Finding) -> dict:
        rule = self.results.rules.get(finding.rule)
        longest = sorted(
            range(len(finding.episodes)), key=lambda i: finding.episodes[i].start - finding.episodes[i].end
        )
        return {
            "index": index,
            "finding": finding,
            "window": words.window(finding.start, finding.end, self.zone),
            "hours": words.hours(finding.fault_hours),
            "judged": words.hours(finding.judged_hours),
            "measures": [
                (name.replace("_", " "), words.amount(m.value, m.unit)) for name, m in finding.measures.items()
            ],
            "looks_like": rule.text.looks_like if rule else (),
            "episodes": [self._episode(finding, i) for i in sorted(longest[:MOST_EPISODES])],
            "more": max(0, len(finding.episodes) - MOST_EPISODES),
        }

    def _episode(self, finding: Finding, index: int) -> dict:
        episode = finding.episodes[index]
        lasting = (episode.end - episode.start).total_seconds() / 3600
        return {
            "index": index,
            "href": f"#rule={finding.rule}&episode={index + 1}",
            "window": words.window(episode.start, episode.end, self.zone),
            "iso": words.iso(episode.start, self.zone),
            "lasting": words.hours(lasting),
        }

    def _verdicts(self, terminal: str) -> tuple[list[dict], list[str]]:
        rows = self.building.verdicts_of[terminal]
        told = []
        for rule in self.results.rules.values():
            if row := rows.get(rule.id):
                told.append(row | {
                    "title": rule.title,
                    "letter": words.letter(row["verdict"], row["confidence"]),
                    "judged": words.hours(row["judged_hours"]),
                    "lasting": words.hours(row["fault_hours"]) if row["verdict"] == "fault" else "–",
                    "reason": row["reason"] if isinstance(row["reason"], str) else "",
                })  # fmt: skip
        # What needs a reader first: faults, then what was not judged and why, then the clear.
        told.sort(key=lambda row: words.VERDICTS.index(row["verdict"]))
        return told, [rule.title for rule in self.results.rules.values() if rule.id not in rows]

    def _neighbours(self, place: Place) -> list[dict]:
        group = self.building.by_air_handler[place.air_handler]
        at = next(i for i, other in enumerate(group) if other.terminal == place.terminal)
        first = max(0, min(at - MOST_NEIGHBOURS // 2, len(group) - MOST_NEIGHBOURS - 1))
        near = [other for other in group[first : first + MOST_NEIGHBOURS + 1] if other.terminal != place.terminal]
        return [{"place": other, "worst": self._worst.get(other.terminal)} for other in near]

    # ---- trends ----------------------------------------------------------------------------------------------------

    def _trends(self, place: Place, findings: list[Finding]) -> dict:
        rows = self._rows(place.terminal)
        reheat = place.schedule.get("reheat")
        if rows is None:
            return {"panels": [], "not_trended": [], "design": [], "data": None, "has_limits": False}
        series = chart_series(rows, self.units, self._origin)
        if "primary_temp" not in series and place.air_handler in self._supply:
            series |= self._supply[place.air_handler]
        limits = flow_limits(place.schedule, self.units)
        reach = panel_reach(series, limits, self.units)
        present = {name for name in rows.columns if not np.isnan(rows.columns[name]).all()}
        missing = not_trended(present, place.kind, reheat if isinstance(reheat, str) else None)
        panels = [self._panel(panel, series) for panel in PANELS if self._drawn(panel, series)]
        data = {
            "origin": self._origin,
            "length": self._length,
            "hold": int(3 * rows.grid),
            "clock": self._clock,
            "series": series,
            "reach": reach | {"episodes": list(range(1, len(findings) + 1))},
            "limits": limits,
            "starts": fan_starts(rows, self._origin),
            "occupied": occupied_stretches(rows, self._origin),
            "findings": [self._marks(finding) for finding in findings],
        }
        design = design_against_observed(place.schedule, rows.columns, self.units)
        return {
            "panels": panels,
            "not_trended": missing,
            "design": design,
            "data": words.embedded(data),
            "has_limits": bool(limits),
        }

    def _marks(self, finding: Finding) -> dict:
        edges = [(e.start.timestamp(), e.end.timestamp()) for e in finding.episodes]
        return {"rule": finding.rule, "episodes": [[round(edge - self._origin) for edge in pair] for pair in edges]}

    def _drawn(self, panel, series: dict) -> bool:
        own = {line.name for line in panel.series} & set(series)
        return bool(own - {"heating_setpoint", "cooling_setpoint", "supply_temp"})

    def _panel(self, panel, series: dict) -> dict:
        unit = words.sign(shown_unit(panel.dimension, self.units))
        lines = [line for line in reversed(panel.series) if line.name in series]
        return {
            "name": panel.name,
            "title": panel.title,
            "unit": unit,
            "state": panel.dimension == "state",
            "lines": lines,
            "spoken": "; ".join(self._spoken(line, series[line.name], unit) for line in lines),
        }

    def _spoken(self, line, packed: dict, unit: str) -> str:
        low, high = packed["ends"]
        if line.dimension == "state":
            steady = "always on" if low else "always off"
            return f"{line.label} {'changes' if low != high else steady}"
        return f"{line.label} from {low:g} to {high:g} {unit}"
