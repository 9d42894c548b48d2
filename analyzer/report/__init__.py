"""The findings report: an index and a page per terminal, to be opened from the file system."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from analyzer.report.names import page_name

__all__ = ["page_name", "write_report"]


def write_report(results, folder: Path, *, progress: Callable[[int, int], None] | None = None) -> None:
    """Write ``index.html``, ``terminals/`` and ``assets/`` into an existing folder.

    Parameters
    ----------
    results : analyzer.findings.results.Results
        What the review came to.
    folder : Path
        An existing folder; the index links the review's other files as lying beside it.
    progress : callable, optional
        Called with (pages written, pages in all) after each terminal page.
    """
    from analyzer.report.pages import write_pages

    write_pages(results, Path(folder), progress)
