"""The drafted terminal schedule: what was inferred, what is known, and what was observed beside blanks to fill in."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL, shown_unit, to_shown
from analyzer.site import Site
from analyzer.site.model import SCHEDULE

# What is asked for, beside what a given schedule holds.
_INFERRED = ("kind", "air_handler", "reheat")
_WORDS = ("kind", "distribution", "air_handler", "zone", "floor", "reheat")
_DESIGN = (
    "primary_max", "balanced_max", "primary_min", "ventilation_min", "heating_primary", "fan_flow", "area", "people",
)  # fmt: skip
# At this flow air moves [L/s]; under it a sensor barely tells. Judgement.
AIR_MOVES = 10.0
EVIDENCE = {
    "kind": "observed kind because",
    "air_handler": "observed air handler because",
    "reheat": "observed reheat because",
}


def drafted_schedule(trends: pd.DataFrame, terminals: pd.DataFrame, site: Site, units: str) -> pd.DataFrame:
    """Draft the schedule.

    Parameters
    ----------
    trends : DataFrame
        The normalized table.
    terminals : DataFrame
        As :func:`analyzer.draft.kinds.infer_terminals` returns it.
    site : Site
        What is known: its schedule goes before what was inferred.
    units : str
        In which design and observed values are: 'ip' or 'si'.

    Returns
    -------
    DataFrame of str
        The columns of ``terminals.csv``, a row a terminal.
    """
    unseen = site.schedule.index.difference(terminals.index, sort=False)
    terminals = terminals.reindex([*terminals.index, *unseen]).fillna("")
    known = site.schedule.reindex(terminals.index)
    more = [name for name in SCHEDULE if name not in (*_WORDS, *_DESIGN) and known[name].notna().any()]
    columns = {"terminal": [str(tag) for tag in terminals.index]}
    for name in (*_WORDS, *_DESIGN, *more):
        heading, cells = _known(known[name], SCHEDULE[name], name, units)
        columns[heading] = cells
    for name in _INFERRED:
        given = np.array(columns[name], dtype=object)
        columns[name] = np.where(given == "", terminals[name], given).tolist()
    columns |= _observed(trends, list(terminals.index), units)
    for name, heading in EVIDENCE.items():
        told = known[name].notna().to_numpy()
        columns[heading] = np.where(told, "the schedule says so", terminals[f"{name}_why"]).tolist()
    return pd.DataFrame(columns, dtype=object)


def _known(values: pd.Series, dimension: str, name: str, units: str) -> tuple[str, list[str]]:
    """Return a column's heading with its unit, and what the given schedule holds of it."""
    if dimension in ("text", "number"):
        return name, [_plain(value) for value in values]
    unit = shown_unit(dimension, units)
    return f"{name} [{unit}]", [_plain(value) for value in to_shown(values, dimension, units)]


def _plain(value: object) -> str:
    if value is None or (isinstance(value, float) and np.isnan(value)):
        return ""
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _observed(trends: pd.DataFrame, tags: list[str], units: str) -> dict[str, list[str]]:
    """Return, under headings for the eye, what the trends show where a design value is asked for."""
    flow = shown_unit("flow", units)
    asked = {
        f"observed primary flow, high [{flow}]": ("primary_flow", 0.995),
        f"observed primary flow, median while air moves [{flow}]": ("primary_flow moving", 0.5),
        f"observed primary flow, low [{flow}]": ("primary_flow", 0.05),
        f"observed flow setpoint, high [{flow}]": ("primary_flow_setpoint", 0.995),
        f"observed flow setpoint, low [{flow}]": ("primary_flow_setpoint", 0.05),
        f"observed discharge flow, usual while air moves [{flow}]": ("discharge_flow", 0.5),
        f"observed outdoor-air inlet, usual while air moves [{flow}]": ("outdoor_air_flow", 0.5),
    }
    # What is usual at rest is nothing, and says nothing of the design.
    moving = {name: trends[name].where(trends[name] >= AIR_MOVES) for name in ("discharge_flow", "outdoor_air_flow")}
    moving["primary_flow moving"] = trends["primary_flow"].where(trends["primary_flow"] >= AIR_MOVES)
    groups = trends.assign(**moving).groupby("terminal", observed=True)
    told = {}
    for heading, (name, share) in asked.items():
        quantity = name.split()[0]
        if trends[quantity].notna().any():
            figures = to_shown(groups[name].quantile(share).reindex(tags), TERMINAL[quantity].dimension, units)
            told[heading] = ["" if np.isnan(value) else f"{value:.0f}" for value in figures]
    return told
