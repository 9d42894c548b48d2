"""One terminal of a logged period, as the plain arithmetic of the evidence looks at it."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import pandas as pd

from sample_trends.faults import kind_of
from sample_trends.field import Logged
from sample_trends.field.logs import during

SETTLES = 1.0  # h after an air handler came on, or a trouble of it went by


class View:
    """One terminal: what was logged (attributes by quantity), what was true (``true``), its schedule, when it counts."""

    def __init__(self, logged: Logged, tag: str):
        self.logged, self.tag = logged, tag
        self.building = logged.recording.building
        self.at = self.building.terminals.index.get_loc(tag)
        self.row = self.building.terminals.loc[tag]
        self.unit = self.building.air_handlers.index.get_loc(self.row["air_handler"])
        self.hours_a_sample = logged.period.minutes / 60.0
        self.samples_an_hour = max(round(60 / logged.period.minutes), 1)

    def __getattr__(self, name: str) -> np.ndarray:
        values = self.logged.terminals.get(name)
        if values is None:
            raise AttributeError(name)
        return values[:, self.at]

    def true(self, name: str) -> np.ndarray:
        return self.logged.recording.terminals[name][:, self.at].astype(float)

    def of_unit(self, name: str) -> np.ndarray:
        """A point of its air handler as it was logged; all missing where it was not."""
        found = self.logged.air_handlers.get(name)
        return np.full(len(self.logged.time), np.nan) if found is None else found[:, self.unit]

    def is_logged(self, *names: str) -> bool:
        return all(np.isfinite(getattr(self, name)).mean() > 0.02 for name in names)

    @property
    def scheduled(self) -> bool:
        return self.logged.period.logging.schedule

    @cached_property
    def unit_on(self) -> np.ndarray:
        return self.logged.recording.air_handlers["supply_fan_status"][:, self.unit] > 0.5

    @cached_property
    def undisturbed(self) -> np.ndarray:
        """Tell the samples outside troubles of the air handler and outside windows of tests."""
        fine = np.ones(len(self.logged.time), bool)
        for fault in self.logged.recording.faults:
            if fault.at == self.row["air_handler"]:
                fine &= ~during(self.logged.recording, fault)
        for begins, ends, tags, _ in self.logged.period.windows:
            if self.tag in tags:
                fine &= ~((self.logged.time >= begins) & (self.logged.time < ends))
        return self._held(fine, SETTLES)

    @cached_property
    def in_use(self) -> np.ndarray:
        """Occupied hours in which the air handler has run for an hour, undisturbed."""
        occupied = self.true("occupied") > 0.5
        return self._held(occupied & self.unit_on, SETTLES) & self.undisturbed

    @cached_property
    def out_of_hours(self) -> np.ndarray:
        """Outside the site's hours by three hours and more, undisturbed."""
        hour = self.logged.time.hour + self.logged.time.minute / 60
        return ((hour < 3) | (hour >= 21)) & self.undisturbed

    @cached_property
    def setpoints(self) -> tuple[np.ndarray, np.ndarray]:
        """The heating and cooling setpoint in force [degC], where anything that was logged or stated tells them."""
        heating, cooling = (self.true(f"{side}_setpoint") for side in ("heating", "cooling"))
        logging = self.logged.period.logging
        told = logging.site_setpoints or logging.setpoints != "none"
        return (heating, cooling) if told else (np.full_like(heating, np.nan), np.full_like(cooling, np.nan))

    def held(self, seen: np.ndarray, hours: float) -> np.ndarray:
        return self._held(np.asarray(seen, bool), hours)

    def _held(self, seen: np.ndarray, hours: float) -> np.ndarray:
        """Tell where something has stood for so many hours."""
        window = max(int(round(hours * self.samples_an_hour)), 1)
        return pd.Series(seen.astype(float)).rolling(window, min_periods=1).min().to_numpy() == 1

    def total(self, seen: np.ndarray) -> float:
        """Return the hours of samples at which something is seen."""
        return float(np.nan_to_num(np.asarray(seen, float)).sum() * self.hours_a_sample)


def turned(fault) -> dict[str, float]:
    """Return the knobs that a fault turns."""
    return kind_of(fault.kind).turns | fault.turns
