"""One cause, one finding: what follows from a stronger finding is told under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analyzer.engine.explained import Explained
from analyzer.engine.rule import Rule
from analyzer.findings.results import Finding

# So much of a finding's time has to lie within another's for it to follow from it. Judgement.
LEAST_OVERLAP = 0.5
# A fault of an air handler that stands in occupied hours stands in the night between them as well [s]. Judgement.
A_NIGHT = 14 * 3600.0


def put_under_causes(findings: list[Finding], rules: dict[str, Rule], explained: list[Explained]) -> list[Finding]:
    """Give each finding that follows from another the id of that other.

    Parameters
    ----------
    findings : list of Finding
        Ranked.
    rules : dict
        The rule book: a rule's ``follows_from`` names the rules whose findings explain it.
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
    for cause in rules[finding.rule].follows_from:
        other = by_id.get(f"{finding.terminal}/{cause}")
        if other is None:
            continue
        # What is broken, or set, was so before and after the days on which it could be shown.
        at_the_time = rules[cause].stands or _overlap(finding, other) >= LEAST_OVERLAP
        if at_the_time and _can_explain(other, finding):
            return other.id
    return None


def _can_explain(cause: Finding, finding: Finding) -> bool:
    """Tell whether a cause is grave enough: what is low hides nothing that is urgent or high."""
    return cause.severity != "low" or finding.severity not in ("urgent", "high")


def _shared_cause(finding: Finding, explained: list[Explained]) -> str | None:
    """The air handler's own fault that explains a terminal's, or another air handler's.

    What is only shared is told by the fault itself: see ``analyzer.findings.shared``.
    """
    for own in explained:
        if (own.air_handler, own.rule) == (finding.terminal, finding.rule) and own.under and not own.fault:
            return "/".join(own.under)
    for own in explained:
        at_its_terminals = finding.rule in own.explains and finding.terminal in own.covers
        if own.fault is None and at_its_terminals and _lies_within(finding, own):
            return f"{own.air_handler}/{own.rule}"
    return None


def _lies_within(finding: Finding, own: Explained) -> bool:
    total = sum((episode.end - episode.start).total_seconds() for episode in finding.episodes)
    spans = _joined(own.spans)
    inside = sum(
        max(min(episode.end.timestamp(), last) - max(episode.start.timestamp(), first), 0.0)
        for episode in finding.episodes
        for first, last in spans
    )
    return inside >= LEAST_OVERLAP * total


def _joined(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Join the spans of an air handler's fault across the nights between: what it brings does not wait for the day."""
    joined: list[tuple[float, float]] = []
    for first, last in spans:
        if joined and first - joined[-1][1] <= A_NIGHT:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    return joined


def _overlap(finding: Finding, other: Finding) -> float:
    """The share of a finding's episodes that lies between the first and the last moment of another's."""
    total = sum((episode.end - episode.start).total_seconds() for episode in finding.episodes)
    inside = sum(
        max((min(episode.end, other.end) - max(episode.start, other.start)).total_seconds(), 0.0)
        for episode in finding.episodes
    )
    return inside / total if total else 0.0
