"""Everything a review hands over, written into its folder whole or not at all."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath

from analyzer.checklist import CHECKLIST, write_checklist
from analyzer.contract import ContractCheck
from analyzer.crew import Alone, Crew
from analyzer.dataset import keep_trends
from analyzer.errors import CallError
from analyzer.exports_kept import EXPORTS, exports_json
from analyzer.findings import (
    ISSUE_LOG,
    TABLES,
    Answers,
    Results,
    answers_in,
    carry,
    neutralised,
    read_findings,
    standing_table,
    with_history,
    write_issue_log,
    write_tables,
)
from analyzer.functional import write_functional_tests
from analyzer.own_files import MARK, OwnFiles, is_free, keep_others, mark_written, read_mark
from analyzer.report import ASSETS, LEDGER_COLUMNS, write_index, write_summary, write_terminal_pages
from analyzer.site.stored import site_json
from analyzer.staging import check_place, folder_replaced
from analyzer.stores import ROUNDS
from analyzer.trends import AIR_HANDLERS_FILE

INDEX, TRENDS, FINDINGS, SITE = "index.html", "trends.parquet", "findings.json", "site.json"
HISTORY = "rounds.csv"
BY = "review"
# The files at the top of a folder that an earlier release wrote, without a list of them.
EARLIER = {
    INDEX, TRENDS, AIR_HANDLERS_FILE, FINDINGS, SITE, CHECKLIST, "findings.csv", "verdicts.csv", "trend_request.csv",
    "ledger.json", "trends.json",
}  # fmt: skip

# What a review takes over from the one that stands in its folder, and by which of them such a folder is known.
SEEN_BEFORE = (MARK, FINDINGS, ISSUE_LOG, ROUNDS, CHECKLIST, *TABLES)
KNOWN_BY = (MARK, FINDINGS)


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
    carried to the new one; files that are not the tool's are carried over untouched, and copies of those that were
    changed since it wrote them are kept under ``rounds/``, as ``results.kept`` says.

    Parameters
    ----------
    contract : ContractCheck, optional
        The check of the table's contract, where it is still under way: it is waited for after the terminals' pages.
    crew : Crew, optional
        Who writes the terminals' pages; this process where not given.

    Raises
    ------
    CallError
        The folder holds something and no review, cannot be written, or the issue log in it cannot be read.
    ContractError
        The trends break the normalized table's contract.
    """
    say = progress or (lambda _: None)
    with folder_replaced(folder) as staging:
        own = _own_files(folder)
        judged = results
        results = with_history(carry(judged, gathered_answers(folder, answers)), _earlier_rounds(folder))
        judged.history, judged.standing = results.history, results.standing  # what the caller tells of the rounds
        (staging / SITE).write_text(site_json(results.site), "utf-8")
        (staging / EXPORTS).write_text(exports_json(results.trends.ledger.exports, results.site), "utf-8")
        keep_trends(results.trends, staging / TRENDS)
        write_terminal_pages(
            results, staging, crew or Alone(), lambda done, pages: say(f"writing the report, page {done} of {pages}")
        )
        say("writing the tables and the index")
        write_issue_log(results, staging / ISSUE_LOG)
        write_checklist(results, staging)
        if contract:
            results.keeps(contract.outcome())
            judged.contract = results.contract  # as with the rounds
        write_tables(results, staging)
        if len(results.history) > 1 and results.standing:
            neutralised(standing_table(results)).to_csv(staging / HISTORY, index=False)
        write_summary(results, staging)
        write_index(results, staging, write_functional_tests(results, staging))
        mark_written(staging, BY)
        if folder.is_dir():
            passed = _keep_rounds(folder, staging)
            judged.kept = results.kept = results.kept + keep_others(folder, staging, own, ROUNDS, passed=passed)
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
        The folder is a file, the folder one works in, holds the exports, the site file, or something and no review, or
        cannot be written.
    """
    check_apart(folder, inputs)
    _own_files(folder)


def check_apart(folder: Path, inputs: list[Path]) -> None:
    """Refuse an output folder that is a file, is in use otherwise, or cannot be written.

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


def _own_files(folder: Path) -> OwnFiles:
    """Return the files of a folder that a review wrote; none where it is empty or not there.

    Raises
    ------
    CallError
        It holds something, and no review; or a review whose findings cannot be read, so that its round would be lost.
    """
    if is_free(folder):
        return OwnFiles()
    own, found = read_mark(folder, BY), folder / FINDINGS
    if found.exists() and not read_findings(found) and (own or not (folder / MARK).exists()):
        raise CallError(
            found, "cannot be read as a review's findings, so its round would be lost",
            "Put a sound copy in its place, or name another folder with --out.",
        )  # fmt: skip
    if own is None and found.exists() and all((folder / name).is_file() for name in (INDEX, "verdicts.csv")):
        own = OwnFiles(is_own=_of_an_earlier_release)
    if own is None:
        raise CallError(folder, "holds files and no review", "Give the review a folder of its own with --out.")
    return own


def _of_an_earlier_release(path: PurePosixPath) -> bool:
    """Tell by its name whether a review of an earlier release wrote a file; of an issue log that is never known."""
    top, *below = path.parts
    if not below:
        return top in EARLIER
    if top == "assets":
        return (ASSETS / path.relative_to(top)).is_file() or below == [LEDGER_COLUMNS]
    return len(below) == 1 and (top, path.suffix) in {("terminals", ".html"), (TRENDS, ".parquet")}


def _keep_rounds(folder: Path, staging: Path) -> tuple[str, ...]:
    """Copy the findings of earlier rounds, and of the one that stands there; return what was copied."""
    rounds, latest, copied = staging / ROUNDS, folder / FINDINGS, []
    rounds.mkdir()
    if (folder / ROUNDS).is_dir():
        shutil.copytree(folder / ROUNDS, rounds, dirs_exist_ok=True, symlinks=True)
        copied.append(ROUNDS)
    if latest.is_file():
        stamp = datetime.fromtimestamp(latest.stat().st_mtime, UTC).strftime("%Y-%m-%dT%H%M%SZ")
        shutil.copy2(latest, rounds / f"{stamp}.json")
        copied.append(FINDINGS)
    return tuple(copied)


def _earlier_rounds(folder: Path) -> list[Path]:
    """The findings of every round that a folder has seen, the earliest first: their names are their times."""
    latest = folder / FINDINGS
    return [*sorted((folder / ROUNDS).glob("*.json")), *([latest] if read_findings(latest) else [])]
