"""The rounds of review that a folder has seen: what each counted, from the findings that it left."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from analyzer.findings.results import SEVERITIES, Results, Round
from analyzer.findings.tables import FORMAT, findings_told


def with_history(results: Results, earlier: list[Path]) -> Results:
    """Count earlier rounds and this one.

    Parameters
    ----------
    results : Results
        This round's.
    earlier : list of Path
        ``findings.json`` of the earlier rounds, in the order in which they were written.

    Returns
    -------
    Results
        The same object, its ``history`` and ``numbers`` filled; a file that cannot be read is said among its
        assumptions.
    """
    told = []
    for path in earlier:
        found = read_findings(path)
        if found is None:
            results.assumptions.append(
                f"{path.name}: cannot be read as an earlier round, and is left out of the history."
            )
        else:
            told.append(found)
    this_round = findings_told(replace(results, findings=[])) | {
        "findings": [{"id": finding.id, "severity": finding.severity} for finding in results.findings]
    }
    results.history = rounds([*told, this_round])
    results.numbers = _numbered([finding.id for finding in results.findings], told, results.numbers)
    return results


def _numbered(found: list[str], told: list[dict], in_the_log: dict[str, int]) -> dict[str, int]:
    """Give each finding its issue number: the one that it had, in an earlier round or in the issue log, or the next."""
    numbers: dict[str, int] = {}
    for one in told:
        for finding in one["findings"]:
            if isinstance(number := finding.get("number"), int):
                numbers.setdefault(finding["id"], number)
    numbers = in_the_log | numbers
    following = max(numbers.values(), default=0) + 1
    new = [name for name in found if name not in numbers]
    return numbers | {name: number for number, name in enumerate(new, following)}


def read_findings(path: Path) -> dict | None:
    """Read a ``findings.json``, but for its episodes, of which a year has millions; None where it is none of ours."""
    try:
        told = json.loads(path.read_text("utf-8"), object_hook=_without_episodes)
        return told if told.get("format") == FORMAT else None
    except (OSError, ValueError, AttributeError):
        return None


def _without_episodes(told: dict) -> dict:
    told.pop("episodes", None)
    return told


def rounds(told: list[dict]) -> list[Round]:
    """Count what each round found, beside the round before it; rounds in the order given."""
    counted: list[Round] = []
    before: set[str] | None = None
    for one in told:
        ids = {finding["id"] for finding in one["findings"]}
        levels = [finding["severity"] for finding in one["findings"]]
        counted.append(
            Round(
                start=one["period"]["from"],
                end=one["period"]["to"],
                findings=len(ids),
                severity={level: levels.count(level) for level in SEVERITIES},
                verdicts=one.get("verdicts", {}),
                new=None if before is None else len(ids - before),
                gone=None if before is None else len(before - ids),
            )
        )
        before = ids
    return counted
