"""What a terminal's page says: its facts, findings in words, verdicts, and the trends behind them."""

from __future__ import annotations

from urllib.parse import quote

import numpy as np

from analyzer.findings import Finding, Measure
from analyzer.report import words
from analyzer.report.building import AIR_HANDLER, Building, Place
from analyzer.report.chart_data import log_ended
from analyzer.report.names import functional_test_page, functional_test_place
from analyzer.report.rounds_told import answered
from analyzer.report.terminal_trends import TerminalTrends
from analyzer.site.model import ValueSource
from analyzer.trends import Trends

MOST_EPISODES = 12  # told in words; the charts mark all of them
MOST_NEIGHBOURS = 14


class TerminalPages:
    """Makes the context of one terminal page after another.

    Parameters
    ----------
    building : Building
    trends : Trends
        Of the terminals and air handlers whose pages are made.
    """

    def __init__(self, building: Building, trends: Trends):
        results = self.results = building.results
        self.building = building
        self.zone = results.site.time_zone
        self.units = results.site.units
        self.trends = TerminalTrends(building, trends)

    def context(self, place: Place) -> dict:
        """Return everything that the template of a terminal page needs."""
        findings = self.building.findings_of.get(place.terminal, [])
        applicable, beside_the_point = self._verdicts(place)
        told = {
            "place": place,
            "kind": _kind(place),
            "tests": self._tests(place),
            "facts": self._facts(place),
            "findings": [self._finding(i, finding) for i, finding in enumerate(findings)],
            "verdicts": applicable,
            "beside_the_point": beside_the_point,
            "counts": {verdict: sum(row["verdict"] == verdict for row in applicable) for verdict in words.VERDICTS},
            "neighbours": self._neighbours(place),
            **self._beside(place),
            "requests": self._requests(place),
            "heating": self._heating(place),
        }
        return told | self.trends.context(place, findings)

    def _tests(self, place: Place) -> list[dict]:
        """The functional tests of a terminal, with where they stand on their pages."""
        if place.kind == AIR_HANDLER:
            return []
        return [
            {
                "href": f"../{functional_test_page(number)}#{quote(functional_test_place(place.terminal))}",
                "name": test.name,
                "window": words.window(test.start, test.end, self.zone),
            }
            for number, test in enumerate(self.results.site.functional_tests, 1)
            if not test.terminals or place.terminal in test.terminals
        ]

    def _requests(self, place: Place) -> list[dict]:
        """The trends to send of a terminal, each with the rules that it would settle there."""
        verdicts = self.building.verdicts_of.get(place.terminal, {})
        asked = [self._request(row, verdicts) for row in self.building.requests_of.get(place.terminal, [])]
        return [row for row in asked if row["settles"]]

    def _request(self, row: dict, verdicts: dict) -> dict:
        """A trend to send, in words, and the rules that it would settle by their titles."""
        names = [name for name in row["settles"].split() if name in verdicts]
        rules = [self.results.rules.get(name) for name in names]
        settles = "; ".join(rule.title if rule else name for rule, name in zip(rules, names, strict=True))
        return row | {"point": words.plain(row["point"]), "settles": settles}

    def _facts(self, place: Place) -> list[tuple[str, str]]:
        schedule, sources = place.schedule, self.results.site.sources.get(place.terminal, {})
        reheat = {"none": "no reheat", "hot-water": "hot water", "electric": "electric"}.get(
            schedule.get("reheat") or ""
        )
        capacity = _sourced(self._scheduled(schedule, "reheat_capacity", "power"), sources.get("reheat_capacity"))
        facts = [
            ("Air handler", place.air_handler if place.kind != AIR_HANDLER else None),
            ("Zone", place.zone),
            ("Floor", place.floor),
            ("Distribution", schedule.get("distribution")),
            ("Reheat", f"{reheat}, {capacity}" if reheat and capacity else reheat),
            ("Inlet", _sourced(self._scheduled(schedule, "inlet_diameter", "length"), sources.get("inlet_diameter"))),
            ("Area", _sourced(self._scheduled(schedule, "area", "area"), sources.get("area"))),
            ("Open with", schedule.get("open_zone")),
        ]
        return [(name, fact) for name, fact in facts if isinstance(fact, str) and fact]

    def _heating(self, place: Place) -> dict | None:
        """The heating capability panel: what was given and needed at the hardest, and the most that could be given."""
        if place.terminal not in self.results.heating.index:
            return None
        figures = self.results.heating.loc[place.terminal]
        said = {
            "Delivered to the zone, 95th-percentile hours": figures["delivered"],
            "Estimated load, 95th-percentile hours": figures["needed"],
            "Maximum by primary air alone, median": figures["by_primary_alone"],
            "Maximum with the fan, median": figures["with_fan"],
        }
        known = [(name, words.shown(value, "power", self.units)) for name, value in said.items() if value == value]
        load = figures["needed"] == figures["needed"]
        return {"figures": known, "hours": words.hours(figures["hours"]), "load": load} if known else None

    def _scheduled(self, schedule: dict, key: str, dimension: str) -> str | None:
        value = schedule.get(key)
        return words.shown(value, dimension, self.units) if isinstance(value, float) and not np.isnan(value) else None

    def _finding(self, index: int, finding: Finding) -> dict:
        rule = self.results.rules.get(finding.rule)
        start, end = finding.episodes.edges.T
        longest = np.argsort(start - end, kind="stable").tolist()
        return {
            "index": index,
            "finding": finding,
            "window": words.window(finding.start, finding.end, self.zone),
            "hours": words.hours(finding.fault_hours),
            "judged": words.hours(finding.judged_hours),
            "ended": self._ended(finding),
            "measures": [
                _told(m.label or name.replace("_", " "), m) for name, m in finding.measures.items() if not _twice(m)
            ],
            "under": self._under(finding),
            "has_rule": rule is not None,
            "answer": answered(finding.answer),
            "episodes": [self._episode(finding, i) for i in sorted(longest[:MOST_EPISODES])],
            "more": max(0, len(finding.episodes) - MOST_EPISODES),
        }

    def _ended(self, finding: Finding) -> str | None:
        """When the log of a finding's points ended, where it did before its time."""
        start, end = self.results.period
        until = finding.logged_until
        if until is None or not log_ended((until - start).total_seconds(), (end - start).total_seconds()):
            return None
        return words.moment(until, self.zone)

    def _under(self, finding: Finding) -> dict | None:
        cause, root = self.building.by_id.get(finding.under or ""), self.building.root_of(finding)
        if cause is None:
            return None
        correct = "that" if root is None or root.id == cause.id else f"its root, {self.building.title_of(root.id)},"
        place, rule = self.building.every_place.get(cause.terminal), quote(cause.rule)
        href = f"{quote(place.page)}#rule={rule}&episode=1" if place else f"../index.html#rule={rule}"
        return {"finding": cause, "href": href, "place": cause.terminal if place else None, "correct": correct}

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

    def _verdicts(self, place: Place) -> tuple[list[dict], list[str]]:
        rows = self.building.verdicts_of[place.terminal]
        found = {finding.rule for finding in self.building.findings_of.get(place.terminal, [])}
        told = []
        for rule in self.results.rules.values():
            if row := rows.get(rule.id):
                told.append(row | {
                    "title": rule.wording.fitted(self.results.may_be.get(place.terminal) or rule.forms).title,
                    "letter": words.letter(row["verdict"], row["confidence"]),
                    "judged": words.decimal_hours(row["judged_hours"]),
                    "lasting": words.decimal_hours(row["fault_hours"]) if row["verdict"] == "fault" else "–",
                    "reason": _reason(row, found),
                })  # fmt: skip
        # What needs a reader first: faults, then what was not judged and why, then the clear.
        told.sort(key=lambda row: words.VERDICTS.index(row["verdict"]))
        return told, [] if place.kind == AIR_HANDLER else self._beside_the_point(rows)

    def _beside_the_point(self, rows: dict) -> list[str]:
        rules = self.results.rules.values()
        return [rule.title for rule in rules if rule.id not in rows and set(rule.applies_to) != {AIR_HANDLER}]

    def _beside(self, place: Place) -> dict[str, Place | None]:
        """The terminals before and after one of the same air handler; an air handler's page has none."""
        group = self.building.by_air_handler.get(place.air_handler, []) if place.kind != AIR_HANDLER else []
        at = next((i for i, other in enumerate(group) if other.terminal == place.terminal), 0)
        return {
            "before": group[at - 1] if at > 0 else None,
            "after": group[at + 1] if at + 1 < len(group) else None,
        }

    def _neighbours(self, place: Place) -> list[dict]:
        group = self.building.by_air_handler.get(place.air_handler, [])
        if place.kind == AIR_HANDLER:
            near = [other for other in group if other.terminal in self.building.worst_of]
        else:
            at = next(i for i, other in enumerate(group) if other.terminal == place.terminal)
            first = max(0, min(at - MOST_NEIGHBOURS // 2, len(group) - MOST_NEIGHBOURS - 1))
            near = [other for other in group[first : first + MOST_NEIGHBOURS + 1] if other.terminal != place.terminal]
        return [{"place": other, "worst": self.building.worst_of.get(other.terminal)} for other in near]


def _sourced(fact: str | None, source: ValueSource | None) -> str | None:
    """Add where a fact stands in the drawings."""
    return f"{fact} ({source.short})" if fact and source else fact


def _kind(place: Place) -> str:
    if place.kind == AIR_HANDLER:
        return "Air handler"
    return words.kind_sentence(place.kind, place.kind_scheduled)


def _reason(row: dict, found: set[str]) -> str:
    """Spell a verdict's reason; of an air handler's shared faults, where they are reported."""
    reason = words.plain(row["reason"]) if isinstance(row["reason"], str) else ""
    if row["verdict"] == "fault" and row["rule"] not in found:
        return f"{reason}; reported by the faults that its terminals share"
    return reason


def _twice(measure: Measure) -> bool:
    """Tell whether a measure is another one of the finding without its sign."""
    return (measure.label or "").endswith(", absolute")


def _told(label: str, measure: Measure) -> tuple[str, str]:
    """Name a measure and spell it; what is counted needs no unit, and what is above something is not below it."""
    label, value = words.one_side(label, measure.value)
    return label, words.amount(value, "" if measure.unit == "count" else measure.unit)
