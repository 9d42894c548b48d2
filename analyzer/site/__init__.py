"""The building as its people describe it: site file, terminal schedule, occupied hours."""

from __future__ import annotations

from pathlib import Path

from analyzer.site.model import Accuracy, Site, Tariff

__all__ = ["Accuracy", "Site", "Tariff", "read_site"]


def read_site(path: str | Path) -> Site:
    """Read ``site.toml`` and the terminal schedule that it names.

    Parameters
    ----------
    path : path
        The site file, or a folder that holds one named ``site.toml``.

    Returns
    -------
    Site
        Validated, in SI.

    Raises
    ------
    SiteError, ScheduleError
        All mistakes of one file in one sentence.
    """
    from analyzer.site.site_file import read

    return read(path)
