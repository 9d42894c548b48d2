"""The command: it reads the call, calls the rooms, and says what came of it. Everything heavy is imported on use."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from analyzer.call import WithSchedules
from analyzer.cli_before import draft, normalize
from analyzer.cli_later import compare, complaint, evidence
from analyzer.cli_options import (
    AnswersOption,
    Exports,
    Quiet,
    SiteOption,
    answers_of,
    inputs_of,
    named,
    site_of,
    tell_cells,
    tell_kept,
)
from analyzer.command import run
from analyzer.errors import CallError, nearest
from analyzer.progress import progress
from analyzer.temporary import clear_abandoned

if TYPE_CHECKING:
    from collections.abc import Callable, Collection

    from analyzer.cluster import Cluster
    from analyzer.crew import Alone, Workers
    from analyzer.engine import Rule
    from analyzer.findings import Answers, Results
    from analyzer.site import Site
    from analyzer.trends import TrendSource

    Progress = Callable[[str], None]

DEFAULT_OUT = "review"
SEVERITIES = ("urgent", "high", "medium", "low")

app = typer.Typer(
    name="trendwright",
    help=(
        "Judge the trends of VAV terminal units: exports of a building automation system in, verdicts with evidence "
        "out.\n\nStart with: trendwright demo demo, then: trendwright review demo"
    ),
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    invoke_without_command=True,
)


def _tell_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        print(f"trendwright {version('trendwright')}")
        raise typer.Exit()


@app.callback()
def _common(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="show the version and exit")
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        print(context.get_help())


@app.command()
def review(
    exports: Exports,
    site: SiteOption = None,
    out: Annotated[
        str, typer.Option("--out", callback=named, help="the folder that the review is written into")
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
    last: Annotated[
        str | None,
        typer.Option("--last", metavar="TIME", help="only the end of the trends: 36h, 10d or 2w"),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--from", metavar="DAY", help="only from this day on, by the site's clock: 2026-01-26")
    ] = None,
    until: Annotated[str | None, typer.Option("--to", metavar="DAY", help="only to this day, it included")] = None,
    show: Annotated[bool, typer.Option("--open", help="show the report in the browser when it is written")] = False,
    quiet: Quiet = False,
) -> None:
    """Judge every terminal and write the findings report, the issue log and the tables."""
    _check_severity(fail_on)
    asked = _asked(last, since, until)
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

        building = site_of(site, exports, say)
        book = rule_book_of(building)
        _check_causes(building)
        kept: list[str] = []
        with at_hand(out, SEEN_BEFORE, KNOWN_BY, kept) as folder:
            check_folder(folder, inputs_of(exports, building))
            said = gathered_answers(folder, answers_of(answers))
            trends = _trends(exports, building, asked, scheduler, say)
            with _crew(workers, scheduler, trends) as crew:
                outcome = judge_all(trends, building, rules=book, contract=contract, crew=crew, progress=say)
                del trends  # where others do the work it is stored by now
                outcome.write(folder, answers=said, crew=crew, progress=say)
    index = f"{out}/index.html"
    say("")
    _tell(outcome.results, index)
    _tell_rounds(outcome.results)
    _tell_answers(said, {finding.id for finding in outcome.results.findings})
    tell_kept([*outcome.results.kept, *kept])
    if show:
        _show(index)
    found = [finding.severity for finding in outcome.results.findings]
    if fail_on and any(SEVERITIES.index(severity) <= SEVERITIES.index(fail_on) for severity in found):
        raise typer.Exit(1)


def _show(index: str) -> None:
    """Open the report in the browser; where there is none, say so: the report stands all the same."""
    import webbrowser

    from analyzer.stores import is_remote

    if not webbrowser.open(index if is_remote(index) else Path(index).resolve().as_uri()):
        print(f"no browser could be opened here: open {index} yourself")


def _check_causes(site: Site) -> None:
    """Refuse a mistake in the site's causes of complaints now, and not at the first complaint."""
    if site.cause_changes or site.rules_folder:
        from analyzer.complaint.cause_book import causes_of

        causes_of(site)


# What a call asks of the time: --last, --from and --to.
Asked = tuple[str | None, str | None, str | None]


def _asked(*asked: str | None) -> Asked:
    from analyzer.window_asked import check_window

    last, since, until = asked
    check_window(last, since, until)
    return last, since, until


def _trends(exports: list[str], site: Site, asked: Asked, scheduler: str | None, say: Progress) -> TrendSource:
    """Read the exports; of a table that was normalized before, only look where its rows stand."""
    from analyzer import read_trends
    from analyzer.intake.files.stored import stored_table
    from analyzer.window_asked import stored_within, within

    if (stored := stored_table(exports)) is not None:
        return stored_within(stored, *asked, site)
    if scheduler:
        raise CallError(
            "--scheduler", "its workers cannot read exports, only a normalized table that they reach",
            f"Run 'trendwright normalize {' '.join(exports)} --out DATASET' first, then review DATASET.",
        )  # fmt: skip
    return within(read_trends(exports, site, progress=say), *asked)


# Fewer rows are judged, and their pages written, before other processes would have started.
ROWS_WORTH_A_CREW = 300_000


def _crew(workers: int | None, scheduler: str | None, trends: TrendSource) -> Cluster | Workers | Alone:
    if scheduler:
        from analyzer.cluster import Cluster

        return Cluster(scheduler)
    from analyzer.crew import crew_of, processors

    return crew_of(workers or (processors() if trends.rows.sum() >= ROWS_WORTH_A_CREW else 1))


def _tell(results: Results, index: str) -> None:
    counts = results.verdicts["verdict"].value_counts()
    severity = [finding.severity for finding in results.findings]
    told = ", ".join(f"{severity.count(name)} {name}" for name in SEVERITIES if name in severity) or "none"
    print(f"{results.site.name}: {len(results.trends.tags)} terminals, {len(results.rules)} rules")
    tell_cells(results.trends.ledger)
    _tell_checks(results.contract)
    print("verdicts: " + ", ".join(f"{counts.get(name, 0)} {name}" for name in ("fault", "clear", "not-judged")))
    print(f"findings: {len(severity)} ({told})" if severity else "findings: none")
    for sentence in results.assumptions:
        print(f"assumed: {sentence}")
    print(f"report: {index}")
    print(f"next: open {index} in a browser; send issue_log.xlsx and trend_request.csv to the contractor")


def _tell_rounds(results: Results) -> None:
    if len(results.history) > 1:
        now = [one for one in results.standing.values() if one.in_a_row]
        lasting, back = sum(one.in_a_row > 1 for one in now), sum(one.returns > 0 for one in now)
        print(f"rounds: review {len(results.history)}; {lasting} findings were in the one before, {back} came back")


def _tell_answers(answers: Answers, ids: Collection[str]) -> None:
    if answers.by_id:
        carried = sum(found in ids for found in answers.by_id)
        print(f"issue log: {len(answers.by_id)} answered, {carried} carried to findings of this round")
    for sentence in answers.notes:
        print(f"issue log: {sentence}")


def _tell_checks(contract: dict[str, Any]) -> None:
    for failed in contract["broken"]:
        rows = ", ".join(f"{row['terminal']} {row['time']} ({row['value']})" for row in failed["rows"])
        print(
            f"data check failed: {failed['column']} is expected at {failed['expected']}; "
            f"{failed['count']:,} rows are not, first {rows}"
        )


app.command(cls=WithSchedules)(draft)
for other in (normalize, compare, complaint, evidence):
    app.command()(other)


@app.command()
def rules(
    rule: Annotated[str | None, typer.Argument(metavar="[ID]", help="one rule, with its numbers and sources")] = None,
    site: SiteOption = None,
    start: Annotated[
        Path | None,
        typer.Option(
            "--start", metavar="FOLDER", callback=named, help="begin a rule of your own by this id, in a folder"
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


def _start_rule(rule: str | None, folder: Path, book: dict[str, Rule]) -> None:
    from analyzer.rule_start import start_rule

    if rule is None:
        raise CallError("--start", "a rule needs an id", "Give one: trendwright rules ID --start FOLDER.")
    file = start_rule(rule, folder, book)
    print(f"written: {file}")
    print(f'next: write it, name its folder in site.toml (under [site]: rules = "{folder}"), and look at it')
    print(f"with: trendwright rules {rule} --site site.toml")


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", callback=named, help="a new folder for the demo building")],
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
