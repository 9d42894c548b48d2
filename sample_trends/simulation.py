"""Run a building through days: terminals as arrays, one short time step after another."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pandas as pd

from sample_trends import control, physics, plant
from sample_trends.air_handlers import AirHandlers
from sample_trends.building import Building
from sample_trends.knobs import Knobs
from sample_trends.occupancy import occupied_hours, presence, warm_up_hours
from sample_trends.steps import STEP
from sample_trends.weather import Climate, outdoor_temperature, sun_on_glass

_STREAMS = ("outdoor", "days", "clouds", "by_day", "by_block", "sensors", "handlers", "absence")
NOISE_BLOCK = 1024  # steps drawn at once
SPIN_UP = pd.Timedelta("2D")  # before the start, so that rooms and loops have their own history

TERMINAL_RECORDS = {
    "zone_temp": "zone_read", "heating_setpoint": "heating_setpoint", "cooling_setpoint": "cooling_setpoint",
    "primary_flow": "flow_read", "primary_flow_setpoint": "flow_setpoint", "damper_position": "actuator",
    "fan_status": "fan_status", "fan_command": "fan_command", "fan_speed": "fan_speed",
    "discharge_flow": "discharge_flow", "reheat_position": "heat_signal", "discharge_temp": "discharge_read",
    "primary_temp": "primary_temp", "plenum_temp": "plenum_temp", "outdoor_air_flow": "outdoor_inlet",
    "occupied": "occupied", "co2": "co2", "true_primary_flow": "primary_flow",
}  # fmt: skip
AIR_HANDLER_RECORDS = {
    "supply_temp": "supply_temp", "supply_flow": "flow", "duct_static_pressure": "pressure",
    "supply_fan_status": "on", "outdoor_temp": "outdoor", "outdoor_air_fraction": "fraction",
}  # fmt: skip
# What field mode records beside them: points that some buildings log, and what only the truth is worked out from.
MORE_OF_TERMINALS = {
    "true_position": "blade", "heating_call": "heating_call", "cooling_signal": "cooling_call", "standby": "standby",
    "coil_heat": "coil_heat", "entering_temp": "entering_temp", "true_zone_temp": "zone_temp",
    "true_discharge_temp": "discharge_temp",
}  # fmt: skip
MORE_OF_AIR_HANDLERS = {
    "supply_temp_setpoint": "shown_setpoint", "duct_static_setpoint": "shown_pressure_setpoint",
    "supply_fan_speed": "fan_speed", "heating_signal": "heating_signal",
}  # fmt: skip


@dataclass(frozen=True)
class Recording:
    """What the sensors showed, before rounding. Arrays have one row a sample and one column a terminal (air handler).

    Attributes
    ----------
    time : DatetimeIndex
        Local times of the samples.
    terminals, air_handlers : dict
        Quantity -> float32 array, SI, states 0 or 1. ``true_primary_flow`` is there too: the air itself [L/s].
    fan_status : ndarray
        uint8, one row for each simulation step from ``time[0]`` on.
    """

    building: Building
    time: pd.DatetimeIndex
    terminals: dict[str, np.ndarray]
    air_handlers: dict[str, np.ndarray]
    fan_status: np.ndarray
    steps_a_sample: int
    faults: tuple = field(default=())


def record(
    building: Building,
    faults=(),
    *,
    seed: int,
    start,
    days: float,
    step_minutes: float,
    climate: Climate,
    more: bool = False,
) -> Recording:
    """Simulate a building and record every ``step_minutes``; see ``sample_trends.simulate``.

    ``more``: record what field mode needs, too.
    """
    every = round(step_minutes * 60.0 / STEP)
    if every < 1 or abs(every * STEP - step_minutes * 60.0) > 1e-6:
        raise ValueError(f"step_minutes={step_minutes} is no multiple of {STEP / 60:g}")
    run = _Run(building, faults, seed, pd.Timestamp(start), days, climate)
    if not more:
        return run.play(every, TERMINAL_RECORDS, AIR_HANDLER_RECORDS)
    return run.play(every, TERMINAL_RECORDS | MORE_OF_TERMINALS, AIR_HANDLER_RECORDS | MORE_OF_AIR_HANDLERS)


class _Run:
    """One simulation: the surroundings of every step, and the state that moves through them."""

    def __init__(self, building: Building, faults, seed: int, start: pd.Timestamp, days: float, climate: Climate):
        self.building, self.faults = building, tuple(faults)
        zone, count = building.time_zone, len(building.terminals)
        begins, ends = start.tz_localize(zone), (start + pd.Timedelta(days=days)).tz_localize(zone)
        self.local = pd.date_range(begins - SPIN_UP, ends, freq=f"{STEP:g}s", inclusive="left")
        self.first = int(self.local.searchsorted(begins))
        # Each purpose draws from a stream of its own, in the order of time: a longer run begins like a shorter one.
        self.streams = {name: np.random.default_rng([seed, number]) for number, name in enumerate(_STREAMS)}
        self.outdoor = outdoor_temperature(self.local, climate, begins, self.streams["outdoor"])
        self.sun = sun_on_glass(self.local, building.latitude, self.streams["days"], self.streams["clouds"])
        self.occupied = occupied_hours(self.local, building.closed)
        self.warm_up, flush = warm_up_hours(self.local, self.outdoor, building.closed)
        self.active = self.occupied | self.warm_up | flush
        self.people, self.gains = presence(self.local, count, self.streams["by_day"], self.streams["by_block"])
        self.knobs = Knobs(building, self.faults, self.local)
        self.handlers = AirHandlers(building, self.streams["handlers"], len(self.local))
        if building.closed:
            shut = np.isin(self.local.strftime("%Y-%m-%d"), building.closed)
            self.people[shut], self.gains[shut] = 0.0, 0.08
        self.b = plant.lay_out(building)
        if (self.b.standby_gap > 0.0).any():
            self._leave_rooms(self.streams["absence"])
        self.t = plant.beginning(count)

    def _leave_rooms(self, rng: np.random.Generator) -> None:
        """Let nobody be in the rooms that have a standby mode, for a third of the two-hour stretches."""
        stretch = np.asarray((self.local - self.local[0]) // pd.Timedelta("2h"))
        away = rng.random((stretch.max() + 1, len(self.b.area))) < 0.33
        self.people = np.where(away[stretch] & (self.b.standby_gap > 0.0), np.float32(0.0), self.people)

    def play(self, every: int, of_terminals: dict[str, str], of_air_handlers: dict[str, str]) -> Recording:
        steps = len(self.local)
        kept = range(self.first, steps, every)
        count, handlers = len(self.building.terminals), len(self.building.air_handlers)
        logs = {name: np.empty((len(kept), count), np.float32) for name in of_terminals}
        air = {name: np.empty((len(kept), handlers), np.float32) for name in of_air_handlers}
        fans = np.zeros((steps - self.first, count), np.uint8)
        for step in range(steps):
            self._advance(step)
            since = step - self.first
            if since < 0:
                continue
            fans[since] = self.t.fan_status
            if since % every == 0:
                for name, attribute in of_terminals.items():
                    logs[name][since // every] = getattr(self.t, attribute)
                for name, attribute in of_air_handlers.items():
                    air[name][since // every] = getattr(self.handlers, attribute)
        return Recording(self.building, self.local[self.first :: every], logs, air, fans, every, self.faults)

    def _advance(self, step: int) -> None:
        b, t, knobs, handlers = self.b, self.t, self.knobs, self.handlers
        knobs.turn(step)
        if step % NOISE_BLOCK == 0:
            self.block = self.streams["sensors"].standard_normal((NOISE_BLOCK, 4, len(t.zone_temp)), dtype=np.float32)
        noise = self.block[step % NOISE_BLOCK]
        outdoor = self.outdoor[step]
        physics.read_zone(b, t, knobs, noise)
        mode = self._mode(step)
        control.setpoints(b, t, knobs, mode)
        control.zone_loops(t, knobs, mode)
        control.flow_setpoint(b, t, knobs, mode)
        control.move_damper(b, t, knobs)
        control.command_fan(b, t, knobs, mode)
        handlers.outdoor = outdoor
        handlers.condition(step, knobs, outdoor, self._returning(), t.actuator)
        physics.primary_air(b, t, knobs, handlers.pressure[handlers.owner], noise)
        handlers.flow = np.bincount(handlers.owner, t.primary_flow, len(handlers.on)) * handlers.flow_gain
        physics.duct_air(b, t, handlers.supply_temp[handlers.owner])
        physics.mix(b, t, knobs, mode)
        control.command_heat(b, t, knobs, mode)
        physics.coil(b, t, knobs)
        people = self.people[step]
        lamps = 1.0 if self.active[step] else 0.0
        physics.room(b, t, knobs, outdoor, self.sun[step][b.face], people, self.gains[step], lamps)
        self._breathe(people)
        t.fan_status = np.where(np.isnan(knobs.fan_status_held), t.fan_running, knobs.fan_status_held) * b.has_fan
        t.fan_speed = b.speed * t.fan_running * t.fan_share
        t.standby = np.where(people < 0.12, 1.0, np.where(people > 0.2, 0.0, t.standby))
        t.occupied = np.full(len(b.area), float(self.occupied[step]))

    def _mode(self, step: int) -> SimpleNamespace:
        """Tell what the building is doing: what holds for all terminals as a bool, what differs as an array."""
        b, t, handlers = self.b, self.t, self.handlers
        active, warm_up = bool(self.active[step]), bool(self.warm_up[step])
        cold = b.single & b.heated & (t.zone_read < b.unoccupied_heating + np.where(t.heating_call > 0.0, 1.5, 0.0))
        cold_zones = np.bincount(handlers.owner, cold, len(handlers.on))
        handlers.run(active=active, warm_up=warm_up, cold_zones=cold_zones, stopped=self.knobs.outage > 0)
        warm = handlers.warm & (handlers.full_warm_up | (not active))
        return SimpleNamespace(
            active=active,
            minute=step,
            supply_on=handlers.on[handlers.owner],
            occupied=bool(self.occupied[step]),
            outdoor_inlet=active and not warm_up,
            warm_up=handlers.warm[handlers.owner],
            warm_air=warm[handlers.owner],
        )

    def _returning(self) -> np.ndarray:
        owner, count = self.handlers.owner, len(self.handlers.on)
        return np.bincount(owner, self.t.zone_temp, count) / np.bincount(owner, minlength=count) + 0.8

    def _breathe(self, people) -> None:
        handlers, t = self.handlers, self.t
        owner, count = handlers.owner, len(handlers.on)
        back = np.bincount(owner, t.co2, count) / np.bincount(owner, minlength=count)
        supply = (handlers.fraction * 420.0 + (1.0 - handlers.fraction) * back)[owner]
        physics.carbon_dioxide(self.b, t, people, supply)
