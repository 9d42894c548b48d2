"""An invented building for the report's tests: trends that look like trends, and a review's outcome made up to match.

Every number here comes from a formula over time and the terminal's number, so a page is the same in every run. The
verdicts are made up (this is no test of the rules); what the report owes is to show them as they are.
"""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.engine.rule import Limit, Rule
from analyzer.engine.wording import Passage, Wording
from analyzer.findings.results import REQUEST_COLUMNS, VERDICT_COLUMNS, Episode, Finding, Measure, Results
from analyzer.judged import completeness_of
from analyzer.ledger import ColumnLedger, FileLedger, Ledger
from analyzer.quantities import TERMINAL
from analyzer.signals import Scene
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import TERMINAL_COLUMNS, Trends, in_form, no_air_handlers

ZONE = "America/Chicago"
# Tags as a careless export may spell them: markup, a path, signs, two that differ in case alone.
A_PAGE = "VAV-1-04.html"  # a parallel terminal with a finding of three episodes
AWKWARD = [
    '<b>VAV & "9"</b>',
    "../../etc/passwd",
    "vav-1-1",
    "Büro Ost/3 {{ 7*7 }}",
    "</script><script>alert(1)</script>",
]
KINDS = ("parallel", "series", "single-duct")
RULES = (
    ("fan-short-cycling", "Terminal fan short-cycles", "equipment", "high", ("parallel",)),
    ("reheat-during-cooling", "Reheat is open while the zone calls for cooling", "energy", "high", KINDS),
    ("primary-below-ventilation-minimum", "Outdoor air under the ventilation minimum", "ventilation", "urgent", KINDS),
    ("zone-too-cold", "Zone colder than its heating setpoint", "comfort", "medium", KINDS),
    ("sensor-flatlined", "A reading does not move", "data", "low", KINDS),
)  # fmt: skip
MORE_RULES = [(f"spare-rule-{i:02d}", f"Spare rule number {i}", "energy", "low", KINDS) for i in range(1, 31)]


def invented_results(
    *,
    terminals: int = 12,
    days: int = 7,
    minutes: int = 5,
    units: str = "ip",
    start: str = "2026-01-12",
    awkward: bool = False,
    more_rules: int = 0,
    fault_free: bool = False,
    air_handlers: int = 2,
) -> Results:
    """Make the results of a review of an invented building.

    Parameters
    ----------
    terminals, days, minutes, air_handlers, more_rules : int
        Its size: terminals, length and interval of the trends, air handlers, rules beyond the usual five.
    units : str
        'ip' or 'si'.
    start : str
        The first day, local; choose one beside a clock change to see how it is shown.
    awkward : bool
        Name the first terminals as no one should.
    fault_free : bool
        Find nothing.
    """
    tags = [f"VAV-{1 + i % air_handlers}-{1 + i // air_handlers:02d}" for i in range(terminals)]
    if awkward:
        tags[: len(AWKWARD)] = AWKWARD
    schedule = _schedule(tags, air_handlers)
    site = Site(name="Quillfeather House", time_zone=ZONE, units=units, schedule=schedule)
    first = pd.Timestamp(start, tz=ZONE).tz_convert("UTC")
    times = pd.date_range(first, periods=days * 24 * 60 // minutes, freq=f"{minutes}min")
    table = _trends(tags, schedule, times)
    logging = _logging(sorted(tags), schedule, minutes)
    trends = Trends(table, no_air_handlers(), logging, ZONE, _ledger(tags, len(times)))
    rules = {rule.id: rule for rule in map(_rule, (*RULES, *MORE_RULES[:more_rules]))}
    findings = [] if fault_free else _findings(tags, schedule, times, rules)
    return Results(
        site=site,
        trends=trends,
        rules=rules,
        verdicts=_verdicts(tags, schedule, rules, findings, days),
        findings=findings,
        requests=_requests(tags[:3]),
        moments=trends.period,
        completeness=completeness_of(trends, Scene(trends, site)),
        assumptions=["Holidays: none given; every weekday is judged as a working day.", "<i>Markup</i> stays text."],
        contract={"suite": "normalized table", "success": True, "expectations": 34, "broken": []},
    )


# ---- schedule and trends -------------------------------------------------------------------------------------------


def _schedule(tags: list[str], air_handlers: int) -> pd.DataFrame:
    n = np.arange(len(tags))
    schedule = pd.DataFrame(index=pd.Index(tags, name="terminal", dtype=object))
    for name, kind in SCHEDULE.items():
        schedule[name] = pd.Series([None] * len(tags), index=schedule.index, dtype=object) if kind == "text" else np.nan
    schedule["kind"] = [KINDS[i % 3] for i in n]
    schedule["air_handler"] = [f"AHU-{1 + i % air_handlers}" for i in n]
    schedule["floor"] = [str(1 + i % 4) for i in n]
    schedule["zone"] = [f"Room {100 + i}" for i in n]
    schedule["reheat"] = [("electric", "hot-water", "none")[i % 3] for i in n]
    schedule["distribution"] = "overhead"
    schedule["primary_max"] = 350.0 + 10 * (n % 5)
    schedule["primary_min"] = 100.0
    schedule["ventilation_min"] = 104.0
    schedule["heating_primary"] = 100.0
    schedule["fan_flow"] = np.where(n % 3 < 2, 280.0, np.nan)
    schedule["reheat_capacity"] = np.where(n % 3 < 2, 4500.0, np.nan)
    schedule["area"] = 60.0 + n % 7
    return schedule


def _trends(tags: list[str], schedule: pd.DataFrame, times: pd.DatetimeIndex) -> pd.DataFrame:
    hour = np.asarray(times.tz_convert(ZONE).hour + times.tz_convert(ZONE).minute / 60, dtype=float)
    weekday = np.asarray(times.tz_convert(ZONE).day_of_week)
    occupied = ((hour >= 7) & (hour < 18) & (weekday < 5)).astype(float)
    unknown = np.full(len(times), np.nan)
    columns: dict[str, list[np.ndarray]] = {name: [] for name in TERMINAL}
    for i, kind, reheat in zip(range(len(tags)), schedule["kind"], schedule["reheat"], strict=True):
        own = _one(i, hour, occupied)
        if kind == "single-duct":
            own |= dict.fromkeys(("fan_status", "fan_starts", "plenum_temp"), unknown)
        if reheat == "none":
            own |= {"reheat_position": unknown}
        for name, column in columns.items():
            column.append(own.get(name, unknown))
    table = {name: np.concatenate(column) for name, column in columns.items()}
    table |= {
        "terminal": np.repeat(np.array(tags, dtype=object), len(times)),
        "time": times.append([times] * (len(tags) - 1)),
    }
    return in_form(pd.DataFrame(table)[TERMINAL_COLUMNS])


def _one(i: int, hour: np.ndarray, occupied: np.ndarray) -> dict[str, np.ndarray]:
    """One terminal's columns: a day that warms towards the afternoon, and a coil and a fan that answer."""
    row = np.arange(len(hour))
    ripple = np.sin(row * 0.9 + i) * 0.15 + np.sin(row * 0.23 + 2 * i) * 0.1
    sun = np.clip(np.sin((hour - 7) / 12 * np.pi), 0, None)
    heating, cooling = np.where(occupied, 21.0, 18.0), np.where(occupied, 23.5, 27.0)
    zone = 20.6 + 2.6 * sun + ripple + 0.3 * (i % 3)
    call = np.clip((heating - zone) / 0.8, 0, 1)
    warm = np.clip((zone - 22.4) / 1.2, 0, 1)
    flow_setpoint = np.where(occupied, 100 + 250 * warm, 0)
    flow = np.clip(flow_setpoint + 6 * ripple * occupied, 0, None)
    fan = ((call > 0) | ((np.sin(row * 1.3 + i) > 0.6) & (i % 3 == 0) & (occupied > 0))).astype(float)
    reheat = np.clip(call * 100 + (35 * (warm > 0.4) if i % 4 == 0 else 0), 0, 100)
    columns = {
        "zone_temp": zone,
        "heating_setpoint": heating,
        "cooling_setpoint": cooling,
        "primary_flow": flow,
        "primary_flow_setpoint": flow_setpoint,
        "damper_position": np.clip(flow / 4 + ripple, 0, 100),
        "fan_status": fan,
        "fan_starts": np.diff(fan, prepend=fan[0]).clip(0) * (1 + (row % 40 == 0)),
        "reheat_position": reheat,
        "discharge_temp": 14 + reheat * 0.2 + ripple,
        "primary_temp": 13.5 + ripple * 0.3,
        "plenum_temp": 23.8 + sun,
        "occupied": occupied,
    }
    columns["primary_temp"] = np.where(row % 3 == 0, columns["primary_temp"], np.nan)  # a slower point
    columns["zone_temp"] = np.where((row > 300) & (row < 340), np.nan, zone)  # a gap
    return columns


def _logging(tags: list[str], schedule: pd.DataFrame, minutes: int) -> pd.DataFrame:
    logging = pd.DataFrame(np.nan, index=tags, columns=list(TERMINAL))
    logging.loc[:, ["zone_temp", "primary_flow", "primary_flow_setpoint", "damper_position", "discharge_temp"]] = (
        60.0 * minutes
    )
    logging.loc[:, "primary_temp"] = 180.0 * minutes
    logging.loc[:, ["heating_setpoint", "cooling_setpoint", "occupied"]] = 0.0
    fans = [tag for tag in tags if schedule.loc[tag, "kind"] != "single-duct"]
    logging.loc[fans, ["fan_status", "fan_starts", "plenum_temp"]] = 0.0
    logging.loc[[tag for tag in tags if schedule.loc[tag, "reheat"] != "none"], "reheat_position"] = 60.0 * minutes
    return logging


# ---- what a review came to -----------------------------------------------------------------------------------------


def _rule(row: tuple) -> Rule:
    name, title, impact, severity, kinds = row
    limit = Limit(
        "starts_per_hour", 6.0, "starts/h", "count", "6", "common practice", "fewer wear the motor", None, True
    )
    warmth = Limit("margin", 0.5, "K", "temperature_difference", "0.5 K", "judgement: a wall sensor's accuracy")
    wording = Wording(
        title=(Passage(title),), seen=(), why_it_matters=(Passage("Why it matters, in a sentence."),), likely_causes=(),
        next_steps=(), retest=(), looks_like=(), context=(Passage("the zone never called for heating"),),
    )  # fmt: skip
    given = {
        "id": name, "file": Path(f"{name}.toml"), "impact": impact, "severity": severity,
        "applies_to": kinds, "needs": ("zone_temp",), "only_with": (), "wording": wording,
        "site_checks": ("overrides", "flow-sensor-tubing", "zone-sensor", "fan-speed", "water-coil"),
        "limits": {"starts_per_hour": limit, "margin": warmth}, "measures": {},
    }  # fmt: skip
    return Rule(**{field.name: given.get(field.name) for field in fields(Rule)})


def _findings(tags, schedule, times, rules) -> list[Finding]:
    found, kinds, handlers = [], schedule["kind"].to_dict(), schedule["air_handler"].to_dict()
    for i, tag in enumerate(tags):
        for j, rule in enumerate(rules.values()):
            if (3 * i + 5 * j) % 7 == 0 and kinds[tag] in rule.applies_to:
                found.append(_finding(tag, handlers[tag], rule, times, i, j))
    order = {"urgent": 0, "high": 1, "medium": 2, "low": 3}
    return sorted(found, key=lambda f: (order[f.severity], f.confidence, -f.fault_hours, f.terminal))


def _finding(tag: str, handler: str, rule: Rule, times, i: int, j: int) -> Finding:
    count = 40 if rule.id == "fan-short-cycling" else 3
    starts = times[:: max(1, len(times) // (count + 1))][1 : count + 1]
    episodes = tuple(Episode(start, start + pd.Timedelta(minutes=45 + 10 * (k % 5))) for k, start in enumerate(starts))
    return Finding(
        id=f"{tag}/{rule.id}", terminal=tag, air_handler=handler, rule=rule.id, title=rule.title,
        severity=rule.severity, impact=rule.impact, confidence="marginal" if (i + j) % 3 == 0 else "firm",
        start=episodes[0].start, end=episodes[-1].end, fault_hours=0.8 * len(episodes), judged_hours=55.0,
        episodes=episodes,
        measures={"most_starts_in_an_hour": Measure(11.0, ""), "lowest_flow": Measure(152.0, "cfm")},
        summary=f"The fault of {tag} stood in {len(episodes)} episodes & its limit is < 6 starts per hour.",
        why_it_matters="Each start wears the motor and its contactor; the zone hears every one.",
        likely_causes=("The fan's differential is too narrow.", "The flow switch sits at the flow's lower end."),
        next_steps=("Read the fan's start and stop settings in the controller.", "Widen it; watch an hour."),
        looks_like=("A warm-up that was trended in the middle.",),
        supported_causes=("The fan's differential is too narrow.",),
        retest="Trend the fan on change for two occupied days; at most six starts in any hour.",
        caution="Electric heat: lock out and prove dead before opening." if rule.impact != "data" else None,
    )  # fmt: skip


def _verdicts(tags, schedule, rules, findings, days: int) -> pd.DataFrame:
    found, kinds = {(f.terminal, f.rule): f for f in findings}, schedule["kind"].to_dict()
    rows = []
    for i, tag in enumerate(tags):
        for j, rule in enumerate(rules.values()):
            if kinds[tag] not in rule.applies_to:
                continue
            f = found.get((tag, rule.id))
            verdict = "fault" if f else "not-judged" if (i + 2 * j) % 5 == 0 else "clear"
            reason = {
                "fault": f"{f.fault_hours:.1f} h of 55.0 h judged" if f else "",
                "not-judged": "missing: the trend plenum_temp",
                "clear": "no fault in 55.0 h judged",
            }[verdict]
            hours = 0.0 if verdict == "not-judged" else 55.0
            seen = (f.fault_hours, f.start, f.end) if f else (0.0, pd.NaT, pd.NaT)
            rows.append((tag, rule.id, verdict, f.confidence if f else "", reason, hours, *seen))
    return pd.DataFrame(rows, columns=VERDICT_COLUMNS)


def _requests(tags: list[str]) -> pd.DataFrame:
    rows = [(tuple(tags), "plenum_temp", "15 min", "5 days", "occupied heating", "fan-short-of-flow")]
    return pd.DataFrame(rows, columns=REQUEST_COLUMNS)


def _ledger(tags: list[str], rows: int) -> Ledger:
    columns = [ColumnLedger(f"{tag} ZN-T", tag, "zone_temp", "degF", rows - 4, {"missing value": 4}) for tag in tags]
    columns.append(ColumnLedger("Lights East", set_aside={"unmapped column": rows}))
    return Ledger([FileLedger("floor <one>.csv", columns, {"preamble": 3}), FileLedger("cov.csv", columns[:2])])
