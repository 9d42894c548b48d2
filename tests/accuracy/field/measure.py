"""Review field periods and set what came out beside what is true."""

from __future__ import annotations

import hashlib
import pickle
import tempfile
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pandas as pd

import analyzer
from analyzer.reviews import review
from sample_trends.field import Logged, Period, simulate_field
from sample_trends.field.files import write_field_exports
from tests.accuracy.field.clear import asked_clear
from tests.accuracy.field.score import scored, table_of, with_verdicts
from tests.accuracy.field.sites import site_of, trends_of
from tests.accuracy.field.truth import Truth

SOURCES = Path(__file__).resolve().parents[3] / "sample_trends"
KEPT = Path(tempfile.gettempdir()) / "trendwright-field-kept"
MOST_AGE = 86400.0  # s: what was kept longer is thrown away


@dataclass
class OfPeriod:
    """What one period came to: see ``MeasuredField`` for the tables."""

    period: Period
    seeded: pd.DataFrame
    findings: pd.DataFrame
    clear: pd.DataFrame
    sound_weeks: float
    terminal_weeks: float
    verdicts: pd.Series


@dataclass
class MeasuredField:
    """What was measured over all periods.

    Attributes
    ----------
    seeded : DataFrame
        ``seed, kind, at, rule, hours, shown, verdict, reason, told``.
    findings : DataFrame
        ``score.COLUMNS`` and ``seed, judged_as, top, kind``.
    clear : DataFrame
        ``seed, scenario, terminal, rule, verdict, reason``.
    """

    periods: list[OfPeriod]

    def _joined(self, name: str) -> pd.DataFrame:
        return pd.concat([getattr(of, name).assign(seed=of.period.seed) for of in self.periods], ignore_index=True)

    @property
    def seeded(self) -> pd.DataFrame:
        return self._joined("seeded")

    @property
    def findings(self) -> pd.DataFrame:
        return self._joined("findings")

    @property
    def clear(self) -> pd.DataFrame:
        return self._joined("clear")

    @property
    def sound_weeks(self) -> float:
        return sum(of.sound_weeks for of in self.periods)

    @property
    def terminal_weeks(self) -> float:
        return sum(of.terminal_weeks for of in self.periods)


class _NoContract:
    """In the place of the check of the table's contract, which takes seconds and is not what is measured."""

    def take(self, _) -> None:
        pass


def measure_field(
    periods: Iterable[Period],
    progress: Callable[[str], None] = lambda said: None,
    workers: int = 1,
    through: Path | None = None,
) -> MeasuredField:
    """Simulate (or take what was kept of an earlier run) and review periods; the order is theirs.

    ``through``: write each as raw files into a folder below this one, and read those.
    """
    periods, one = list(periods), partial(of_period, through=through)
    if workers == 1:
        return MeasuredField([_say(one(period), progress) for period in periods])
    with ProcessPoolExecutor(workers) as pool:
        return MeasuredField([_say(of, progress) for of in pool.map(one, periods)])


def _say(of: OfPeriod, progress) -> OfPeriod:
    period, shown = of.period, of.seeded[of.seeded["shown"]]
    progress(
        f"seed {period.seed}: {len(period.building.terminals)} terminals, {period.days:g} days of {period.minutes} min, "
        f"{period.season}{', sound' if period.sound_building else ''}: {int(shown['told'].sum())} of {len(shown)} told, "
        f"{int(of.findings['top'].sum())} top-level findings"
    )
    return of


def of_period(period: Period, through: Path | None = None) -> OfPeriod:
    """Simulate, log, review and score one period."""
    logged = kept(period)
    if through is None:
        return score_period(logged, trends_of(logged), site_of(period))
    folder = write_field_exports(logged, through / f"seed-{period.seed}")
    site = analyzer.read_site(folder / "site.toml")
    return score_period(logged, analyzer.read_trends([folder], site), site)


def score_period(logged: Logged, trends, site) -> OfPeriod:
    """Review trends of a logged period, however they came here, and set the outcome beside the truth."""
    truth, period = Truth(logged), logged.period
    results = review(trends, site, contract=_NoContract()).results
    findings = scored(truth, table_of(results.findings))
    seeded = with_verdicts(truth, truth.seeded, findings, results.verdicts)
    told = results.verdicts.drop_duplicates(["terminal", "rule"]).set_index(["terminal", "rule"])[["verdict", "reason"]]
    clear = asked_clear(truth).join(told, on=["terminal", "rule"])
    weeks = period.days / 7
    return OfPeriod(
        period, seeded, findings, clear, len(truth.sound) * weeks, len(truth.table) * weeks,
        results.verdicts["verdict"].value_counts(),
    )  # fmt: skip


def kept(period: Period) -> Logged:
    """Return a simulated period; kept in a file of the temporary folder until the simulator changes."""
    drawn = (
        period.seed,
        period.days_given,
        period.terminals_given,
        period.standing,
        period.all_logged,
        period.minutes_given,
        "+".join(period.only),
    )
    name = hashlib.sha256("-".join(map(str, drawn)).encode()).hexdigest()[:12]
    file = KEPT / f"{_version()}-{period.seed}-{name}.pickle"
    if file.exists():
        return pickle.loads(file.read_bytes())
    logged = simulate_field(period)
    KEPT.mkdir(exist_ok=True)
    for old in KEPT.glob("*.pickle"):
        if time.time() - old.stat().st_mtime > MOST_AGE:
            old.unlink(missing_ok=True)
    own = file.with_suffix(f".{id(logged)}")
    own.write_bytes(pickle.dumps(logged))
    own.replace(file)
    return logged


def _version() -> str:
    code = b"".join(file.read_bytes() for file in sorted(SOURCES.rglob("*.py")) if file.stem != "files")
    return hashlib.sha256(code).hexdigest()[:12]
