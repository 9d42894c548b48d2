"""A period of a field building: how long, what is logged how, and what is wrong in it; all drawn by the seed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from sample_trends.annex_kinds import ANNEX_KINDS, NEVER_OFF, PLACED, SIZES
from sample_trends.building import Building
from sample_trends.faults import Fault, kind_of
from sample_trends.field.building import field_building
from sample_trends.field.logging import SETPOINTS, Logging
from sample_trends.field_kinds import FIELD_KINDS
from sample_trends.weather import Climate

# (first Monday, mean outdoor temperature at the start and at the end [degC], half the daily swing [K])
SEASONS = {
    "cold": ("2026-01-05", -9.0, -1.0, 4.5),
    "mild": ("2026-03-23", 3.0, 13.0, 5.5),
    "warm": ("2026-06-01", 17.0, 25.0, 5.5),
}
# Kinds for terminals that a bad building has; each once or twice.
# Those of a stream of their own come after the others, at terminals that these left free: so none of these moves.
AFTERWARDS = (
    "blade-jammed", "damper-in-hand-open", "minimum-too-high", "minimum-at-two-thirds", "loops-overlap",
    "heater-chatters",
)  # fmt: skip
LAST = ("slow-actuator",)  # at terminals that even the near misses left free
OF_TERMINALS = tuple(
    name
    for name, kind in FIELD_KINDS.items()
    if kind.shows and kind.where != "air handler" and name not in (*AFTERWARDS, *LAST)
) + ("coil-weak",)
# Troubles of an air handler for a while, and those that stand: of each unit one at the most.
OF_AIR_HANDLERS = ("unit-outage", "unit-short-of-pressure", "unit-supply-cold")
STANDING = tuple(
    name for name, kind in FIELD_KINDS.items() if kind.where == "air handler" and name not in OF_AIR_HANDLERS
)
OUT_OF_SEASON = {
    "unit-supply-too-cold": ("warm",), "unit-supply-too-warm": ("cold", "mild"), "unit-supply-cold": ("mild", "warm"),
}  # fmt: skip
# Internal gains over the room's own from which on it takes all the cooling that it has; more where it loses heat.
OVERLOAD = {"cold": 5.5, "mild": 4.0, "warm": 2.8}
LIGHTLY_USED = 0.35  # of the internal gains that a room was designed for
EACH = 2  # terminals that have each kind that was asked for


@dataclass(frozen=True)
class Period:
    """A period of trends of one building.

    Attributes
    ----------
    seed : int
        Draws everything. Every third is a sound building.
    days, terminals : optional
        Where not drawn: smaller ones for tests.
    standing : bool
        Every air handler has a trouble that stands, and none for a while, also where the building would be sound; its
        points are logged; the annex has its faults; and of three buildings two have no fault at the other terminals.
        So much at once no building has: it is the mode in which the rules of air handlers and of the annex are tried.
    all_logged : bool
        Every point is in the export, every 5 minutes, positions are measured, and there is a schedule: what a fault
        does is shown, where few buildings would show it.
    only : tuple of str
        Kinds of faults: a building that is not sound has these alone: each of terminals' ``EACH`` times, those of air
        handlers in turn.
    minutes_given : int, optional
        Interval, where not drawn.
    """

    seed: int
    days_given: float | None = None
    terminals_given: int | None = None
    standing: bool = False
    all_logged: bool = False
    only: tuple[str, ...] = ()
    minutes_given: int | None = None

    @property
    def sound_building(self) -> bool:
        return self.seed % 3 == 2 and not self.standing

    @cached_property
    def season(self) -> str:
        return ("cold", "cold", "mild", "warm")[(3 * self.seed + self.seed // 4) % 4]

    @cached_property
    def minutes(self) -> int:
        return self.minutes_given or (5 if self.all_logged else (15, 15, 5, 15, 1)[self.seed % 5])

    @cached_property
    def days(self) -> float:
        rng = np.random.default_rng([self.seed, 29])
        drawn = {15: int(rng.choice([1, 2, 2, 2, 3, 7])) * 7, 5: int(rng.integers(7, 13))}.get(self.minutes, 7)
        return self.days_given or drawn

    @property
    def start(self) -> str:
        return SEASONS[self.season][0]

    @property
    def climate(self) -> Climate:
        _, begins, ends, swing = SEASONS[self.season]
        return Climate(begins, ends, swing, days=max(self.days, 14))

    @cached_property
    def unlisted_holidays(self) -> tuple[str, ...]:
        """A weekday on which the building is closed and the site file does not know it; not in every period."""
        rng = np.random.default_rng([self.seed, 31])
        if rng.random() < 0.5 or self.days < 5:
            return ()
        weekdays = [day for day in range(int(self.days)) if day % 7 < 5 and day > 0]
        return (str((pd.Timestamp(self.start) + pd.Timedelta(days=int(rng.choice(weekdays)))).date()),)

    @cached_property
    def building(self) -> Building:
        return field_building(self.seed, self.unlisted_holidays, self.terminals_given)

    @cached_property
    def logging(self) -> Logging:
        rng = np.random.default_rng([self.seed, 37])
        logging = Logging(
            minutes=self.minutes,
            schedule=self.seed % 2 == 0,
            fan_control=bool(rng.random() < 0.7),
            flow_setpoint=bool(rng.random() < 0.65),
            static=bool(rng.random() < 0.75),
            static_setpoint=bool(rng.random() < 0.5),
            supply_setpoint=bool(rng.random() < 0.8),
            setpoints=SETPOINTS[self.seed * 5 % 7 % len(SETPOINTS)],
            setpoint_days=float(rng.choice([0.15, 7.0, 14.0])),
            site_setpoints=bool(rng.random() < 0.7),
            policy=bool(rng.random() < 0.5),
            counted=bool(rng.random() < 0.75),
            volts=bool(rng.random() < 0.12),
            cooling_signal=bool(np.random.default_rng([self.seed, 67]).random() < 0.5),
            outdoor_flow=bool(rng.random() < 0.7),
            mode=bool(np.random.default_rng([self.seed, 79]).random() < 0.5),
        )
        if self.all_logged:
            every = {name: True for name, kind in Logging.__annotations__.items() if kind == "bool"}
            return replace(
                logging,
                **every | {"counted": False, "volts": False},
                setpoints="effective and occupied",
                setpoint_days=self.days,
            )
        if not self.standing:
            return logging
        # Here it is the air handlers that are asked about: their points are logged.
        counted = bool(rng.random() < 0.3)
        return replace(logging, static=True, static_setpoint=True, outdoor_flow=True, counted=counted, volts=False)

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """Faults, and the windows of tests, in the order in which they are placed."""
        rng = np.random.default_rng([self.seed, 41])
        placed = list(self._tests(rng))
        if self.sound_building:
            return (*placed, *self._near_misses(rng, self._main))
        if self.only:
            return (*placed, *self._of_named())
        for_a_while = self._of_air_handlers(rng)
        placed += self._of_standing() if self.standing else for_a_while
        free = self._main
        if self.seed % 3 == 0 or not self.standing:
            placed += self._of_terminals(rng, OF_TERMINALS, free)
            placed += self._of_terminals(np.random.default_rng([self.seed, 71]), AFTERWARDS, free)
        placed += self._near_misses(rng, free)
        if self.seed % 3 == 0 or not self.standing:
            free = free - {fault.at for fault in placed}
            placed += self._of_terminals(np.random.default_rng([self.seed, 97]), LAST, free)
        return (*placed, *(self._of_annex(placed) if self.standing else ()))

    def _of_named(self) -> list[Fault]:
        """Return faults of the kinds that were asked for and no others, placed by a stream of their own.

        Beside those of terminals only one air handler has a trouble, and they stand at the others' terminals: what the
        readings show of a terminal is not asked for while its air handler is in trouble.
        """
        rng, units = np.random.default_rng([self.seed, 101]), list(self.building.air_handlers.index)
        of_units = [kind for kind in self.only if kind_of(kind).where == "air handler"]
        of_terminals = [kind for kind in self.only if kind not in of_units]
        in_season = [kind for kind in of_units if self.season not in OUT_OF_SEASON.get(kind, ())]
        troubled = units[: 1 if of_terminals else None] if in_season else []
        turn = (2 * self.seed // 3) * len(troubled)  # every third is a sound building
        placed = [
            self._begun(in_season[(turn + number) % len(in_season)], str(at), rng) for number, at in enumerate(troubled)
        ]
        table = self.building.terminals
        table = table[~table["air_handler"].isin(troubled)]
        free = set(table.index)
        for kind in of_terminals:
            where = table[table["annex"] == (kind in ANNEX_KINDS)].query(kind_of(kind).where)
            for at in [str(tag) for tag in rng.permutation(where.index) if tag in free][:EACH]:
                free -= self._neighbourhood(at)
                turns = self._turns(kind, rng) | self._turns_there(kind, at) | self._size_in_annex(kind, rng)
                placed.append(Fault(kind, at, turns=turns, **self._growth(kind)))
        return placed

    def _of_terminals(self, rng, kinds: tuple[str, ...], free: set[str]):
        """Place each kind once or twice at terminals that are free, and take these out of them."""
        for kind in rng.permutation(kinds):
            can = [tag for tag in self.building.terminals.query(FIELD_KINDS[kind].where).index if tag in free]
            for at in rng.permutation(can)[: 1 + int(rng.random() < 0.25)]:
                free -= self._neighbourhood(at)
                turns = self._turns(kind, rng) | self._turns_there(kind, str(at))
                yield Fault(str(kind), str(at), turns=turns, **self._growth(kind))
                if kind == "flow-slides":  # so that its damper opens
                    yield Fault("busy-room", str(at))

    @property
    def _main(self) -> set[str]:
        """The terminals that are not in the annex."""
        table = self.building.terminals
        return set(table.index[~table["annex"]])

    def _of_annex(self, placed: list[Fault]) -> list[Fault]:
        """Return faults of the annex, drawn by themselves: each kind once, in a room of its own."""
        rng, table = np.random.default_rng([self.seed, 83]), self.building.terminals
        free, found = set(table.index[table["annex"]]), []
        for kind, own in ANNEX_KINDS.items():
            if own.where == "air handler":
                continue
            can = [tag for tag in table.query(own.where).index if tag in free]
            at = str(rng.choice(can)) if can else ""
            turns = self._size_in_annex(kind, rng)
            if rng.random() < PLACED and at:
                free -= self._neighbourhood(at)
                found.append(Fault(kind, at, turns=turns))
        quiet = [unit for unit in self.building.air_handlers.index if unit not in {fault.at for fault in placed}]
        if quiet and rng.random() < NEVER_OFF:
            found.append(Fault("unit-never-off", str(quiet[0])))
        return found

    def _size_in_annex(self, kind: str, rng) -> dict[str, float]:
        if kind not in SIZES:
            return {}
        name, ranges = SIZES[kind]
        low, high = ranges[int(rng.integers(len(ranges)))]
        return {name: float(rng.uniform(low, high))}

    def _growth(self, kind: str) -> dict:
        """Let a sensor slide from two fifths to a half of the period."""
        if kind != "flow-slides":
            return {}
        begins = pd.Timestamp(self.start) + pd.Timedelta(days=0.4 * self.days)
        return {"start": begins, "grows": f"{2.4 * self.days:.0f}h"}

    def _neighbourhood(self, at: str) -> set[str]:
        groups = self.building.terminals["open_zone"]
        return {at, *(groups.index[groups == groups[at]] if groups[at] else ())}

    def _turns(self, kind: str, rng) -> dict[str, float]:
        """Draw the size of what has a range in the field."""
        sizes = {
            "coil-dead": ("heat_capacity", 0.03, 0.09), "valve-leaks-much": ("heat_leak", 0.2, 0.4),
            "deadband-zero": ("heating_shift", 2.0, 2.8), "series-flow-reads-low": ("flow_gain", 0.5, 0.68),
            "duct-blocked-in-field": ("inlet_path", 0.35, 0.55), "blade-jammed": ("blade_least", 0.35, 0.6),
            "minimum-too-high": ("minimum", 1.3, 1.8), "slow-actuator": ("stroke", 45.0, 70.0),
        }  # fmt: skip
        if kind not in sizes:
            return {}
        name, low, high = sizes[kind]
        gap = self.building.terminals["occupied_cooling"].iloc[0] - self.building.terminals["occupied_heating"].iloc[0]
        return {name: gap} if kind == "deadband-zero" else {name: float(rng.uniform(low, high))}

    def _turns_there(self, kind: str, at: str) -> dict[str, float]:
        """Size what depends on the terminal or the season: nothing is drawn.

        Two thirds of its maximum, in a room that is used lightly; a cooling loop that works under heating's; equipment
        that takes all the cooling there is.
        """
        row = self.building.terminals.loc[at]
        if kind == "minimum-at-two-thirds":
            return {"minimum": 0.67 * row["primary_max"] / row["primary_min"], "gains": LIGHTLY_USED}
        if kind == "room-overloaded":
            return {"gains": OVERLOAD[self.season]}
        if kind == "loops-overlap":
            return {"cooling_hidden": row["occupied_cooling"] - row["occupied_heating"] + 0.8}
        return {}

    def _near_misses(self, rng, free: set[str]):
        can = [str(at) for at in rng.permutation(sorted(free))]
        heated = set(self.building.terminals.query(FIELD_KINDS["draughty-room"].where).index)
        draughty = [at for at in can if at in heated][:4]
        low = [at for at in can if at not in draughty][:3]
        return [
            *(Fault("draughty-room", at) for at in draughty),
            *(Fault("flow-a-little-low-in-field", at) for at in low),
        ]

    def _of_air_handlers(self, rng):
        """One trouble an air handler at the most: two days of outage, weeks short of pressure, a week of cold air."""
        kinds = [
            kind for kind in rng.permutation(OF_AIR_HANDLERS) if kind != "unit-supply-cold" or self.season == "cold"
        ]
        placed = []
        for kind, at in zip(kinds, self.building.air_handlers.index, strict=False):
            if rng.random() < 0.4:
                continue
            placed.append(self._for_a_while(str(kind), str(at), rng))
        return placed

    def _for_a_while(self, kind: str, at: str, rng) -> Fault:
        share = {"unit-outage": 2.0 / self.days, "unit-short-of-pressure": 0.45, "unit-supply-cold": 0.5}[kind]
        begins = pd.Timestamp(self.start) + pd.Timedelta(days=float(rng.uniform(0.1, 0.5)) * self.days)
        begins = begins.floor("D") + pd.Timedelta(hours=int(rng.integers(5, 12)))
        begins += pd.Timedelta(
            days=max(0, begins.day_of_week - 2) and (7 - begins.day_of_week) if kind == "unit-outage" else 0
        )
        ends = begins + pd.Timedelta(days=max(share * self.days, 2.0))
        turns = {"static": float(rng.uniform(0.05, 0.14))} if kind == "unit-short-of-pressure" else {}
        return Fault(kind, at, start=begins, end=ends, turns=turns)

    def _of_standing(self):
        """A trouble that stands at each air handler: a sensor's from some hour on."""
        rng = np.random.default_rng([self.seed, 73])
        kinds = [kind for kind in rng.permutation(STANDING) if self.season not in OUT_OF_SEASON.get(str(kind), ())]
        placed = []
        for kind, at in zip(kinds, self.building.air_handlers.index, strict=False):
            placed.append(self._standing(str(kind), str(at), rng))
        return placed

    def _standing(self, kind: str, at: str, rng) -> Fault:
        begins = pd.Timestamp(self.start) + pd.Timedelta(days=int(rng.uniform(0.0, 0.35) * self.days))
        begins += pd.Timedelta(minutes=int(rng.integers(8 * 60, 17 * 60)))
        return Fault(kind, at, **({"start": begins} if kind.endswith("-stuck") else {}))

    def _begun(self, kind: str, at: str, rng) -> Fault:
        """Return a trouble of an air handler, for a while or standing as its kind is."""
        return (self._for_a_while if kind in OF_AIR_HANDLERS else self._standing)(kind, at, rng)

    def _tests(self, rng):
        """A day of functional tests at some terminals, an hour each, or of balancing; the site file leaves it out."""
        if rng.random() < 0.55 or self.days < 4:
            return []
        day = pd.Timestamp(self.start) + pd.Timedelta(days=int(rng.integers(1, 4)))
        kind = str(rng.choice(["functional-test", "balancing"]))
        where = f"({FIELD_KINDS[kind].where}) and not annex"
        can = rng.permutation(self.building.terminals.query(where).index)[:16]
        hours = [day + pd.Timedelta(hours=8 + number % 8) for number in range(len(can))]
        return [
            Fault(kind, str(at), start=begins, end=begins + pd.Timedelta("55min"))
            for at, begins in zip(can, hours, strict=True)
        ]

    @property
    def windows(self) -> list[tuple[pd.Timestamp, pd.Timestamp, tuple[str, ...], str]]:
        """Windows of tests that the site file leaves out: from, to (a while after), terminals, why."""
        tests = [fault for fault in self.faults if fault.kind in ("functional-test", "balancing")]
        if not tests:
            return []
        zone = self.building.time_zone
        begins = min(fault.start for fault in tests).tz_localize(zone)
        ends = (max(fault.end for fault in tests) + pd.Timedelta("1h")).tz_localize(zone)
        return [(begins, ends, tuple(sorted({fault.at for fault in tests})), kind_of(tests[0].kind).note)]
