"""The facts of a building as a review keeps them (``site.json``), so that later pages need no site file."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from analyzer.errors import SiteError
from analyzer.site.model import (
    SCHEDULE,
    SETPOINT_HOLD,
    Accuracy,
    Exclusion,
    FunctionalTest,
    Site,
    Tariff,
    empty_schedule,
)
from analyzer.validation import read_stored

FORMAT = "trendwright-site/1"
_PLAIN = ("name", "time_zone", "units", "altitude", "date_order", "outdoor_air_fraction", "setpoints", "rule_changes")


def site_json(site: Site) -> str:
    """Return the text of ``site.json``: SI throughout, blanks left out of the schedule."""
    told = {
        "format": FORMAT,
        **{name: getattr(site, name) for name in _PLAIN},
        "stamps": site.stamps,
        "units_told": site.units_told,
        "occupied_hours": site.occupied_hours,
        "setpoint_hold": site.setpoint_hold,
        "policy": site.policy,
        "cause_changes": site.cause_changes,
        "holidays": [day.isoformat() for day in site.holidays],
        "accuracy": {name: [a.of_reading, a.at_least] for name, a in site.accuracy.items()},
        "tariff": vars(site.tariff),
        "excluded": [
            {"from": own.start.isoformat(), "to": own.end.isoformat(), "why": own.why, "terminals": list(own.terminals)}
            for own in site.excluded
        ],
        "functional_tests": [
            {
                "from": own.start.isoformat(),
                "to": own.end.isoformat(),
                "name": own.name,
                "terminals": list(own.terminals),
                "steps": list(own.steps),
            }
            for own in site.functional_tests
        ],
        "response_changes": site.response_changes,
        "schedule": {
            terminal: {name: value for name, value in row.items() if not pd.isna(value)}
            for terminal, row in site.schedule.to_dict("index").items()
        },
    }
    return json.dumps(told, indent=1, ensure_ascii=False, default=str)


def read_stored_site(path: str | Path) -> Site:
    """Read ``site.json`` of a review folder back.

    Raises
    ------
    SiteError
        The file cannot be read, or is of another format.
    """
    path = Path(path)
    remedy = "Review the exports again with this version."
    stored = read_stored(path, FORMAT, SiteError, remedy)
    try:
        return _site(stored)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise SiteError(path, f"is damaged ({type(error).__name__}: {error})", remedy) from None


def _site(told: dict[str, Any]) -> Site:
    week = told["occupied_hours"]
    return Site(
        **{name: told[name] for name in _PLAIN},
        occupied_hours=week and {int(day): [tuple(span) for span in spans] for day, spans in week.items()},
        holidays=tuple(map(date.fromisoformat, told["holidays"])),
        stamps=told.get("stamps"),  # not in reviews of earlier releases; nor is what is got like it
        units_told=told.get("units_told", False),
        setpoint_hold=told.get("setpoint_hold", SETPOINT_HOLD),
        cause_changes=told.get("cause_changes", {}),
        policy={name: (low, high) for name, (low, high) in told.get("policy", {}).items()},
        accuracy={name: Accuracy(*figures) for name, figures in told["accuracy"].items()},
        tariff=Tariff(**told["tariff"]),
        excluded=tuple(_exclusion(own, told["time_zone"]) for own in told.get("excluded", [])),
        functional_tests=tuple(_test(own, told["time_zone"]) for own in told.get("functional_tests", [])),
        response_changes=told.get("response_changes", {}),
        schedule=_schedule(told["schedule"]),
    )


def _exclusion(told: dict[str, Any], time_zone: str) -> Exclusion:
    return Exclusion(*_window(told, time_zone), told["why"], tuple(told["terminals"]))


def _test(told: dict[str, Any], time_zone: str) -> FunctionalTest:
    return FunctionalTest(*_window(told, time_zone), told["name"], tuple(told["terminals"]), tuple(told["steps"]))


def _window(told: dict[str, Any], time_zone: str) -> tuple[pd.Timestamp, pd.Timestamp]:
    start, end = (pd.Timestamp(told[edge]).tz_convert(time_zone) for edge in ("from", "to"))
    return start, end


def _schedule(rows: dict[str, dict[str, Any]]) -> pd.DataFrame:
    if not rows:
        return empty_schedule()
    table = pd.DataFrame.from_dict(rows, orient="index").reindex(columns=list(SCHEDULE))
    for name, kind in SCHEDULE.items():
        table[name] = (
            table[name].astype(object).where(table[name].notna(), None) if kind == "text" else table[name].astype(float)
        )
    return table.rename_axis("terminal")
