"""How far each chart's value axis reaches, and the scheduled flows that are drawn across the airflow chart."""

from __future__ import annotations

import numpy as np

from analyzer.quantities import shown_unit, to_shown
from analyzer.report.series import ALL_PANELS, FLOW_LIMITS, INLET_LIMITS, LIMITS_OF
from analyzer.report.words import number, sign

LEAST_SPAN = {
    "degC": 5.0,
    "degF": 9.0,
    "ppm": 400.0,
    "Pa": 50.0,
    "in.w.c.": 0.2,
}  # so that a sensor's noise does not fill a chart
ROOM_FOR_A_NAME = 0.15  # of the axis: a line of 11 px text on a chart of about 80 px
ROOM_ABOVE = 1.3  # for the name of the highest limit


def flow_limits(schedule: dict, units: str) -> dict[str, list[list]]:
    """Return the scheduled flows of each chart of airflow, by the name that ``LIMITS_OF`` gives them."""
    return {"limits": _limits(schedule, units, FLOW_LIMITS), "inlet_limits": _limits(schedule, units, INLET_LIMITS)}


def _limits(schedule: dict, units: str, names: dict[str, str]) -> list[list]:
    """Return scheduled flows as [value, name] in the site's units; flows that lie close share one name.

    A name that stands on an earlier line leaves its own line without text, so that names never overprint.
    """
    values = [(schedule[key], name) for key, name in names.items() if _given(schedule.get(key))]
    if not values:
        return []
    unit = shown_unit("flow", units)
    limits = sorted((float(np.rint(to_shown(value, "flow", units))), name) for value, name in values)
    apart = limits[-1][0] * ROOM_FOR_A_NAME
    groups: list[list[tuple[float, str]]] = []
    for value, name in limits:
        if groups and value - groups[-1][-1][0] < apart:
            groups[-1].append((value, name))
        else:
            groups.append([(value, name)])
    return [drawn for group in groups for drawn in _named(group, unit)]


def _named(group: list[tuple[float, str]], unit: str) -> list[list]:
    by_value: dict[float, list[str]] = {}
    for value, name in group:
        by_value.setdefault(value, []).append(name)
    text = " · ".join(f"{' = '.join(names)} {number(value, unit)}" for value, names in by_value.items())
    highest = max(by_value)
    return [[value, f"{text} {sign(unit)}" if value == highest else ""] for value in by_value]


def panel_reach(series: dict[str, dict], limits: dict[str, list[list]], units: str) -> dict[str, list[float]]:
    """Return the value axis' ends of every panel, over the whole period, so that zooming never rescales it."""
    reach = {}
    for panel in ALL_PANELS:
        ends = [series[line.name]["ends"] for line in panel.series if line.name in series]
        if ends:
            reach[panel.name] = _reach(panel, ends, limits.get(LIMITS_OF.get(panel.name, ""), []), units)
    return reach


def _reach(panel, ends: list[list[float]], limits: list[list], units: str) -> list[float]:
    if panel.dimension == "state":
        return [0, 1.5]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    if panel.dimension == "percent":
        return [min(low, 0), max(high, 100) * 1.04]
    if panel.dimension == "flow":
        high = max([high, *(value * ROOM_ABOVE for value, _ in limits)])
        return [min(low, 0), high * 1.04 or 1]
    least = LEAST_SPAN.get(shown_unit(panel.dimension, units), 0.0)
    room = max((high - low) * 0.06, (least - (high - low)) / 2)
    return [round(low - room, 2), round(high + room, 2)]


def _given(value) -> bool:
    return isinstance(value, float) and not np.isnan(value)
