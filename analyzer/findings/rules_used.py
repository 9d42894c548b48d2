"""The rule book as one review used it: limits in their own units, and by which figure each rule's findings rank."""

from __future__ import annotations

from analyzer.engine.rule import Limit, Rule
from analyzer.quantities import find_unit

# Which way a rule's ranking figure grows worse.
HIGHER, LOWER, FURTHER_FROM_ZERO = "higher", "lower", "further from zero"


def limits_used(rule: Rule) -> dict[str, dict]:
    """Return a rule's limits by name: ``{"value", "unit", "moved"}``, in the unit in which the rule's file gives it."""
    return {
        name: {"value": _in_its_unit(limit), "unit": limit.unit, "moved": limit.moved}
        for name, limit in rule.limits.items()
    }


def _in_its_unit(limit: Limit) -> float:
    unit = find_unit(limit.unit, limit.dimension)
    return float(f"{unit.from_si(limit.value):.10g}")  # 0.30000000000000004 is the conversion's doing


def ranking(rule: Rule) -> dict[str, str] | None:
    """Return the figure by which a rule's findings rank, and which way is worse; None where it has no such figure.

    Worse is the way in which the figure's own parts make the rule's condition truer. Where the condition takes them
    by their size alone, or does not say, a figure is worse the further it lies from zero, or the higher it is.
    """
    measure = next((measure for measure in rule.measures.values() if measure.ranks), None)
    if measure is None:
        return None
    ways = set()
    for name in measure.expression.names - set(rule.limits):
        own, bears = measure.expression.direction(name), rule.fault_when.direction(name)
        if own is None or bears is None:
            return {"measure": measure.name, "worse": FURTHER_FROM_ZERO}
        ways |= {own * bears} - {0}
    return {"measure": measure.name, "worse": LOWER if ways == {-1} else HIGHER}
