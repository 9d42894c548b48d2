"""The air handlers: when they run, their supply temperature, duct pressure and share of outdoor air."""

from __future__ import annotations

import numpy as np

STILL_AIR = 21.0  # degC, to which the supply sensor drifts when the fan is off
LEAST_SETBACK_RUN = 45.0  # min
TEMPERED = 20.0  # degC, of the dedicated outdoor air


class AirHandlers:
    """The state of all air handlers of a building, one array element each.

    Parameters
    ----------
    building : Building
    noise : Generator
        Draws what wanders: pressure and temperature.
    """

    def __init__(self, building, rng: np.random.Generator):
        table = building.air_handlers
        self.names = list(table.index)
        count = len(table)
        self.pressure_setpoint = table["static_pressure"].to_numpy(float)
        self.supply_setpoint = table["supply_temp"].to_numpy(float)
        self.reset = table["supply_reset"].to_numpy(float)
        self.warm_up_temp = table["warm_up_temp"].to_numpy(float)
        self.full_warm_up = table["full_warm_up"].to_numpy(bool)
        self.least_fraction = table["outdoor_air_fraction"].to_numpy(float)
        self.owner = np.array([self.names.index(name) for name in building.terminals["air_handler"]])
        self.design_flow = np.bincount(self.owner, building.terminals["primary_max"], count)
        self.rng = rng
        self.on = np.zeros(count, bool)
        self.setback = np.zeros(count, bool)
        self.setback_clock = np.zeros(count)
        self.supply_temp = np.full(count, STILL_AIR)
        self.pressure = np.zeros(count)
        self.flow = np.zeros(count)
        self.fraction = np.zeros(count)
        self.wander = np.zeros((3, count))  # fast and slow pressure, temperature
        self.flow_gain = rng.normal(1.0, 0.01, count)

    def run(self, *, active: bool, warm_up: bool, cold_zones: np.ndarray, dt: float) -> None:
        """Decide which fans run: in warm-up and occupied hours, and by night when single-duct zones call for heat."""
        self.setback_clock += dt / 60.0
        calls = np.where(self.setback, (self.setback_clock < LEAST_SETBACK_RUN) | (cold_zones >= 1), cold_zones >= 2)
        calls &= not active
        self.setback_clock = np.where(calls & ~self.setback, 0.0, self.setback_clock)
        self.setback = calls
        self.on = calls | active
        self.warm = calls | (self.on & warm_up)

    def condition(self, knobs, outdoor: float, returning: np.ndarray, dt: float) -> None:
        """Move supply temperature, duct pressure and outdoor-air fraction on by one step."""
        draws = self.rng.standard_normal((3, len(self.on)))
        keep = np.exp(-dt / np.array([150.0, 3000.0, 400.0]))[:, None]
        self.wander = keep * self.wander + np.sqrt(1 - keep**2) * draws
        cold = np.clip((10.0 - outdoor) / 20.0, 0.0, 1.0)
        setpoint = np.where(self.warm, self.warm_up_temp, self.supply_setpoint + self.reset * cold + knobs.supply_shift)
        target = np.where(self.on, setpoint + 0.25 * self.wander[2], STILL_AIR)
        self.supply_temp += (target - self.supply_temp) * (1.0 - np.exp(-dt / np.where(self.on, 240.0, 5400.0)))
        sag = 1.0 - 0.05 * (self.flow / self.design_flow) ** 2
        held = self.pressure_setpoint * knobs.static * sag * (1.0 + 0.015 * self.wander[0] + 0.012 * self.wander[1])
        target = np.where(self.on, held, 0.0)
        self.pressure = np.maximum(self.pressure + (target - self.pressure) * (1.0 - np.exp(-dt / 40.0)), 0.0)
        mixed = (returning - self.supply_temp + 0.5) / np.maximum(returning - outdoor, 1.0)
        free = np.where(outdoor < self.supply_temp, mixed, 1.0)
        target = np.where(self.on & ~self.warm, np.clip(free, self.least_fraction, 1.0), np.where(self.on, 0.02, 0.0))
        self.fraction += (target - self.fraction) * (1.0 - np.exp(-dt / 90.0))
