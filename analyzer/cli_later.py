"""The commands that take a review's folder: compare, complaint, evidence. Everything heavy is imported on use."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli_options import AnswersOption, Quiet, answers_of, named, tell_kept
from analyzer.progress import progress


def compare(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="the folder of the earlier review")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="the folder of the later review")],
    out: Annotated[
        Path, typer.Option("--out", callback=named, help="the folder that the comparison is written into")
    ] = Path("comparison"),
    answers: AnswersOption = None,
    quiet: Quiet = False,
) -> None:
    """Compare two reviews: what is corrected, still there, new, and no longer judged."""
    say = progress(quiet)
    from analyzer.findings import answers_in, read_review
    from analyzer.handover import check_apart
    from analyzer.rounds import OUTCOMES, write_comparison
    from analyzer.rounds import compare as compare_all
    from analyzer.rounds.handover import check_output

    check_apart(out, [old, new])
    check_output(out)
    earlier, later = read_review(old), read_review(new)
    said = answers_in(new).over(answers_in(old))
    given = answers_of(answers)
    outcome = compare_all(earlier, later, given.over(said) if given else said)
    index, kept = write_comparison(outcome, out, progress=say)
    say("")
    print(f"{later.told['site']}: {len(earlier.findings)} findings before, {len(later.findings)} now")
    print("outcome: " + ", ".join(f"{count} {OUTCOMES[name]}" for name, count in outcome.counts.items()))
    for one in outcome.limiting:
        print(f"limits the comparison: {one.sentence}")
    tell_kept(kept)
    print(f"comparison: {index}")
    print(f"next: open {index} in a browser and take it to the retest meeting; comparison.csv holds a row per finding")


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
    out: Annotated[Path | None, typer.Option("--out", callback=named, metavar="FILE", help="the page to write")] = None,
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


def evidence(
    folder: Annotated[Path, typer.Argument(metavar="REVIEW", help="the folder of a review")],
    finding: Annotated[str, typer.Argument(metavar="FINDING", help="the id of a finding, as findings.csv names it")],
    exports: Annotated[
        list[str] | None,
        typer.Option("--exports", metavar="EXPORT", help="where the exports are now; by default where they were"),
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", callback=named, metavar="FILE", help="the CSV to write")] = None,
    quiet: Quiet = False,
) -> None:
    """List the raw cells of the exports that a finding rests on, and write them as CSV."""
    say = progress(quiet)
    from analyzer.evidence import evidence_of
    from analyzer.report import limit_in_force

    found = evidence_of(folder, finding, exports, say)
    table = found.write(out or Path(found.name))
    say("")
    print(f"{finding}: {found.finding['title']}")
    print(f"fault when: {found.rule.fault_when.text}")
    used = [limit for limit in found.rule.limits.values() if limit.name in found.rule.fault_when.names]
    limits = [limit_in_force(limit, found.units) for limit in used]
    if limits:
        print("limits: " + ", ".join(f"{limit['name']} = {limit['value']}" for limit in limits))
    for sentence in found.summary():
        print(sentence)
    for sentence in found.notes:
        print(f"changed: {sentence}")
    print(f"evidence: {table}")
    print(f"next: open {table} in a spreadsheet beside the export; each row names the place of its cell")
