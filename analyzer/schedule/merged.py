"""What all files say of each terminal put together: one value a column, with its source, and what does not agree."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from analyzer.schedule.facts import Aside, Fact, Reading, Source
from analyzer.schedule.meaning import DESIGN, FINAL
from analyzer.schedule.possible import impossible
from analyzer.schedule.tags import looks_like_tag, read_tags
from analyzer.site.model import SCHEDULE

# A final figure of a balancing report to the schedule's column for it.
BALANCED = {
    "primary_max": "balanced_max",
    "primary_min": "balanced_min",
    "heating_primary": "balanced_heating",
    "fan_flow": "balanced_fan",
    "static": "balanced_pressure",
    "flow_coefficient": "flow_coefficient",
}
# Told beside the values, and no column of the schedule.
BESIDE_VALUES = ("outlets_flow", "remarks", "tested_on", "instrument")
# Heat that water gives up [W per L/s and K]: the trade's 500 Btu/h per gpm and degF. Common practice, no source.
_WATER = ("water_flow", "entering_water_temp", "leaving_water_temp")
_WATER_HEAT = 4180.0
# The sum of a terminal's outlets may differ from its own figure by the balancing tolerance. Common practice, no source.
_OUTLETS_WITHIN = 0.10


@dataclass
class Merged:
    """Terminals with their values.

    Attributes
    ----------
    values : dict of tag to dict of column to Fact
        The columns of the schedule; a value is SI or a word.
    beside : list of Fact
        Remarks, dates, instruments, sums of outlets.
    asides : list of Aside
        What was read and not used, and why.
    disagree : list of str
        What files say differently of one terminal, a sentence each.
    tags : dict of tag to Source
        Every terminal that the files name.
    """

    values: dict[str, dict[str, Fact]] = field(default_factory=dict)
    beside: list[Fact] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    disagree: list[str] = field(default_factory=list)
    tags: dict[str, Source] = field(default_factory=dict)


def merge(reading: Reading, spelled: dict[str, str] | None = None) -> Merged:
    """Put the facts of all files together.

    Parameters
    ----------
    reading : Reading
    spelled : dict of str to str, optional
        A tag as the files spell it to the terminal that it is, where they spell it otherwise.

    Returns
    -------
    Merged
        Drawings go before the design figures that a balancing report repeats.
    """
    spelled = spelled or {}
    out = Merged(asides=list(reading.asides))
    for tag, source in reading.tags.items():
        name = spelled.get(tag, tag)
        out.tags.setdefault(name, source)
        out.values.setdefault(name, {})
    facts = [replace(fact, tag=spelled.get(fact.tag, fact.tag)) for fact in reading.facts]
    for fact in sorted(facts, key=lambda fact: fact.report):
        _take(out, fact)
    for tag, values in out.values.items():
        _work_out(tag, values)
        for column, why in impossible(values):
            fact = values.pop(column)
            out.asides.append(Aside(fact.source, fact.text, why, tag, column))
    _check_outlets(out)
    _open_zones(out)
    return out


def column_of(fact: Fact) -> str | None:
    """Return the schedule's column that a fact fills; None where it has none."""
    if fact.stage == FINAL and fact.column in BALANCED:
        return BALANCED[fact.column]
    if fact.column == "static" or fact.column not in SCHEDULE:
        return None
    return fact.column


def _take(out: Merged, fact: Fact) -> None:
    if fact.column in BESIDE_VALUES:
        out.beside.append(fact)
        return
    column = column_of(fact)
    if column is None:
        out.asides.append(Aside(fact.source, fact.text, "nothing that a schedule needs", fact.tag, fact.column))
        return
    values = out.values.setdefault(fact.tag, {})
    first = values.setdefault(column, fact)
    if first is fact:
        return
    if first.concluded and not fact.concluded:
        values[column] = fact
        return
    if fact.retested and not first.retested and fact.stage == FINAL:
        values[column] = fact
        out.asides.append(Aside(first.source, first.text, f"replaced by a retest, {fact.source}", first.tag, column))
        return
    if fact.concluded or _agree(first.value, fact.value) or column in ("zone", "floor"):
        return
    out.asides.append(
        Aside(fact.source, fact.text, f"{first.source} gives {first.text or first.value}", fact.tag, column)
    )
    one, other = (f"{each.text or each.value} by {each.source}" for each in (first, fact))
    out.disagree.append(f"{fact.tag}, {column}: {one}, {other}; the first was taken")


def _agree(one: float | str, other: float | str) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return str(one).strip().lower() == str(other).strip().lower()
    return abs(one - other) <= 0.01 * max(abs(one), abs(other), 1e-9)


def _work_out(tag: str, values: dict[str, Fact]) -> None:
    """Work a coil's capacity out of its water where none stands."""
    needed = [fact for name in _WATER if (fact := values.get(name)) is not None]
    if "reheat_capacity" in values or len(needed) < len(_WATER):
        return
    flow, entering, leaving = (float(fact.value) for fact in needed)
    if flow > 0 and entering > leaving:
        first, note = needed[0], f"worked out of {', '.join(fact.text for fact in needed)}"
        heat = _WATER_HEAT * flow * (entering - leaving)
        values["reheat_capacity"] = Fact(tag, "reheat_capacity", heat, "", first.source, DESIGN, first.report, note)


def _check_outlets(out: Merged) -> None:
    """Hold the sum of a terminal's outlets against its own final figure."""
    for fact in out.beside:
        own = out.values.get(fact.tag, {}).get("balanced_max")
        if fact.column != "outlets_flow" or fact.stage != FINAL or own is None:
            continue
        if abs(float(fact.value) - float(own.value)) > _OUTLETS_WITHIN * float(own.value):
            out.disagree.append(
                f"{fact.tag}: its outlets add up to {fact.text} ({fact.source}), "
                f"the terminal itself to {own.text} ({own.source})"
            )


def _open_zones(out: Merged) -> None:
    """Turn lists of neighbors into the name of the open zone that they share."""
    group: dict[str, str] = {}

    def top(tag: str) -> str:
        while group.get(tag, tag) != tag:
            tag = group[tag]
        return tag

    listed = []
    for tag, values in out.values.items():
        fact = values.get("open_zone")
        if fact is None or not looks_like_tag(fact.text):
            continue
        near = [other for other in read_tags(fact.text).tags if other in out.values]
        if not near:
            continue
        listed.append((tag, fact))
        for other in near:
            first, second = sorted((top(tag), top(other)))
            group[second] = first
    for tag, fact in listed:
        out.values[tag]["open_zone"] = replace(fact, value=f"{top(tag)} and neighbors")
    named = {top(tag) for tag, _ in listed}
    for tag in list(group):
        if top(tag) in named and "open_zone" not in out.values[tag]:
            source = next(fact for other, fact in listed if top(other) == top(tag))
            out.values[tag]["open_zone"] = replace(
                source, tag=tag, value=f"{top(tag)} and neighbors", note="named by a neighbor"
            )
    for tag in named:
        if "open_zone" not in out.values.get(tag, {}) and tag in out.values:
            source = next(fact for other, fact in listed if top(other) == tag)
            out.values[tag]["open_zone"] = replace(
                source, tag=tag, value=f"{tag} and neighbors", note="named by a neighbor"
            )


def told(asides: Iterable[Aside]) -> dict[str, list[Aside]]:
    """Gather what was set aside by its reason, the most frequent first."""
    found: dict[str, list[Aside]] = {}
    for aside in asides:
        found.setdefault(aside.why, []).append(aside)
    return dict(sorted(found.items(), key=lambda item: -len(item[1])))
