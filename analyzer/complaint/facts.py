"""What the trends say about one terminal at one time: figures over the hour before it, two days around it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from analyzer.complaint.comfort import ComfortRange, comfort_range, predicted_vote
from analyzer.findings import StoredReview
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.report import natural_key, words
from analyzer.signals import SIGNALS
from analyzer.site.model import SCHEDULE
from analyzer.trends import Trends

HOUR = pd.Timedelta("1h")
AROUND = pd.Timedelta("24h")  # each way
_NOTHING = pd.Timedelta(0)
# What the rules heating-capacity-short and reheat-leaking-by start from [K]: the most that the discharge may be above
# the zone where heat modulates (20 degF), above the entering air where it is staged (50 degF); what stands in for a
# sensor.
CAPABILITY_RISE = 20 * 5 / 9
_PARAMETERS = {
    "capability_rise": CAPABILITY_RISE,
    "staged_rise": 50 * 5 / 9,
    "duct_gain": 2.0,
    "plenum_above_zone": 10.0,
}
# Out of its setpoints by less than this is a sensor's accuracy [K].
A_LITTLE = 0.3
_AIR_HANDLER = "air handler "
# The rule that finds the airflow reading wrong, and the impact of what finds any reading wrong.
FLOW_SENSOR, DATA = "flow-sensor-drift", "data"


@dataclass(frozen=True)
class Outside:
    """How a zone stood to its setpoints over a stretch: hours, worst [K] and degree-hours [K h] on one side."""

    hours: float
    worst: float
    degree_hours: float
    from_when: pd.Timestamp | None
    to_when: pd.Timestamp | None


class Facts:
    """One terminal at one time.

    Parameters
    ----------
    review : StoredReview
    terminal : str
    moment : Timestamp
        In the site's zone, within the period.

    Notes
    -----
    Figures are means over the hour up to the moment, of SI values; NaN is unknown.
    """

    def __init__(self, review: StoredReview, terminal: str, moment: pd.Timestamp):
        self.review, self.terminal, self.moment = review, terminal, moment
        self.schedule = review.schedule(terminal)
        self.air_handler = review.air_handler(terminal)
        self.units, self.zone = review.site.units, review.site.time_zone
        self.trends = review.trends([terminal, *self.neighbour_tags])
        self._time = self.trends.terminals["time"]
        self.scene = review.scene(self._without_wrong_flow())
        self._codes = self.scene.code
        self._code = {tag: i for i, tag in enumerate(self.trends.terminals["terminal"].cat.categories)}

    @cached_property
    def neighbour_tags(self) -> list[str]:
        """The other terminals of the air handler that have trends; those of the same open zone come first."""
        if self.air_handler is None:
            return []
        known = set(self.review.terminals)
        table = self.review.site.schedule
        others = table[(table["air_handler"] == self.air_handler) & (table.index != self.terminal)]
        room, floor = self.schedule.get("open_zone"), self.schedule.get("floor")
        near = [
            (not room or its_room != room, its_floor != floor, natural_key(tag), tag)
            for tag, its_room, its_floor in zip(others.index, others["open_zone"], others["floor"], strict=True)
            if tag in known
        ]
        return [tag for *_, tag in sorted(near)]

    @cached_property
    def wrong_flow(self) -> dict[str, Any] | None:
        """The finding by which the terminal's primary airflow reading was wrong at the moment."""
        own = [finding for finding in self.standing if finding["rule"] == FLOW_SENSOR]
        return next((finding for finding in own if finding["terminal"] == self.terminal), None)

    def _without_wrong_flow(self) -> Trends:
        """Return the trends; a primary airflow that reads wrong is not known in them."""
        if self.wrong_flow is None:
            return self.trends
        table = self.trends.terminals
        wrong = np.zeros(len(table), dtype=bool)
        for episode in self.wrong_flow["episodes"]:
            begin, end = pd.Timestamp(episode["from"]), pd.Timestamp(episode["to"])
            wrong |= ((self._time >= begin) & (self._time <= end)).to_numpy()
        wrong &= (table["terminal"] == self.terminal).to_numpy()
        return replace(self.trends, terminals=table.assign(primary_flow=table["primary_flow"].mask(wrong)))

    def as_read(self, name: str) -> float:
        """Return a trend at the moment as it was logged, wrong or not."""
        return _mean(self.trends.terminals[name].to_numpy()[self.rows()])

    def rests_on_a_wrong_reading(self, finding: dict[str, Any]) -> bool:
        """Tell whether a finding follows from a reading of its own terminal that is wrong: it is no evidence."""
        passed = set()
        cause = self.review.findings.get(finding.get("under") or "")
        while cause and cause["id"] not in passed and cause["terminal"] == finding["terminal"]:
            if cause["impact"] == DATA:
                return True
            passed.add(cause["id"])
            cause = self.review.findings.get(cause.get("under") or "")
        return False

    # Rows -----------------------------------------------------------------------------------------------------------

    def rows(
        self, terminal: str | None = None, before: pd.Timedelta = HOUR, after: pd.Timedelta = _NOTHING
    ) -> np.ndarray:
        """Return the rows of a terminal between two distances from the moment, the first open, the last closed."""
        code = self._codes == self._code.get(terminal or self.terminal, -1)
        near = (self._time > self.moment - before) & (self._time <= self.moment + after)
        return np.flatnonzero(code & near.to_numpy())

    def values(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        """Return a trend, signal, schedule value or air handler's point over all rows."""
        if name.startswith(_AIR_HANDLER):
            return self.scene.air_handler(name.removeprefix(_AIR_HANDLER))
        given = _PARAMETERS | (parameters or {})
        needed = SIGNALS[name].parameters if name in SIGNALS else ()
        return self.scene.value(name, {key: given[key] for key in needed})

    def at(self, name: str, terminal: str | None = None, parameters: dict[str, float] | None = None) -> float:
        """Return a figure at the moment: the mean of its hour; of the signals' parameters some may be given."""
        return _mean(self.values(name, parameters)[self.rows(terminal)])

    def knows(self, name: str, parameters: dict[str, float] | None = None) -> bool:
        """Tell whether a trend, signal, schedule value, word of the schedule or point of the air handler is known."""
        if SCHEDULE.get(name) == "text":
            return isinstance(self.schedule.get(name), str)
        own = name in TERMINAL or name in SIGNALS or name in SCHEDULE
        return not math.isnan(self.at(name if own else _AIR_HANDLER + name, parameters=parameters))

    @cached_property
    def occupied(self) -> bool | None:
        """Whether the zone was occupied at the moment itself; None where nobody says."""
        values = self.values("occupied")[self.rows()]
        known = values[~np.isnan(values)]
        return bool(known[-1] > 0.5) if len(known) else None

    def usual(self, name: str) -> float:
        """Return a figure's median over the occupied hours of the whole period, with the air handler running."""
        own = self._codes == self._code[self.terminal]
        running = self.values(_AIR_HANDLER + "supply_fan_status")
        rows = own & (self.values("occupied") > 0.5) & ~(running <= 0.5)
        known = self.values(name)[rows]
        known = known[~np.isnan(known)]
        return float(np.median(known)) if len(known) else math.nan

    # Words ----------------------------------------------------------------------------------------------------------

    def say(self, name: str, value: float | None = None) -> str:
        """Spell a figure in the site's units."""
        return words.shown(self.at(name) if value is None else value, self.dimension(name), self.units)

    def spell(self, value: float, dimension: str) -> str:
        """Spell a value of a dimension in the site's units: differences without a sign, shares as percent."""
        if dimension == "temperature_difference":
            return self.say_difference(value)
        if dimension == "fraction":
            return words.amount(100 * value, "%")
        return words.hours(value / 3600) if dimension == "time" else words.shown(value, dimension, self.units)

    def say_difference(self, kelvin: float) -> str:
        """Spell a difference of two temperatures."""
        return words.shown(abs(kelvin), "temperature_difference", self.units)

    @staticmethod
    def dimension(name: str) -> str:
        """Return what a name measures."""
        name = name.removeprefix(_AIR_HANDLER)
        if name in SIGNALS:
            return SIGNALS[name].dimension
        quantity = TERMINAL.get(name) or AIR_HANDLER.get(name)
        return quantity.dimension if quantity else SCHEDULE[name]

    # The zone -------------------------------------------------------------------------------------------------------

    @cached_property
    def below(self) -> float:
        """How far the zone was under its heating setpoint [K]; negative above it."""
        return self.at("heating_setpoint") - self.at("zone_temp")

    @cached_property
    def above(self) -> float:
        """How far the zone was over its cooling setpoint [K]; negative under it."""
        return self.at("zone_temp") - self.at("cooling_setpoint")

    @cached_property
    def comfort(self) -> ComfortRange:
        """The published comfort range, in the clothing of that day's outdoor temperature."""
        rows = self.rows(before=AROUND)
        return comfort_range(_mean(self.values(_AIR_HANDLER + "outdoor_temp")[rows]))

    @cached_property
    def votes(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Predicted vote and share dissatisfied at the moment, in the warmest and in the lightest clothing."""
        zone, comfort = self.at("zone_temp"), self.comfort
        return _vote(zone, comfort.warmest), _vote(zone, comfort.lightest)

    def outside(self, which: str) -> Outside | None:
        """Say how the zone stood to a setpoint, 'heating' or 'cooling', over the occupied hours of the two days.

        None where one of the two is not known in any of them.
        """
        rows = self.rows(before=AROUND, after=AROUND)
        zone, setpoint = self.values("zone_temp")[rows], self.values(f"{which}_setpoint")[rows]
        off = (setpoint - zone) if which == "heating" else (zone - setpoint)
        occupied = self.values("occupied")[rows] > 0.5
        if np.isnan(off[occupied]).all():
            return None
        out = (off > A_LITTLE) & occupied
        if not out.any():
            return Outside(0.0, 0.0, 0.0, None, None)
        hours = self.scene.hours[rows][out]
        times = self._time.iloc[rows[out]].dt.tz_convert(self.zone)
        last = times.iloc[-1] + pd.Timedelta(hours=float(hours[-1]))
        return Outside(float(hours.sum()), float(off[out].max()), float((off[out] * hours).sum()), times.iloc[0], last)

    @cached_property
    def feels(self) -> str:
        """Which way the zone was off by the trends: 'cold', 'warm', or '' where it was neither."""
        zone = self.at("zone_temp")
        if self.below > A_LITTLE or zone < self.comfort.low:
            return "cold"
        if self.above > A_LITTLE or zone > self.comfort.high:
            return "warm"
        return ""

    # Verdicts -------------------------------------------------------------------------------------------------------

    @cached_property
    def standing(self) -> list[dict[str, Any]]:
        """The findings of the terminal, and of its air handler, whose fault stood within the hour before."""
        return [finding for finding in self._own_findings if self._stood(finding, HOUR)]

    @cached_property
    def near_in_time(self) -> list[dict[str, Any]]:
        """The findings whose fault stood within the two days, though not at the moment."""
        return [f for f in self._own_findings if f not in self.standing and self._stood(f, AROUND, AROUND)]

    @cached_property
    def at_other_times(self) -> list[dict[str, Any]]:
        """The findings whose fault stood on other days only."""
        return [f for f in self._own_findings if f not in self.standing and f not in self.near_in_time]

    @property
    def _own_findings(self) -> list[dict[str, Any]]:
        near = (self.terminal, self.air_handler)
        return [
            f for f in self.review.findings.values() if f["terminal"] in near or self.terminal in f.get("terminals", ())
        ]

    def _stood(self, finding: dict[str, Any], before: pd.Timedelta, after: pd.Timedelta = _NOTHING) -> bool:
        return any(
            pd.Timestamp(episode["from"]) <= self.moment + after and pd.Timestamp(episode["to"]) > self.moment - before
            for episode in finding["episodes"]
        )

    def verdict(self, rule: str) -> tuple[str, str]:
        """Return the verdict of a rule on this terminal over the whole period, and its reason."""
        key = (self.terminal, rule)
        if key not in self.review.verdicts.index:
            return "", ""
        row = self.review.verdicts.loc[key]
        return row["verdict"], row["reason"]

    @cached_property
    def verdict_counts(self) -> dict[str, int]:
        """How many rules came to which verdict on this terminal over the whole period."""
        own = self.review.verdicts[self.review.verdicts["terminal"] == self.terminal]
        return {str(verdict): int(rows) for verdict, rows in own["verdict"].value_counts().items()}

    @property
    def kind(self) -> str:
        """What the terminal is: as scheduled, else as its fan says."""
        return str(self.scene.kinds[self._code[self.terminal]])

    @property
    def kind_scheduled(self) -> bool:
        """Whether the schedule gives what the terminal is."""
        return bool(self.scene.words("kind")[self._code[self.terminal]])

    @property
    def has_reheat(self) -> bool:
        """Whether the terminal can heat."""
        return bool(self.scene.has_reheat[self._code[self.terminal]])


def _mean(values: np.ndarray) -> float:
    known = values[~np.isnan(values)]
    return float(known.mean()) if len(known) else math.nan


def _vote(temperature: float, clothing: float) -> tuple[float, float]:
    vote, dissatisfied = predicted_vote(temperature, clothing=clothing)
    return float(vote), float(dissatisfied)
