"""Findings set beside the truth: right, a consequence, a wrong cause, or false."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.faults import kind_of
from tests.accuracy.field import evidence
from tests.accuracy.field.truth import BUILDING, SHARED, Truth
from tests.accuracy.scoring import CONSEQUENCE, FALSE, RIGHT, SYMPTOM, WRONG, met, relation, with_causes

# Hours in which the readings have to show a symptom for it to be true.
LEAST_OF_SYMPTOM = 1.0
COLUMNS = ["terminal", "rule", "confidence", "severity", "fault_hours", "under", "scope", "terminals", "id"]


def table_of(findings) -> pd.DataFrame:
    """Lay findings out, one a row; ``scope`` and ``terminals`` where findings have them."""
    usual = {"scope": "terminal", "terminals": ()}
    rows = [[getattr(finding, name, usual.get(name)) for name in COLUMNS] for finding in findings]
    return pd.DataFrame(rows, columns=COLUMNS)


def scored(truth: Truth, found: pd.DataFrame) -> pd.DataFrame:
    """Add ``judged_as`` (RIGHT and so on), ``kind`` (what is wrong there) and ``top`` (told for itself).

    What goes under a right finding is a consequence of it and right; what goes under a wrong one is as wrong as it.
    A finding of an air handler or of the building is right where what it says is true of most of its terminals. What
    is told for itself, and is true of the readings without naming any cause, is a symptom where no cause of it is told:
    a right finding of a fault that brings it along. A fault that does not is no cause of it.
    """
    said = [_relation(truth, row) for row in found.itertuples()]
    kinds = [_kinds(truth, row.terminal) for row in found.itertuples()]
    found = found.assign(judged_as=said, kind=kinds)
    explained = set(found.loc[(found["judged_as"] == RIGHT) & ~found["rule"].isin(evidence.STATES), "terminal"])
    told = with_causes(found)
    symptom = [row.top and row.judged_as != RIGHT and _is_symptom(truth, row, explained) for row in told.itertuples()]
    return told.assign(judged_as=told["judged_as"].mask(pd.Series(symptom, index=told.index), SYMPTOM))


def _is_symptom(truth: Truth, row, explained: set[str]) -> bool:
    """Whether a finding is true of the readings: at its terminal, or at most of those that it is told of."""
    if row.scope == "terminal":
        caused = row.judged_as == CONSEQUENCE and row.terminal in explained
        return not caused and _shows_symptom(truth, row.rule, row.terminal)
    shown = [_shows_symptom(truth, row.rule, tag) for tag in row.terminals or ()]
    return sum(shown) > SHARED * max(len(shown), 1)


def _shows_symptom(truth: Truth, rule: str, tag: str) -> bool:
    """Tell whether the readings show what a rule says of a terminal, by plain arithmetic; only rules that name no cause."""
    if rule not in evidence.SYMPTOMS or tag not in truth.table.index:
        return False
    with np.errstate(invalid="ignore", divide="ignore"):
        return evidence.SYMPTOMS[rule](truth.view(tag)) >= LEAST_OF_SYMPTOM


def _relation(truth: Truth, row) -> str:
    if row.terminal in truth.table.index and row.scope == "terminal":
        return _of_terminal(truth, row.rule, row.terminal)
    return _of_shared(truth, row)


def _of_terminal(truth: Truth, rule: str, tag: str) -> str:
    faults = [*truth.own.get(tag, ()), *truth.of_unit.get(truth.table.at[tag, "air_handler"], ())]
    said = relation(rule, (kind_of(fault.kind) for fault in faults))
    if rule in truth.may.get(tag, ()):
        return RIGHT
    return CONSEQUENCE if said != RIGHT and tag in truth.conditions.get(rule, ()) else said


def _of_shared(truth: Truth, row) -> str:
    """Of an air handler or the building, told at any name: by its terminals, where it names them."""
    units = truth.table["air_handler"]
    tags = [tag for tag in row.terminals or () if tag in truth.table.index]
    if not tags:
        tags = list(units.index[units == row.terminal]) or list(units.index)
    own = {unit for unit in units[tags] if (units[tags] == unit).mean() > SHARED}
    kinds = [kind_of(fault.kind) for unit in own for fault in truth.of_unit.get(unit, ())]
    if any(row.rule in (*kind.shows, *kind.also) for kind in kinds):
        return RIGHT
    if any(row.rule in truth.may.get(unit, ()) for unit in own):
        return RIGHT
    each = [_of_terminal(truth, row.rule, tag) for tag in tags]
    conditions = truth.conditions.get(row.rule, set())
    true_of = [tag in conditions or said == RIGHT for tag, said in zip(tags, each, strict=True)]
    if sum(true_of) > SHARED * len(tags):
        return RIGHT
    if any(row.rule in kind.brings for kind in kinds) or each.count(CONSEQUENCE) > SHARED * len(tags):
        return CONSEQUENCE
    return WRONG if kinds else FALSE


def _kinds(truth: Truth, tag: str) -> str:
    if tag in truth.table.index:
        faults = truth.own.get(tag, []) or truth.of_unit.get(truth.table.at[tag, "air_handler"], [])
    else:
        faults = truth.of_unit.get(tag, [])
    return ", ".join(fault.kind for fault in faults)


def with_verdicts(truth: Truth, seeded: pd.DataFrame, found: pd.DataFrame, verdicts: pd.DataFrame) -> pd.DataFrame:
    """Add to the seeded faults ``verdict`` and ``reason`` of the rule, and ``told``: found, and not under a wrong cause.

    An air handler's or the building's is found where a right finding of the rule covers most of its terminals.
    """
    by = verdicts.drop_duplicates(["terminal", "rule"]).set_index(["terminal", "rule"])
    right = found[(found["judged_as"] == RIGHT) & found["id"].isin(met(found))]
    rows = []
    for row in seeded.itertuples():
        if row.at in truth.table.index:
            verdict, reason = (
                by.loc[(row.at, row.rule), ["verdict", "reason"]] if (row.at, row.rule) in by.index else ("no rule", "")
            )
            own = (right["terminal"] == row.at) & (right["rule"] == row.rule)
            rows.append((verdict, reason, bool(own.any()) or (verdict == "fault" and _covered(truth, right, row))))
            continue
        told = any(_covers(truth, one, row) for one in right[right["rule"] == row.rule].itertuples())
        rows.append(("fault" if told else "not found", "", told))
    return (
        seeded.assign(**dict(zip(["verdict", "reason", "told"], zip(*rows, strict=True), strict=True)))
        if rows
        else seeded.assign(verdict="", reason="", told=False)
    )


def _covered(truth: Truth, right: pd.DataFrame, row) -> bool:
    """Whether a finding of a wider scope of the same rule names this terminal."""
    wider = right[(right["scope"] != "terminal") & (right["rule"] == row.rule)]
    return any(row.at in (tags or ()) for tags in wider["terminals"])


def _covers(truth: Truth, one, row) -> bool:
    if row.at == BUILDING:
        return one.scope == "building" or one.terminal not in truth.table.index
    units = truth.table["air_handler"]
    own = set(units.index[units == row.at])
    return one.terminal == row.at or len(own & set(one.terminals or ())) > SHARED * len(one.terminals or (1,))
