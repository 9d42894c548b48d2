"""A review's folder read back: what it found, judged and was told of the site; its trends only when asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pandas as pd

from analyzer.dataset import kept_trends, logging_of, read_normalized
from analyzer.errors import CallError
from analyzer.findings.results import VERDICT_COLUMNS
from analyzer.findings.tables import FORMAT
from analyzer.formulas import KEPT
from analyzer.quantities import TERMINAL
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.site.stored import read_stored_site
from analyzer.stores import Location, is_remote
from analyzer.trends import Trends, Window
from analyzer.validation import read_stored

NEEDED = ("findings.json", "verdicts.csv", "site.json")


@dataclass(frozen=True)
class StoredReview:
    """A review's folder.

    Attributes
    ----------
    folder : Path
    told : dict
        ``findings.json``.
    verdicts : DataFrame
        ``verdicts.csv``, all text but the hours; indexed by terminal and rule.
    site : Site
    """

    folder: Path
    told: dict
    verdicts: pd.DataFrame
    site: Site

    @cached_property
    def findings(self) -> dict[str, dict]:
        """The findings by id, ranked, as ``findings.json`` holds them."""
        return {finding["id"]: finding for finding in self.told["findings"]}

    @cached_property
    def period(self) -> tuple[pd.Timestamp, pd.Timestamp]:
        """The first and last moment of the trends, in the site's zone."""
        first, last = (pd.Timestamp(self.told["period"][edge]) for edge in ("from", "to"))
        return first.tz_convert(self.site.time_zone), last.tz_convert(self.site.time_zone)

    @cached_property
    def logging(self) -> pd.DataFrame:
        """How often each point was logged [s], a row per terminal; without reading the trends."""
        return logging_of(self._kept[0])

    @property
    def terminals(self) -> list[str]:
        """The terminals that have trends."""
        return list(self.logging.index)

    @property
    def _kept(self) -> tuple[Location, Window]:
        return kept_trends(self.folder / "trends.parquet")

    def schedule(self, terminal: str) -> dict:
        """Return a terminal's row of the schedule; empty where it is in none."""
        return self._schedule.get(terminal, {})

    @cached_property
    def _schedule(self) -> dict[str, dict]:
        return self.site.schedule.to_dict("index")

    def air_handler(self, terminal: str) -> str | None:
        """Return the air handler on which a terminal hangs, if the schedule says."""
        found = self.schedule(terminal).get("air_handler")
        return found if isinstance(found, str) and found else None

    @cached_property
    def air_handlers(self) -> pd.DataFrame:
        """The air handlers' points, as ``Trends.air_handlers`` holds them."""
        return self.trends([]).air_handlers

    def trends(self, terminals: list[str] | None = None) -> Trends:
        """Read the trends, of some terminals or of all."""
        location, window = self._kept
        return read_normalized(location, terminals, window)

    def scene(self, trends: Trends) -> Scene:
        """Return the scene on which signals of the trends are worked out."""
        return Scene(trends, self.site)


def read_review(folder: str | Path) -> StoredReview:
    """Read a review's folder.

    Raises
    ------
    CallError
        It is no folder, no review's folder, or one that an earlier version wrote.
    SiteError
        Its ``site.json`` is damaged.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise CallError(folder, "there is no such folder", "Name the folder of a review, such as review.")
    missing = [name for name in NEEDED if not (folder / name).is_file()]
    kept, _ = kept_trends(folder / "trends.parquet")
    if not is_remote(kept) and not Path(kept).exists():
        missing.append("trends.parquet")
    if missing:
        raise CallError(
            folder, f"is no review's folder: it holds no {missing[0]}",
            "Name a folder that 'trendwright review' wrote; if an earlier version wrote it, review the exports again.",
        )  # fmt: skip
    found = read_stored(folder / "findings.json", FORMAT, CallError, "Review the exports again.")
    return StoredReview(folder, found, _verdicts(folder / "verdicts.csv"), read_stored_site(folder / "site.json"))


def _verdicts(path: Path) -> pd.DataFrame:
    try:
        table = pd.read_csv(path, keep_default_na=False, dtype=str)
        table = table.astype({"judged_hours": float, "fault_hours": float})[VERDICT_COLUMNS]
    except (OSError, ValueError, KeyError) as error:
        raise CallError(path, f"cannot be read as verdicts ({error})", "Review the exports again.") from None
    for name in ("terminal", "reason"):  # as they were before a spreadsheet was kept from taking them for formulas
        table[name] = table[name].str.replace(KEPT, "", regex=True)
    return table.set_index(["terminal", "rule"], drop=False)


def points_of(logging: pd.DataFrame, terminal: str) -> dict[str, float]:
    """Return a terminal's trended points and how often each was logged [s]."""
    if terminal not in logging.index:
        return {}
    row = logging.loc[terminal]
    return {name: float(row[name]) for name in TERMINAL if row[name] == row[name]}
