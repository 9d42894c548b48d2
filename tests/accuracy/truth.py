"""Whether a week's readings show a fault: worked out from the one-minute readings, without the analyzer's rules."""

from __future__ import annotations

import pandas as pd

from sample_trends import Simulated
from tests.accuracy.plan import Week
from tests.sample_trends.evidence import Terminal, hours_of

# Hours of the week in which the readings have to show a fault for it to count as shown.
LEAST_HOURS = 2.0
OTHERWISE = {"zone-too-cold": 4.0, "zone-too-warm": 4.0, "flow-sensor-drift": 8.0, "no-unoccupied-setback": 12.0}
# An air handler's fault is shared where so many of its terminals show it, and this share of them.
SHARING, SHARE = 5, 0.3
SHARED = "air-handler-common-cause"


class Truth:
    """The hours in which each seeded fault is to be seen in the readings of one simulated week."""

    def __init__(self, week: Week, simulated: Simulated):
        self.week = week
        self.schedule = week.building.schedule()
        self._zone = week.building.time_zone
        self._trends = dict(iter(simulated.terminals.groupby("terminal")))
        self._handlers = dict(iter(simulated.air_handlers.groupby("air_handler")))

    def hours(self, rule: str, at: str) -> float:
        """Return the hours of the week in which a terminal's (or air handler's) readings show a rule's fault."""
        if at not in self.week.building.air_handlers.index:
            return hours_of(rule, self._terminal(at))
        table = self.week.building.terminals
        own = sorted(
            (hours_of(rule, self._terminal(tag)) for tag in table.index[table["air_handler"] == at]), reverse=True
        )
        return own[max(SHARING, round(SHARE * len(own))) - 1]

    def shown(self, rule: str, hours: float) -> bool:
        """Tell whether so many hours in a week make a fault that is shown; fewer in proportion in a shorter week."""
        return hours >= OTHERWISE.get(rule, LEAST_HOURS) * min(self.week.days / 7, 1.0)

    def _terminal(self, tag: str) -> Terminal:
        row = self.schedule.loc[tag]
        groups = self.schedule["open_zone"].dropna()
        mates = [other for other in groups.index[groups == row["open_zone"]] if other != tag]
        handler = self._local(self._handlers[row["air_handler"]])
        return Terminal(
            self._local(self._trends[tag]), handler, row, [self._local(self._trends[mate]) for mate in mates]
        )

    def _local(self, rows: pd.DataFrame) -> pd.DataFrame:
        return rows.set_index("time").tz_convert(self._zone)
