"""The trends still missing: what a verdict lacked, gathered into what to ask the contractor for."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import pandas as pd

from analyzer.engine import CONTEXT, INTERVAL, OF_FANS, SAMPLES, SCHEDULE, TREND, Forms, Rule
from analyzer.findings import REQUEST_COLUMNS
from analyzer.quantities import TERMINAL
from analyzer.signals import SIGNALS
from analyzer.signals.made_of import inputs_of, made_of

LENGTH = "1 week"
THE_SAME = "the same points"  # of a rule that names none of a terminal
NOT_KNOWN: Mapping[str, Forms] = MappingProxyType({})
# How to bring about what a rule waits for, by the first of these names in its condition. Common practice, no source. A
# setpoint is moved far enough that the loop answers fully, and with nobody in the room.
_HEAT = "cold weather; or the heating setpoint 5 °F (3 °C) above the zone, air proven moving, room unoccupied"
_COOL = "cooling weather; or the cooling setpoint 5 °F (3 °C) below the zone, room unoccupied"
_PROVOKED: tuple[tuple[str, str], ...] = (
    ("full_call_for", _HEAT),
    ("reheat_shut_for", "reheat commanded off (no override), air handler on; mild or cooling weather"),
    ("damper_shut_for", "a night with the air handler off; or the damper driven closed for an hour with it on"),
    ("neighbour_cools", _COOL),
    ("flow_called", _COOL),
    ("flow_drift", "half an hour of full cooling demand, and a night with the air handler off"),
    ("flow_change_expected", f"{_COOL}, then released"),
    ("damper_credible", "cooling weather, after re-homing the damper actuators"),
    ("reheat_position", _HEAT),
    ("fan_time_in_hour", _HEAT),
    ("fan_flow_share_doubt", "fan commanded on for an hour with reheat off"),
    ("fan_command", "fan commanded on for an hour, then off for an hour"),
    ("out_of_hours", "nights and a weekend"),
    ("time_since_occupancy", "nights and a weekend"),
    ("cooling_setpoint", _COOL),
    ("fan_status", "air handler on with the fan off"),
    ("occupied", "occupied days"),
)


def trend_request(gaps: pd.DataFrame, rules: dict[str, Rule], may_be: Mapping[str, Forms] = NOT_KNOWN) -> pd.DataFrame:
    """Gather the gaps of all rules into a request: a row per point, schedule value or test, for all that lack it.

    Parameters
    ----------
    gaps : DataFrame
        ``terminal, rule, what, point, interval`` as the judgement holds them.
    rules : dict[str, Any]
        The rule book, for what a rule waits for where its context never came.
    may_be : mapping, optional
        Terminal to what it may be: of one without a fan no point of a fan is asked.

    Returns
    -------
    DataFrame
        ``REQUEST_COLUMNS``: terminal (a tuple of the tags that lack it); point; interval (the coarsest that serves
        every verdict); length; condition (what is amiss with the log, the season to wait for, or the test that provokes
        it); settles (the rules that it would settle). The row that settles the most verdicts stands first.
    """
    if gaps.empty:
        return pd.DataFrame(columns=REQUEST_COLUMNS)
    wanted = _without_fans(gaps.merge(_asked(gaps, rules), on=["rule", "what", "point"]), may_be)
    lines = wanted.groupby("line", sort=False)
    found = pd.DataFrame(
        {
            "terminal": lines["terminal"].agg(lambda tags: tuple(sorted(set(tags)))),
            "point": lines["ask"].agg(_points),
            "interval": lines["every"].min().map(_interval),
            "length": lines["hours"].max().map(_length),
            "condition": lines["condition"].agg(lambda told: "; ".join(sorted(filter(None, set(told))))),
            "settles": lines["rule"].agg(lambda ids: " ".join(sorted(set(ids)))),
            "verdicts": wanted.drop_duplicates(["line", "terminal", "rule"]).groupby("line", sort=False).size(),
        }
    )
    found.loc[lines["what"].first() == SCHEDULE, ["interval", "length"]] = ""
    found = found.sort_values(["verdicts", "point", "condition"], ascending=[False, True, True], ignore_index=True)
    return found[REQUEST_COLUMNS]


def _without_fans(wanted: pd.DataFrame, may_be: Mapping[str, Forms]) -> pd.DataFrame:
    """Take the points of a fan out of what is asked of terminals without one, in lines of their own."""
    fanless = {tag for tag, forms in may_be.items() if {kind for kind, _ in forms} == {"single-duct"}}
    left = {ask: tuple(point for point in ask if point not in OF_FANS) for ask in set(wanted["ask"])}
    some = wanted["ask"].map(lambda ask: 0 < len(left[ask]) < len(ask))
    apart = wanted["terminal"].isin(fanless) & wanted["line"].isin(wanted.loc[some, "line"])
    return wanted.assign(
        ask=wanted["ask"].where(~(apart & some), wanted["ask"].map(left.__getitem__)),
        line=wanted["line"].where(~apart, wanted["line"] + " without a fan"),
    )


def _points(told: pd.Series) -> str:
    """The points of a line, each once: a test that several rules wait for is trended with the points of all."""
    points = {point for points in set(told) for point in points}
    points -= {point for point in points if ", or " in point and point.split(", or ")[0] in points}
    if len(points) > 1:
        points.discard(THE_SAME)  # those of the rules beside it are named
    return ", ".join([*(name for name in TERMINAL if name in points), *sorted(points - set(TERMINAL))])


def _interval(seconds: float) -> str:
    return f"{seconds / 60:g} min or on change" if seconds == seconds else ""


def _length(hours: float) -> str:
    return f"until {hours:g} h {'is' if hours == 1 else 'are'} logged" if hours == hours else LENGTH


def _asked(gaps: pd.DataFrame, rules: dict[str, Rule]) -> pd.DataFrame:
    """What to ask for, worked out once for each rule, kind of gap and point."""
    different = gaps[["rule", "what", "point", "interval"]].drop_duplicates(["rule", "what", "point"])
    rows = [
        {"rule": rule, "what": what, "point": point, **_ask(rules[rule], what, point, interval)}
        for rule, what, point, interval in different.itertuples(index=False)
    ]
    return pd.DataFrame(rows)


def _ask(rule: Rule, what: str, point: str, interval: float) -> dict[str, Any]:
    """What to ask for, and ``line``: what stands in one line of the request with it."""
    nothing = float("nan")
    if what == SCHEDULE:
        told = {"ask": (f"{point} (schedule)",), "every": nothing, "hours": nothing}
        return told | {"line": f"schedule {point}", "condition": "from the drawings or the balancing report"}
    if what == CONTEXT:
        condition = _provoked(rule)
        every, hours = rule.best_interval or rule.longest_interval, max(rule.judged_hours_at_least, 0.5)
        return {
            "ask": tuple(points_of(rule)), "every": every, "hours": hours, "line": f"test {condition}",
            "condition": condition,
        }  # fmt: skip
    every = rule.longest_interval if what == SAMPLES else interval
    # A point that some rules need by itself, and others or something else, is asked for once.
    line = f"point {point.split(', or ')[0]}"
    return {"ask": (point,), "every": every, "hours": nothing, "line": line, "condition": _CONDITION[what]}


_CONDITION = {TREND: "", INTERVAL: "logged more often", SAMPLES: "without gaps"}


def points_of(rule: Rule) -> list[str]:
    """Return the trends that a rule rests on, those behind the signals that it needs included."""
    named = set(rule.names).union(*map(_behind, (*rule.needs, *(name for way in rule.needs_one_of for name in way))))
    return [point for point in TERMINAL if point in named] or [THE_SAME]


def _behind(name: str) -> list[str]:
    if name not in SIGNALS:
        return [name]
    return list(SIGNALS[name].needs) or [wanted.name for wanted in inputs_of(made_of(name))]


def _provoked(rule: Rule) -> str:
    """Say in what season, or by what test, the state comes about that a rule waits for."""
    names = rule.judged_when.names
    return next((words for name, words in _PROVOKED if name in names), "another season, or a test")
