"""Labelled cases as data: one terminal, a few days, each trend written as what it was from which time on.

A case file is named after its rule. Each ``[[case]]`` holds:

expect          "fault", "clear" or "not-judged"; ``confidence``, ``severity`` and a piece of the ``reason`` where they
                matter
schedule        the terminal's row of the schedule: numbers in SI
days, interval  how long and how often (default one day, a Monday in winter, every 5 minutes)
on_change       points that were logged on every change; ``fan_starts`` then come from the events of the pattern
trends          quantity to {"HH:MM" = value}: in force from that time of each day on. A value is a number, "none",
                "A/B every N min" (A for N minutes, then B for N minutes, and so on), "A to B" (a straight line over
                all days), "A swinging B every N min" (a sine of that amplitude and period about A; ", M min ahead"
                shifts it) or "A with noise B" (evenly spread, always the same). "day N HH:MM" = value holds from that
                moment of the Nth day (from 1) on, over what each day holds, until another such key; "usual" ends it.
logged          quantity to [first, last]: the days, from 1, on which it was logged; missing on the others
policy          what the owner allows, degC: { heating = [20, 22] }
air_handler     the same for the air handler's points
companions      trends of further terminals (TU-2, TU-3 ...) with the same row of the schedule
alike           so many further terminals with the trends of the first, after the companions
excluded        windows left out of judging at all terminals: [from, to, why], in local time
by              for a rule that judges air handlers: the rule whose faults are shared
judged          the tag of what is judged, where it is not the first terminal or its air handler
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site.hours import parse_week
from analyzer.site.model import Exclusion, Site, empty_schedule
from analyzer.trends import AIR_HANDLER_COLUMNS, TERMINAL_COLUMNS, Trends, in_form, no_air_handlers

FOLDER = Path(__file__).parent / "cases"
START = pd.Timestamp("2026-01-12", tz="America/Chicago")  # a Monday
TERMINAL_TAG, AIR_HANDLER_TAG = "TU-1", "AHU-1"
_KEYS = {
    "name", "expect", "confidence", "reason", "schedule", "days", "interval", "on_change", "trends", "air_handler",
    "occupied", "setpoints", "rule_changes", "evidence", "severity", "companions", "by", "logged", "policy",
    "alike", "judged", "excluded",
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One labelled case."""

    rule: str
    told: dict

    def __str__(self) -> str:
        return f"{self.rule}: {self.told['name']}"


def all_cases() -> list[Case]:
    """Return every case of every rule."""
    return [case for file in sorted(FOLDER.glob("*.toml")) for case in cases_of(file)]


def cases_of(file: Path) -> list[Case]:
    """Return the cases of one file; an unknown key is a mistake of the case."""
    cases = [Case(file.stem, told) for told in tomllib.loads(file.read_text("utf-8"))["case"]]
    for case in cases:
        assert set(case.told) <= _KEYS, f"{case}: unknown keys {set(case.told) - _KEYS}"
    return cases


def site_of(case: Case) -> Site:
    """Return the building of a case: one terminal, occupied from 07:00 to 18:00 on weekdays unless told otherwise."""
    row = {
        "kind": "single-duct",
        "distribution": "overhead",
        "air_handler": AIR_HANDLER_TAG,
        **case.told.get("schedule", {}),
    }
    tags = tags_of(case)
    schedule = empty_schedule().reindex(tags)
    schedule.index.name = "terminal"
    for name, value in row.items():
        schedule[name] = schedule[name].astype(object if isinstance(value, str) else float)
        schedule.loc[tags, name] = value
    hours = case.told.get("occupied", {"mon-fri": "07:00-18:00"})
    return Site(
        time_zone="America/Chicago",
        schedule=schedule,
        occupied_hours=parse_week(hours) if hours else None,
        setpoints=case.told.get("setpoints", {}),
        policy={side: tuple(band) for side, band in case.told.get("policy", {}).items()},
        excluded=tuple(
            Exclusion(pd.Timestamp(start, tz=START.tz), pd.Timestamp(end, tz=START.tz), why)
            for start, end, why in case.told.get("excluded", [])
        ),
        rule_changes={case.rule: case.told["rule_changes"]} if "rule_changes" in case.told else {},
    )


def tags_of(case: Case) -> list[str]:
    """Return the tags of a case's terminals."""
    return [f"TU-{number}" for number, _ in enumerate(_told_of_each(case), 1)]


def _told_of_each(case: Case) -> list[dict]:
    """The trends of each terminal, as the case says them."""
    first = case.told["trends"]
    return [first, *case.told.get("companions", []), *[first] * case.told.get("alike", 0)]


def trends_of(case: Case) -> Trends:
    """Return the trends of a case."""
    minutes = _minutes(case.told.get("interval", "5 min"))
    moments = pd.date_range(START, periods=int(case.told.get("days", 1) * 1440 / minutes), freq=f"{minutes}min")
    on_change = case.told.get("on_change", [])
    told = dict(zip(tags_of(case), _told_of_each(case), strict=True))
    table = pd.concat([_terminal(case, tag, trends, moments, on_change) for tag, trends in told.items()])
    logging = pd.DataFrame(np.nan, index=list(told), columns=list(TERMINAL))
    for tag in told:
        there = table.loc[table["terminal"] == tag, list(TERMINAL)].notna().any()
        logging.loc[tag, there[there].index] = minutes * 60.0
    logging[on_change] = 0.0
    if "fan_status" in on_change:
        logging["fan_starts"] = 0.0
    return Trends(in_form(table), _air_handlers(case, moments), logging, "America/Chicago")


def _terminal(case: Case, tag: str, trends: dict, moments, on_change) -> pd.DataFrame:
    columns = {name: np.full(len(moments), np.nan) for name in TERMINAL}
    local = moments.tz_localize(None).normalize()
    day = np.asarray((local - local[0]).days) + 1
    for name, told in trends.items():
        assert name in TERMINAL, f"{case}: {name} is no trend"
        first, last = case.told.get("logged", {}).get(name, (1, np.inf))
        columns[name] = np.where((day < first) | (day > last), np.nan, _series(told, moments))
    if "fan_status" in trends and "fan_starts" not in trends:
        columns["fan_starts"] = _starts(trends["fan_status"], moments, events="fan_status" in on_change)
    return pd.DataFrame({"terminal": tag, "time": moments.tz_convert("UTC")} | columns)[TERMINAL_COLUMNS]


def _air_handlers(case: Case, moments) -> pd.DataFrame:
    if "air_handler" not in case.told:
        return no_air_handlers()
    columns = {name: np.full(len(moments), np.nan) for name in AIR_HANDLER}
    for name, told in case.told["air_handler"].items():
        assert name in AIR_HANDLER, f"{case}: {name} is no point of an air handler"
        columns[name] = _series(told, moments)
    table = pd.DataFrame({"air_handler": AIR_HANDLER_TAG, "time": moments.tz_convert("UTC")} | columns)
    return in_form(table[AIR_HANDLER_COLUMNS])


def _series(told, moments: pd.DatetimeIndex) -> np.ndarray:
    if not isinstance(told, dict):
        told = {"00:00": told}
    minute = (moments.hour * 60 + moments.minute).to_numpy()
    day = (moments.normalize() - moments[0].normalize()).days.to_numpy()
    values = np.full(len(moments), np.nan)
    once = [clock for clock in told if clock.startswith("day ")]
    for clock in [clock for clock in told if clock not in once]:
        rows = minute >= _minute(clock)
        values[rows] = _value(told[clock], moments)[rows]
    usual = values.copy()
    for when in once:
        _, number, clock = when.split()
        rows = (day * 1440 + minute) >= (int(number) - 1) * 1440 + _minute(clock)
        values[rows] = usual[rows] if told[when] == "usual" else _value(told[when], moments)[rows]
    return values


def _minute(clock: str) -> int:
    hour, part = map(int, clock.split(":"))
    return hour * 60 + part


def _value(value, moments: pd.DatetimeIndex) -> np.ndarray:
    if isinstance(value, int | float):
        return np.full(len(moments), float(value))
    if value == "none":
        return np.full(len(moments), np.nan)
    if match := re.fullmatch(r"([-\d.]+) to ([-\d.]+)", value):
        return np.linspace(float(match[1]), float(match[2]), len(moments))
    if match := re.fullmatch(r"([-\d.]+) swinging ([\d.]+) every ([\d.]+) min(?:, ([\d.]+) min ahead)?", value):
        minutes = (moments - moments[0]).total_seconds().to_numpy() / 60 + float(match[4] or 0)
        return float(match[1]) + float(match[2]) * np.sin(2 * np.pi * minutes / float(match[3]) + 0.4)
    if match := re.fullmatch(r"([-\d.]+) with noise ([\d.]+)", value):
        spread = np.random.default_rng(1).uniform(-1.0, 1.0, len(moments))
        return float(match[1]) + float(match[2]) * spread
    match = re.fullmatch(r"([-\d.]+)/([-\d.]+) every ([\d.]+) min", value)
    assert match, f"{value!r} is no value of a case"
    elapsed = (moments - moments[0]).total_seconds().to_numpy() / 60
    first = (elapsed // float(match[3])) % 2 == 0
    return np.where(first, float(match[1]), float(match[2]))


def _starts(told, moments: pd.DatetimeIndex, *, events: bool) -> np.ndarray:
    """Count starts since the previous row: as the samples show them, or as events of the pattern every few seconds."""
    if not events:
        status = _series(told, moments)
        return np.concatenate([[0.0], (np.diff(status) > 0.5).astype(float)])
    fine = pd.date_range(moments[0], moments[-1], freq="10s")
    status = _series(told, fine)
    begins = np.flatnonzero(np.diff(status) > 0.5) + 1
    rows = np.searchsorted(moments.asi8, fine[begins].asi8)
    return np.bincount(rows, minlength=len(moments)).astype(float)


def _minutes(text: str) -> float:
    return float(text.removesuffix(" min"))
