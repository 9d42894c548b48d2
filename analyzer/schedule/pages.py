"""PDF pages with text as grids of cells."""

from __future__ import annotations

from analyzer.errors import ScheduleError
from analyzer.schedule.cells import Grid


def pdf_grids(data: bytes, name: str) -> list[Grid]:
    raise ScheduleError(name, "PDF", "todo")
