"""One rule file: its shape, and how it is read and checked. An unknown key or name is refused, never passed over."""

from __future__ import annotations

import math
import re
import string
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from analyzer.engine.expressions import Expression
from analyzer.engine.rule import (
    AIR_HANDLER,
    IMPACTS,
    SEVERITIES,
    Evidence,
    Graded,
    Limit,
    MeasureRule,
    Rule,
)
from analyzer.engine.wording import KINDS, REHEATS, Passage, Wording
from analyzer.errors import RuleError, nearest
from analyzer.inputs import read_toml
from analyzer.quantities import AIR_HANDLER as QUANTITIES_OF_AIR_HANDLERS
from analyzer.quantities import TERMINAL, find_unit, parse_quantity, unit_dimensions
from analyzer.signals import NUMBERS, SIGNALS
from analyzer.site.model import SCHEDULE
from analyzer.validation import mistakes

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


Words = Annotated[str, AfterValidator(_filled)]
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
    priced_as: Literal["electricity", "heat", "reheat"] | None = None


Fits = Annotated[list[Literal[(*KINDS, *REHEATS)]], Field(min_length=1)]


class _PassageTable(Table):
    say: Words
    at: Fits | None = None


class _CauseTable(_PassageTable):
    when: Condition | None = None
    unless: Condition | None = None


class _EvidenceTable(_PassageTable):
    when: Condition


class _GradedTable(Table):
    when: Condition
    severity: Literal[SEVERITIES]
    impact: Literal[IMPACTS]


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
    impact: Literal[IMPACTS]
    severity: Literal[SEVERITIES]
    applies_to: Annotated[list[Literal["all", *KINDS, AIR_HANDLER]], Field(min_length=1)]
    only_with: list[Literal["reheat", "fan", "outdoor-air-inlet", "open-zone", "known-air-handler"]] = []
    follows_from: list[str] = []
    explains: list[str] = []
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
    shared_as: Literal["air_handler", "building", "list"] = "air_handler"
    milder: Annotated[list[_GradedTable], BeforeValidator(_several), Field(max_length=_MOST)] = []
    graver: Annotated[list[_GradedTable], Field(max_length=_MOST)] = []
    text: _TextTable


# Reading --------------------------------------------------------------------------------------------------------------


def read_rule(file: Path) -> Rule:
    """Read one rule file; its name is the rule's id."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", file.stem):
        raise RuleError(file, "a rule's file name is its id: lower-case words joined by hyphens", "Rename the file.")
    try:
        told = read_toml(file)
    except OSError as error:
        raise RuleError(file, f"cannot be read ({error.strerror})", "Check its permissions.") from None
    except ValueError as error:
        raise RuleError(file, f"is not valid TOML: {error}", "Correct that place and run again.") from None
    try:
        table = _RuleTable.model_validate(told)
    except ValidationError as error:
        raise RuleError(file, mistakes(error, _RuleTable), "Correct the rule file and run again.") from None
    try:
        rule = _rule(file, table)
        _check_names(rule)
    except ValueError as error:
        raise RuleError(file, str(error), "Correct the rule file and run again.") from None
    return rule


def _rule(file: Path, table: _RuleTable) -> Rule:
    plain = {name: getattr(table, name) for name in _RuleTable.model_fields if name not in ("title", "text")}
    for name in ("applies_to", "only_with", "follows_from", "explains", "needs", "better_with"):
        plain[name] = tuple(plain[name])
    plain |= {
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
    conditions = (table.when, table.unless) if isinstance(table, _CauseTable) else ()
    return Passage(table.say, tuple(table.at or ()), *conditions)


def _graded(table: _GradedTable) -> Graded:
    return Graded(table.when, table.severity, table.impact)


def limit_of(name: str, table: LimitTable) -> Limit:
    dimension = dimension_of(table.unit, f"limits.{name}.unit")
    value = find_unit(table.unit, dimension).to_si(table.value)
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
    unit = find_unit(table.unit, dimension)
    return unit.to_si(low), unit.to_si(high), f"{low:g} to {high:g} {table.unit}".strip()


def _measure(name: str, table: _MeasureTable) -> MeasureRule:
    dimension = dimension_of(table.unit, f"measures.{name}.unit")
    label = table.label or f"{_STATISTICS[table.take]} {name.replace('_', ' ')}"
    return MeasureRule(
        name, table.expression, table.take, dimension, table.unit, table.ranks, table.priced_as,
        table.where_unknown or "", label, table.of,
    )  # fmt: skip


def dimension_of(unit: str, place: str) -> str:
    fitting = unit_dimensions(unit)
    if not fitting:
        raise ValueError(f"{place}: {unit!r} is no known unit")
    return _PREFERRED.get(unit, fitting[0])


def _check_names(rule: Rule) -> None:
    """Refuse a name that means nothing, a condition of the wrong type, and a text with an unknown figure in it."""
    if AIR_HANDLER in rule.applies_to:
        _check_of_air_handlers(rule)
    elif rule.explains or rule.terminals_by:
        raise ValueError("explains: only a rule that judges air handlers explains what terminals show")
    known = {*TERMINAL, *SIGNALS, *NUMBERS, *rule.limits}
    expressions = {"judged_when": rule.judged_when, "fault_when": rule.fault_when}
    expressions |= {f"evidence {number}": item.when for number, item in enumerate(rule.evidence, 1)}
    expressions |= {name: grade.when for name, grade in rule.grades.items()}
    expressions |= {f"likely_causes {number}": found for number, found in _conditions_of_causes(rule)}
    for place, expression in expressions.items():
        _check_expression(rule, place, expression, known, condition=True)
    for measure in rule.measures.values():
        _check_expression(rule, f"measures.{measure.name}", measure.expression, known, condition=False)
        if measure.of is not None:
            _check_expression(rule, f"measures.{measure.name}.of", measure.of, known, condition=False)
    for name in {
        *rule.needs,
        *rule.better_with,
        *(name for group in rule.needs_one_of for name in group if name not in KINDS),
    }:
        if name not in known - set(rule.limits):
            raise ValueError(f"needs: {name!r} is no trend, signal or schedule value{nearest(name, known)}")
    for limit in rule.limits.values():
        if limit.uncertainty is not None:
            place = f"limits.{limit.name}.uncertainty"
            _check_expression(rule, place, limit.uncertainty, known, condition=False)
        quantities = TERMINAL | QUANTITIES_OF_AIR_HANDLERS
        if limit.accuracy is not None and limit.accuracy not in quantities:
            raise ValueError(
                f"limits.{limit.name}.accuracy: {limit.accuracy!r} is no quantity{nearest(limit.accuracy, quantities)}"
            )
    figures = {*rule.measures, *rule.limits, "fault_hours", "judged_hours", *(f"from_{name}" for name in SCHEDULE)}
    if any(measure.priced_as for measure in rule.measures.values()):
        figures.add("cost")
    told = [("text.seen", passage.say) for passage in rule.wording.seen]
    for place, text in [*told, *(("evidence", item.say) for item in rule.evidence)]:
        for name in figures_in(text, place):
            if name not in figures:
                raise ValueError(f"{place}: {{{name}}} is no measure or limit of the rule{nearest(name, figures)}")


def _conditions_of_causes(rule: Rule) -> list[tuple[int, Expression]]:
    causes = enumerate(rule.wording.likely_causes, 1)
    return [(number, found) for number, cause in causes for found in (cause.when, cause.unless) if found is not None]


def _check_of_air_handlers(rule: Rule) -> None:
    """Refuse what an air handler does not have, and a common fault of an unknown share."""
    if set(rule.applies_to) != {AIR_HANDLER}:
        raise ValueError("applies_to: a rule judges air handlers or terminals, not both")
    for name in sorted(rule.names & {*TERMINAL, *NUMBERS}):
        raise ValueError(f"{name!r} is a terminal's; a rule that judges air handlers names their own points")
    if rule.looks_for_common_faults and "least_share" not in rule.limits:
        raise ValueError("limits: a rule that looks for common faults needs a limit 'least_share'")


def _check_expression(rule: Rule, place: str, expression: Expression, known, *, condition: bool) -> None:
    check_expression(expression, place, known, rule.limits, is_state, owner="rule", condition=condition)


def check_expression(
    expression: Expression, place: str, known, limits, state: Callable[[str], bool], *, owner: str, condition: bool
) -> None:
    """Refuse a name that is not known, a signal without the limits that it takes, and a condition of the wrong type.

    Parameters
    ----------
    known : collection of str
        The names that may stand in it.
    limits : collection of str
        The limits of its owner, a rule or a cause.
    state : callable
        Tells of a name whether it is true or false.

    Raises
    ------
    ValueError
        It is refused; the text says why.
    """
    for name in sorted(expression.names):
        if name not in known:
            raise ValueError(f"{place}: unknown name {name!r}{nearest(name, known)}")
        for parameter in SIGNALS[name].parameters if name in SIGNALS else ():
            if parameter not in limits:
                raise ValueError(
                    f"{place}: the signal {name!r} needs a limit {parameter!r}, which the {owner} does not have"
                )
    try:
        expression.check_types(state, condition=condition)
    except ValueError as error:
        raise ValueError(f"{place}: {error}") from None


def is_state(name: str) -> bool:
    return (name in TERMINAL and TERMINAL[name].state) or (name in SIGNALS and SIGNALS[name].state)


def figures_in(text: str, place: str) -> list[str]:
    try:
        fields = [(name, form, turned) for _, name, form, turned in string.Formatter().parse(text) if name is not None]
    except ValueError as error:
        raise ValueError(f"{place}: {error}") from None
    for name, form, turned in fields:
        if form or turned:
            raise ValueError(f"{place}: {{{name}}} has a format of its own; write the name alone in its brackets")
    return [name for name, _, _ in fields]
