"""Whether a fault that is still there became better or worse, by the figure by which its rule ranks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from analyzer.findings import FURTHER_FROM_ZERO, LOWER, StoredReview
from analyzer.quantities import find_unit, known_unit, unit_dimensions

BETTER, WORSE, AS_BEFORE = "better", "worse", "as before"
# A figure that moved by less than this share of what it was says no more than two weeks of weather do. Judgement.
LEAST_CHANGE = 0.10
# Percentages have to move by this many points as well: from 2.9 to 3.6 % of the judged hours is one more episode, and
# a quarter more of next to nothing. Judgement.
LEAST_POINTS = 2.0
PER_JUDGED_HOUR, OF_JUDGED_HOURS = " per judged hour", ", of the judged hours"


@dataclass(frozen=True)
class Figures:
    """The figures of a finding then and now; NaN where there is none.

    ``measure`` is the rule's ranking figure, in ``unit``; ``old_share`` and ``new_share`` the share of the judged hours
    in which the fault stood. ``by`` says by which of the two ``change`` was told.
    """

    measure: str
    unit: str
    old_value: float
    new_value: float
    old_share: float
    new_share: float
    change: str
    by: str


def figures(old: StoredReview, new: StoredReview, before: dict | None, after: dict | None) -> Figures:
    """Return a finding's figures in both reviews, and which way they moved."""
    rule = (after or before or {})["rule"]
    ranked = (new if after else old).told.get("ranking", {}).get(rule) or {}
    name = ranked.get("measure", "")
    was, now, unit = _values(before, after, name)
    if ranked.get("total"):  # a total grows with the hours that were judged
        was, now = was / _hours(before), now / _hours(after)
        if unit == "h":  # hours in an hour are a share
            was, now, unit, name = 100 * was, 100 * now, "%", f"{name}{OF_JUDGED_HOURS}"
        else:
            unit, name = unit.removesuffix("h").strip(), f"{name}{PER_JUDGED_HOUR}"
    shares = _share(before), _share(after)
    least = LEAST_POINTS if unit == "%" else 0.0
    change, by = _moved(was, now, ranked.get("worse", ""), least), _label(before, after, name)
    if change in ("", AS_BEFORE):
        change, by = _moved(*shares, "", LEAST_POINTS / 100), "share of the judged hours"
    return Figures(name, unit, was, now, *shares, change, by)


def _label(before: dict | None, after: dict | None, name: str) -> str:
    """Name the ranking figure as the findings do, with its statistic."""
    label = in_words(after or before or {}, name)
    return label[:1].lower() + label[1:]


def in_words(finding: dict, figure: str) -> str:
    """Name a figure as its finding does: a total that was put to the judged hours is their mean, or their share."""
    name = measure_of(figure)
    label = finding.get("measures", {}).get(name, {}).get("label") or name.replace("_", " ")
    put = figure[len(name) :]
    if not put:
        return label
    label = label.removeprefix("Total ")
    label = label[:1].upper() + label[1:]
    return f"{label}, {'share of' if put == OF_JUDGED_HOURS else 'mean over'} the judged hours"


def measure_of(figure: str) -> str:
    """Return the id of the measure that a figure is made of."""
    return figure.removesuffix(PER_JUDGED_HOUR).removesuffix(OF_JUDGED_HOURS)


def _values(before: dict | None, after: dict | None, name: str) -> tuple[float, float, str]:
    """The figure then and now, in the unit of now."""
    was, now = ((finding or {}).get("measures", {}).get(name) for finding in (before, after))
    unit = (now or was or {}).get("unit", "")
    return _in(was, unit), _in(now, unit), unit


def _in(measure: dict | None, unit: str) -> float:
    if measure is None:
        return math.nan
    value, own = measure["value"], measure["unit"]
    if own == unit:
        return value
    own, wanted = (text.removesuffix(" h") for text in (own, unit))
    for dimension in unit_dimensions(own):
        if target := find_unit(wanted, dimension):
            return float(target.from_si(known_unit(own, dimension).to_si(value)))
    return math.nan


def _hours(finding: dict | None) -> float:
    return finding["judged_hours"] if finding and finding["judged_hours"] > 0 else math.nan


def _share(finding: dict | None) -> float:
    return finding["fault_hours"] / _hours(finding) if finding else math.nan


def _moved(was: float, now: float, worse: str, least: float) -> str:
    """Which way a figure moved, by more than ``least`` too; empty where one of the two is not known."""
    if math.isnan(was) or math.isnan(now):
        return ""
    if worse == FURTHER_FROM_ZERO:
        was, now = abs(was), abs(now)
    if abs(now - was) <= max(LEAST_CHANGE * abs(was), least):
        return AS_BEFORE
    return WORSE if (now > was) != (worse == LOWER) else BETTER
