"""The findings report: an index and a page per terminal, to be opened from the file system."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from analyzer.report.names import page_name

__all__ = ["page_name", "write_report"]


def write_report(results, folder: Path, *, crew=None, progress: Callable[[int, int], None] | None = None) -> None:
    """Write ``index.html``, ``terminals/`` and ``assets/`` into an existing folder.

    Parameters
    ----------
    results : analyzer.findings.results.Results
        What the review came to.
    folder : Path
        An existing folder; the index links the review's other files as lying beside it.
    crew : analyzer.crew.Crew, optional
        Who writes the terminals' pages; this process where not given.
    progress : callable, optional
        Called with (pages written, pages in all) as terminal pages are written.
    """
    from analyzer.crew import Alone
    from analyzer.report.pages import write_index, write_terminal_pages

    write_terminal_pages(results, Path(folder), crew or Alone(), progress)
    write_index(results, Path(folder))
