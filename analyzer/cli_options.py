"""What several commands take and say: options, and how they are read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from analyzer.errors import printable, without_secrets

if TYPE_CHECKING:
    from collections.abc import Callable

    from analyzer.findings import Answers
    from analyzer.ledger import Ledger
    from analyzer.site import Site

    Progress = Callable[[str], None]

Exports = Annotated[list[str], typer.Argument(metavar="EXPORT...", help="files, folders, globs or zips of exports")]
SiteOption = Annotated[
    Path | None,
    typer.Option("--site", help="the site file; by default the site.toml beside or inside the exports"),
]

AnswersOption = Annotated[
    Path | None,
    typer.Option("--answers", metavar="FILE", help="the issue log that was handed back, .xlsx or .csv"),
]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="say nothing while at work")]


def named(path: Any) -> Any:
    """Refuse a name that nothing can be written to, before anything is looked at."""
    from analyzer.staging import check_name
    from analyzer.stores import is_remote

    if path is not None and not is_remote(path):
        check_name(path, remedy="Name another place to write to.")
    return path


def answers_of(path: Path | None) -> Answers | None:
    """Read the issue log that was named, if one was."""
    if path is None:
        return None
    from analyzer.findings import read_answers

    return read_answers(path)


def tell_kept(paths: list[str]) -> None:
    """Say which files of another's were laid aside."""
    for path in paths:
        print(f"kept: {path}, which was changed since it was written, or is not the tool's")


def site_of(path: Path | None, exports: list[str], say: Progress) -> Site:
    """Read the site file that was named, or that lies with the exports; without any, say so."""
    from analyzer.site import Site, read_site

    path = path or site_beside(exports)
    if path is None:
        say("no site file: stamps are taken as UTC, and what needs a schedule is not judged")
        return Site(name=printable(Path(without_secrets(exports[0])).stem) or "Unnamed building")
    return read_site(path)


def site_beside(exports: list[str]) -> Path | None:
    """Return the site file that lies in a folder of exports, or beside a file."""
    for export in exports:
        path = Path(export)
        for candidate in (path / "site.toml", path.parent / "site.toml"):
            if candidate.is_file():
                return candidate
    return None


def inputs_of(exports: list[str], site: Site) -> list[Path]:
    """Return the files and folders that a call reads."""
    files = [site.file, site.terminals_file, site.points_file, site.rules_folder]
    return [*(Path(export) for export in exports), *(path for path in files if path)]


def tell_cells(ledger: Ledger) -> None:
    """Say how many cells were read and used, and why the others were not."""
    if ledger.files:
        read, used = ledger.cells_read, ledger.cells_used
        why = ", ".join(f"{count:,} {reason}" for reason, count in ledger.set_aside.items())
        print(f"values: {read:,} read, {used:,} used, {read - used:,} rejected{f' ({why})' if why else ''}")
