"""The names in a rule: whether each means something, has what it takes, and stands where it may."""

from __future__ import annotations

import string
from collections.abc import Callable

from analyzer.engine.expressions import Expression
from analyzer.engine.rule import AIR_HANDLER, MeasureRule, Rule
from analyzer.engine.wording import KINDS
from analyzer.errors import nearest
from analyzer.quantities import AIR_HANDLER as QUANTITIES_OF_AIR_HANDLERS
from analyzer.quantities import TERMINAL
from analyzer.signals import NUMBERS, SIGNALS
from analyzer.site.model import SCHEDULE


def check_names(rule: Rule) -> None:
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
        _check_dimension(measure)
        if measure.when is not None:
            _check_expression(rule, f"measures.{measure.name}.when", measure.when, known, condition=True)
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
    for cause, name in rule.follows_unless.items():
        if name not in rule.measures:
            raise ValueError(f"follows_from: {cause}: {name!r} is no measure of the rule{nearest(name, rule.measures)}")
    for name in {told for cause in rule.wording.likely_causes for told in (cause.alike, cause.unless_alike) if told}:
        if name not in rule.measures:
            raise ValueError(f"likely_causes: {name!r} is no measure of the rule{nearest(name, rule.measures)}")
    figures = {*rule.measures, *rule.limits, "fault_hours", "judged_hours", *(f"from_{name}" for name in SCHEDULE)}
    if any(measure.priced_as for measure in rule.measures.values()):
        figures.add("cost")
    told = [("text.seen", passage.say) for passage in rule.wording.seen]
    for place, text in [*told, *(("evidence", item.say) for item in rule.evidence)]:
        for name in figures_in(text, place):
            if name not in figures:
                raise ValueError(f"{place}: {{{name}}} is no measure or limit of the rule{nearest(name, figures)}")


def _check_dimension(measure: MeasureRule) -> None:
    """Refuse a share that is taken for percent, or the other way round: its figure would be off by a hundred."""
    name = measure.expression.text.strip()
    if name not in SIGNALS:
        return
    own, other = SIGNALS[name].dimension, measure.dimension
    if {own, other} == {"fraction", "percent"}:
        raise ValueError(f"measures.{measure.name}.unit: {name!r} is a {own}, and {measure.unit!r} a {other}")


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
