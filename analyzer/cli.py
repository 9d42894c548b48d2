"""The command: it reads the call, calls the rooms, and says what came of it. Everything heavy is imported on use."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analyzer.command import run
from analyzer.errors import CallError, nearest, printable, without_secrets
from analyzer.progress import progress
from analyzer.temporary import clear_abandoned

DEFAULT_OUT = "review"
SEVERITIES = ("urgent", "high", "medium", "low")

app = typer.Typer(
    name="trendwright",
    help=(
        "Judge the trends of VAV terminal units: exports of a building automation system in, verdicts with evidence "
        "out.\n\nStart with: trendwright demo demo, then: trendwright review demo"
    ),
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
)

Exports = Annotated[list[str], typer.Argument(metavar="EXPORT...", help="files, folders, globs or zips of exports")]
SiteOption = Annotated[
    Path | None,
    typer.Option("--site", help="the site file; by default the site.toml beside or inside the exports"),
]
AnswersOption = Annotated[
    Path | None,
    typer.Option("--answers", metavar="FILE", help="the issue log that was handed back, .xlsx or .csv"),
]


def _name(path):
    """Refuse a name that nothing can be written to, before anything is looked at."""
    from analyzer.staging import check_name
    from analyzer.stores import is_remote

    if path is not None and not is_remote(path):
        check_name(path, remedy="Name another place to write to.")
    return path


Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="say nothing while at work")]


@app.command()
def review(
    exports: Exports,
    site: SiteOption = None,
    out: Annotated[
        str, typer.Option("--out", callback=_name, help="the folder that the review is written into")
    ] = DEFAULT_OUT,
    fail_on: Annotated[
        str | None,
        typer.Option(
            "--fail-on", metavar="SEVERITY", help=f"end with status 1 on a finding at or above: {', '.join(SEVERITIES)}"
        ),
    ] = None,
    answers: AnswersOption = None,
    workers: Annotated[
        int | None,
        typer.Option("--workers", metavar="N", min=1, help="how many processes; by default as many as are of use"),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option("--scheduler", metavar="ADDRESS", help="a Dask scheduler whose workers do it: tcp://HOST:8786"),
    ] = None,
    quiet: Quiet = False,
) -> None:
    """Judge every terminal and write the findings report, the issue log and the tables."""
    _check_severity(fail_on)
    say = progress(quiet)
    clear_abandoned()
    from analyzer.contract import ContractCheck
    from analyzer.memory import loading

    with ContractCheck() as contract:
        with loading():
            from analyzer.handover import KNOWN_BY, SEEN_BEFORE, check_folder, gathered_answers
            from analyzer.reviews import review as judge_all
            from analyzer.reviews import rule_book_of
            from analyzer.stores import at_hand

        building = _site(site, exports, say)
        book = rule_book_of(building)
        _check_causes(building)
        kept: list[str] = []
        with at_hand(out, SEEN_BEFORE, KNOWN_BY, kept) as folder:
            check_folder(folder, _inputs(exports, building))
            said = gathered_answers(folder, _answers(answers))
            trends = _trends(exports, building, scheduler, say)
            with _crew(workers, scheduler, trends) as crew:
                outcome = judge_all(trends, building, rules=book, contract=contract, crew=crew, progress=say)
                del trends  # where others do the work it is stored by now
                outcome.write(folder, answers=said, crew=crew, progress=say)
    index = f"{out}/index.html"
    say("")
    _tell(outcome.results, index)
    _tell_answers(said, {finding.id for finding in outcome.results.findings})
    _tell_kept([*outcome.results.kept, *kept])
    found = [finding.severity for finding in outcome.results.findings]
    if fail_on and any(SEVERITIES.index(severity) <= SEVERITIES.index(fail_on) for severity in found):
        raise typer.Exit(1)


def _check_causes(site) -> None:
    """Refuse a mistake in the site's causes of complaints now, and not at the first complaint."""
    if site.cause_changes or site.rules_folder:
        from analyzer.complaint.cause_book import causes_of

        causes_of(site)


def _trends(exports: list[str], site, scheduler: str | None, say):
    """Read the exports; of a table that was normalized before, only look where its rows stand."""
    from analyzer import open_trends, read_trends
    from analyzer.intake.files.stored import stored_table

    if (stored := stored_table(exports)) is not None:
        return open_trends(stored)
    if scheduler:
        raise CallError(
            "--scheduler", "its workers cannot read exports, only a normalized table that they reach",
            f"Run 'trendwright normalize {' '.join(exports)} --out DATASET' first, then review DATASET.",
        )  # fmt: skip
    return read_trends(exports, site, progress=say)


# Fewer rows are judged, and their pages written, before other processes would have started.
ROWS_WORTH_A_CREW = 300_000


def _crew(workers: int | None, scheduler: str | None, trends):
    if scheduler:
        from analyzer.cluster import Cluster

        return Cluster(scheduler)
    from analyzer.crew import crew_of, processors

    return crew_of(workers or (processors() if trends.rows.sum() >= ROWS_WORTH_A_CREW else 1))


def _tell(results, index: str) -> None:
    counts = results.verdicts["verdict"].value_counts()
    severity = [finding.severity for finding in results.findings]
    told = ", ".join(f"{severity.count(name)} {name}" for name in SEVERITIES if name in severity) or "none"
    print(f"{results.site.name}: {len(results.trends.tags)} terminals, {len(results.rules)} rules")
    _tell_cells(results.trends.ledger)
    print("verdicts: " + ", ".join(f"{counts.get(name, 0)} {name}" for name in ("fault", "clear", "not-judged")))
    print(f"findings: {len(severity)} ({told})" if severity else "findings: none")
    for sentence in results.assumptions:
        print(f"assumed: {sentence}")
    print(f"report: {index}")
    print(f"next: open {index} in a browser; send issue_log.xlsx and trend_request.csv to the contractor")


def _tell_answers(answers, ids) -> None:
    if answers.by_id:
        carried = sum(found in ids for found in answers.by_id)
        print(f"issue log: {len(answers.by_id)} answered, {carried} carried to findings of this round")
    for sentence in answers.notes:
        print(f"issue log: {sentence}")


def _tell_kept(paths: list[str]) -> None:
    for path in paths:
        print(f"kept: {path}, which was changed since it was written, or is not the tool's")


def _answers(path: Path | None):
    if path is None:
        return None
    from analyzer.findings.answers import read_answers

    return read_answers(path)


def _tell_cells(ledger) -> None:
    if ledger.files:
        read, used = ledger.cells_read, ledger.cells_used
        why = ", ".join(f"{count:,} {reason}" for reason, count in ledger.set_aside.items())
        print(f"cells: {read:,} read, {used:,} used, {read - used:,} set aside{f' ({why})' if why else ''}")


@app.command()
def draft(
    exports: Exports,
    site: SiteOption = None,
    out: Annotated[Path, typer.Option("--out", callback=_name, help="the folder for the files")] = Path("draft"),
    quiet: Quiet = False,
) -> None:
    """Propose a site file, a terminal schedule and a point list from the exports, for you to correct."""
    say = progress(quiet)
    from analyzer.draft import draft as propose
    from analyzer.site import read_site

    path = site or _site_beside(exports)
    to_check = propose(exports, read_site(path) if path else None, out, say)
    say("")
    for sentence in to_check:
        print(f"check: {sentence}")
    print(
        f"written: {', '.join(str(out / name) for name in ('site.toml', 'terminals.csv', 'points.csv', 'index.html'))}"
    )
    print(
        f"next: correct them, best in a browser ({out / 'index.html'}), then "
        f"trendwright review {' '.join(exports)} --site {out / 'site.toml'}"
    )


@app.command()
def normalize(
    exports: Exports,
    out: Annotated[
        Path,
        typer.Option(
            "--out", callback=_name, help="the file to write, such as trends.parquet, or a folder for a dataset"
        ),
    ],
    site: SiteOption = None,
    quiet: Quiet = False,
) -> None:
    """Read exports into the normalized table and the ledger, and judge nothing."""
    say = progress(quiet)
    building = _site(site, exports, say)
    from analyzer import read_trends
    from analyzer.normalized import check_output, write_normalized

    check_output(out, _inputs(exports, building))
    trends = read_trends(exports, building, progress=say)
    written = write_normalized(trends, out)
    say("")
    _tell_cells(trends.ledger)
    for sentence in trends.ledger.assumptions:
        print(f"assumed: {sentence}")
    print(f"written: {', '.join(str(path) for path in written)}")
    print(f"next: trendwright review {out}")


@app.command()
def compare(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="the folder of the earlier review")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="the folder of the later review")],
    out: Annotated[
        Path, typer.Option("--out", callback=_name, help="the folder that the comparison is written into")
    ] = Path("comparison"),
    answers: AnswersOption = None,
    quiet: Quiet = False,
) -> None:
    """Compare two reviews: what is corrected, still there, new, and no longer judged."""
    say = progress(quiet)
    from analyzer.findings.answers import answers_in
    from analyzer.findings.stored import read_review
    from analyzer.handover import check_apart
    from analyzer.rounds import OUTCOMES, write_comparison
    from analyzer.rounds import compare as compare_all
    from analyzer.rounds.handover import check_output

    check_apart(out, [old, new])
    check_output(out)
    earlier, later = read_review(old), read_review(new)
    said = answers_in(new).over(answers_in(old))
    given = _answers(answers)
    outcome = compare_all(earlier, later, given.over(said) if given else said)
    index, kept = write_comparison(outcome, out, progress=say)
    say("")
    print(f"{later.told['site']}: {len(earlier.findings)} findings before, {len(later.findings)} now")
    print("outcome: " + ", ".join(f"{count} {OUTCOMES[name]}" for name, count in outcome.counts.items()))
    for one in outcome.limiting:
        print(f"limits the comparison: {one.sentence}")
    _tell_kept(kept)
    print(f"comparison: {index}")
    print(f"next: open {index} in a browser and take it to the retest meeting; comparison.csv holds a row per finding")


@app.command()
def complaint(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="the folder of a review")],
    at: Annotated[str, typer.Option("--at", metavar="TIME", help="when, by the site's clock: '2026-01-28 14:30'")],
    terminal: Annotated[str | None, typer.Option("--terminal", metavar="TAG", help="whose complaint it is")] = None,
    room: Annotated[str | None, typer.Option("--room", metavar="ROOM", help="the zone, instead of a tag")] = None,
    feels: Annotated[
        str | None, typer.Option("--feels", metavar="HOW", help="cold or warm, as it was said; else as the trends say")
    ] = None,
    site: Annotated[
        Path | None, typer.Option("--site", help="a site file whose causes count, in place of what the review kept")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", callback=_name, metavar="FILE", help="the page to write")] = None,
) -> None:
    """Write the page for one comfort complaint: the two days around it, likely causes, what to check."""
    from analyzer.complaint import answer
    from analyzer.site import read_site

    building = read_site(site) if site else None
    found = answer(folder, terminal=terminal, room=room, at=at, feels=feels, site=building)
    page = found.write(out or Path(found.name))
    print(f"{found.facts.terminal}: {found.taken}")
    for number, case in enumerate(found.likely[:3], 1):
        print(f"likely {number}: {case.cause}")
    if not found.likely:
        print("likely: the trends name no cause")
    print(f"page: {page}")
    print(f"next: open {page} in a browser; it is one file and can be sent")


@app.command()
def evidence(
    folder: Annotated[Path, typer.Argument(metavar="REVIEW", help="the folder of a review")],
    finding: Annotated[str, typer.Argument(metavar="FINDING", help="the id of a finding, as findings.csv names it")],
    exports: Annotated[
        list[str] | None,
        typer.Option("--exports", metavar="EXPORT", help="where the exports are now; by default where they were"),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", callback=_name, metavar="FILE", help="the CSV to write")] = None,
    quiet: Quiet = False,
) -> None:
    """List the raw cells of the exports that a finding rests on, and write them as CSV."""
    say = progress(quiet)
    from analyzer.evidence import evidence_of

    found = evidence_of(folder, finding, exports, say)
    table = found.write(out or Path(found.name))
    say("")
    print(f"{finding}: {found.finding['title']}")
    print(f"fault when: {found.rule.fault_when.text}")
    for sentence in found.summary():
        print(sentence)
    for sentence in found.notes:
        print(f"changed: {sentence}")
    print(f"evidence: {table}")
    print(f"next: open {table} in a spreadsheet beside the export; each row names the place of its cell")


@app.command()
def rules(
    rule: Annotated[str | None, typer.Argument(metavar="[ID]", help="one rule, with its numbers and sources")] = None,
    site: SiteOption = None,
    start: Annotated[
        Path | None,
        typer.Option(
            "--start", metavar="FOLDER", callback=_name, help="begin a rule of your own by this id, in a folder"
        ),
    ] = None,
) -> None:
    """Show the rule book, or one rule with its numbers and sources; or begin a rule of your own."""
    from analyzer.reviews import rule_book_of
    from analyzer.rule_pages import one_rule, rule_list
    from analyzer.site import Site, read_site

    book = rule_book_of(read_site(site) if site else Site())
    if start is not None:
        _start_rule(rule, start, book)
        return
    if rule is None:
        print(rule_list(book))
        print("\nnext: trendwright rules ID shows one rule with its numbers and sources")
        return
    if rule not in book:
        raise CallError(
            None, f"there is no rule {rule!r}{nearest(rule, book)}", "Run 'trendwright rules' for the list."
        )
    print(one_rule(book[rule]))


def _start_rule(rule: str | None, folder: Path, book) -> None:
    from analyzer.rule_start import start_rule

    if rule is None:
        raise CallError("--start", "a rule needs an id", "Give one: trendwright rules ID --start FOLDER.")
    file = start_rule(rule, folder, book)
    print(f"written: {file}")
    print(f'next: write it, name its folder in site.toml (under [site]: rules = "{folder}"), and look at it')
    print(f"with: trendwright rules {rule} --site site.toml")


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", callback=_name, help="a new folder for the demo building")],
    shape: Annotated[
        str, typer.Option("--shape", metavar="SHAPE", help="how the exports come: mix, wide, long or parquet")
    ] = "mix",
    retest: Annotated[bool, typer.Option("--retest", help="the week after the faults were worked on")] = False,
) -> None:
    """Copy the demo building's exports, site file and schedule into a folder."""
    from analyzer.demo import copy_demo

    for path in copy_demo(folder, shape=shape, retest=retest):
        print(path)
    print(f"next: trendwright review {folder}")


def _site(path: Path | None, exports: list[str], say):
    """Read the site file that was named, or that lies with the exports; without any, say so."""
    from analyzer.site import Site, read_site

    path = path or _site_beside(exports)
    if path is None:
        say("no site file: stamps are taken as UTC, and what needs a schedule is not judged")
        return Site(name=printable(Path(without_secrets(exports[0])).stem) or "Unnamed building")
    return read_site(path)


def _site_beside(exports: list[str]) -> Path | None:
    for export in exports:
        path = Path(export)
        for candidate in (path / "site.toml", path.parent / "site.toml"):
            if candidate.is_file():
                return candidate
    return None


def _inputs(exports: list[str], site) -> list[Path]:
    files = [site.file, site.terminals_file, site.points_file, site.rules_folder]
    return [*(Path(export) for export in exports), *(path for path in files if path)]


def _check_severity(severity: str | None) -> None:
    if severity is not None and severity not in SEVERITIES:
        raise CallError(
            "--fail-on",
            f"{severity!r} is no severity{nearest(severity, SEVERITIES)}",
            f"Use one of {', '.join(SEVERITIES)}.",
        )


def main() -> None:
    """Run the command; see ``analyzer.command``."""
    run(lambda: app)


if __name__ == "__main__":
    main()
