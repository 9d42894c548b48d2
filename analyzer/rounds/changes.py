"""Each finding of two reviews of a building: corrected, still there, new, or no longer judged."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from analyzer.findings import SEVERITIES, Answer, Answers, StoredReview
from analyzer.rounds.limiting import Limiting, own_limits, what_limits
from analyzer.rounds.worse import AS_BEFORE, BETTER, WORSE, Figures, figures

CORRECTED, STILL, NEW, UNJUDGED = "corrected", "still-there", "new", "no-longer-judged"
OUTCOMES = {
    STILL: "still there",
    NEW: "new",
    UNJUDGED: "no longer judged",
    CORRECTED: "corrected",
}
_CHANGES = (WORSE, AS_BEFORE, BETTER, "")


@dataclass(frozen=True)
class Change:
    """What became of one finding.

    Attributes
    ----------
    outcome : str
        A key of ``OUTCOMES``.
    change : str
        Of what is still there: better, worse or as before, by its ranking figure; else empty.
    old, new : dict or None
        The finding as each ``findings.json`` holds it.
    old_verdict, new_verdict, old_reason, new_reason : str
        What each review came to; "not in this review" where it came to nothing.
    limits : list of str
        What limits the comparison of this one finding.
    """

    id: str
    outcome: str
    change: str
    old: dict | None
    new: dict | None
    figures: Figures
    old_verdict: str
    new_verdict: str
    old_reason: str
    new_reason: str
    judged_hours: tuple[float, float]
    limits: list[str] = field(default_factory=list)
    answer: Answer | None = None

    @property
    def latest(self) -> dict:
        """The finding as it was said last."""
        return self.new or self.old or {}


@dataclass(frozen=True)
class Comparison:
    """Two reviews beside each other: every finding of either, those that want a word first."""

    old: StoredReview
    new: StoredReview
    changes: list[Change]
    limiting: list[Limiting]

    def of(self, outcome: str) -> list[Change]:
        """Return the findings with one outcome, in rank."""
        return [change for change in self.changes if change.outcome == outcome]

    @property
    def counts(self) -> dict[str, int]:
        """How many findings came to each outcome."""
        return {outcome: len(self.of(outcome)) for outcome in OUTCOMES}


def compare(old: StoredReview, new: StoredReview, answers: Answers | None = None) -> Comparison:
    """Compare two reviews of a building.

    Parameters
    ----------
    old, new : StoredReview
        The earlier and the later one.
    answers : Answers, optional
        What the issue log says about the findings.
    """
    said = answers.by_id if answers else {}
    ids = dict.fromkeys([*old.findings, *new.findings])
    changes = [_change(found, old, new, said.get(found)) for found in ids]
    return Comparison(old, new, sorted(changes, key=_rank), what_limits(old, new))


def _rank(change: Change):
    outcomes = list(OUTCOMES)
    return (
        outcomes.index(change.outcome), SEVERITIES.index(change.latest["severity"]), _CHANGES.index(change.change),
        change.id,
    )  # fmt: skip


def _change(found: str, old: StoredReview, new: StoredReview, answer: Answer | None) -> Change:
    before, after = old.findings.get(found), new.findings.get(found)
    either = before or after or {}
    key = (either["terminal"], either["rule"])
    was, now = _verdict(old, key, before or after), _verdict(new, key, after or before)
    outcome = STILL if before and after else NEW if after else CORRECTED if now[0] == "clear" else UNJUDGED
    told = figures(old, new, before, after)
    return Change(
        id=found,
        outcome=outcome,
        change=told.change if outcome == STILL else "",
        old=before,
        new=after,
        figures=told,
        old_verdict=was[0],
        new_verdict=now[0],
        old_reason=was[1],
        new_reason=now[1],
        judged_hours=(was[2], now[2]),
        limits=own_limits(old, new, *key, judged=(was[2], now[2])),
        answer=answer,
    )


NOT_THERE = "not in this review"


def _verdict(review: StoredReview, key: tuple[str, str], finding: dict | None) -> tuple[str, str, float]:
    """What a review came to, why, and over how many hours; and why it came to nothing, where it did."""
    if key in review.verdicts.index:
        row = review.verdicts.loc[key]
        return row["verdict"], row["reason"], float(row["judged_hours"])
    terminal, rule = key
    if finding and finding.get("scope", "terminal") != "terminal":
        return _verdict_together(review, rule, finding["terminals"])
    if rule not in review.told.get("rules", {}):
        return NOT_THERE, f"the rule {rule} is not in its rule book", 0.0
    if terminal not in review.verdicts.index.get_level_values(0):
        return NOT_THERE, "it has no trends of this terminal", 0.0
    return NOT_THERE, "the rule does not apply to what the terminal is said to be", 0.0


def _verdict_together(review: StoredReview, rule: str, terminals: list[str]) -> tuple[str, str, float]:
    """What a review came to for the terminals that share a finding: clear only where most of them are."""
    rows = [review.verdicts.loc[key] for tag in terminals if (key := (tag, rule)) in review.verdicts.index]
    if not rows:
        return NOT_THERE, "it has no verdict on the terminals that share it", 0.0
    counts = Counter(row["verdict"] for row in rows)
    told = ", ".join(f"{count} {verdict}" for verdict, count in counts.most_common())
    most = counts["clear"] > len(terminals) / 2 and not counts["fault"]
    verdict = "fault" if counts["fault"] else "clear" if most else "not-judged"
    return (
        verdict,
        f"of {len(terminals)} terminals that share it: {told}",
        max(float(row["judged_hours"]) for row in rows),
    )
