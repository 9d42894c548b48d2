"""Everything a review hands over, written into its folder whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from analyzer.checklist import CHECKLIST, write_checklist
from analyzer.contract import ContractCheck
from analyzer.crew import Alone, Crew
from analyzer.dataset import keep_trends
from analyzer.errors import CallError
from analyzer.findings.answers import ISSUE_LOG, Answers, answers_in, carry
from analyzer.findings.history import read_findings, with_history
from analyzer.findings.issue_log import write_issue_log
from analyzer.findings.results import Results
from analyzer.findings.tables import write_tables
from analyzer.report.pages import write_index, write_terminal_pages
from analyzer.site.stored import site_json
from analyzer.staging import check_place, folder_replaced
from analyzer.trends import AIR_HANDLERS_FILE

INDEX, TRENDS, ROUNDS, FINDINGS, SITE = "index.html", "trends.parquet", "rounds", "findings.json", "site.json"
OWN = {
    INDEX, TRENDS, AIR_HANDLERS_FILE, ROUNDS, FINDINGS, SITE, ISSUE_LOG, CHECKLIST, "terminals", "assets",
    "findings.csv", "verdicts.csv", "trend_request.csv", "ledger.json", "trends.json",
}  # fmt: skip

# What a review takes over from the one that stands in its folder.
SEEN_BEFORE = (FINDINGS, ISSUE_LOG, ROUNDS)


def write(
    results: Results,
    folder: Path,
    *,
    answers: Answers | None = None,
    contract: ContractCheck | None = None,
    crew: Crew | None = None,
    progress: Callable[[str], None] | None = None,
) -> Path:
    """Write a review's folder; return the path of its index page.

    A review that stands there is replaced whole, its findings kept under ``rounds/`` and the answers in its issue log
    carried to the new one; files that are not the tool's are carried over untouched.

    Parameters
    ----------
    contract : ContractCheck, optional
        The check of the table's contract, where it is still under way: it is waited for after the terminals' pages.
    crew : Crew, optional
        Who writes the terminals' pages; this process where not given.

    Raises
    ------
    CallError
        The folder cannot be written, or the issue log in it cannot be read.
    ContractError
        The trends break the normalized table's contract.
    """
    say = progress or (lambda _: None)
    with folder_replaced(folder) as staging:
        results = with_history(carry(results, gathered_answers(folder, answers)), _earlier_rounds(folder))
        (staging / SITE).write_text(site_json(results.site), "utf-8")
        keep_trends(results.trends, staging / TRENDS)
        write_terminal_pages(
            results, staging, crew or Alone(), lambda done, pages: say(f"writing the report, page {done} of {pages}")
        )
        say("writing the tables and the index")
        write_issue_log(results, staging / ISSUE_LOG)
        write_checklist(results, staging)
        if contract:
            results.keeps(contract.outcome())
        write_tables(results, staging)
        write_index(results, staging)
        if folder.is_dir():
            _keep_rounds(folder, staging)
            keep_others(folder, staging, OWN)
    return folder / INDEX


def gathered_answers(folder: Path, answers: Answers | None = None) -> Answers:
    """Lay the answers of a file that was named over those in the issue log of the review that stands in a folder.

    Raises
    ------
    CallError
        The issue log in the folder cannot be read.
    """
    standing = answers_in(folder) if read_findings(folder / FINDINGS) else Answers()
    return answers.over(standing) if answers else standing


def check_folder(folder: Path, inputs: list[Path]) -> None:
    """Refuse, before any work is done, an output folder that would take the user's own files with it.

    Raises
    ------
    CallError
        The folder is a file, the folder one works in, holds the exports or the site file, or cannot be written.
    """
    if folder.exists() and not folder.is_dir():
        raise CallError(folder, "is a file, not a folder", "Name another folder with --out.")
    here = folder.resolve()
    for path in (Path.cwd(), *inputs):
        if here == path.resolve() or here in path.resolve().parents:
            raise CallError(
                folder,
                "holds the exports, the site file or the folder you work in",
                "Give the review a folder of its own with --out.",
            )
    check_place(folder, remedy="Name another folder with --out.")


def _keep_rounds(folder: Path, staging: Path) -> None:
    """Copy the findings of earlier rounds, and of the one that stands there, into the new review."""
    rounds = staging / ROUNDS
    rounds.mkdir()
    if (folder / ROUNDS).is_dir():
        shutil.copytree(folder / ROUNDS, rounds, dirs_exist_ok=True)
    latest = folder / FINDINGS
    if read_findings(latest):
        stamp = datetime.fromtimestamp(latest.stat().st_mtime, UTC).strftime("%Y-%m-%dT%H%M%SZ")
        shutil.copy2(latest, rounds / f"{stamp}.json")


def _earlier_rounds(folder: Path) -> list[Path]:
    """The findings of every round that a folder has seen, the earliest first: their names are their times."""
    latest = folder / FINDINGS
    return [*sorted((folder / ROUNDS).glob("*.json")), *([latest] if read_findings(latest) else [])]


def keep_others(folder: Path, staging: Path, own: set[str]) -> None:
    """Carry over what is not the tool's own, as hard links where the file system has them."""
    for other in folder.iterdir():
        if other.name in own:
            continue
        if other.is_dir() and not other.is_symlink():
            shutil.copytree(other, staging / other.name, copy_function=_link, symlinks=True)
        else:
            _link(other, staging / other.name)


def _link(source, target) -> None:
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError:
        shutil.copy2(source, target, follow_symlinks=False)
