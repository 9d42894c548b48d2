"""Simulate the planned weeks, judge them at each interval, and set what was found beside what is true."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.building import judge_building
from analyzer.engine.rule import Rule
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.site.hours import parse_week
from analyzer.trends import Trends, in_form, observed_logging
from sample_trends import CATALOGUE, Simulated, simulate
from tests.accuracy.plan import WEATHERS, Week
from tests.accuracy.scoring import relation, with_causes
from tests.accuracy.truth import SHARED, Truth

INTERVALS = (1, 5, 15)  # min
OUTDOOR_AIR_FRACTION = 0.35


@dataclass
class Measured:
    """What was measured.

    Attributes
    ----------
    rules : dict
        The rule book.
    weeks : list of Week
    seeded : DataFrame
        A row for each seeded fault, rule that shows it and interval: ``weather, seed, kind, at, terminal_kind, rule,
        hours, shown, interval, verdict, reason``.
    findings : DataFrame
        A row for each fault verdict: ``weather, seed, interval, terminal, rule, confidence, fault_hours, id, under,
        sound, kind, judged_as, top``. ``sound``: the terminal is; ``judged_as``: see ``tests.accuracy.scoring``;
        ``top``: told for itself.
    """

    rules: dict[str, Rule]
    weeks: list[Week]
    seeded: pd.DataFrame
    findings: pd.DataFrame

    @property
    def sound_weeks(self) -> int:
        return sum(len(week.sound) for week in self.weeks)

    @property
    def terminal_weeks(self) -> int:
        return sum(week.terminals for week in self.weeks)


def measure(weeks: Iterable[Week], progress: Callable[[str], None] = lambda said: None) -> Measured:
    """Simulate and judge weeks, one after another."""
    weeks, rules, seeded, findings = list(weeks), read_rules([rule_book()]), [], []
    for week in weeks:
        progress(f"simulating {week.terminals} terminals in a {week.weather} week, seed {week.seed}")
        simulated = simulated_week(week)
        progress("judging it at " + ", ".join(f"{minutes} min" for minutes in INTERVALS))
        told, found = of_week(week, simulated, rules)
        seeded.append(told)
        findings.append(found)
    return Measured(rules, weeks, pd.concat(seeded, ignore_index=True), pd.concat(findings, ignore_index=True))


def simulated_week(week: Week) -> Simulated:
    """Simulate a week, a sample a minute."""
    start, climate = WEATHERS[week.weather]
    return simulate(
        week.building, week.faults, seed=week.seed, start=start, days=week.days, step_minutes=1, climate=climate
    )


def of_week(week: Week, simulated: Simulated, rules: dict[str, Rule]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the week's seeded faults and findings, as ``Measured`` holds them."""
    truth = seeded_faults(week, simulated)
    seeded, findings = [], []
    for minutes in INTERVALS:
        verdicts, found = judged(week, simulated, minutes, rules)
        told = verdicts.set_index(["terminal", "rule"])[["verdict", "reason"]]
        seeded.append(truth.join(told, on=["at", "rule"]).assign(interval=minutes))
        findings.append(_against_truth(week, found).assign(interval=minutes))
    return pd.concat(seeded, ignore_index=True), pd.concat(findings, ignore_index=True)


def seeded_faults(week: Week, simulated: Simulated) -> pd.DataFrame:
    """Return a row for each seeded fault and rule that shows it, with the hours in which the readings do."""
    truth, rows = Truth(week, simulated), []
    for fault in week.faults:
        for rule in fault.rules:
            for at in [fault.at] if rule == SHARED else week.terminals_of(fault):
                hours = truth.hours(rule, at)
                rows.append((week.weather, week.seed, fault.kind, at, rule, hours, truth.shown(rule, hours)))
    return pd.DataFrame(rows, columns=["weather", "seed", "kind", "at", "rule", "hours", "shown"])


def judged(week: Week, simulated: Simulated, minutes: int, rules: dict[str, Rule]):
    """Judge a week sampled every so many minutes; return the verdicts, and the findings as a DataFrame."""
    scene = Scene(sampled(simulated, minutes, week.building.time_zone), site_of(week))
    judgement = judge_building(scene, rules)
    findings = collect_building(scene, rules, judgement)
    columns = ["terminal", "rule", "confidence", "fault_hours", "id", "under"]
    told = [[getattr(finding, name) for name in columns] for finding in findings]
    return judgement.verdicts, pd.DataFrame(told, columns=columns)


def site_of(week: Week) -> Site:
    return Site(
        time_zone=week.building.time_zone,
        altitude=week.building.altitude,
        schedule=week.building.schedule(),
        outdoor_air_fraction=OUTDOOR_AIR_FRACTION,
        occupied_hours=parse_week({"mon-fri": "07:00-18:00", "sat": "09:00-13:00"}),
    )


def sampled(simulated: Simulated, minutes: int, time_zone: str) -> Trends:
    """Return one-minute readings as a log of every so many minutes has them; a fan's starts are those it shows."""
    terminals, air_handlers = (
        table[table["time"].dt.minute % minutes == 0] for table in (simulated.terminals, simulated.air_handlers)
    )
    terminals, air_handlers = in_form(terminals), in_form(air_handlers)
    status = terminals["fan_status"].to_numpy()
    starts = np.diff(status, prepend=status[:1]) > 0
    starts &= ~(terminals["terminal"] != terminals["terminal"].shift()).to_numpy()
    terminals["fan_starts"] = np.where(np.isnan(status), np.nan, starts)
    return Trends(terminals, air_handlers, observed_logging(terminals), time_zone)


def _against_truth(week: Week, found: pd.DataFrame) -> pd.DataFrame:
    own = {tag: fault.kind for tag, fault in week.faulted.items()} | {fault.at: fault.kind for fault in week.faults}
    kind = found["terminal"].map(own).fillna("").astype(str)
    said = [relation(rule, [CATALOGUE[name]] if name else []) for name, rule in zip(kind, found["rule"], strict=True)]
    return with_causes(
        found.assign(
            weather=week.weather, seed=week.seed, kind=kind, sound=found["terminal"].isin(week.sound), judged_as=said
        )
    )
