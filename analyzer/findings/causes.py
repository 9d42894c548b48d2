"""One cause, one finding: what follows from a stronger finding is told under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from analyzer.engine import Explained, Rule, joined_spans
from analyzer.findings.results import Finding

# So much of a finding's time has to lie within another's for it to follow from it. Judgement.
LEAST_OVERLAP = 0.5
# Of two causes that could explain a finding the first is passed over where the finding takes less than the one share of
# its time, and the other share or more of the second's. Judgement.
SELDOM, TOGETHER = 0.2, 0.5
# What an air handler's fault brought to a room is over so long after it [s]; air is there again at once. Judgement: a
# room takes half a day to be as it was.
RECOVERY = 12 * 3600.0
OF_ROOMS = ("zone-too-cold", "zone-too-warm", "heating-capacity-short", "zone-temperature-swinging")
# What a terminal shows for so long at other times too [s], and for more than this share, is its own. Judgement.
ITS_OWN, ITS_OWN_SHARE = 2 * 3600.0, 0.2
# So much of it, where the terminal hangs on no known air handler. Judgement.
NEARLY_ALL = 0.9
# The impact of what says that a reading is wrong.
DATA = "data"


def put_under_causes(findings: list[Finding], rules: dict[str, Rule], explained: list[Explained]) -> list[Finding]:
    """Give each finding that follows from another the id of that other.

    Parameters
    ----------
    findings : list of Finding
        Ranked.
    rules : dict
        The rule book: a rule's ``follows_from`` names the rules whose findings explain it, some of them only where
        that finding has a certain impact: what lies above the schedule explains no lack of air.
    explained : list of Explained
        What the faults of air handlers explain.

    Returns
    -------
    list of Finding
        In the same order. A finding goes under its terminal's own cause first, and that one under the air handler's.
    """
    by_id = {finding.id: finding for finding in findings}
    parents = {
        finding.id: _own_cause(finding, rules, by_id) or _shared_cause(finding, explained) for finding in findings
    }
    return [replace(finding, under=parents[finding.id]) for finding in findings]


def _own_cause(finding: Finding, rules: dict[str, Rule], by_id: dict[str, Finding]) -> str | None:
    found = []
    for cause in rules[finding.rule].follows_from:
        other = by_id.get(f"{finding.terminal}/{cause}")
        if other is None or not _is_meant(finding, other, rules[finding.rule]):
            continue
        # What is broken, or set, was so before and after the days on which it could be shown.
        lasting = rules[cause].stands or _share_a_sign(finding, other, rules)
        at_the_time = lasting or _overlap(finding, other) >= LEAST_OVERLAP
        if at_the_time and _can_explain(other, rules[cause], finding):
            found.append((other, lasting))
    if not found:
        return None
    first, lasting = found[0]
    # What went on for days without it explains it less than what came and went with it.
    if not lasting and _shared_time(finding, first) < SELDOM:
        for other, _ in found[1:]:
            if _shared_time(finding, other) >= TOGETHER:
                return other.id
    return first.id


def _share_a_sign(finding: Finding, other: Finding, rules: dict[str, Rule]) -> bool:
    """Tell whether the trends support one and the same cause of both, such as an override that lasts day and night."""
    return bool(_signs(finding, rules[finding.rule]) & _signs(other, rules[other.rule]))


def _signs(finding: Finding, rule: Rule) -> set[str]:
    """The conditions by which the trends support likely causes of a finding."""
    return {
        cause.when.text
        for cause in rule.wording.likely_causes
        if cause.when is not None and any(told.endswith(cause.say) for told in finding.supported_causes)
    }


def rests_on_a_wrong_reading(finding: Finding, by_id: Mapping[str, Finding]) -> bool:
    """Tell whether a finding follows, directly or not, from a reading of its own terminal that is wrong."""
    passed = {finding.id}
    cause = by_id.get(finding.under or "")
    while cause and cause.id not in passed and cause.terminal == finding.terminal:
        if cause.impact == DATA:
            return True
        passed.add(cause.id)
        cause = by_id.get(cause.under or "")
    return False


def without_wrong_support(findings: list[Finding]) -> list[Finding]:
    """Take back what the trends seemed to support of findings that rest on a wrong reading."""
    by_id = {finding.id: finding for finding in findings}
    return [
        replace(finding, supported_causes=())
        if finding.supported_causes and rests_on_a_wrong_reading(finding, by_id)
        else finding
        for finding in findings
    ]


def _is_meant(finding: Finding, cause: Finding, rule: Rule) -> bool:
    """Tell whether a cause is of the impact that explains a finding, and the finding none that it does not explain."""
    impact = rule.follows_impact.get(cause.rule, cause.impact)
    return cause.impact == impact and rule.follows_unless.get(cause.rule) not in finding.measures


def _can_explain(cause: Finding, its_rule: Rule, finding: Finding) -> bool:
    """Tell whether a cause is severe enough: what is low hides nothing urgent or high, some rules' nothing but low."""
    if cause.severity != "low" or finding.severity == "low":
        return True
    return its_rule.explains_when_low and finding.severity not in ("urgent", "high")


def _shared_cause(finding: Finding, explained: list[Explained]) -> str | None:
    """The air handler's own fault that explains a terminal's, or another air handler's.

    What is only shared is told by the fault itself: see ``analyzer.findings.shared``.
    """
    for own in explained:
        if (own.air_handler, own.rule) == (finding.terminal, finding.rule) and own.under and not own.fault:
            return "/".join(own.under)
    of_air_handlers = [own for own in explained if own.fault is None and finding.rule in own.explains]
    for own in of_air_handlers:
        if finding.terminal in own.covers and _lies_within(finding, own, LEAST_OVERLAP):
            return f"{own.air_handler}/{own.rule}"
    for own in of_air_handlers:
        if finding.terminal in own.perhaps and _lies_within(finding, own, NEARLY_ALL):
            return f"{own.air_handler}/{own.rule}"
    return None


def _lies_within(finding: Finding, own: Explained, least: float) -> bool:
    start, end = finding.episodes.seconds.T
    total = float((end - start).sum())
    after = RECOVERY if finding.rule in OF_ROOMS else 0.0
    spans = [(first, last + after) for first, last in joined_spans(own.spans)]
    inside = sum(
        float(np.maximum(np.minimum(end, last) - np.maximum(start, first), 0.0).sum()) for first, last in spans
    )
    outside = total - inside
    return inside >= least * total and not (outside > ITS_OWN and outside > ITS_OWN_SHARE * total)


def _overlap(finding: Finding, other: Finding) -> float:
    """The share of a finding's episodes that lies between the first and the last moment of another's."""
    start, end = finding.episodes.seconds.T
    first, last = other.start.timestamp(), other.end.timestamp()
    total = float((end - start).sum())
    inside = float(np.maximum(np.minimum(end, last) - np.maximum(start, first), 0.0).sum())
    return inside / total if total else 0.0


def _shared_time(finding: Finding, other: Finding) -> float:
    """The share of another's episodes that lies within a finding's."""
    start, end = finding.episodes.seconds.T
    first, last = other.episodes.seconds.T
    shared = np.minimum(end[:, None], last) - np.maximum(start[:, None], first)
    total = float((last - first).sum())
    return float(np.maximum(shared, 0.0).sum()) / total if total else 0.0
