"""What became of every finding from review to review: the page of the history, and the summary of what is new."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from analyzer.findings import SEVERITIES, Finding, Results, says_corrected
from analyzer.report import words
from analyzer.report.building import Building
from analyzer.report.finding_rows import page_of
from analyzer.report.rounds_told import answered, history_rows

# So many findings of a kind stand on the page, the first in its order; rounds.csv has all.
MOST_ROWS = 500
# So many stand in the summary that one can mail; summary.json has all.
MOST_IN_SUMMARY = 20

NEW, BACK, STANDING, CORRECTED, UNJUDGED = "new", "back", "standing", "corrected", "unjudged"
KINDS = {
    NEW: ("New", "Found in this review, and in none before."),
    BACK: ("Came back", "Found in this review, and not in the one that judged it before; an earlier one had it."),
    STANDING: ("Still there", "Found in this review and in the one that judged it before, the longest-standing first."),
    CORRECTED: ("Corrected", "Found earlier, and judged clear since, the latest first."),
    UNJUDGED: ("Not judged any more", "Found earlier, and not judged since: not known to be corrected."),
}


@dataclass(frozen=True)
class Story:
    """What became of one finding.

    ``since`` and ``corrected`` are the begins of reviews; ``marks`` one letter a review: F found, C judged clear,
    N not judged, - before it was first found.
    """

    id: str
    kind: str
    number: int | None
    terminal: str
    title: str
    severity: str
    since: pd.Timestamp
    corrected: pd.Timestamp | None
    returns: int
    marks: str
    log: str
    status: str


def stories(results: Results) -> dict[str, list[Story]]:
    """Return the stories of every finding of any review by what became of it, each kind in its order."""
    found: dict[str, list[Story]] = {kind: [] for kind in KINDS}
    here = {finding.id: finding for finding in results.findings}
    begins = [pd.Timestamp(one.start) for one in results.history]
    for name, standing in results.standing.items():
        told = here[name] if name in here else results.past[name]
        answer = here[name].answer if name in here else results.earlier_answers.get(name)
        story = Story(
            id=name,
            kind=_kind(name in here, standing.in_a_row, standing.returns, standing.corrected),
            number=results.numbers.get(name),
            terminal=told.terminal,
            title=told.title,
            severity=told.severity,
            since=begins[standing.since - 1],
            corrected=None if standing.corrected is None else begins[standing.corrected - 1],
            returns=standing.returns,
            marks=_marks(standing.rounds, standing.unjudged, len(begins)),
            log=answered(answer),
            status=answer.status if answer is not None else "",
        )
        found[story.kind].append(story)
    place = {finding.id: number for number, finding in enumerate(results.findings)}
    for kind in (NEW, BACK):
        found[kind].sort(key=lambda story: place[story.id])
    found[STANDING].sort(key=lambda story: (story.since, place[story.id]))
    for kind in (CORRECTED, UNJUDGED):
        found[kind].sort(key=lambda story: (SEVERITIES.index(story.severity), story.id))
    found[CORRECTED].sort(key=lambda story: story.corrected or begins[0], reverse=True)
    return found


def _kind(stands: bool, in_a_row: int, returns: int, corrected: int | None) -> str:
    if not stands:
        return UNJUDGED if corrected is None else CORRECTED
    if in_a_row > 1:
        return STANDING
    return BACK if returns else NEW


def _marks(rounds: tuple[int, ...], unjudged: tuple[int, ...], last: int) -> str:
    return "".join(
        "F" if n in rounds else "N" if n in unjudged else "-" if n < rounds[0] else "C" for n in range(1, last + 1)
    )


def history_context(building: Building) -> dict[str, Any]:
    """Return everything that the template of the history needs."""
    results, found = building.results, stories(building.results)
    return {
        "rounds": history_rows(results),
        "counts": [(KINDS[kind][0], len(own)) for kind, own in found.items()],
        "work": work_done(found),
        "lists": [
            {
                "kind": kind,
                "title": KINDS[kind][0],
                "meaning": KINDS[kind][1],
                "count": len(own),
                "rows": [_row(story, building) for story in own[:MOST_ROWS]],
                "any_came_back": any(story.returns for story in own[:MOST_ROWS]),
                "any_answered": any(story.log for story in own[:MOST_ROWS]),
            }
            for kind, own in found.items()
            if own
        ],
    }


def _row(story: Story, building: Building) -> dict[str, Any]:
    finding = building.by_id.get(story.id)
    zone = building.results.site.time_zone
    times = words.plural(story.returns, "time")
    return {
        "story": story,
        "page": _page(finding, building),
        "since": _day(story.since, zone),
        "corrected": "" if story.corrected is None else _day(story.corrected, zone),
        "came_back": times if story.returns else "",
        "spoken": _spoken(story.marks),
    }


def _page(finding: Finding | None, building: Building) -> str | None:
    found = page_of(finding, building) if finding is not None else None
    return f"index.html{found}" if found and found.startswith("#") else found


def _spoken(marks: str) -> str:
    """Say the marks of a finding in words, for those who hear the page."""
    counts = [(marks.count(mark), word) for mark, word in (("F", "found"), ("C", "clear"), ("N", "not judged"))]
    return ", ".join(f"{word} in {words.plural(count, 'review')}" for count, word in counts if count)


def _day(moment: pd.Timestamp, zone: str) -> str:
    return words.day((moment if moment.tzinfo else moment.tz_localize("UTC")).tz_convert(zone).to_pydatetime())


def work_done(found: dict[str, list[Story]]) -> dict[str, Any]:
    """Hold what the issue log says is corrected against what the trends of this review show.

    Returns
    -------
    dict
        ``claimed``, ``confirmed`` and ``unjudged``: how many; ``contradicted``: the stories of those that stand still.
    """
    claimed = [story for own in found.values() for story in own if says_corrected(story.status)]
    return {
        "claimed": len(claimed),
        "confirmed": sum(story.kind == CORRECTED for story in claimed),
        "unjudged": sum(story.kind == UNJUDGED for story in claimed),
        "contradicted": [story for story in claimed if story.kind in (NEW, BACK, STANDING)],
    }


# ---- the summary of what is new --------------------------------------------------------------------------------------


def summary_told(results: Results) -> dict[str, Any]:
    """Return what ``summary.json`` holds: what is new since the review before, for programs and schedulers.

    Of the findings that are corrected or not judged any more it holds those that the review before had.
    """
    found = _since_before(results)
    first, last = results.period
    return {
        "format": "trendwright-summary/1",
        "site": results.site.name,
        "period": {"from": first.isoformat(), "to": last.isoformat()},
        "review": len(results.history),
        "terminals": len(results.trends.tags),
        "findings": {level: sum(one.severity == level for one in results.findings) for level in SEVERITIES},
        "counts": {kind: len(own) for kind, own in found.items()},
        **{kind: [_told(story) for story in found[kind]] for kind in (NEW, BACK, CORRECTED, UNJUDGED)},
    }


def _since_before(results: Results) -> dict[str, list[Story]]:
    """Return what became of the findings of this review and of the one before it."""
    return {
        kind: [story for story in own if kind not in (CORRECTED, UNJUDGED) or story.marks[-2:-1] in ("F", "N")]
        for kind, own in stories(results).items()
    }


def _told(story: Story) -> dict[str, Any]:
    return {
        "id": story.id,
        "number": story.number,
        "terminal": story.terminal,
        "title": story.title,
        "severity": story.severity,
        "since": story.since.isoformat(),
    }


def summary_context(results: Results) -> dict[str, Any]:
    """Return what the template of the summary to mail needs."""
    found = _since_before(results)
    zone = results.site.time_zone
    return {
        "review": len(results.history),
        "terminals": len(results.trends.tags),
        "counts": [(KINDS[kind][0], len(own)) for kind, own in found.items()],
        "levels": [(level, sum(one.severity == level for one in results.findings)) for level in SEVERITIES],
        "lists": [
            {
                "title": KINDS[kind][0],
                "count": len(found[kind]),
                "rows": [(story, _day(story.since, zone)) for story in found[kind][:MOST_IN_SUMMARY]],
            }
            for kind in (NEW, BACK, CORRECTED)
            if found[kind]
        ],
    }
