"""What the index says: the summary in words, the findings in rank, and the tables behind them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.findings import SEVERITIES, TABLES
from analyzer.report import words
from analyzer.report.accounts import contract_account, ledger_account
from analyzer.report.building import VERDICT_LETTERS, Building
from analyzer.report.coverage import coverage_grid
from analyzer.report.finding_rows import FindingRows
from analyzer.report.rollups import air_handler_rows, matrix_grid, rule_rows
from analyzer.report.rounds_told import answered, history_rows
from analyzer.report.standing import faults_over_time
from analyzer.report.worst import WorstTerminals

# Below this share of samples the period alone would mislead. Judgement.
MOSTLY_LOGGED = 0.7

FILES = {
    "rules.html": "the rules with their limits and sources",
    "history.html": "what became of every finding from review to review",
    "summary.html": "what is new since the review before, to mail",
    "issue_log.xlsx": "the issue log, for the contractor's answers",
    "site_checklist.html": "what to check on site, to print and tick",
    **{name: table.holds for name, table in TABLES.items()},
    "rounds.csv": "every finding of any review: since when it stands, when it was corrected, how often it came back",
    "functional_tests.csv": "the functional tests: each step, what had to follow it, and whether it did",
    "findings.json": "the findings, for other programs",
    "ledger.json": "the data accounting of every value read",
    "trends.parquet": "the normalized trends",
}


def index_context(
    building: Building, rows: FindingRows, worst: WorstTerminals, folder: Path, tests: Sequence[dict] = ()
) -> dict:
    """Return everything that the template of the index needs; of the other files, what lies in the folder is linked."""
    results = building.results
    coverage, share = coverage_grid(building)
    by_rule = rule_rows(building)
    standing = faults_over_time(building, by_rule)
    return worst.context() | {
        "summary": summary(building, share),
        "by_rule": by_rule,
        "standing": standing["rows"],
        "standing_data": words.embedded(standing),
        "findings": rows.first(),
        "found": len(results.findings),
        "facets": rows.facets,
        "letters": VERDICT_LETTERS,
        "matrix": words.embedded(matrix_grid(building)),
        "handlers": air_handler_rows(building, share),
        "coverage": words.embedded(coverage),
        "tests": tests,
        "without_trends": building.scheduled_without_trends,
        "ledger": ledger_account(results.trends.ledger),
        "contract": contract_account(results.contract, results.site),
        "assumptions": [words.units_told(assumption) for assumption in results.assumptions],
        "files": {name: holds for name, holds in FILES.items() if (folder / name).exists()},
        "history": history_rows(results),
        "earlier_answers": [(found, answered(answer)) for found, answer in results.earlier_answers.items()],
    }


# ---- the summary ---------------------------------------------------------------------------------------------------


def summary(building: Building, share: np.ndarray | None = None) -> list[tuple[str, str]]:
    """Return the summary's headings and sentences; ``share`` is that of ``coverage_grid``, where it is known."""
    share = coverage_grid(building)[1] if share is None else share
    return [
        ("Reviewed", _reviewed(building, share)),
        ("Findings", _matters(building)),
        ("Not judged", _unjudged(building)),
    ]


def _reviewed(building: Building, share: np.ndarray) -> str:
    results, own = building.results, _checks(building)
    zone, verdicts = results.site.time_zone, own["verdict"].value_counts()
    handlers = [handler for handler in building.air_handlers if handler != building.no_handler]
    on = f" on {words.plural(len(handlers), 'air handler')}" if handlers else ""
    checks = ", ".join(
        f"{verdicts.get(verdict, 0):,} {word}"
        for verdict, word in (("fault", "faults"), ("clear", "clear"), ("not-judged", "not judged"))
    )
    return (
        f"{words.plural(len(building.places), 'terminal')}{on} of {results.site.name}, "
        f"{words.window(*results.period, zone)} ({zone}). {words.plural(len(results.rules), 'rule')}, "
        f"{words.plural(len(own), 'check')}: {checks}.{_logged(share)}"
    )


def _checks(building: Building) -> pd.DataFrame:
    """The verdicts that are findings of their own where they are faults: not those that count what terminals share."""
    verdicts, rules = building.results.verdicts, building.results.rules
    return verdicts[
        ~verdicts["rule"].isin(
            [name for name, rule in rules.items() if rule.fault_when and rule.looks_for_common_faults]
        )
    ]


def _logged(share: np.ndarray) -> str:
    """Say so where the period is much longer than what was logged of it."""
    logged = float(np.nanmedian(share)) if np.isfinite(share).any() else 1.0
    return f" The trends cover about {100 * logged:.0f} % of that period." if logged < MOSTLY_LOGGED else ""


def _matters(building: Building) -> str:
    findings = building.results.findings
    if not findings:
        return "No fault found in what could be judged."
    # The first in the order of work; of equal severity what concerns safety goes before it.
    worst = min(findings, key=lambda finding: (SEVERITIES.index(finding.severity), finding.impact != "safety"))
    own = [finding for finding in findings if not finding.under]
    counts = Counter(finding.severity for finding in own)
    told = words.listed([f"{counts[level]} {level}" for level in SEVERITIES if counts[level]])
    terminals = len({finding.terminal for finding in findings} & set(building.places))
    split = f": {len(own)} root, {len(findings) - len(own)} consequential" if len(own) < len(findings) else ""
    # What terminals share is a finding beside theirs.
    shared = len(findings) - int((_checks(building)["verdict"] == "fault").sum())
    beside = f"; {shared} {'is' if shared == 1 else 'are'} shared by several terminals" if shared > 0 else ""
    same = sum(finding.rule == worst.rule for finding in own)
    also = f" and {same - 1} more of the same" if same > 1 else ""
    return (
        f"{words.plural(len(findings), 'finding')} at {words.plural(terminals, 'terminal')}{split}{beside}. "
        f"To correct: {told}. Most severe: “{building.title_of(worst.id)}”{also}."
    )


def _unjudged(building: Building) -> str:
    results = building.results
    verdicts = _checks(building)
    unjudged = verdicts[verdicts["verdict"] == "not-judged"]
    if not len(unjudged):
        return "Nothing: every check that applies was judged."
    rules = unjudged["rule"].value_counts()
    most = results.rules[rules.index[0]].title if rules.index[0] in results.rules else rules.index[0]
    asked = len(results.requests)
    ask = f" trend_request.csv lists the trends needed ({words.plural(asked, 'request')})." if asked else ""
    return (
        f"{len(unjudged):,} of {words.plural(len(verdicts), 'check')} not judged, most often "
        f"“{most}” ({rules.iloc[0]:,}).{ask}"
    )
