"""Earlier rounds and answers, as the index tells them."""

from __future__ import annotations

import pandas as pd

from analyzer.findings import SEVERITIES, Answer, Results
from analyzer.report import words


def history_rows(results: Results) -> list[dict]:
    """Return a row for each round of review; none where this is the first."""
    if len(results.history) < 2:
        return []
    zone = results.site.time_zone
    return [
        {
            "number": number,
            "window": words.window(_moment(one.start), _moment(one.end), zone),
            "findings": one.findings,
            "severity": [one.severity.get(level, 0) for level in SEVERITIES],
            "new": one.new,
            "gone": one.gone,
            "not_judged": one.verdicts.get("not-judged"),
        }
        for number, one in enumerate(results.history, start=1)
    ]


def _moment(text: str) -> pd.Timestamp:
    moment = pd.Timestamp(text)
    return moment if moment.tzinfo else moment.tz_localize("UTC")


def answered(answer: Answer | None) -> str:
    """Spell what the issue log said of a finding; nothing where it said nothing."""
    if answer is None or not (answer.response or answer.status or answer.decision):
        return ""
    said = f"“{answer.response}”" if answer.response else ""
    signed = ", ".join(filter(None, [answer.decided, answer.initials]))
    decided = f"agent: {answer.decision}" + (f" ({signed})" if signed else "") if answer.decision else ""
    told = " ".join(filter(None, [answer.status, said, f"({answer.date})" if answer.date else ""]))
    return "; ".join(filter(None, [told, decided]))
