"""What findings cost in a year: the log taken as typical of the year, told as an estimate with a range.

Only findings whose rule prices an energy (``priced_as``) have one: heat or power that the trends let work out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from analyzer.findings.causes import rests_on_a_wrong_reading
from analyzer.findings.results import TERMINAL_SCOPE, Finding, Results
from analyzer.signals import SIGNALS
from analyzer.signals.made_of import inputs_of, made_of

HOURS_A_YEAR = 8760.0
# A log that shows no whole working week says nothing of a year [h]. Judgement.
LEAST_LOG = 5 * 24.0
# How far a year may lie from a log of so many hours: the seasons it has not seen, and the sensors. Judgement.
SPREADS = ((300 * 24.0, 0.2), (90 * 24.0, 0.35), (0.0, 0.5))

# How tables name them.
YEAR_COLUMNS = ("kwh_year", "kwh_year_low", "kwh_year_high", "cost_year", "cost_year_low", "cost_year_high")


@dataclass(frozen=True)
class Range:
    """An estimate, and between what it lies."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> Range:
        """Return the same in another measure."""
        return Range(self.value * factor, self.low * factor, self.high * factor)


@dataclass(frozen=True)
class Yearly:
    """Energy [kWh a year] and its cost [the site's currency a year]."""

    energy: Range
    cost: Range


def yearly_of_findings(results: Results) -> dict[str, Yearly]:
    """Return the yearly energy and cost of each finding that has one, by id; a shared one's are its terminals' sum.

    Heat that is worked out with an airflow reading that is wrong has none: with the reading corrected it may be none.
    """
    by_id = {finding.id: finding for finding in results.findings}
    own = {
        finding.id: found
        for finding in results.findings
        if not (_takes_airflow(finding, results) and rests_on_a_wrong_reading(finding, by_id))
        and (found := _of_one(finding, results))
    }
    for finding in results.findings:
        if finding.scope == TERMINAL_SCOPE or finding.id not in own:
            continue
        members = [own[name] for tag in finding.terminals if (name := f"{tag}/{finding.rule}") in own]
        own[finding.id] = summed(members) or own[finding.id]
    return own


def yearly_of_terminals(results: Results, yearly: dict[str, Yearly]) -> dict[str, Yearly]:
    """Return the yearly energy and cost of each terminal that has any.

    The same heat may be told by two findings: of those that are bought alike the largest counts, and the top of the
    range is their sum.
    """
    alike: dict[str, dict[str, list[Yearly]]] = defaultdict(lambda: defaultdict(list))
    for finding in results.findings:
        if finding.scope == TERMINAL_SCOPE and finding.id in yearly:
            alike[finding.terminal][next(iter(_priced(finding, results).values()))].append(yearly[finding.id])
    told = {tag: summed(_once(found) for found in by_source.values()) for tag, by_source in alike.items()}
    return {tag: found for tag, found in told.items() if found}


def summed(each: Iterable[Yearly]) -> Yearly | None:
    """Add up estimates; their ranges add up too, as what they leave open (the season) is the same for all."""
    each = list(each)
    return Yearly(_sum(one.energy for one in each), _sum(one.cost for one in each)) if each else None


def year_columns(yearly: Yearly | None) -> dict[str, float | None]:
    """Return an estimate as ``YEAR_COLUMNS``, in whole units; blank where there is none."""
    if yearly is None:
        return dict.fromkeys(YEAR_COLUMNS)
    figures = [getattr(part, name) for part in (yearly.energy, yearly.cost) for name in ("value", "low", "high")]
    return {name: round(figure) for name, figure in zip(YEAR_COLUMNS, figures, strict=True)}


def _sum(ranges: Iterable[Range]) -> Range:
    value, low, high = zip(*((one.value, one.low, one.high) for one in ranges), strict=True)
    return Range(sum(value), sum(low), sum(high))


def _once(found: list[Yearly]) -> Yearly:
    largest, together = max(found, key=lambda one: one.energy.value), summed(found) or found[0]
    return Yearly(
        Range(largest.energy.value, largest.energy.low, together.energy.high),
        Range(largest.cost.value, largest.cost.low, together.cost.high),
    )


def _of_one(finding: Finding, results: Results) -> Yearly | None:
    start, end = results.moments
    hours = (min(finding.logged_until or end, end) - start).total_seconds() / 3600
    priced = [name for name in _priced(finding, results) if name in finding.measures]
    if not priced or "cost" not in finding.measures or hours < LEAST_LOG:
        return None
    energy, cost = sum(finding.measures[name].value for name in priced), finding.measures["cost"].value
    if energy <= 0:
        return None
    spread = next(share for least, share in SPREADS if hours >= least)
    low = 0.0 if finding.confidence == "marginal" else 1 - spread  # it may be none
    year = Range(energy, low * energy, (1 + spread) * energy).times(HOURS_A_YEAR / hours)
    return Yearly(year, year.times(cost / energy))


def _takes_airflow(finding: Finding, results: Results) -> bool:
    """Whether what a finding's rule prices is worked out with the primary airflow."""
    rule = results.rules.get(finding.rule)
    priced = [measure for measure in rule.measures.values() if measure.priced_as] if rule else []
    names = {name for own in priced if own.expression for name in own.expression.names if name in SIGNALS}
    return any(wanted.name == "primary_flow" for name in names for wanted in inputs_of(made_of(name)))


def _priced(finding: Finding, results: Results) -> dict[str, str]:
    """A finding's priced measures by name, and what each is bought as; none where its rule prices nothing."""
    rule = results.rules.get(finding.rule)
    return {m.name: m.priced_as for m in rule.measures.values() if m.priced_as} if rule else {}
