"""Findings from verdicts: each fault in words and figures, ranked."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Mapping, Sized
from dataclasses import replace

import numpy as np
import pandas as pd

from analyzer.engine import (
    RULED_OUT,
    SUPPORTED,
    BuildingJudgement,
    CommonCauses,
    Explained,
    Forms,
    Judgement,
    Limit,
    MeasureRule,
    Rule,
    Text,
    figures_in,
    forms,
    forms_of,
    words_of,
)
from analyzer.engine import Episodes as Found
from analyzer.findings.causes import put_under_causes, without_wrong_support
from analyzer.findings.energy import cost
from analyzer.findings.order import in_order
from analyzer.findings.results import AIR_HANDLER_SCOPE, Episodes, Finding, Measure
from analyzer.findings.shared import named, told_once
from analyzer.quantities import half_up, shown_unit, to_shown
from analyzer.signals import Scene
from analyzer.site.model import SCHEDULE


def collect_building(scene: Scene, rules: dict[str, Rule], judgement: BuildingJudgement) -> list[Finding]:
    """Return the findings of terminals, air handlers and the building, in the order of what to do first."""
    owners = dict(zip(scene.terminals, scene.words("air_handler"), strict=True))
    found, may_be, common = collect(scene, rules, judgement.terminals), forms_by_terminal(scene), judgement.common
    if common:
        found += findings_of_air_handlers(rules, common, of_owners(owners, may_be))
    explained = common.explained if common else []
    return put_in_order(found, rules, explained, judgement.terminals.verdicts, owners, may_be)


def put_in_order(
    found: list[Finding],
    rules: dict[str, Rule],
    explained: list[Explained],
    verdicts: pd.DataFrame,
    owners: dict[str, str],
    may_be: Mapping[str, Forms],
) -> list[Finding]:
    """Put under each finding what follows from it, tell once what many terminals share, and order them.

    Parameters
    ----------
    found : list of Finding
        Of the terminals and the air handlers; may come from several groups, in any order.
    rules : dict
        The rule book.
    explained : list of Explained
        What the faults of air handlers explain.
    verdicts : DataFrame
        Of the terminals.
    owners : dict
        Terminal to its air handler; empty where none is known.
    may_be : mapping
        Terminal to what it may be.
    """
    under = without_wrong_support(put_under_causes(found, rules, explained))
    shared = told_once(under, rules, verdicts, owners, explained, may_be)
    return in_order(shared, rules)


def forms_by_terminal(scene: Scene) -> dict[str, Forms]:
    """Return what each terminal of a scene may be: its kind and reheat as scheduled, else as its points show."""
    told = zip(scene.terminals, scene.kinds, scene.words("reheat"), scene.has_reheat, strict=True)
    return {tag: forms_of(kind, reheat, has_reheat) for tag, kind, reheat, has_reheat in told}


def of_owners(owners: Mapping[str, str], may_be: Mapping[str, Forms]) -> dict[str, Forms]:
    """Return what the terminals of each air handler may be."""
    found: dict[str, set] = defaultdict(set)
    for tag, owner in owners.items():
        found[owner] |= may_be.get(tag, forms())
    return {owner: frozenset(own) for owner, own in found.items()}


def findings_of_air_handlers(
    rules: dict[str, Rule], common: CommonCauses, may_be: Mapping[str, Forms]
) -> list[Finding]:
    """Return the air handlers' own findings, each with the terminals that show it.

    ``may_be`` gives what the terminals of each may be. What shares a fault at the same time is told by the fault that
    is shared, not by the rule that counts it.
    """
    shown = {(own.air_handler, own.rule): own.terminals for own in common.explained if own.fault is None}
    found = []
    for finding in collect(common.scene, rules, common.judgement, may_be):
        if rules[finding.rule].looks_for_common_faults:
            continue
        tags = shown.get((finding.terminal, finding.rule), ())
        # Where nothing tells which of them show it, all are named in the data and counted here.
        told = (
            f"Most affected (30 min or more each): {named(tags)}."
            if rules[finding.rule].terminals_by
            else _count_of(tags)
        )
        summary = f"{finding.summary} {told}" if tags else finding.summary
        found.append(replace(finding, scope=AIR_HANDLER_SCOPE, terminals=tags, summary=summary))
    return found


def _count_of(terminals: Sized) -> str:
    return f"It serves {len(terminals)} terminal{'' if len(terminals) == 1 else 's'}."


def collect(
    scene: Scene, rules: dict[str, Rule], judgement: Judgement, may_be: Mapping[str, Forms] | None = None
) -> list[Finding]:
    """Turn every fault of a judgement into a finding, in the order of what to do first.

    ``may_be`` gives what each of the scene's terminals may be, or those of each air handler; the scene's own where not
    given.
    """
    may_be = forms_by_terminal(scene) if may_be is None else may_be
    faults = judgement.verdicts[judgement.verdicts["verdict"] == "fault"]
    number = pd.Index(scene.terminals).get_indexer(faults["terminal"])
    told = {name: _RuleTold(scene, rules[name], judgement, may_be) for name in set(faults["rule"])}
    return in_order(
        [told[fault["rule"]].finding(fault, at) for fault, at in zip(faults.to_dict("records"), number, strict=True)],
        rules,
    )


# So many words behind a colon are something said; fewer are a figure, which may be the same by chance.
LEAST_WORDS = 4
COST = "Total cost, estimated"
# What a finding says where the figures of its own sentence are not known.
HOURS_ALONE = "Fault for {fault_hours} of {judged_hours} judged."


class _RuleTold:
    """A rule's faults told as findings."""

    def __init__(self, scene: Scene, rule: Rule, judgement: Judgement, may_be: Mapping[str, Forms]):
        self.scene, self.rule, self.may_be = scene, rule, may_be
        self.texts: dict[Forms, Text] = {}
        self.figures, self.evidence = judgement.figures[rule.id], judgement.evidence[rule.id]
        self.episodes = _by_terminal(judgement.episodes[rule.id])
        self.logged_until = judgement.logged_until[rule.id]
        self.limits = {name: _limit(limit, scene.site.units) for name, limit in rule.limits.items()}

    def finding(self, fault: dict, at: int) -> Finding:
        """Tell one fault: the row of its verdict, and the number of its terminal."""
        rule, measures = self.rule, self._measures(at)
        possible = self.may_be.get(fault["terminal"]) or rule.forms
        if possible not in self.texts:
            self.texts[possible] = rule.wording.fitted(possible)
        text = self.texts[possible]
        causes, supported = self._causes(at, possible)
        graded = next((grade for name, grade in rule.grades.items() if self.evidence[name][at]), rule)
        return Finding(
            id=f"{fault['terminal']}/{rule.id}",
            terminal=fault["terminal"],
            air_handler=self.scene.words("air_handler")[at] or None,
            rule=rule.id,
            title=text.title,
            severity=graded.severity,
            impact=graded.impact,
            confidence=fault["confidence"],
            start=fault["first_seen"],
            end=fault["last_seen"],
            fault_hours=fault["fault_hours"],
            judged_hours=fault["judged_hours"],
            episodes=self.episodes[at],
            measures=measures,
            summary=self._summary(fault, at, measures, possible),
            **words_of(text, causes, supported),
            logged_until=None if np.isnan(self.logged_until[at]) else _moments(self.logged_until[[at]])[0],
        )

    def _causes(self, at: int, possible: Forms) -> tuple[list[str], int]:
        numbers = range(len(self.rule.wording.likely_causes))
        shown = [
            [number for number in numbers if (held := self.evidence.get(what.format(number))) is not None and held[at]]
            for what in (SUPPORTED, RULED_OUT)
        ]
        return self.rule.wording.causes(possible, *shown)

    def _measures(self, at: int) -> dict[str, Measure]:
        site = self.scene.site
        measures = {
            name: replace(_measure(measure, self.figures[name][at], site.units), label=measure.label)
            for name, measure in self.rule.measures.items()
            if not np.isnan(self.figures[name][at])
        }
        reheat = self.scene.words("reheat")[at]
        priced = [
            cost(measures[name].value, measure.priced_as, reheat, site.tariff)
            for name, measure in self.rule.measures.items()
            if measure.priced_as and name in measures
        ]
        if priced:
            measures["cost"] = replace(priced[0], value=sum(each.value for each in priced), label=COST)
        return measures

    def _summary(self, fault: dict, at: int, measures: dict[str, Measure], possible: Forms) -> str:
        hours = {name: Measure(fault[name], "h") for name in ("fault_hours", "judged_hours")}
        words = {name: _words(measure) for name, measure in (measures | hours).items()}
        unknown = {name: measure.where_unknown for name, measure in self.rule.measures.items() if measure.where_unknown}
        words = unknown | self.limits | self._sources(fault["terminal"]) | words
        held = [
            item.passage.at_forms(possible)
            for number, item in enumerate(self.rule.evidence)
            if self.evidence[number][at]
        ]
        seen = [passage.at_forms(possible) for passage in self.rule.wording.seen]
        told = " ".join([said for sentence in seen if (said := _said(sentence, words))] or [_said(HOURS_ALONE, words)])
        told = " ".join([told, *_joined([said for sentence in held if (said := _said(sentence, words))])])
        return told.replace("w.c..", "w.c.")  # a unit that ends in a point ends a sentence as well

    def _sources(self, terminal: str) -> dict[str, str]:
        """Where the schedule's values stand, as ``{from_primary_min}`` in a sentence: " (M-601, row 17)", or ""."""
        of_it = self.scene.site.sources.get(terminal, {})
        return {f"from_{name}": f" ({of_it[name].short})" if name in of_it else "" for name in SCHEDULE}


def _said(sentence: str, words: Mapping[str, str]) -> str:
    """Return a sentence with its figures; nothing where one of them is not known."""
    return sentence.format_map(words) if all(name in words for name in figures_in(sentence, "")) else ""


def _joined(sentences: list[str]) -> list[str]:
    """Join sentences that say the same of several things: "A: no sample." and "B: no sample." to "A, b: no sample."."""
    subjects: dict[tuple[str, str], list[str]] = {}
    for sentence in sentences:
        subject, colon, rest = sentence.partition(": ")
        same = colon and len(rest.split()) >= LEAST_WORDS
        subjects.setdefault(("", rest) if same else (sentence, ""), []).append(subject)
    return [alone or f"{', '.join([first, *map(_inside, others)])}: {rest}"
            for (alone, rest), (first, *others) in subjects.items()]  # fmt: skip


def _inside(name: str) -> str:
    """Return a name as it stands within a sentence: in lower case, but for capitals such as CO2."""
    return name if name[:2].isupper() else name[:1].lower() + name[1:]


def _by_terminal(found: Found) -> dict[int, Episodes]:
    """Gather the episodes of each terminal, in the order of time."""
    edges = np.round(np.stack([found.start, found.end], axis=1) * 1e6).astype(np.int64)
    order = np.argsort(found.terminal, kind="stable")
    tags, first = np.unique(found.terminal[order], return_index=True)
    return {int(tag): Episodes(own) for tag, own in zip(tags, np.split(edges[order], first[1:]), strict=True)}


def _moments(seconds: np.ndarray) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(np.round(seconds * 1e6).astype("int64").view("datetime64[us]"), tz="UTC")


def _measure(measure: MeasureRule, value: float, units: str) -> Measure:
    if measure.take == "total" and measure.dimension == "power":
        return Measure(float(value) / 1000, "kWh")
    if measure.take == "total" and measure.dimension == "count":
        return Measure(float(value), "h")
    if measure.take == "total":
        return Measure(
            float(to_shown(value, measure.dimension, units)), f"{shown_unit(measure.dimension, units)} h".strip()
        )
    if measure.dimension == "fraction":
        return Measure(float(value) * 100, "%")
    if measure.dimension == "count":
        return Measure(float(value), measure.unit)
    return Measure(float(to_shown(value, measure.dimension, units)), shown_unit(measure.dimension, units))


def _limit(limit: Limit, units: str) -> str:
    if limit.dimension in ("temperature_difference", "temperature", "flow", "pressure"):
        return _words(Measure(float(to_shown(limit.value, limit.dimension, units)), shown_unit(limit.dimension, units)))
    if limit.dimension == "fraction":
        return _words(Measure(limit.value * 100, "%"))
    return re.sub(r"^\d{4,}", lambda found: f"{int(found.group()):,}", limit.shown)


# A unit as a sentence spells it.
_SPELLED = {
    "delta degF": "°F", "degF": "°F", "delta degF h": "°F·h", "degC": "°C", "delta degC": "K", "K h": "K·h",
    "count": "", "in.w.c.": "in. w.c.",
}  # fmt: skip


# From this size on a figure in such a unit is told in whole numbers: 100 where not named. Hours are told as
# in the tables.
_WHOLE = {"cfm": 1, "L/s": 10, "%": 10, "kWh": 10, "ppm": 1, "Pa": 1, "min": 10, "h": math.inf}


# No sensor tells the hundredth of these.
_TENTHS = {"%", "K", "delta degC", "delta degF", "degC", "degF"}


def _words(measure: Measure) -> str:
    """A figure in a sentence: no more decimals than its size and its sensor deserve."""
    value = measure.value
    whole = _WHOLE.get(measure.unit, 100)
    least = 0 if measure.unit in _TENTHS else min(1, whole)
    digits = 0 if abs(value) >= whole else 1 if abs(value) >= least else 2
    number = half_up(value, digits)
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    number = "0" if number == "-0" else number.replace("-", "\u2212")
    if measure.label == COST:
        return f"{measure.unit} {half_up(value, 0 if abs(value) >= 10 else 2)}".strip()
    return f"{number} {_SPELLED.get(measure.unit, measure.unit)}".strip()
