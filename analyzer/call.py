"""How the call is written: an option that takes several files after it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperCommand

_SEVERAL = "--schedule"
SchedulesOption = Annotated[
    list[Path] | None,
    typer.Option(_SEVERAL, metavar="FILE...", help="schedules and balancing reports: .xlsx, .csv, .tsv, .pdf"),
]


class WithSchedules(TyperCommand):
    """A command whose ``--schedule`` takes all files up to the next option."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Give every file its own option, as the parser of calls wants it."""
        return super().parse_args(ctx, spread(args))


def spread(args: list[str]) -> list[str]:
    """Write the option before every file that follows it, where an export stands before the first of them.

    Examples
    --------
    >>> spread(["exports", "--schedule", "m601.xlsx", "balance.pdf", "--out", "draft"])
    ['exports', '--schedule', 'm601.xlsx', '--schedule', 'balance.pdf', '--out', 'draft']
    """
    if _SEVERAL not in args or args.index(_SEVERAL) == 0:
        return args
    found: list[str] = []
    after = taken = False
    for arg in args:
        if arg == _SEVERAL:
            after, taken = True, False
        elif arg.startswith("-"):
            after = False
        elif after and taken:
            found.append(_SEVERAL)
        else:
            taken = after
        found.append(arg)
    return found
