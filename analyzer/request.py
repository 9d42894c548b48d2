"""The trends still missing: what a verdict lacked, gathered into what to ask the contractor for."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.engine.reasons import CONTEXT, INTERVAL, SAMPLES, SCHEDULE, TREND, describe
from analyzer.engine.rule import Rule
from analyzer.findings.results import REQUEST_COLUMNS
from analyzer.quantities import TERMINAL
from analyzer.signals import SIGNALS

LENGTH = "1 week"
# How to bring about what a rule waits for, by the first of these names in its condition. Common practice, no source. A
# setpoint is moved far enough that the loop answers fully, and with nobody in the room.
_HEAT = "cold weather; or the heating setpoint 3 K (5 degF) above the zone, air proven moving, nobody in"
_COOL = "cooling weather; or the cooling setpoint 3 K (5 degF) below the zone, nobody in"
_PROVOKED: tuple[tuple[str, str], ...] = (
    ("full_call_for", _HEAT),
    ("reheat_shut_for", "mild or cooling weather, with the air handler running"),
    ("damper_shut_for", "a night with the air handler off; or the damper driven shut for an hour with it on"),
    ("neighbour_cools", _COOL),
    ("flow_called", _COOL),
    ("flow_drift", "a call for full cooling of half an hour, and a night with the air handler off"),
    ("flow_change_expected", f"{_COOL}, then released"),
    ("reheat_position", _HEAT),
    ("fan_time_in_hour", _HEAT),
    ("fan_flow_share_doubt", "the fan commanded on for an hour with its coil shut"),
    ("fan_command", "the fan commanded on for an hour, and off for another"),
    ("out_of_hours", "nights and a weekend"),
    ("time_since_occupancy", "nights and a weekend"),
    ("cooling_setpoint", _COOL),
    ("fan_status", "the air handler running with the fan at rest"),
    ("occupied", "occupied days"),
)


def trend_request(gaps: pd.DataFrame, rules: dict[str, Rule]) -> pd.DataFrame:
    """Gather the gaps of all rules into a request, a row per terminal and thing to ask for.

    Parameters
    ----------
    gaps : DataFrame
        ``terminal, rule, what, point, interval`` as the judgement holds them.
    rules : dict
        The rule book, for what a rule waits for where its context never came.

    Returns
    -------
    DataFrame
        ``REQUEST_COLUMNS``: terminal; point; interval (the coarsest that serves every verdict); length; condition (the
        season to wait for, or the test that provokes it); settles (the rules that it would settle).
    """
    if gaps.empty:
        return pd.DataFrame(columns=REQUEST_COLUMNS)
    asked = gaps.merge(_asked(gaps, rules), on=["rule", "what", "point"])
    line = ["terminal", "ask", "length", "condition"]
    asked = asked.sort_values([*line, "rule", "every"]).drop_duplicates([*line, "rule"])
    begins = np.flatnonzero(~asked.duplicated(line))
    table = asked.iloc[begins][line].reset_index(drop=True).rename(columns={"ask": "point"})
    coarsest = np.fmin.reduceat(asked["every"].to_numpy(dtype=float), begins)
    table["interval"] = [f"{seconds / 60:g} min or on change" if seconds == seconds else "" for seconds in coarsest]
    rules_of_line = np.split(asked["rule"].to_numpy(dtype=object), begins[1:])
    table["settles"] = [" ".join(ids) for ids in rules_of_line]
    return table[REQUEST_COLUMNS]


def _asked(gaps: pd.DataFrame, rules: dict[str, Rule]) -> pd.DataFrame:
    """What to ask for, worked out once for each rule, kind of gap and point."""
    different = gaps[["rule", "what", "point", "interval"]].drop_duplicates(["rule", "what", "point"])
    rows = [
        {"rule": rule, "what": what, "point": point, **_ask(rules[rule], what, point, interval)}
        for rule, what, point, interval in different.itertuples(index=False)
    ]
    return pd.DataFrame(rows)


def _ask(rule: Rule, what: str, point: str, interval: float) -> dict:
    if what == SCHEDULE:
        name = describe(point).removesuffix(" in the terminal schedule")
        return {
            "ask": f"{name} (schedule)", "every": float("nan"), "length": "",
            "condition": "from the drawings or the balancing report",
        }  # fmt: skip
    if what == CONTEXT:
        return {
            "ask": ", ".join(points_of(rule)),
            "every": rule.best_interval or rule.longest_interval,
            "length": f"until {max(rule.judged_hours_at_least, 0.5):g} h of it are logged",
            "condition": f"{_provoked(rule)} (so far: {rule.text.context})",
        }
    ask = point if point in TERMINAL or what == SAMPLES else describe(point)
    every = rule.longest_interval if what == SAMPLES else interval
    return {"ask": ask, "every": every, "length": LENGTH, "condition": _CONDITION[what]}


_CONDITION = {TREND: "", INTERVAL: "logged more often", SAMPLES: "without gaps"}


def points_of(rule: Rule) -> list[str]:
    """Return the trends that a rule rests on, those behind the signals that it needs included."""
    named = set(rule.names).union(*(SIGNALS[name].needs if name in SIGNALS else (name,) for name in rule.needs))
    return [point for point in TERMINAL if point in named] or ["the same points"]


def _provoked(rule: Rule) -> str:
    """Say in what season, or by what test, the state comes about that a rule waits for."""
    names = rule.judged_when.names
    return next((words for name, words in _PROVOKED if name in names), "another season, or a test")
