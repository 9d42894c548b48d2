"""What the schedule asks of a terminal, beside what its trends show: the small table at the top of its page."""

from __future__ import annotations

import numpy as np

from analyzer.report.words import listed, shown

HEATING_ABOVE = 5.0  # %, a reheat signal that is open beyond its seat: common practice, no source
NOT_TRENDED = "not trended"


def design_against_observed(schedule: dict, columns: dict[str, np.ndarray], units: str) -> list[tuple[str, str, str]]:
    """Compare the schedule's figures with the trends.

    Parameters
    ----------
    schedule : dict
        The terminal's row of the schedule, SI; None or NaN where blank.
    columns : dict of float arrays, shape (n,)
        SI, NaN where missing, with ``occupied`` and the setpoints as they were judged.
    units : str
        'ip' or 'si'.

    Returns
    -------
    list of (figure, scheduled, observed)
        In words; only figures that are scheduled or trended.
    """
    occupied = np.nan_to_num(columns["occupied"]) > 0
    flow = _in(columns, "primary_flow", occupied)
    heating = _in(columns, "primary_flow", occupied & (_column(columns, "reheat_position") > HEATING_ABOVE))
    delivered = _in(columns, "discharge_flow", _column(columns, "fan_status") > 0)
    inlet = _in(columns, "outdoor_air_flow", occupied)
    rows = [
        _flow("Primary maximum", schedule, "primary_max", _near_highest(flow, units), units),
        _flow("Primary maximum, as balanced", schedule, "balanced_max", _near_highest(flow, units), units),
        _flow("Primary minimum", schedule, "primary_min", _near_lowest(flow, units), units),
        _flow(
            "Ventilation minimum",
            schedule,
            "ventilation_min",
            _under(flow, schedule.get("ventilation_min", np.nan)),
            units,
        ),
        _flow(
            "Primary while heating",
            schedule,
            "heating_primary",
            _median(heating, units, "no occupied heating seen"),
            units,
        ),
        _flow("Fan", schedule, "fan_flow", _median(delivered, units, "delivered air not trended"), units),
        _flow("Outdoor-air inlet minimum", schedule, "outdoor_air_inlet_min", _near_lowest(inlet, units), units),
    ]
    shown_rows = [row for row in rows if row]
    return [*shown_rows, _temperature(columns, occupied, units), *_fan(columns, occupied)]


def _column(columns: dict, name: str) -> np.ndarray:
    return columns[name] if name in columns else np.full(len(columns["occupied"]), np.nan)


def _in(columns: dict, name: str, where: np.ndarray) -> np.ndarray | None:
    """The values of a column where a condition holds; None where the column holds none at all."""
    values = _column(columns, name)
    there = ~np.isnan(values)
    return values[there & where] if there.any() else None


def _flow(name: str, schedule: dict, key: str, observed: str, units: str) -> tuple[str, str, str] | None:
    value = schedule.get(key)
    return (name, shown(value, "flow", units), observed) if isinstance(value, float) and not np.isnan(value) else None


def _told(values: np.ndarray | None, say, none: str = "no occupied sample") -> str:
    if values is None:
        return NOT_TRENDED
    return say(values) if len(values) else none


def _near_highest(values, units: str) -> str:
    return _told(values, lambda v: f"99th percentile {shown(np.percentile(v, 99), 'flow', units)} while occupied")


def _near_lowest(values, units: str) -> str:
    return _told(values, lambda v: f"1st percentile {shown(np.percentile(v, 1), 'flow', units)} while occupied")


def _median(values, units: str, none: str) -> str:
    return none if values is None else _told(values, lambda v: f"median {shown(np.median(v), 'flow', units)}", none)


def _under(values, limit) -> str:
    return _told(values, lambda v: f"primary air under it in {np.mean(v < limit):.0%} of occupied samples")


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
    share = _told(status, lambda v: f"on in {np.mean(v > 0):.0%} of occupied samples")
    starts = int(np.nansum(_column(columns, "fan_starts")))
    return [("Terminal fan", "–", f"{share}; {starts:,} start{'' if starts == 1 else 's'} in the period")]
