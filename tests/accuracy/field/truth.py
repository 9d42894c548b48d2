"""What is true of a field period: what is wrong where, what the columns show of it, and what has to come out clear."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pandas as pd

from sample_trends.faults import Fault, kind_of
from sample_trends.field import Logged
from sample_trends.field.logs import during
from tests.accuracy.field import evidence
from tests.accuracy.field.evidence import air_handlers, annex, setpoints
from tests.accuracy.field.view import View

BUILDING = "building"
SHARED = 0.5  # more than so many of the terminals: what they have is the building's (or the air handler's)
NEVER_RESET = "static-setpoint-never-reset"
JUMPED = 3  # terminals whose position jumps make positions not credible


class Truth:
    """The truth of one logged period.

    Attributes
    ----------
    own : dict
        Terminal -> its faults (near misses and tests are none).
    of_unit : dict
        Air handler -> its troubles.
    conditions : dict
        Rule -> terminals that share a condition which is one finding of the building, and a nuisance at each of them.
    may : dict
        Terminal -> rules that are true of it without being asked for.
    seeded : DataFrame
        A row for each fault and rule that has to show it: ``kind, at, rule, hours, shown``.
    """

    def __init__(self, logged: Logged):
        self.logged, self.building = logged, logged.recording.building
        self.table = self.building.terminals
        self.own: dict[str, list[Fault]] = defaultdict(list)
        self.of_unit: dict[str, list[Fault]] = defaultdict(list)
        for fault in logged.recording.faults:
            kind = kind_of(fault.kind)
            if kind.shows or kind.also:
                (self.of_unit if kind.where == "air handler" else self.own)[fault.at].append(fault)
        self.views: dict[str, View] = {}
        self.log_ends = self._log_ends()
        self.conditions = self._conditions()
        self.may = self._may()
        self.seeded = self._seeded()
        self._starved_unless_shown()

    def view(self, tag: str) -> View:
        if tag not in self.views:
            self.views[tag] = View(self.logged, tag)
        return self.views[tag]

    @property
    def sound(self) -> list[str]:
        """Terminals without a fault of their own, of their air handler, or of a neighbour in their open zone."""
        groups = self.table["open_zone"]
        touched = set(groups[list(self.own)].dropna())
        units = self.table["air_handler"]
        return [
            tag for tag in self.table.index
            if tag not in self.own and not self.of_unit.get(units[tag]) and groups[tag] not in touched
        ]  # fmt: skip

    def _seeded(self) -> pd.DataFrame:
        rows = []
        for tag, faults in self.own.items():
            for fault in faults:
                for rule, hours_of in evidence.OF_TERMINALS.get(fault.kind, {}).items():
                    with np.errstate(invalid="ignore", divide="ignore"):
                        rows.append((fault.kind, tag, rule, hours_of(self.view(tag))))
        for unit, faults in self.of_unit.items():
            for fault in faults:
                when = during(self.logged.recording, fault)
                for rule, hours_of in evidence.OF_AIR_HANDLERS[fault.kind].items():
                    rows.append((fault.kind, unit, rule, hours_of(self.logged, unit, when)))
        rows += [("pressure never reset", unit, NEVER_RESET, hours) for unit, hours in self._never_reset().items()]
        rows += [("log ends", tag, "point-log-ended", hours) for tag, hours in self.log_ends.items()]
        rows += [("shared by the building", BUILDING, rule, hours) for rule, hours in self._shared_hours().items()]
        told = pd.DataFrame(rows, columns=["kind", "at", "rule", "hours"])
        least = told["rule"].map(evidence.LEAST).fillna(evidence.USUAL_LEAST) * min(self.logged.period.days / 7, 1.0)
        return told.assign(shown=told["hours"] >= least)

    def _never_reset(self) -> dict[str, float]:
        """Hours that settle it at units whose pressure setpoint nothing resets; with a trouble it is true, too."""
        table, always = self.building.air_handlers, np.ones(len(self.logged.time), bool)
        fixed = list(table.index[~table["static_reset"]])
        for unit in fixed:
            self.may.setdefault(unit, set()).add(NEVER_RESET)
        fixed = [unit for unit in fixed if not self.of_unit.get(unit)]
        return {unit: air_handlers.never_reset(self.logged, unit, always) for unit in fixed}

    def _shared_hours(self) -> dict[str, float]:
        """Hours that settle what the whole building shares; a gap by policy is a finding at the most, and not asked for."""
        told = {}
        if "damper-position-not-credible" in self.conditions:
            told["damper-position-not-credible"] = np.inf if air_handlers.jumps(self.logged) >= JUMPED else 0.0
        if "point-log-ended" in self.conditions:
            told["point-log-ended"] = 24.0 * (self.logged.period.days - self.logged.period.logging.setpoint_days)
        if "no-unoccupied-setback" in self.conditions:
            told["no-unoccupied-setback"] = float(
                np.median([setpoints.no_setback(self.view(tag)) for tag in self.table.index])
            )
        return told

    def _conditions(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        everywhere = set(self.table.index)
        gap = self.table["occupied_cooling"] - self.table["occupied_heating"]
        if (gap < 2.5).all():  # the policy's 4 degF at nearly all: one finding at the most
            found["setpoints-too-close"] = everywhere
        if self.table["standby_crossed"].any() and "standby_heating_setpoint" in self.logged.terminals:
            crossed = set(self.table.index[self.table["standby_crossed"]])
            found["setpoints-too-close"] = found.get("setpoints-too-close", set()) | crossed
            found["setpoint-out-of-policy"] = crossed
        logging = self.logged.period.logging
        if "occupied" in logging.setpoints and 1.0 <= logging.setpoint_days < self.logged.period.days - 1.0:
            found["point-log-ended"] = everywhere  # the points by mode, of all terminals at one moment
        back = self.table["occupied_heating"] - self.table["unoccupied_heating"] < 0.5
        if back.all():
            found["no-unoccupied-setback"] = everywhere
        if self.logged.period.logging.counted:
            found["damper-position-not-credible"] = everywhere
        return found

    def _starved_unless_shown(self) -> None:
        """Let low flow at a full damper be starvation where nothing that is logged says sensor."""
        silent = self.seeded[(self.seeded["rule"] == "flow-sensor-drift") & ~self.seeded["shown"]]
        for tag in silent.loc[silent["kind"] != "flow-zero-drifted", "at"]:
            self.may.setdefault(tag, set()).add("starved-terminal")

    def _may(self) -> dict[str, set[str]]:
        co2 = np.isfinite(self.logged.terminals["co2"]).any(axis=0) & self.logged.gaps.not_connected
        found: dict[str, set[str]] = {tag: {"sensor-implausible", "sensor-flatlined"} for tag in self.table.index[co2]}
        for tag in self.log_ends:
            found.setdefault(tag, set()).add("point-log-ended")
        return found

    def _log_ends(self) -> dict[str, float]:
        """Return the terminals one of whose logs ends days before the others', and for how many hours."""
        hours = {tag: annex.ended(self.logged, number) for number, tag in enumerate(self.table.index)}
        least = max(24.0, 0.025 * 24.0 * self.logged.period.days)
        return {tag: ended for tag, ended in hours.items() if ended >= least}
