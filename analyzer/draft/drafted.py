"""What was drafted: the whole of it, from which the files and the page are written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from analyzer.draft.documents import Documents
from analyzer.draft.names import Name
from analyzer.intake.tables.date_order import UndecidedDates
from analyzer.site import Site


@dataclass(frozen=True)
class Drafted:
    """A drafted description of a building.

    Attributes
    ----------
    site : Site
        What was known before.
    folder : Path
        Where it will lie.
    names : list of Name
        The doubtful first.
    point_rows : list of list of str
        The cells of ``points.csv`` below its header.
    terminals : DataFrame
        What was inferred of each terminal, with the evidence (:mod:`analyzer.draft.kinds`).
    schedule : DataFrame of str
        The cells of ``terminals.csv``.
    site_text : str
        ``site.toml``.
    units : str
        'ip' or 'si'.
    time_zone : str
    undecided : UndecidedDates or None
        What leaves the order of day and month open.
    documents : Documents or None
        What schedules and balancing reports gave.
    """

    site: Site
    folder: Path
    names: list[Name]
    point_rows: list[list[str]]
    terminals: pd.DataFrame
    schedule: pd.DataFrame
    site_text: str
    units: str
    time_zone: str
    undecided: UndecidedDates | None
    documents: Documents | None = None
