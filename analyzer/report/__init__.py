"""The findings report: an index and a page per terminal, to be opened from the file system.

Other rooms ask this room for names, not its modules; each is loaded on first use.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.faces import handed_out
from analyzer.report.names import page_name

if TYPE_CHECKING:
    from analyzer.report.accounts import limit_in_force
    from analyzer.report.frame import ASSETS, page_environment, write_assets
    from analyzer.report.names import functional_test_page, functional_test_place, natural_key, page_name
    from analyzer.report.notebook import review_html, terminal_chart
    from analyzer.report.one_file import in_one_file
    from analyzer.report.pages import LEDGER_COLUMNS, write_index, write_summary, write_terminal_pages
    from analyzer.report.series import not_trended
    from analyzer.report.words import plural

__all__ = [
    "ASSETS",
    "LEDGER_COLUMNS",
    "functional_test_page",
    "functional_test_place",
    "in_one_file",
    "limit_in_force",
    "natural_key",
    "not_trended",
    "page_environment",
    "page_name",
    "plural",
    "review_html",
    "terminal_chart",
    "words",
    "write_assets",
    "write_index",
    "write_report",
    "write_summary",
    "write_terminal_pages",
]

INSIDE = {
    "accounts": ("limit_in_force",),
    "frame": ("ASSETS", "page_environment", "write_assets"),
    "names": ("functional_test_page", "functional_test_place", "natural_key", "page_name"),
    "notebook": ("review_html", "terminal_chart"),
    "one_file": ("in_one_file",),
    "pages": ("LEDGER_COLUMNS", "write_index", "write_summary", "write_terminal_pages"),
    "series": ("not_trended",),
    "words": ("plural",),
}
__getattr__ = handed_out(__name__, INSIDE)


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
