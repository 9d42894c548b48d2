"""The rule book as one review used it: limits in their own units, and by which figure each rule's findings rank."""

from __future__ import annotations

import re

from analyzer.engine import Expression, Limit, Rule
from analyzer.quantities import known_unit

# Which way a rule's ranking figure grows worse.
# Whether a figure is known bears on whether a rule can be judged, and not on which way is worse.
_KNOWN, _HOLDS = re.compile(r"known\([^()]*\)"), "0 < 1"
HIGHER, LOWER, FURTHER_FROM_ZERO = "higher", "lower", "further from zero"


def limits_used(rule: Rule) -> dict[str, dict]:
    """Return a rule's limits by name: ``{"value", "unit", "moved"}``, in the unit in which the rule's file gives it."""
    return {
        name: {"value": _in_its_unit(limit), "unit": limit.unit, "moved": limit.moved}
        for name, limit in rule.limits.items()
    }


def _in_its_unit(limit: Limit) -> float:
    unit = known_unit(limit.unit, limit.dimension)
    return float(f"{unit.from_si(limit.value):.10g}")  # 0.30000000000000004 is the conversion's doing


def ranking(rule: Rule) -> dict | None:
    """Return the figure by which a rule's findings rank, and which way is worse; None where it has no such figure.

    ``{"measure", "worse", "total"}``; a total grows with the hours that were judged.

    Worse is the way in which the figure's own parts make the rule's condition truer; where the condition takes them by
    their size alone, the further from zero; where it does not say, the higher.
    """
    measure = next((measure for measure in rule.measures.values() if measure.ranks), None)
    if measure is None:
        return None
    condition = Expression(_KNOWN.sub(_HOLDS, rule.fault_when.text))
    parts = measure.expression.names - set(rule.limits)
    if any(re.search(rf"abs\([^()]*\b{name}\b", condition.text) for name in parts):
        worse = FURTHER_FROM_ZERO
    else:
        ways = {(measure.expression.direction(name) or 0) * (condition.direction(name) or 0) for name in parts} - {0}
        worse = LOWER if ways == {-1} else HIGHER
    return {"measure": measure.name, "worse": worse, "total": measure.take == "total"}
