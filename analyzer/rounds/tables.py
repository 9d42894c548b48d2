"""The comparison as files: ``comparison.csv`` for a spreadsheet, ``comparison.json`` for other programs."""

from __future__ import annotations

import json
import math

import pandas as pd

from analyzer.findings import Answer, StoredReview, neutralised
from analyzer.rounds.changes import Change, Comparison

FORMAT = "trendwright-comparison/1"
# Every column of comparison.csv, and every key of a finding in comparison.json, with what it holds.
COLUMNS = {
    "id": "the finding: terminal and rule, the same in both reviews",
    "terminal": "tag of the terminal, or of the air handler",
    "air_handler": "the air handler that serves it; empty where the schedule does not say",
    "rule": "id of the rule",
    "finding": "the rule's title",
    "outcome": "still-there, new, no-longer-judged or corrected",
    "change": "of what is still there: worse, better or as before; else empty",
    "by": "the figure by which the change was told",
    "severity": "as it was said last: urgent, high, medium or low",
    "measure": "the figure by which the rule's findings rank; empty where it has none",
    "unit": "unit of that figure, in both reviews",
    "old_value": "the figure in the old review; empty where there is none",
    "new_value": "the figure in the new review; empty where there is none",
    "old_verdict": "fault, clear, not-judged or not in this review",
    "new_verdict": "fault, clear, not-judged or not in this review",
    "old_fault_hours": "hours of fault in the old review; empty without a fault",
    "new_fault_hours": "hours of fault in the new review; empty without a fault",
    "old_judged_hours": "hours that the old review judged",
    "new_judged_hours": "hours that the new review judged",
    "new_reason": "why the new verdict is what it is, and what would settle it",
    "limits": "what limits the comparison of this finding",
    "response": "from the issue log",
    "date": "from the issue log",
    "status": "from the issue log",
}


def comparison_rows(comparison: Comparison) -> list[dict]:
    """Return a row per finding, those that want a word first; missing figures are None."""
    return [_row(change) for change in comparison.changes]


def _row(change: Change) -> dict:
    latest, told, answer = change.latest, change.figures, change.answer or Answer()
    row = {
        "id": change.id,
        "terminal": latest["terminal"],
        "air_handler": latest["air_handler"] or "",
        "rule": latest["rule"],
        "finding": latest.get("title", latest["rule"]),
        "outcome": change.outcome,
        "change": change.change,
        "by": told.by if change.change else "",
        "severity": latest["severity"],
        "measure": told.measure,
        "unit": told.unit,
        "old_value": _figure(told.old_value),
        "new_value": _figure(told.new_value),
        "old_verdict": change.old_verdict,
        "new_verdict": change.new_verdict,
        "old_fault_hours": change.old and change.old["fault_hours"],
        "new_fault_hours": change.new and change.new["fault_hours"],
        "old_judged_hours": change.judged_hours[0],
        "new_judged_hours": change.judged_hours[1],
        "new_reason": change.new_reason,
        "limits": "; ".join(change.limits),
        "response": answer.response,
        "date": answer.date,
        "status": answer.status,
    }
    assert list(row) == list(COLUMNS)  # what is written is what is documented
    return row


def _figure(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 6)


def comparison_csv(comparison: Comparison) -> str:
    """Return the text of ``comparison.csv``; no text in it can be taken for a formula."""
    table = pd.DataFrame(comparison_rows(comparison), columns=list(COLUMNS))
    return neutralised(table).to_csv(index=False)


def comparison_json(comparison: Comparison) -> str:
    """Return the text of ``comparison.json``; times are ISO 8601 with the site's offset."""
    told = {
        "format": FORMAT,
        "site": comparison.new.told["site"],
        "old": _review(comparison.old),
        "new": _review(comparison.new),
        "counts": comparison.counts,
        "limiting": [
            {"heading": one.heading, "sentence": one.sentence, "cases": list(one.cases)} for one in comparison.limiting
        ],
        "columns": COLUMNS,
        "findings": comparison_rows(comparison),
    }
    return json.dumps(told, indent=1, ensure_ascii=False)


def _review(review: StoredReview) -> dict:
    return {"folder": review.folder.resolve().name, "period": review.told["period"]}
