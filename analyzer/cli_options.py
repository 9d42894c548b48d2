"""What several commands take and say: options, and how they are read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from analyzer.findings import Answers

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
