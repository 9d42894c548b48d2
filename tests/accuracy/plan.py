"""What is simulated: buildings, weathers, and which fault stands where."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sample_trends import CATALOGUE, Building, Climate, Fault, invented_building

# Weather -> the Monday on which its week begins, and the outdoor temperature.
WEATHERS = {
    "cold": ("2026-01-12", Climate(at_start=-14.0, at_end=-4.0, swing=4.5)),
    "mild": ("2026-03-30", Climate(at_start=4.0, at_end=13.0, swing=5.5)),
    "warm": ("2026-06-15", Climate(at_start=19.0, at_end=25.0, swing=5.5)),
}
# A fault that only a load brings out gets one, so that some of its weeks can show it.
LOADS = {
    "duct-blocked": {"gains": 1.8},
    "damper-linkage-slipped": {"gains": 1.6},
    "fan-in-hand": {"gains": 2.0},
    "maximum-entered-too-high": {"gains": 3.0},
    # Little air for much heat: only then does the discharge follow a limit that was entered too high.
    "discharge-too-hot": {"leaky_room": 4.0, "heating_flow": 0.5, "zone_band": 0.0},
}
OF_AIR_HANDLERS = [kind for kind, told in CATALOGUE.items() if told.where == "air handler"]
OF_TERMINALS = [kind for kind in CATALOGUE if kind not in OF_AIR_HANDLERS]


@dataclass(frozen=True)
class Week:
    """One simulated week.

    Attributes
    ----------
    weather : str
        A key of WEATHERS.
    seed : int
        Of the building, its weather and noise, and of where the faults stand.
    terminals : int
        How many terminals the building has.
    each : int
        In how many terminals each kind of fault stands; fewer where the building has not so many that can have it.
    days : float
    air_handlers_fail : bool
        Faults of air handlers, one air handler each, instead of faults of terminals.
    """

    weather: str
    seed: int
    terminals: int = 200
    each: int = 2
    days: float = 7
    air_handlers_fail: bool = False

    @cached_property
    def building(self) -> Building:
        return invented_building(self.terminals, self.seed)

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """The faults; the kinds that fewest terminals can have are placed first."""
        if self.air_handlers_fail:
            handlers = self.building.air_handlers.index
            return tuple(Fault(kind, at) for kind, at in zip(OF_AIR_HANDLERS, handlers, strict=False))
        rng = np.random.default_rng([self.seed, 11])
        table = self.building.terminals
        placed, free = [], set(table.index)
        for kind in sorted(OF_TERMINALS, key=lambda kind: len(table.query(CATALOGUE[kind].where))):
            can = [tag for tag in table.query(CATALOGUE[kind].where).index if tag in free]
            for at in rng.permutation(can)[: self.each]:
                free.discard(at)
                placed.append(Fault(kind, str(at), turns=LOADS.get(kind, {}), **self._when(kind)))
        return tuple(placed)

    def _when(self, kind: str) -> dict:
        if kind != "controller-restarts":
            return {}
        day = np.datetime64(WEATHERS[self.weather][0]) + np.timedelta64(2, "D")
        return {"start": f"{day} 10:03", "end": f"{day} 10:06"}

    @cached_property
    def faulted(self) -> dict[str, Fault]:
        """Terminal -> its fault; a near miss is none."""
        own = {}
        for fault in self.faults:
            if CATALOGUE[fault.kind].shows:
                for tag in self.terminals_of(fault):
                    own[tag] = fault
        return own

    def terminals_of(self, fault: Fault) -> list[str]:
        table = self.building.terminals
        return [fault.at] if fault.at in table.index else list(table.index[table["air_handler"] == fault.at])

    @cached_property
    def sound(self) -> list[str]:
        """Terminals without a fault of their own, of their air handler or of a neighbour in their open zone."""
        groups = self.building.terminals["open_zone"]
        touched = set(groups[list(self.faulted)].dropna())
        return [tag for tag in groups.index if tag not in self.faulted and groups[tag] not in touched]


def whole_plan(first_seed: int) -> list[Week]:
    """Return the weeks of the evidence: two buildings in each weather, and one whose air handlers fail."""
    weeks = []
    for number, weather in enumerate(WEATHERS):
        weeks += [Week(weather, first_seed + 10 * number + more) for more in (0, 1)]
        weeks.append(Week(weather, first_seed + 10 * number + 2, terminals=80, air_handlers_fail=True))
    return weeks
