"""The ledger: every value cell that was read is used, or set aside for a named reason, and the counts add up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

FORMAT = "trendwright-ledger/1"

# Every reason for which a value cell is set aside. Nothing is dropped under any other name, or none.
REASONS = (
    "unmapped column",
    "missing value",
    "unreadable value",
    "flagged by the source",
    "unreadable timestamp",
    "nonexistent local time",
    "duplicate timestamp",
    "outside physical range",
    "ignored by the point list",
)


@dataclass(frozen=True)
class ExportFile:
    """A file that was read: how it is named, where it lies, and its member where it is an archive.

    ``named`` and ``folders`` are what its place in the call said of it, by which it is read the same way again.
    ``bytes`` and ``sha256`` are of the file as it was read, where that is kept.
    """

    label: str
    name: str
    path: str
    member: str | None = None
    named: bool = False
    folders: tuple[str, ...] = ()
    bytes: int | None = None
    sha256: str | None = None


@dataclass
class ColumnLedger:
    """The account of one point column; ``terminal`` and ``quantity`` are None where it was not mapped."""

    column: str
    terminal: str | None = None
    quantity: str | None = None
    unit: str | None = None
    cells_used: int = 0
    set_aside: dict[str, int] = field(default_factory=dict)

    @property
    def cells_read(self) -> int:
        return self.cells_used + sum(self.set_aside.values())

    def put_aside(self, reason: str, cells: int) -> None:
        """Add cells to a reason; zero cells leave no trace."""
        if reason not in REASONS:
            raise ValueError(f"{reason!r} is not a reason of the ledger")
        if cells:
            self.set_aside[reason] = self.set_aside.get(reason, 0) + int(cells)


@dataclass
class FileLedger:
    """The account of one file: its columns, and the lines in it that are no data."""

    file: str
    columns: list[ColumnLedger] = field(default_factory=list)
    not_data_lines: dict[str, int] = field(default_factory=dict)

    @property
    def cells_used(self) -> int:
        return sum(column.cells_used for column in self.columns)

    @property
    def set_aside(self) -> dict[str, int]:
        return _sum(column.set_aside for column in self.columns)

    @property
    def cells_read(self) -> int:
        return self.cells_used + sum(self.set_aside.values())


@dataclass
class Ledger:
    """The account of one reading: its files, what the reader assumed, and where the files lay."""

    files: list[FileLedger] = field(default_factory=list)
    assumptions: list[str] = field(default_factory=list)
    contract: dict[str, Any] | None = None
    exports: list[ExportFile] = field(default_factory=list)

    @property
    def cells_used(self) -> int:
        return sum(file.cells_used for file in self.files)

    @property
    def set_aside(self) -> dict[str, int]:
        return _sum(file.set_aside for file in self.files)

    @property
    def cells_read(self) -> int:
        return sum(file.cells_read for file in self.files)

    @property
    def not_data_lines(self) -> dict[str, int]:
        return _sum(file.not_data_lines for file in self.files)

    def assume(self, sentence: str) -> None:
        """State an assumption once."""
        if sentence not in self.assumptions:
            self.assumptions.append(sentence)

    def to_dict(self) -> dict[str, Any]:
        """Return the shape that ``ledger.json`` holds."""
        told: dict[str, Any] = {
            "format": FORMAT,
            "cells_read": self.cells_read,
            "cells_used": self.cells_used,
            "set_aside": self.set_aside,
            "not_data_lines": self.not_data_lines,
            "assumptions": list(self.assumptions),
            "files": [
                {
                    "file": file.file,
                    "cells_read": file.cells_read,
                    "cells_used": file.cells_used,
                    "set_aside": file.set_aside,
                    "not_data_lines": dict(file.not_data_lines),
                    "columns": [
                        {
                            "column": column.column,
                            "terminal": column.terminal,
                            "quantity": column.quantity,
                            "unit": column.unit,
                            "cells_used": column.cells_used,
                            "set_aside": dict(column.set_aside),
                        }
                        for column in file.columns
                    ],
                }
                for file in self.files
            ],
        }
        if self.contract is not None:
            told["contract"] = self.contract
        return told


def _sum(counts: Iterable[Mapping[str, int]]) -> dict[str, int]:
    total: dict[str, int] = {}
    for count in counts:
        for name, number in count.items():
            total[name] = total.get(name, 0) + number
    return {name: total[name] for name in (*REASONS, *sorted(set(total) - set(REASONS))) if name in total}
