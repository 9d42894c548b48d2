"""trendwright: a commissioning trend-log analyzer for VAV terminal units.

>>> import analyzer
>>> site = analyzer.read_site("site.toml")  # doctest: +SKIP
>>> trends = analyzer.read_trends(["exports"], site)  # doctest: +SKIP
>>> analyzer.review(trends, site).write("review")  # doctest: +SKIP
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from analyzer.dataset import Dataset
    from analyzer.errors import UserError
    from analyzer.reviews import Review
    from analyzer.site import Site, read_site
    from analyzer.trends import Trends, Window

    Location = str | Path
    Progress = Callable[[str], None]

__version__ = "0.1.0"
__all__ = ["UserError", "open_trends", "read_site", "read_trends", "review"]

# Name to the module that holds it: imported on first use, so that ``trendwright --help`` answers at once.
_HOME = {"UserError": "analyzer.errors", "read_site": "analyzer.site"}


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(importlib.import_module(_HOME[name]), name)
    raise AttributeError(f"module 'analyzer' has no attribute {name!r}")


def read_trends(
    exports: Location | Iterable[Location], site: Site | None = None, *, progress: Progress | None = None
) -> Trends:
    """Read exports into the normalized table.

    Parameters
    ----------
    exports : path or list of path
        Files, folders, globs or zips; or a table that trendwright normalized: a file, or the folder of a dataset.
    site : Site, optional
        The building; without one stamps are taken as UTC, and that is said.
    progress : callable, optional
        Called with a short sentence at each step.

    Returns
    -------
    Trends
        With the ledger of every cell that was read.

    Raises
    ------
    ExportError, PointListError
        One sentence that says which file, where, and what to do.
    """
    from pathlib import Path

    from analyzer.intake import read_exports
    from analyzer.intake.files.stored import stored_table
    from analyzer.site import Site

    given = [exports] if isinstance(exports, str | Path) else list(exports)
    if (stored := stored_table(given)) is not None:
        from analyzer.dataset import read_normalized

        return read_normalized(stored)
    return read_exports(given, site or Site(), progress=progress)


def open_trends(location: Location, window: Window | None = None) -> Dataset:
    """Look into a normalized table without loading it: a review reads it group by group.

    Parameters
    ----------
    location : path or URL
        A ``trends.parquet``, or the folder of a dataset or of a store that grows, here or in an object store that
        pyarrow or fsspec can reach.
    window : Window, optional
        The only rows to look at.

    Returns
    -------
    Dataset
        In the place of ``Trends``, for ``review``.

    Raises
    ------
    ExportError
        A file of it is no Parquet, or of another format.
    """
    from analyzer.dataset import open_dataset

    return open_dataset(location, window)


def review(trends: Trends | Dataset, site: Site | None = None, *, progress: Progress | None = None) -> Review:
    """Judge every terminal by the rule book; see ``analyzer.reviews.review``."""
    from analyzer.reviews import review as judge_all

    return judge_all(trends, site, progress=progress)
