"""Faults in their places: which kind, in which terminal, from when to when; and the list of what is true."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from sample_trends.annex_kinds import ANNEX_KINDS
from sample_trends.building import Building
from sample_trends.catalogue import CATALOGUE, Kind
from sample_trends.field_kinds import FIELD_KINDS


@dataclass(frozen=True)
class Fault:
    """One fault, in one terminal or air handler.

    Attributes
    ----------
    kind : str
        A key of CATALOGUE.
    at : str
        The terminal (or air handler).
    start, end : str or Timestamp, optional
        Local times; the whole simulation where left out.
    grows : str, optional
        A duration (``"60h"``): the fault grows evenly from nothing to full size, starting at ``start`` (which may lie
        before the simulation).
    turns : dict
        Knobs that differ from the catalogue's.
    shows : tuple of str, optional
        Rules that differ from the catalogue's.
    visible : str or Timestamp, optional
        From when on its size can be seen, where that is later than ``start``.
    note : str
        What stands in the truth list instead of the kind's note.
    """

    kind: str
    at: str
    start: str | pd.Timestamp | None = None
    end: str | pd.Timestamp | None = None
    grows: str | None = None
    turns: dict[str, float] = field(default_factory=dict)
    shows: tuple[str, ...] | None = None
    visible: str | pd.Timestamp | None = None
    note: str = ""

    @property
    def rules(self) -> tuple[str, ...]:
        """Ids of the rules that the fault shows in."""
        return kind_of(self.kind).shows if self.shows is None else self.shows


def kind_of(name: str) -> Kind:
    """Return a kind of fault by its name: the demo's and the simulated week's, or one that only field mode has."""
    return CATALOGUE.get(name) or FIELD_KINDS.get(name) or ANNEX_KINDS[name]


def truth(building: Building, faults, start, days: float, week: str = "") -> pd.DataFrame:
    """List what is wrong: a row for each fault and rule, with ``week, terminal, rule, from, to, note``.

    ``from`` and ``to`` are local times with their offset; a fault of an air handler is listed for each of its
    terminals, or at the air handler where a rule judges that itself.
    """
    begin = pd.Timestamp(start).tz_localize(building.time_zone)
    finish = local_time(building, pd.Timestamp(start) + pd.Timedelta(days=days))
    rows = []
    for fault in faults:
        since = max(begin, local_time(building, fault.visible or fault.start) or begin)
        until = min(finish, local_time(building, fault.end) or finish)
        for terminal in _owners(building, fault):
            for rule in fault.rules:
                rows.append(
                    (
                        week,
                        terminal,
                        rule,
                        since.isoformat(),
                        until.isoformat(),
                        fault.note or kind_of(fault.kind).note,
                    )
                )
    table = pd.DataFrame(rows, columns=["week", "terminal", "rule", "from", "to", "note"])
    return table.sort_values(["week", "terminal", "rule", "from"], ignore_index=True)


def local_time(building: Building, when) -> pd.Timestamp | None:
    if when is None:
        return None
    stamp = pd.Timestamp(when)
    return stamp.tz_localize(building.time_zone) if stamp.tzinfo is None else stamp.tz_convert(building.time_zone)


def _owners(building: Building, fault: Fault) -> list[str]:
    """Return where a fault is listed: a trouble of an air handler that only field mode has is listed there, once."""
    if fault.at in building.air_handlers.index and fault.kind in CATALOGUE:
        return list(building.terminals.index[building.terminals["air_handler"] == fault.at])
    return [fault.at]
