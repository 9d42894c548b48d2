"""The comparison's pages: the summary for the retest meeting, and a page per finding with both periods' charts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd

from analyzer.findings import StoredReview, says_corrected
from analyzer.report import page_environment, page_name, words, write_assets
from analyzer.report.trend_box import JUDGED, TrendBox, same_reach, trend_box
from analyzer.rounds.changes import CORRECTED, NEW, OUTCOMES, STILL, UNJUDGED, Change, Comparison
from analyzer.rounds.tables import COLUMNS
from analyzer.rounds.worse import LEAST_CHANGE, LEAST_POINTS, in_words
from analyzer.trends import Trends

_TEMPLATES = Path(__file__).resolve().parent / "templates"
MEANING = {
    STILL: "A fault in both reviews.",
    NEW: "A fault now, and none before. The verdict before says whether it is new or only newly judged.",
    UNJUDGED: "A fault before that could not be judged now: not known to be corrected. The reason is given.",
    CORRECTED: "A fault before, judged clear now.",
}


def write_pages(comparison: Comparison, folder: Path, progress: Callable[[str], None]) -> None:
    """Write ``index.html``, ``findings/`` and ``assets/`` into an existing folder."""
    environment = page_environment(
        _TEMPLATES,
        site=comparison.new.site,
        plain=words.plain,
        outcomes=OUTCOMES,
        periods=[words.window(*review.period, review.site.time_zone) for review in (comparison.old, comparison.new)],
    )
    write_assets(folder / "assets")
    (folder / "findings").mkdir()
    template, boxes = environment.get_template("change.html"), _Boxes(comparison)
    by_terminal = sorted(comparison.changes, key=lambda change: change.latest["terminal"])
    for done, change in enumerate(by_terminal, 1):
        page = template.render(_change_context(change, comparison, boxes), root="../")
        (folder / "findings" / change_page(change)).write_text(page, encoding="utf-8")
        progress(f"writing the comparison, page {done} of {len(comparison.changes)}")
    index = environment.get_template("comparison.html").render(_index_context(comparison), root="")
    (folder / "index.html").write_text(index, encoding="utf-8")


def change_page(change: Change) -> str:
    """Return the name of a finding's page within ``findings/``."""
    return f"{page_name(change.latest['terminal']).removesuffix('.html')}.{change.latest['rule']}.html"


# The index -----------------------------------------------------------------------------------------------------------


def _index_context(comparison: Comparison) -> dict:
    return {
        "summary": _summary(comparison),
        "counts": [(name, OUTCOMES[name], count) for name, count in comparison.counts.items()],
        "lists": [
            {"outcome": name, "title": title, "meaning": MEANING[name], "rows": [_row(c) for c in comparison.of(name)]}
            for name, title in OUTCOMES.items()
        ],
        "answered": any(change.answer for change in comparison.changes),
        "limiting": comparison.limiting,
        "columns": COLUMNS,
        "least_change": words.amount(100 * LEAST_CHANGE, "%"),
        "least_points": f"{LEAST_POINTS:g}",
    }


def _summary(comparison: Comparison) -> list[tuple[str, str]]:
    old, new = comparison.old, comparison.new
    zone = new.site.time_zone
    told = [
        (
            "Compared",
            f"{words.plural(len(old.findings), 'finding')} of {words.window(*old.period, zone)} with "
            f"{words.plural(len(new.findings), 'finding')} of {words.window(*new.period, zone)}.",
        ),
        ("Outcome", _outcome(comparison)),
    ]
    if claimed := _claimed(comparison):
        told.append(("Issue log", claimed))
    return told


def _outcome(comparison: Comparison) -> str:
    counts = comparison.counts
    still = comparison.of(STILL)
    ways = [f"{n} {way}" for way in ("worse", "as before", "better") if (n := sum(c.change == way for c in still))]
    told = [
        f"{counts[CORRECTED]} corrected",
        f"{counts[STILL]} still there" + (f" ({', '.join(ways)})" if ways else ""),
        f"{counts[UNJUDGED]} no longer judged",
        f"{counts[NEW]} new",
    ]
    limited = sum(bool(change.limits) for change in comparison.changes)
    also = f" The comparison of {limited} of them is limited; see below." if limited else ""
    return f"{words.listed(told)}.{also}"


def _claimed(comparison: Comparison) -> str:
    """What the issue log says is corrected, beside what the trends say."""
    claimed = [c for c in comparison.changes if c.answer and says_corrected(c.answer.status)]
    if not claimed:
        answered = sum(bool(c.answer) for c in comparison.changes)
        return f"{words.plural(answered, 'finding')} answered, none said to be corrected." if answered else ""
    told = {outcome: sum(c.outcome == outcome for c in claimed) for outcome in (CORRECTED, STILL, UNJUDGED, NEW)}
    parts = [f"{count} {OUTCOMES[outcome]}" for outcome, count in told.items() if count]
    return f"Of {words.plural(len(claimed), 'finding')} said to be corrected, the trends show {words.listed(parts)}."


def _row(change: Change) -> dict:
    latest, told = change.latest, change.figures
    name = _label(latest, told.measure)
    return {
        "change": change,
        "page": change_page(change),
        "terminal": latest["terminal"],
        "title": latest.get("title", latest["rule"]),
        "severity": latest["severity"],
        "air_handler": latest["air_handler"] if latest["air_handler"] != latest["terminal"] else "",
        "measure": name,
        "was": words.amount(told.old_value, told.unit),
        "now": words.amount(told.new_value, told.unit),
        "share_was": _percent(told.old_share),
        "share_now": _percent(told.new_share),
    }


def _label(finding: dict, measure: str) -> str:
    """Name the figure by which a finding is compared, with its statistic."""
    return in_words(finding, measure)


def _percent(share: float) -> str:
    return (
        "–"
        if share != share
        else f"{100 * share:.0f}\u202f%"
        if share >= 0.095 or share == 0
        else f"{100 * share:.1f}\u202f%"
    )


# A finding's page ----------------------------------------------------------------------------------------------------


def _change_context(change: Change, comparison: Comparison, boxes: _Boxes) -> dict:
    row = _row(change)
    sides: list[dict[str, object]] = []
    both = (
        ("Before", comparison.old, change.old, change.old_verdict, change.old_reason, change.judged_hours[0]),
        ("Now", comparison.new, change.new, change.new_verdict, change.new_reason, change.judged_hours[1]),
    )
    for (label, review, finding, verdict, reason, hours), box in zip(both, boxes.of(change), strict=True):
        sides.append(
            {
                "label": label,
                "period": words.window(*review.period, review.site.time_zone),
                "finding": finding,
                "verdict": verdict.replace("-", " "),
                "reason": words.plain(reason),
                "judged": words.hours(hours),
                "measures": _measures(finding),
                "box": box,
            }
        )
    return row | {
        "sides": sides,
        "names": sorted({*_measures(change.old), *_measures(change.new)}),
        "meaning": MEANING[change.outcome],
        "latest": change.latest,
    }


def _measures(finding: dict | None) -> dict[str, str]:
    if not finding:
        return {}
    told = {
        measure.get("label") or name.replace("_", " "): words.amount(
            measure["value"], "" if measure["unit"] == "count" else measure["unit"]
        )
        for name, measure in finding["measures"].items()
    }
    return told | {"Fault hours": words.hours(finding["fault_hours"])}


class _Boxes:
    """The charts of both periods, read once for the terminals that have a finding."""

    def __init__(self, comparison: Comparison):
        wanted = sorted({change.latest["terminal"] for change in comparison.changes})
        self.reviews = [_Side(comparison.old, wanted), _Side(comparison.new, wanted)]

    def of(self, change: Change) -> list[TrendBox | None]:
        boxes = [
            side.box(change.latest["terminal"], finding)
            for side, finding in zip(self.reviews, (change.old, change.new), strict=True)
        ]
        same_reach([box for box in boxes if box])
        return boxes


class _Side:
    """One review's trends of the terminals that are compared."""

    def __init__(self, review: StoredReview, wanted: list[str]):
        self.review = review
        known = set(review.terminals)
        self.trends: Trends = review.trends([terminal for terminal in wanted if terminal in known])
        scene = review.scene(self.trends)
        self.in_force = pd.DataFrame({name: scene.value(name) for name in JUDGED})
        self._kept: tuple[str | None, TrendBox | None] = (None, None)

    def box(self, terminal: str, finding: dict | None) -> TrendBox | None:
        """The charts of a terminal with a finding's episodes; pages come terminal by terminal, so one is kept."""
        if self._kept[0] != terminal:
            self._kept = terminal, self._plain(terminal)
        kept = self._kept[1]
        episodes = (finding or {}).get("episodes", [])
        return kept and kept.marked([(pd.Timestamp(one["from"]), pd.Timestamp(one["to"])) for one in episodes])

    def _plain(self, terminal: str) -> TrendBox | None:
        start, end = self.review.period
        return trend_box(
            self.trends,
            terminal,
            in_force=self.in_force,
            schedule=self.review.schedule(terminal),
            air_handler=self.review.air_handler(terminal),
            units=self.review.site.units,
            start=start,
            end=end,
            marked=[],
        )
