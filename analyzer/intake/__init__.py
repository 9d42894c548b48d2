"""Intake: any contractor's export read into the normalized table, with a ledger that balances to the cell."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analyzer.site import Site
    from analyzer.trends import Trends

__all__ = ["read_exports"]


def read_exports(exports: Sequence[str | Path], site: Site, *, progress: Callable[[str], None] | None = None) -> Trends:
    """Read exports into the normalized table.

    Parameters
    ----------
    exports : list of str or path
        Files, folders (read with everything below them), globs or zip archives.
    site : Site
        The building: its time zone, schedule, point list and date order. ``Site()`` where there is no site file.
    progress : callable, optional
        Told one short line per file on long reads.

    Returns
    -------
    Trends
        SI, UTC, with ``ledger`` filled: every value cell is used or set aside for a named reason.

    Raises
    ------
    ExportError
        Nothing to read, a file that cannot be read, stamps that can be read two ways, or no point recognized.
    PointListError
        The point list has a mistake.
    """
    from analyzer.intake.reading import read

    with _no_search_for_garbage():
        return read(exports, site, progress or (lambda line: None))


@contextmanager
def _no_search_for_garbage() -> Iterator[None]:
    """Put the search for garbage off: a read makes many small objects that live as long as it does, and no circles."""
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.enable()
