"""Run the weeks, hand their exports over, review them, and set the verdicts beside what was injected."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import pandas as pd

import analyzer
from tests.energyplus import truth
from tests.energyplus.building import AIR_HANDLER, FAN_POWER, ROOMS
from tests.energyplus.export import EXACT, Sensors, write
from tests.energyplus.injections import HOT_SUPPLY, OF_SUPPLY, faults_of
from tests.energyplus.physics import beside_engine, by_formula, deviations
from tests.energyplus.plan import INTERVALS, Week
from tests.energyplus.readings import Readings, readings

FLOW_SETPOINT = "primary_flow_setpoint"  # is in the export, and is not: both ways
AT = 5  # min, of the exports that the physics is compared on
OF_THE_SUPPLY = "zone-too-warm"


@dataclass
class Measured:
    """What was measured.

    Attributes
    ----------
    weeks : list of Week
    injected : DataFrame
        A row for each injected fault, rule that is its own and interval: ``case, weather, kind, terminal, rule, hours,
        shown, interval, trended, verdict, confidence, reason``. ``hours``: in which the engine shows it; ``trended``:
        the flow setpoint is in the export.
    findings : DataFrame
        A row for each fault verdict: ``case, weather, interval, trended, terminal, rule, confidence, fault_hours, sound, kind,
        expected, engine_hours``.
    physics : DataFrame
        Deviations by ``source`` (formula, exact export, export with sensor errors), quantity and kind.
    seconds : dict
        Processor time by part.
    """

    weeks: list[Week]
    injected: pd.DataFrame
    findings: pd.DataFrame
    physics: pd.DataFrame
    seconds: dict[str, float]

    @property
    def sound_weeks(self) -> int:
        return sum(len(week.sound) for week in self.weeks)

    @property
    def terminal_weeks(self) -> int:
        return len(ROOMS) * len(self.weeks)


def measure(
    weeks: Iterable[Week],
    progress: Callable[[str], None] = lambda said: None,
    outputs_of: Callable[[Week], pd.DataFrame] = Week.run,
    intervals: Iterable[int] = INTERVALS,
) -> Measured:
    """Run and review weeks, one after another."""
    weeks, injected, findings, beside, seconds = (
        list(weeks),
        [],
        [],
        [],
        {"the engine": 0.0, "export, reading and review": 0.0},
    )
    for week in weeks:
        progress(f"{week.case}, {week.weather} week: the engine runs")
        outputs = outputs_of(week)
        begun = _processor_time()
        read = readings(outputs, faults_of(week.case))
        with tempfile.TemporaryDirectory(prefix="annex-export-") as folder:
            for minutes, trended in product(intervals, (True, False)):
                place = Path(folder) / f"{minutes}-{trended}"
                verdicts = reviewed(read, place, minutes, week.seed, without=() if trended else (FLOW_SETPOINT,))
                injected.append(_injected(week, read, verdicts).assign(interval=minutes, trended=trended))
                findings.append(_found(week, read, verdicts).assign(interval=minutes, trended=trended))
            if week.case == "sound":
                beside.append(_physics(read, Path(folder), week))
        seconds["the engine"] += outputs.attrs["cpu_seconds"]
        seconds["export, reading and review"] += _processor_time() - begun
    physics = pd.concat(beside, ignore_index=True) if beside else pd.DataFrame()
    if len(physics):
        physics = pd.concat(
            [deviations(part).assign(source=source) for source, part in physics.groupby("source", sort=False)],
            ignore_index=True,
        )
    together = [pd.concat(parts, ignore_index=True) for parts in (injected, findings)]
    flags = {"sound": bool, "expected": bool, "engine_hours": float}  # a week without a finding has no types
    return Measured(weeks, together[0], together[1].astype(flags), physics, seconds)


def _processor_time() -> float:
    return sum(os.times()[:4])


def reviewed(
    read: Readings,
    folder: Path,
    minutes: int,
    seed: int,
    sensors: Sensors | None = None,
    without: tuple[str, ...] = (),
) -> pd.DataFrame:
    """Export, read back and review; return the verdicts. ``without``: quantities that are not in the export."""
    site_file = write(read, folder, minutes=minutes, sensors=sensors or Sensors(), seed=seed, without=without)
    site = analyzer.read_site(site_file)
    return analyzer.review(analyzer.read_trends([folder / "trends.csv"], site), site).verdicts


def _injected(week: Week, read: Readings, verdicts: pd.DataFrame) -> pd.DataFrame:
    told = verdicts.set_index(["terminal", "rule"])
    rows = []
    for tag, rule, kind in _faults(week):
        hours = _shared_hours(read) if tag == AIR_HANDLER else truth.hours_of(rule, read, [tag])[tag]
        verdict = told.loc[(tag, rule)]
        rows.append(
            (week.case, week.weather, kind, tag, rule, hours, truth.shown(rule, hours))
            + (verdict["verdict"], verdict["confidence"], verdict["reason"])
        )
    names = ["case", "weather", "kind", "terminal", "rule", "hours", "shown", "verdict", "confidence", "reason"]
    return pd.DataFrame(rows, columns=names)


def _faults(week: Week) -> list[tuple[str, str, str]]:
    """Return terminal, rule and kind of each fault of a week."""
    if week.case == HOT_SUPPLY:
        of_all = [(room.tag, OF_THE_SUPPLY, HOT_SUPPLY) for room in ROOMS]
        return [*of_all, (AIR_HANDLER, truth.COMMON_CAUSE, HOT_SUPPLY)]
    return [(tag, rule, fault.kind) for tag, fault in faults_of(week.case).items() for rule in fault.shows]


def _shared_hours(read: Readings) -> float:
    """Return the hours that at least half of the rooms are too warm, each by itself."""
    hours = sorted(truth.hours_of(OF_THE_SUPPLY, read).values(), reverse=True)
    return hours[len(hours) // 2]


def _found(week: Week, read: Readings, verdicts: pd.DataFrame) -> pd.DataFrame:
    found = verdicts.loc[verdicts["verdict"] == "fault", ["terminal", "rule", "confidence", "fault_hours"]]
    faults, rows = faults_of(week.case), []
    for row in found.itertuples():
        fault = faults.get(row.terminal)
        kind = HOT_SUPPLY if week.case == HOT_SUPPLY else fault.kind if fault else ""
        own = OF_SUPPLY if week.case == HOT_SUPPLY else (*fault.shows, *fault.also) if fault else ()
        hours = None if row.terminal == AIR_HANDLER else truth.hours_of(row.rule, read, [row.terminal])[row.terminal]
        rows.append((week.case, week.weather, row.terminal in week.sound, kind, row.rule in own, hours))
    extra = pd.DataFrame(
        rows, columns=["case", "weather", "sound", "kind", "expected", "engine_hours"], index=found.index
    )
    return pd.concat([found, extra], axis=1)


def _physics(read: Readings, folder: Path, week: Week) -> pd.DataFrame:
    at = read.truth[read.truth["time"].dt.minute % AT == 0]
    parts = [by_formula(at, FAN_POWER).assign(source="formula")]
    for source, sensors in {"exact export": EXACT, "export with sensor errors": Sensors()}.items():
        site_file = write(read, folder / source, minutes=AT, sensors=sensors, seed=week.seed)
        site = analyzer.read_site(site_file)
        trends = analyzer.read_trends([folder / source / "trends.csv"], site)
        parts.append(beside_engine(trends, site, at).assign(source=source))
    return pd.concat(parts, ignore_index=True)
