"""The causes of a complaint, weighed by what the trends say of the hour before it."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from analyzer.complaint.case import Case
from analyzer.complaint.cause import Cause, Sign
from analyzer.complaint.facts import Facts
from analyzer.complaint.figures import FIGURES
from analyzer.complaint.missing import what_is_missing
from analyzer.engine import Expression, figures_in


def likely_causes(causes: Iterable[Cause], facts: Facts, feels: str) -> tuple[list[Case], list[Case]]:
    """Weigh the causes of a zone that feels 'cold', 'warm', or either.

    Returns
    -------
    tuple of list of Case
        Those that more speaks for than against, the likeliest first; and the others, the nearest first.
    """
    cases = [_weighed(cause, facts, feels) for cause in causes if _fits(cause, facts, feels)]
    cases.sort(key=lambda case: -case.weight)
    likely = [case for case in cases if case.is_likely]
    return likely, [case for case in cases if case not in likely]


def _fits(cause: Cause, facts: Facts, feels: str) -> bool:
    return (
        (not feels or feels in cause.feels)
        and ("all" in cause.applies_to or facts.kind in cause.applies_to)
        and ("reheat" not in cause.only_with or facts.has_reheat)
    )


def _weighed(cause: Cause, facts: Facts, feels: str) -> Case:
    case = Case(facts, cause.title, cause.rules, cause.id)
    told = _Told(cause, facts, feels)
    for sign in cause.signs:
        _take(sign, case, told)
    return case


def _take(sign: Sign, case: Case, told: _Told) -> None:
    """Weigh one sign: for, against, or not known and of what."""
    if sign.only_when is not None and not told.holds(sign.only_when):
        return
    holds = told.holds(sign.when)
    if holds is None:
        case.lacks(told.missing(told.undecided(sign.when)), essential=sign.weight == "decisive" and bool(sign.say))
        return
    text = sign.say if holds else sign.otherwise
    names = figures_in(text, "")
    if lacking := [name for name in names if math.isnan(told.value(name))]:
        case.lacks(told.missing(lacking))  # no weight without the words that show it
        return
    case.sign(sign.weight, holds, text.format(**{name: told.spelled(name) for name in names}))


class _Told:
    """What a cause's names are at the hour of the complaint, and how they are spelled."""

    def __init__(self, cause: Cause, facts: Facts, feels: str):
        self._cause, self._facts, self._feels = cause, facts, feels

    def value(self, name: str) -> float:
        """Return the SI value of a name; NaN is unknown."""
        cause, facts = self._cause, self._facts
        if name in cause.limits:
            return cause.limits[name].value
        if name in cause.figures:
            return float(np.asarray(cause.figures[name].expression.number(self.value)))
        if name in FIGURES:
            return FIGURES[name].function(facts, self._feels)
        return facts.at(name, parameters=cause.values)

    def holds(self, expression: Expression) -> bool | None:
        """Tell whether a condition holds; None where that is not known."""
        truth = expression.truth(self.value)
        return True if truth.true else False if truth.false else None

    def undecided(self, expression: Expression) -> list[str]:
        """Return the unknown names that keep a condition from being known."""
        found: dict[str, None] = {}
        for conjunct in expression.conjuncts:
            truth = conjunct.truth(self.value)
            if not truth.true and not truth.false:
                bears = conjunct.bears(self.value)
                found |= dict.fromkeys(name for name in sorted(bears) if math.isnan(self.value(name)))
        return list(found)

    def missing(self, names: list[str]) -> list[str]:
        """Return what would have to be known for some names, in the words of a reader."""
        plain: dict[str, None] = {}
        for name in names:
            derived = self._cause.figures.get(name)
            of = sorted(derived.expression.names - set(self._cause.limits)) if derived else [name]
            plain |= dict.fromkeys(part for part in of if math.isnan(self.value(part)))
        return what_is_missing(self._facts, list(plain), self._cause.values)

    def spelled(self, name: str) -> str:
        """Spell a name's value in the site's units."""
        cause = self._cause
        if name in cause.figures:
            dimension = cause.figures[name].dimension
        elif name in cause.limits:
            dimension = cause.limits[name].dimension
        else:
            dimension = FIGURES[name].dimension if name in FIGURES else self._facts.dimension(name)
        return self._facts.spell(self.value(name), dimension)
