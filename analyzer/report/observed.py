"""What the schedule asks of a terminal, beside what its trends show: the small table at the top of its page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from analyzer.report.words import listed, shown
from analyzer.site.model import ValueSource

HEATING_ABOVE = 5.0  # %, a reheat signal that is open beyond its seat: common practice, no source
NOT_TRENDED = "not trended"


@dataclass(frozen=True)
class Figure:
    """A line of the table; ``source`` is where its scheduled value stands, ``cell`` the whole place of it."""

    name: str
    scheduled: str
    observed: str
    source: str = ""
    cell: str = ""


def design_against_observed(
    schedule: dict,
    columns: dict[str, np.ndarray],
    units: str,
    sources: Mapping[str, ValueSource] = MappingProxyType({}),
) -> list[Figure]:
    """Compare the schedule's figures with the trends.

    Parameters
    ----------
    schedule : dict
        The terminal's row of the schedule, SI; None or NaN where blank.
    columns : dict of float arrays, shape (n,)
        SI, NaN where missing, with ``occupied`` and the setpoints as they were judged.
    units : str
        'ip' or 'si'.
    sources : dict of str to ValueSource
        Where the terminal's values stand.

    Returns
    -------
    list of Figure
        In words; only figures that are scheduled or trended.
    """
    occupied = np.nan_to_num(columns["occupied"]) > 0
    flow = _in(columns, "primary_flow", occupied)
    heating = _in(columns, "primary_flow", occupied & (_column(columns, "reheat_position") > HEATING_ABOVE))
    delivered = _in(columns, "discharge_flow", _column(columns, "fan_status") > 0)
    inlet = _in(columns, "outdoor_air_flow", occupied)
    while_heating = _median(heating, units, "no occupied heating seen", " with reheat on, occupied")
    fan = _median(delivered, units, "delivered air not trended")
    under = _under(flow, schedule.get("ventilation_min", np.nan))
    asked = [
        ("Primary maximum", "primary_max", _near_highest(flow, units)),
        ("Primary maximum, as balanced", "balanced_max", _near_highest(flow, units)),
        ("Primary minimum", "primary_min", _near_lowest(flow, units)),
        ("Primary minimum, as balanced", "balanced_min", _near_lowest(flow, units)),
        ("Ventilation minimum", "ventilation_min", under),
        ("Primary while heating", "heating_primary", while_heating),
        ("Primary while heating, as balanced", "balanced_heating", while_heating),
        ("Fan", "fan_flow", fan),
        ("Fan, as balanced", "balanced_fan", fan),
        ("Outdoor-air inlet minimum", "outdoor_air_inlet_min", _near_lowest(inlet, units)),
    ]
    rows = [
        Figure(name, shown(value, "flow", units), observed, *_place(sources.get(key)))
        for name, key, observed in asked
        if isinstance(value := schedule.get(key), float) and not np.isnan(value)
    ]
    return [*rows, Figure(*_temperature(columns, occupied, units)), *(Figure(*row) for row in _fan(columns, occupied))]


def _place(source: ValueSource | None) -> tuple[str, str]:
    return (source.short, source.whole) if source else ("", "")


def _column(columns: dict, name: str) -> np.ndarray:
    return columns[name] if name in columns else np.full(len(columns["occupied"]), np.nan)


def _in(columns: dict, name: str, where: np.ndarray) -> np.ndarray | None:
    """The values of a column where a condition holds; None where the column holds none at all."""
    values = _column(columns, name)
    there = ~np.isnan(values)
    return values[there & where] if there.any() else None


def _told(values: np.ndarray | None, say, none: str = "no occupied sample") -> str:
    if values is None:
        return NOT_TRENDED
    return say(values) if len(values) else none


def _near_highest(values, units: str) -> str:
    return _told(values, lambda v: f"99th percentile {shown(np.percentile(v, 99), 'flow', units)} while occupied")


def _near_lowest(values, units: str) -> str:
    return _told(values, lambda v: f"1st percentile {shown(np.percentile(v, 1), 'flow', units)} while occupied")


def _median(values, units: str, none: str, when: str = "") -> str:
    told = _told(values, lambda v: f"median {shown(np.median(v), 'flow', units)}{when}", none)
    return none if values is None else told


def _under(values, limit) -> str:
    return _told(values, lambda v: f"primary air under it in {100 * np.mean(v < limit):.0f}\u202f% of occupied samples")


def _temperature(columns: dict, occupied: np.ndarray, units: str) -> tuple[str, str, str]:
    setpoints = [
        f"{word} {shown(np.median(values), 'temperature', units)}"
        for word, name in (("heating", "heating_setpoint"), ("cooling", "cooling_setpoint"))
        if (values := _in(columns, name, occupied)) is not None and len(values)
    ]

    def between(values: np.ndarray) -> str:
        low, middle, high = (shown(q, "temperature", units) for q in np.percentile(values, [5, 50, 95]))
        return f"median {middle} while occupied; 5th to 95th percentile {low} to {high}"

    told = _told(_in(columns, "zone_temp", occupied), between)
    return "Zone temperature", listed(setpoints) or "no setpoint known", told


def _fan(columns: dict, occupied: np.ndarray) -> list[tuple[str, str, str]]:
    status = _in(columns, "fan_status", occupied)
    if status is None:
        return []
    share = _told(status, lambda v: f"on in {100 * np.mean(v > 0):.0f}\u202f% of occupied samples")
    starts = int(np.nansum(_column(columns, "fan_starts")))
    return [("Terminal fan", "–", f"{share}; {starts:,} start{'' if starts == 1 else 's'} in the period")]
