"""The order of findings: what one would do first stands first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping

from analyzer.engine import IMPACTS, SEVERITIES, Rule
from analyzer.findings.results import SCOPES, Finding
from analyzer.findings.rules_used import FURTHER_FROM_ZERO, LOWER, ranking

CONFIDENCES = ("firm", "marginal")


def in_order(findings: Iterable[Finding], rules: Mapping[str, Rule]) -> list[Finding]:
    """Return findings in the order of what to do first.

    Causes stand before what follows from them. Then severity; firm before marginal; what a whole building or air
    handler shares before single terminals; what endangers or harms before what costs (safety, ventilation, comfort,
    energy, equipment, data); then the most severe of each rule, by the figure by which the rule ranks, before the
    second most severe of any. Hours of fault decide nothing: a long log makes many.
    """
    findings = list(findings)
    place = _place_in_rule(findings, rules)

    def key(finding: Finding):
        return (
            finding.under is not None,
            SEVERITIES.index(finding.severity),
            CONFIDENCES.index(finding.confidence),
            -SCOPES.index(finding.scope),
            IMPACTS.index(finding.impact),
            place[finding.id],
            finding.rule,
            finding.id,
        )

    return sorted(findings, key=key)


def _place_in_rule(findings: list[Finding], rules: Mapping[str, Rule]) -> dict[str, int]:
    """Number the findings of each rule, scope and severity: 0 is the most severe by the rule's own figure."""
    alike: dict[tuple, list[Finding]] = defaultdict(list)
    for finding in findings:
        alike[finding.rule, finding.scope, finding.severity].append(finding)
    place: dict[str, int] = {}
    for (rule, _, _), own in alike.items():
        ranked = ranking(rules[rule]) if rule in rules else None
        ordered = sorted(own, key=_most_severe_first(ranked))
        place |= {finding.id: number for number, finding in enumerate(ordered)}
    return place


def _most_severe_first(ranked: dict | None) -> Callable[[Finding], tuple[float, str]]:
    return lambda finding: (-size(finding, ranked), finding.id)


def size(finding: Finding, ranked: dict | None) -> float:
    """How grave a finding is among those of its rule: the larger the graver; a total counts for each judged hour.

    To six digits: sums differ beyond them by the order in which groups of terminals are judged.
    """
    return float(f"{_size(finding, ranked):.6g}")


def _size(finding: Finding, ranked: dict | None) -> float:
    if ranked is None or ranked["measure"] not in finding.measures:
        return finding.fault_hours / max(finding.judged_hours, 1e-9)
    value = finding.measures[ranked["measure"]].value
    if ranked["total"]:
        value /= max(finding.judged_hours, 1e-9)
    if ranked["worse"] == FURTHER_FROM_ZERO:
        return abs(value)
    return -value if ranked["worse"] == LOWER else value
