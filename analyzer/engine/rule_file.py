"""One rule file: its shape, and how it is read and checked. An unknown key or name is refused, never passed over."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from analyzer.engine.expressions import Expression
from analyzer.engine.rule import (
    CREWS,
    THEN,
    Evidence,
    Graded,
    Impact,
    Limit,
    MeasureRule,
    Rule,
    Severity,
)
from analyzer.engine.rule_names import check_names
from analyzer.engine.wording import Kind, Passage, Reheat, Wording
from analyzer.errors import RuleError, nearest
from analyzer.quantities import known_unit, parse_quantity, unit_dimensions
from analyzer.validation import read_settings

# Where a unit could be of several dimensions, a limit's is the first of these that fits.
_PREFERRED = {
    "K": "temperature_difference",
    "delta degF": "temperature_difference",
    "delta degC": "temperature_difference",
    "%": "percent",
    "fraction": "fraction",
    "1": "fraction",
    "": "count",
}
# Beyond these no log would be long enough, and every terminal would go unjudged or clear. Judgement.
MOST_HOURS, MOST_SECONDS = 8784.0, 30 * 86400.0
# How a measure without a label of its own is named.
_STATISTICS = {"mean": "Mean", "max": "Highest", "min": "Lowest", "total": "Total"}
_MOST = 40  # entries of one kind in a rule: each costs a pass over all rows

# The file's shape ------------------------------------------------------------------------------------------------


def _expression(text) -> Expression:
    return Expression(text)


def time_in_seconds(text) -> float:
    if not isinstance(text, str) or not re.search(r"[a-z]", text):
        raise ValueError(f'{text!r} carries no unit; write it as "15 min"')
    return parse_quantity(text, "time")


def _filled(text: str) -> str:
    if not text.strip():
        raise ValueError("is empty")
    return " ".join(text.split())


def _several(told):
    """One table, or several: the first whose condition held counts."""
    return [told] if isinstance(told, dict) else told


def _crews(text: str) -> str:
    if unknown := [crew for crew in text.split(THEN) if crew not in CREWS]:
        raise ValueError(f"{unknown[0]!r} is nobody who acts{nearest(unknown[0], CREWS)}; known are {', '.join(CREWS)}")
    return text


Words = Annotated[str, AfterValidator(_filled)]
Acts = Annotated[str, AfterValidator(_crews)]
Condition = Annotated[Expression, BeforeValidator(_expression)]
Seconds = Annotated[float, BeforeValidator(time_in_seconds), Field(ge=0, le=MOST_SECONDS)]
Hours = Annotated[float, Field(ge=0, le=MOST_HOURS)]
Finite = Annotated[float, Field(allow_inf_nan=False)]


class Table(BaseModel):
    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True)


class LimitTable(Table):
    value: Finite
    unit: str
    range: tuple[Finite, Finite] | None = None
    source: Words
    reason: str = ""
    accuracy: str | None = None
    uncertainty: Condition | None = None


class _MeasureTable(Table):
    expression: Condition
    take: Literal["mean", "max", "min", "total"]
    unit: str
    ranks: bool = False
    where_unknown: Words | None = None
    label: Words | None = None
    of: Condition | None = None
    when: Condition | None = None
    priced_as: Literal["electricity", "heat", "reheat"] | None = None


Fits = Annotated[list[Literal[Kind, Reheat]], Field(min_length=1)]


class _PassageTable(Table):
    say: Words
    at: Fits | None = None


class _CauseTable(_PassageTable):
    when: Condition | None = None
    unless: Condition | None = None
    alike: str | None = None
    unless_alike: str | None = None


class _EvidenceTable(_PassageTable):
    when: Condition


class _GradedTable(Table):
    when: Condition
    severity: Severity
    impact: Impact


class _FollowsTable(Table):
    rule: str
    impact: Impact | None = None
    unless_measured: str | None = None


def _passage(told):
    """Words for all terminals, or a table that says for which."""
    return {"say": _filled(told)} if isinstance(told, str) else told


def _passages(told):
    return list(map(_passage, told)) if isinstance(told, list) else [_passage(told)]


Told = Annotated[list[_PassageTable], BeforeValidator(_passages), Field(min_length=1, max_length=_MOST)]
Causes = Annotated[list[_CauseTable], BeforeValidator(_passages), Field(min_length=1, max_length=_MOST)]


class _TextTable(Table):
    seen: Told
    why_it_matters: Told
    context: Words
    likely_causes: Causes
    next_steps: Told
    retest: Told
    looks_like: Told
    caution: Told = []


class _RuleTable(Table):
    title: Told
    impact: Impact
    severity: Severity
    applies_to: Annotated[list[Literal["all", Kind, "air-handler"]], Field(min_length=1)]
    only_with: list[
        Literal[
            "reheat",
            "electric-heat",
            "fan",
            "outdoor-air-inlet",
            "open-zone",
            "open-zone-of-three",
            "known-air-handler",
        ]
    ] = []
    follows_from: list[str | _FollowsTable] = []
    explains: list[str] = []
    who_acts: Acts | None = None
    site_checks: list[str] = []
    complaints: list[str] = []
    terminals_by: Literal["without air", "starved"] | None = None
    needs: Annotated[list[str], Field(max_length=_MOST)]
    needs_one_of: Annotated[list[list[str]], Field(max_length=_MOST)] = []
    better_with: Annotated[list[str], Field(max_length=_MOST)] = []
    judged_when: Condition
    fault_when: Condition
    lasting: Seconds
    fault_hours_at_least: Hours
    judged_hours_at_least: Hours
    longest_interval: Seconds
    best_interval: Seconds | None = None
    limits: Annotated[dict[str, LimitTable], Field(max_length=_MOST)] = {}
    measures: Annotated[dict[str, _MeasureTable], Field(max_length=_MOST)] = {}
    evidence: Annotated[list[_EvidenceTable], Field(max_length=_MOST)] = []
    fault_share_at_least: Annotated[float, Field(ge=0, le=1)] = 0.0
    stands: bool = False
    explains_when_low: bool = True
    shared_as: Literal["air_handler", "building", "list", "air_handler_list"] = "air_handler"
    milder: Annotated[list[_GradedTable], BeforeValidator(_several), Field(max_length=_MOST)] = []
    graver: Annotated[list[_GradedTable], Field(max_length=_MOST)] = []
    text: _TextTable


# Reading --------------------------------------------------------------------------------------------------------------


def read_rule(file: Path) -> Rule:
    """Read one rule file; its name is the rule's id."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", file.stem):
        raise RuleError(file, "a rule's file name is its id: lower-case words joined by hyphens", "Rename the file.")
    table = read_settings(file, _RuleTable, RuleError, "rule")
    try:
        rule = _rule(file, table)
        check_names(rule)
    except ValueError as error:
        raise RuleError(file, str(error), "Correct the rule file and run again.") from None
    return rule


def _rule(file: Path, table: _RuleTable) -> Rule:
    plain = {name: getattr(table, name) for name in _RuleTable.model_fields if name not in ("title", "text")}
    for name in (
        "applies_to",
        "only_with",
        "explains",
        "site_checks",
        "complaints",
        "needs",
        "better_with",
    ):
        plain[name] = tuple(plain[name])
    follows = [_FollowsTable(rule=item) if isinstance(item, str) else item for item in table.follows_from]
    plain |= {
        "follows_from": tuple(item.rule for item in follows),
        "follows_impact": {item.rule: item.impact for item in follows if item.impact},
        "follows_unless": {item.rule: item.unless_measured for item in follows if item.unless_measured},
        "needs_one_of": tuple(map(tuple, table.needs_one_of)),
        "limits": {name: limit_of(name, limit) for name, limit in table.limits.items()},
        "measures": {name: _measure(name, measure) for name, measure in table.measures.items()},
        "evidence": tuple(Evidence(item.when, _read_passage(item)) for item in table.evidence),
        "milder": tuple(map(_graded, table.milder)),
        "graver": tuple(map(_graded, table.graver)),
        "wording": Wording(
            title=_read_passages(table.title),
            context=(Passage(table.text.context),),
            **{name: _read_passages(told) for name, told in table.text if name != "context"},
        ),
    }
    return Rule(id=file.stem, file=file, **plain)


def _read_passages(told: Iterable[_PassageTable]) -> tuple[Passage, ...]:
    return tuple(map(_read_passage, told))


def _read_passage(table: _PassageTable) -> Passage:
    told = (table.when, table.unless, table.alike, table.unless_alike) if isinstance(table, _CauseTable) else ()
    return Passage(table.say, tuple(table.at or ()), *told)


def _graded(table: _GradedTable) -> Graded:
    return Graded(table.when, table.severity, table.impact)


def limit_of(name: str, table: LimitTable) -> Limit:
    dimension = dimension_of(table.unit, f"limits.{name}.unit")
    value = known_unit(table.unit, dimension).to_si(table.value)
    shown = f"{table.value:g} {table.unit}".strip()
    lowest, highest, allowed = _range(table, dimension)
    limit = Limit(
        name,
        value,
        table.unit,
        dimension,
        shown,
        table.source,
        table.reason,
        table.accuracy,
        uncertainty=table.uncertainty,
        lowest=lowest,
        highest=highest,
        allowed=allowed,
    )
    try:
        limit.check(value, shown)
    except ValueError as error:
        raise ValueError(f"limits.{name}: {error}") from None
    return limit


def _range(table: LimitTable, dimension: str) -> tuple[float, float, str]:
    """Return between what a limit may be moved; a rule that does not say keeps the sign of all but temperatures."""
    if table.range is None:
        signed = table.value < 0 or dimension == "temperature"
        return (-math.inf if signed else 0.0), math.inf, f"numbers from 0 {table.unit}".strip()
    low, high = table.range
    unit = known_unit(table.unit, dimension)
    return unit.to_si(low), unit.to_si(high), f"{low:g} to {high:g} {table.unit}".strip()


def _measure(name: str, table: _MeasureTable) -> MeasureRule:
    dimension = dimension_of(table.unit, f"measures.{name}.unit")
    label = table.label or f"{_STATISTICS[table.take]} {name.replace('_', ' ')}"
    return MeasureRule(
        name, table.expression, table.take, dimension, table.unit, table.ranks, table.priced_as,
        table.where_unknown or "", label, table.of, table.when,
    )  # fmt: skip


def dimension_of(unit: str, place: str) -> str:
    fitting = unit_dimensions(unit)
    if not fitting:
        raise ValueError(f"{place}: {unit!r} is no known unit")
    return _PREFERRED.get(unit, fitting[0])
