"""The commands before a review: draft, normalize. Everything heavy is imported on use."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.call import SchedulesOption
from analyzer.cli_options import Exports, Quiet, SiteOption, inputs_of, named, site_beside, site_of, tell_cells
from analyzer.errors import CallError
from analyzer.progress import progress

if TYPE_CHECKING:
    from collections.abc import Callable

    from analyzer.ledger import Ledger
    from analyzer.site import Site

    Progress = Callable[[str], None]


def draft(
    exports: Exports,
    site: SiteOption = None,
    schedule: SchedulesOption = None,
    out: Annotated[Path, typer.Option("--out", callback=named, help="the folder for the files")] = Path("draft"),
    quiet: Quiet = False,
) -> None:
    """Propose a site file, a terminal schedule and a point list from the exports, for you to correct."""
    say = progress(quiet)
    from analyzer.draft import FILES
    from analyzer.draft import draft as propose
    from analyzer.site import read_site

    path = site or site_beside(exports)
    to_check = propose(exports, read_site(path) if path else None, out, say, schedule or ())
    say("")
    for sentence in to_check:
        print(f"check: {sentence}")
    print(f"written: {', '.join(str(path) for path in sorted(out.iterdir()) if path.name in FILES)}")
    print(
        f"next: correct them, best in a browser ({out / 'index.html'}), then "
        f"trendwright review {' '.join(exports)} --site {out / 'site.toml'}"
    )


def normalize(
    exports: Exports,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", callback=named, help="the file to write, such as trends.parquet, or a folder for a dataset"
        ),
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option("--into", metavar="STORE", callback=named, help="the store to lay them into, week by week"),
    ] = None,
    corrects: Annotated[
        bool, typer.Option("--corrects", help="take exports that contradict most of what the store holds")
    ] = False,
    site: SiteOption = None,
    quiet: Quiet = False,
) -> None:
    """Read exports into the normalized table and the ledger, and judge nothing; or lay them into a store that grows."""
    if (out is None) == (into is None):
        raise CallError(
            "--out, --into", "one of them is needed, and only one",
            "Name a file or a folder with --out, or a store that grows with --into.",
        )  # fmt: skip
    if corrects and into is None:
        raise CallError("--corrects", "is given without a store", "Name the store with --into.")
    say = progress(quiet)
    building = site_of(site, exports, say)
    if into is not None:
        _lay_into(into, exports, building, corrects, say)
    elif out is not None:
        _write_table(out, exports, building, say)


def _write_table(out: Path, exports: list[str], site: Site, say: Progress) -> None:
    from analyzer import read_trends
    from analyzer.normalized import check_output, write_normalized

    check_output(out, inputs_of(exports, site))
    trends = read_trends(exports, site, progress=say)
    written = write_normalized(trends, out)
    say("")
    _tell_read(trends.ledger)
    print(f"written: {', '.join(str(path) for path in written)}")
    print(f"next: trendwright review {out}")


def _lay_into(store: Path, exports: list[str], site: Site, corrects: bool, say: Progress) -> None:
    from analyzer import read_trends
    from analyzer.trend_store import check_store, deliver

    check_store(store, [Path(export) for export in exports])
    trends = read_trends(exports, site, progress=say)
    done = deliver(trends, store, site, corrects=corrects, progress=say)
    say("")
    _tell_read(trends.ledger)
    changes = done.changes
    print(
        f"delivery {done.number}: {changes.rows:,} new rows with {changes.values:,} values; of rows that were there, "
        f"{changes.completed:,} cells filled, {changes.corrected:,} corrected, {changes.agreed:,} the same"
    )
    if changes.corrected:
        print(
            f"corrected: before and after stand in {store / 'deliveries' / f'{done.number:04}' / 'corrections.parquet'}"
        )
    print(f"written: {store}, the weeks from {', '.join(done.weeks[:3])}{' ...' if len(done.weeks) > 3 else ''}")
    print(f"next: trendwright review {store}{f' --site {site.file}' if site.file else ''} --last 1w")


def _tell_read(ledger: Ledger) -> None:
    tell_cells(ledger)
    for sentence in ledger.assumptions:
        print(f"assumed: {sentence}")
