"""The rounds of review that a folder has seen: what each counted, from the findings that it left."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pandas as pd

from analyzer.findings.results import SEVERITIES, Past, Results, Round, Standing
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
        The same object, its ``history``, ``standing``, ``past``, ``not_judged`` and ``numbers`` filled; a file that
        cannot be read is said among its assumptions.
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
    results.past = _past(told, {finding.id for finding in results.findings})
    results.not_judged = _not_judged(results)
    this_round = findings_told(replace(results, findings=[])) | {
        "findings": [{"id": finding.id, "severity": finding.severity} for finding in results.findings]
    }
    results.history = rounds([*told, this_round])
    results.numbers = _numbered([finding.id for finding in results.findings], told, results.numbers)
    results.standing = standing([*told, this_round])
    return results


def _past(told: list[dict], now: set[str]) -> dict[str, Past]:
    """Return the findings of earlier rounds that are not there now, each as the last round that has it says it."""
    return {
        found["id"]: Past(found["terminal"], found["rule"], found.get("title", found["rule"]), found["severity"])
        for one in told
        for found in one["findings"]
        if found["id"] not in now
    }


def _not_judged(results: Results) -> list[str]:
    """Return which findings of earlier rounds are not there now, and were not judged clear either."""
    clear = results.verdicts[results.verdicts["verdict"] == "clear"]
    judged = set(zip(clear["terminal"], clear["rule"], strict=True))
    return sorted(found for found, past in results.past.items() if (past.terminal, past.rule) not in judged)


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


def standing(told: list[dict]) -> dict[str, Standing]:
    """Say of every finding of any round in which rounds it was there; rounds in the order given."""
    seen: dict[str, list[int]] = {}
    unjudged: dict[str, list[int]] = {}
    for number, one in enumerate(told, 1):
        for found in dict.fromkeys(finding["id"] for finding in one["findings"]):
            seen.setdefault(found, []).append(number)
        for found in one.get("not_judged", ()):
            unjudged.setdefault(found, []).append(number)
    return {
        found: _standing(tuple(numbers), tuple(unjudged.get(found, ())), len(told)) for found, numbers in seen.items()
    }


def _standing(numbers: tuple[int, ...], unjudged: tuple[int, ...], last: int) -> Standing:
    def without(after: int, before: int) -> list[int]:
        return [number for number in range(after + 1, before) if number not in unjudged]

    gaps = [at for at, (before, after) in enumerate(pairwise(numbers), 1) if without(before, after)]
    corrected = next(iter(without(numbers[-1], last + 1)), None)
    stands = corrected is None and numbers[-1] == last
    in_a_row = len(numbers) - (gaps[-1] if gaps else 0) if stands else 0
    return Standing(numbers, in_a_row, len(gaps), unjudged, corrected)


def standing_table(results: Results) -> pd.DataFrame:
    """Return ``rounds.csv``: a row for every finding of any round, those that stand longest first.

    Columns ``id, stands_now, reviews_in_a_row, reviews_found, reviews, came_back, first_review, last_review, since,
    corrected, reviews_not_judged``: ``since`` is the begin of the review that has it first since one without it,
    ``corrected`` that of the first without it, empty where it stands or could not be judged since.
    """
    rows = [
        {
            "id": found,
            "stands_now": one.in_a_row > 0,
            "reviews_in_a_row": one.in_a_row,
            "reviews_found": one.found,
            "reviews": len(results.history),
            "came_back": one.returns,
            "first_review": results.history[one.rounds[0] - 1].start,
            "last_review": results.history[one.rounds[-1] - 1].end,
            "since": results.history[one.since - 1].start,
            "corrected": "" if one.corrected is None else results.history[one.corrected - 1].start,
            "reviews_not_judged": len(one.unjudged),
        }
        for found, one in results.standing.items()
    ]
    table = pd.DataFrame(rows)
    return table.sort_values(["reviews_in_a_row", "came_back", "id"], ascending=[False, False, True], ignore_index=True)


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
