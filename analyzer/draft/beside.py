"""The schedule beside what was observed, so that a wrong column or a wrong unit is seen at a glance."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import Any

from analyzer.draft.documents import Documents, account, said
from analyzer.draft.drafted import Drafted
from analyzer.quantities import shown_unit

MOST_ROWS = 400  # the odd ones first
# Odd is a terminal whose highest observed flow is this share of its scheduled maximum or more, or this share of its
# minimum or less, or whose fan delivers half or twice what is scheduled. Judgement: weather explains neither, a wrong
# column or unit does.
_OVER_MAXIMUM, _UNDER_MINIMUM, _OFF_FAN = 1.5, 0.6, 2.0
_MAXIMUM, _MINIMUM, _FAN = "primary_max", "primary_min", "fan_flow"
_COLUMNS = ("primary_max", "balanced_max", "primary_min", "heating_primary", "fan_flow", "inlet_diameter")


@dataclass(frozen=True)
class Beside:
    """One terminal: its scheduled figures in words with their places, and what was observed, in words."""

    terminal: str
    scheduled: tuple[tuple[str, str], ...]
    observed: tuple[str, ...]
    odd: bool


def section(drafted: Drafted, documents: Documents) -> dict[str, Any]:
    """Return what the page's section on the schedule shows."""
    flow = shown_unit("flow", drafted.units)
    names = (
        f"observed primary flow, low [{flow}]",
        f"observed primary flow, median while air moves [{flow}]",
        f"observed primary flow, high [{flow}]",
        f"observed discharge flow, usual while air moves [{flow}]",
    )
    table = drafted.schedule.set_index("terminal")
    rows, shares = [], []
    for tag, of in documents.merged.values.items():
        seen = tuple(str(table.at[tag, name]) if name in table and tag in table.index else "" for name in names)
        told = tuple(
            (said(of[name], name, drafted.units), str(of[name].source)) if name in of else ("", "") for name in _COLUMNS
        )
        share = _share(seen[2], told[_COLUMNS.index(_MAXIMUM)][0])
        fan = _share(seen[3], told[_COLUMNS.index(_FAN)][0])
        least = _share(seen[2], told[_COLUMNS.index(_MINIMUM)][0])
        odd = (
            (share is not None and share >= _OVER_MAXIMUM)
            or (least is not None and least <= _UNDER_MINIMUM)
            or (fan is not None and not 1 / _OFF_FAN <= fan <= _OFF_FAN)
        )
        shares += [share] if share is not None else []
        rows.append(Beside(tag, told, seen, odd))
    rows.sort(key=lambda row: not row.odd)
    return {
        "rows": rows[:MOST_ROWS],
        "more": max(0, len(rows) - MOST_ROWS),
        "odd": sum(row.odd for row in rows),
        "share": f"{median(shares):.0%}" if shares else "",
        "flow": flow,
        "account": account(documents),
        "pairs": documents.matched.proposed,
        "columns": [column for column in documents.reading.columns if column[1]],
    }


def _share(observed: str, scheduled: str) -> float | None:
    """Return what was observed as a share of what is scheduled; None where either is blank or nothing."""
    figure = scheduled.split(" ")[0]
    if not observed or not figure or float(figure) <= 0 or float(observed) <= 0:
        return None
    return float(observed) / float(figure)
