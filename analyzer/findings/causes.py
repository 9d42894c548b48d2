"""One cause, one finding: what follows from a stronger finding is told under it."""

from __future__ import annotations

from dataclasses import replace

from analyzer.engine.rule import Rule
from analyzer.findings.results import Finding
from analyzer.findings.shared import SHARING_RULE

# So much of a finding's time has to lie within another's for it to follow from it. Judgement.
LEAST_OVERLAP = 0.5


def put_under_causes(
    findings: list[Finding], rules: dict[str, Rule], shared: dict[str, dict[tuple[str, str], list[str]]]
) -> list[Finding]:
    """Give each finding that follows from another the id of that other.

    Parameters
    ----------
    findings : list of Finding
        Ranked.
    rules : dict
        The rule book: a rule's ``follows_from`` names the rules whose findings explain it.
    shared : dict
        Rule id of an air handler's finding to {(air handler, shared rule): terminals}.

    Returns
    -------
    list of Finding
        In the same order. A finding goes under its terminal's own cause first, and that one under the air handler's.
    """
    by_id = {finding.id: finding for finding in findings}
    parents = {finding.id: _own_cause(finding, rules, by_id) or _shared_cause(finding, shared) for finding in findings}
    return [replace(finding, under=parents[finding.id]) for finding in findings]


def _own_cause(finding: Finding, rules: dict[str, Rule], by_id: dict[str, Finding]) -> str | None:
    for cause in rules[finding.rule].follows_from:
        other = by_id.get(f"{finding.terminal}/{cause}")
        if other and _overlap(finding, other) >= LEAST_OVERLAP:
            return other.id
    return None


def _shared_cause(finding: Finding, shared) -> str | None:
    for rule, sharers in shared.items():
        if rule == SHARING_RULE:
            continue  # what is merely shared is told by the fault itself: see told_once
        if finding.terminal in sharers.get((finding.air_handler, finding.rule), ()):
            return f"{finding.air_handler}/{rule}"
    return None


def _overlap(finding: Finding, other: Finding) -> float:
    """The share of a finding's episodes that lies between the first and the last moment of another's."""
    total = sum((episode.end - episode.start).total_seconds() for episode in finding.episodes)
    inside = sum(
        max((min(episode.end, other.end) - max(episode.start, other.start)).total_seconds(), 0.0)
        for episode in finding.episodes
    )
    return inside / total if total else 0.0
