"""Run a building through days: terminals as arrays, one short time step after another."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pandas as pd

from sample_trends import control, physics
from sample_trends.air_handlers import TEMPERED, AirHandlers
from sample_trends.building import FACES, Building
from sample_trends.design import LIGHTS, PERSON, PLUGS, SHGC
from sample_trends.faults import Knobs
from sample_trends.occupancy import occupied_hours, presence, warm_up_hours
from sample_trends.weather import Climate, outdoor_temperature, sun_on_glass

STEP = 30.0  # s
SPIN_UP = pd.Timedelta("2D")  # before the start, so that rooms and loops have their own history

TERMINAL_RECORDS = {
    "zone_temp": "zone_read", "heating_setpoint": "heating_setpoint", "cooling_setpoint": "cooling_setpoint",
    "primary_flow": "flow_read", "primary_flow_setpoint": "flow_setpoint", "damper_position": "actuator",
    "fan_status": "fan_status", "fan_command": "fan_command", "fan_speed": "fan_speed",
    "discharge_flow": "discharge_flow", "reheat_position": "heat_signal", "discharge_temp": "discharge_read",
    "primary_temp": "primary_temp", "plenum_temp": "plenum_temp", "outdoor_air_flow": "outdoor_inlet",
    "occupied": "occupied", "co2": "co2",
}  # fmt: skip
AIR_HANDLER_RECORDS = {
    "supply_temp": "supply_temp", "supply_flow": "flow", "duct_static_pressure": "pressure",
    "supply_fan_status": "on", "outdoor_temp": "outdoor", "outdoor_air_fraction": "fraction",
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
    building: Building, faults=(), *, seed: int, start, days: float, step_minutes: float, climate: Climate
) -> Recording:
    """Simulate a building and record every ``step_minutes``; see ``sample_trends.simulate``."""
    every = round(step_minutes * 60.0 / STEP)
    if every < 1 or abs(every * STEP - step_minutes * 60.0) > 1e-6:
        raise ValueError(f"step_minutes={step_minutes} is no multiple of {STEP / 60:g}")
    run = _Run(building, faults, seed, pd.Timestamp(start), days, climate)
    return run.play(every)


class _Run:
    """One simulation: the boundary conditions of every step, and the state that moves through them."""

    def __init__(self, building: Building, faults, seed: int, start: pd.Timestamp, days: float, climate: Climate):
        self.building, self.faults, self.seed = building, tuple(faults), seed
        begin, end = start - SPIN_UP, start + pd.Timedelta(days=days)
        zone = building.time_zone
        self.local = pd.date_range(begin.tz_localize(zone), end.tz_localize(zone), freq=f"{STEP:g}s", inclusive="left")
        self.first = int(self.local.searchsorted(start.tz_localize(zone)))
        rng = np.random.default_rng([seed, 23])
        count = len(building.terminals)
        self.outdoor = outdoor_temperature(self.local, climate, self.local[0] + SPIN_UP, days, rng)
        self.sun = sun_on_glass(self.local, building.latitude, rng).astype(np.float32)
        self.occupied = occupied_hours(self.local)
        self.warm_up, flush = warm_up_hours(self.local, self.outdoor)
        self.active = self.occupied | self.warm_up | flush
        self.people, self.gains = presence(self.local, np.random.default_rng([seed, 29]), count)
        self.noise = np.random.default_rng([seed, 31])
        self.knobs = Knobs(building, self.faults, self.local)
        self.handlers = AirHandlers(building, np.random.default_rng([seed, 37]))
        self.b = _plant(building)
        self.t = _state(self.b, count)

    def play(self, every: int) -> Recording:
        steps = len(self.local)
        kept = range(self.first, steps, every)
        count, handlers = len(self.building.terminals), len(self.building.air_handlers)
        logs = {name: np.empty((len(kept), count), np.float32) for name in [*TERMINAL_RECORDS, "true_primary_flow"]}
        air = {name: np.empty((len(kept), handlers), np.float32) for name in AIR_HANDLER_RECORDS}
        fans = np.zeros((steps - self.first, count), np.uint8)
        for step in range(steps):
            self._advance(step)
            since = step - self.first
            if since < 0:
                continue
            fans[since] = self.t.fan_status
            if since % every == 0:
                self._log(logs, air, since // every)
        return Recording(self.building, self.local[self.first :: every], logs, air, fans, every, self.faults)

    def _log(self, logs: dict, air: dict, row: int) -> None:
        for name, attribute in TERMINAL_RECORDS.items():
            logs[name][row] = getattr(self.t, attribute)
        logs["true_primary_flow"][row] = self.t.primary_flow
        for name, attribute in AIR_HANDLER_RECORDS.items():
            air[name][row] = getattr(self.handlers, attribute)

    def _advance(self, step: int) -> None:
        b, t, knobs, handlers = self.b, self.t, self.knobs, self.handlers
        knobs.turn(step)
        noise = self.noise.standard_normal((5, len(t.zone_temp)), dtype=np.float32)
        outdoor = self.outdoor[step]
        physics.read_zone(b, t, knobs, noise, STEP)
        mode = self._mode(step)
        control.setpoints(t, knobs, mode)
        control.zone_loops(t, mode, STEP)
        control.flow_setpoint(b, t, knobs, mode)
        control.move_damper(b, t, knobs, STEP)
        control.command_fan(b, t, knobs, mode, STEP)
        handlers.outdoor = outdoor
        handlers.condition(knobs, outdoor, self._returning(), STEP)
        physics.primary_air(b, t, knobs, handlers.pressure[handlers.owner], noise)
        handlers.flow = np.bincount(handlers.owner, t.primary_flow, len(handlers.on)) * handlers.flow_gain
        physics.duct_air(b, t, handlers.supply_temp[handlers.owner], STEP)
        physics.mix(b, t, knobs, mode)
        control.command_heat(b, t, knobs, mode, STEP)
        physics.coil(b, t, knobs, STEP)
        people = self.people[step]
        lamps = 1.0 if self.active[step] else 0.0
        physics.room(b, t, knobs, STEP, outdoor, self.sun[step][b.face], people, self.gains[step], lamps)
        self._breathe(people)
        t.fan_status = np.where(np.isnan(knobs.fan_status_held), t.fan_running, knobs.fan_status_held) * b.has_fan
        t.fan_speed = b.speed * t.fan_running
        t.occupied = np.full(len(b.area), float(self.occupied[step]))

    def _mode(self, step: int) -> SimpleNamespace:
        b, t, handlers = self.b, self.t, self.handlers
        active, occupied, warm_up = bool(self.active[step]), bool(self.occupied[step]), bool(self.warm_up[step])
        cold = b.single & b.heated & (t.zone_read < control.UNOCCUPIED[0] + np.where(t.wide_open, 2.0, 0.0))
        cold_zones = np.bincount(handlers.owner, cold, len(handlers.on))
        handlers.run(active=active, warm_up=warm_up, cold_zones=cold_zones, dt=STEP)
        warm_air = (handlers.warm & (handlers.full_warm_up | (not active)))[handlers.owner]
        every = np.full(len(b.area), active)
        return SimpleNamespace(
            active=every, occupied=np.full(len(b.area), occupied), air=handlers.on[handlers.owner], warm_air=warm_air,
            outdoor_inlet=float(active and not warm_up), tempered=TEMPERED, warm_up=handlers.warm[handlers.owner],
        )  # fmt: skip

    def _returning(self) -> np.ndarray:
        owner, count = self.handlers.owner, len(self.handlers.on)
        return np.bincount(owner, self.t.zone_temp, count) / np.bincount(owner, minlength=count) + 0.8

    def _breathe(self, people) -> None:
        handlers, t = self.handlers, self.t
        owner, count = handlers.owner, len(handlers.on)
        back = np.bincount(owner, t.co2, count) / np.bincount(owner, minlength=count)
        supply = (handlers.fraction * 420.0 + (1.0 - handlers.fraction) * back)[owner]
        physics.carbon_dioxide(self.b, t, people, supply, None, STEP)


def _plant(building: Building) -> SimpleNamespace:
    """Lay the terminals' fixed properties out as arrays."""
    table = building.terminals
    numbers = table.select_dtypes("number").fillna(0.0)
    b = SimpleNamespace(**{name: numbers[name].to_numpy(float) for name in numbers})
    kind, reheat = table["kind"].to_numpy(str), table["reheat"].to_numpy(str)
    b.single, b.series, b.parallel = kind == "single-duct", kind == "series", kind == "parallel"
    b.has_fan, b.heated, b.electric = ~b.single, reheat != "none", reheat == "electric"
    b.staged = table["staged"].to_numpy(bool) & b.electric
    b.underfloor = table["distribution"].to_numpy(str) == "underfloor"
    b.top_floor = table["top_floor"].to_numpy(bool)
    b.face = np.array([FACES.index(face) for face in table["face"]])
    b.air_heat = building.air_heat
    b.outdoor_inlet = 1.12 * b.outdoor_air_inlet_min
    b.solar_area = b.glass * SHGC
    b.plug_load = b.area * (LIGHTS + PLUGS) * b.load
    b.people_heat = b.people * PERSON * b.load
    b.crack_flow = 0.08 * b.zone_volume / 3.6
    b.duct_gain = np.where(b.underfloor, 0.9, 0.3)
    b.design_flow = np.maximum(b.design_flow, np.where(b.heated, 1.0, b.primary_max))
    b.transfer_units = _transfer_units(b)
    b.heat_needs_flow = np.where(b.single, 0.5 * b.primary_min, 0.4 * b.fan_flow)
    b.speed = np.where(b.series, 62.0 + 18.0 * b.inlet_share, 55.0)
    return b


def _transfer_units(b) -> np.ndarray:
    """Size the water coils: the effectiveness that gives the scheduled capacity at the design flow."""
    entering = np.where(b.single, 15.0, 18.5)
    most = b.air_heat * b.design_flow * (physics.HOT_WATER - entering)
    effect = np.clip(b.reheat_capacity / np.maximum(most, 1.0), 0.02, 0.85)
    return -np.log1p(-effect)


def _state(b, count: int) -> SimpleNamespace:
    """Return the state in which a simulation begins: an evening in a warm building."""

    def full(value):
        return np.full(count, float(value))

    zeros = (
        "heating_sum", "cooling_sum", "heating_call", "cooling_call", "actuator", "blade", "flow_read", "flow_setpoint",
        "primary_flow", "fan_command", "fan_running", "fan_status", "fan_speed", "valve", "stage", "heat_signal",
        "heat_error", "coil_heat", "discharge_flow", "outdoor_inlet", "felt", "sensor_noise", "occupied",
    )  # fmt: skip
    state = {name: full(0.0) for name in zeros}
    for name in (
        "zone_temp",
        "mass_temp",
        "zone_read",
        "plenum_temp",
        "primary_temp",
        "discharge_temp",
        "entering_temp",
    ):
        state[name] = full(21.5)
    state |= {"discharge_read": full(21.5), "co2": full(450.0), "fan_clock": full(60.0), "stage_clock": full(60.0)}
    state |= {"was_active": np.zeros(count, bool), "wide_open": np.zeros(count, bool)}
    return SimpleNamespace(**state)
