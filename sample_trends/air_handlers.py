"""The air handlers: when they run, their supply temperature, duct pressure and share of outdoor air."""

from __future__ import annotations

import numpy as np

from sample_trends.steps import STEP, between, lag

STILL_AIR = 21.0  # degC, to which the supply sensor drifts when the fan is off
LEAST_SETBACK_RUN = 45.0  # min
NEARLY_OPEN = 0.92  # a damper from which on a terminal asks for more pressure
TRIM, RESPOND = 0.002, 0.006  # share of the pressure setpoint a minute: down while nobody asks, up for each that does
LEAST_RESET = 0.22  # of the pressure setpoint: a little under half of the flow at full damper
# A loop that sees a reading that does not move winds up: by so much a minute and unit of error, and no further than the
# plant goes [K; share of the design pressure]. Errors within the band leave it where it is.
TEMP_WINDS, TEMP_BAND, TEMP_ENDS = 0.3, 0.5, (-5.0, 10.0)
FAN_WINDS, FAN_BAND, FAN_ENDS = 0.03, 0.02, (0.15, 1.5)
FALLS_OFF = 0.6  # share of its pressure at no flow that a fan of one speed has lost at design flow
_COIL, _STILL, _FAN, _DAMPERS = lag(240.0), lag(5400.0), lag(40.0), lag(90.0)
# Fast and slow wander of the pressure, and that of the temperature: time constants of 150, 3000 and 400 s.
_KEEP = 1.0 - np.array([[lag(150.0)], [lag(3000.0)], [lag(400.0)]])
_FRESH = np.sqrt(1.0 - _KEEP**2)


class AirHandlers:
    """The state of all air handlers of a building, one array element each.

    Parameters
    ----------
    building : Building
    rng : Generator
        Draws what wanders: pressure and temperature.
    steps : int
        How many steps will be run.
    """

    def __init__(self, building, rng: np.random.Generator, steps: int):
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
        self.draws = rng.standard_normal((steps, 3, count))
        self.on = np.zeros(count, bool)
        self.setback = np.zeros(count, bool)
        self.setback_clock = np.zeros(count)
        self.supply_temp = np.full(count, STILL_AIR)
        self.pressure = np.zeros(count)
        self.flow = np.zeros(count)
        self.fraction = np.zeros(count)
        self.wander = np.zeros((3, count))  # fast and slow pressure, temperature
        self.flow_gain = rng.normal(1.0, 0.01, count)
        self.reset_on = table["static_reset"].to_numpy(bool) if "static_reset" in table else np.zeros(count, bool)
        self.reset_level = np.ones(count)
        self.fan_speed, self.heating_signal = np.zeros(count), np.zeros(count)
        self.shown_setpoint, self.shown_pressure_setpoint = np.zeros(count), np.zeros(count)
        self.by_schedule = np.zeros(count, bool)
        self.outdoor_flow = np.zeros(count)
        self.temp_wound, self.fan_wound = np.zeros(count), np.ones(count)
        self.supply_temp_read, self.pressure_read = np.full(count, STILL_AIR), np.zeros(count)
        self.flow_read, self.outdoor_flow_read = np.zeros(count), np.zeros(count)

    def run(
        self, *, active: np.ndarray, warm_up: bool, cold_zones: np.ndarray, stopped: np.ndarray, all_night: np.ndarray
    ) -> None:
        """Decide which fans run: in warm-up and occupied hours, and by night when single-duct zones call for heat."""
        self.setback_clock += STEP / 60.0
        calls = ((self.setback & (self.setback_clock < LEAST_SETBACK_RUN)) | (cold_zones > 0)) & ~active
        self.setback_clock = np.where(calls & ~self.setback, 0.0, self.setback_clock)
        self.setback = calls
        self.by_schedule = all_night & ~calls & ~active & ~stopped
        self.on = (calls | active | self.by_schedule) & ~stopped
        self.warm = (calls | (self.on & warm_up)) & ~stopped

    def condition(self, step: int, knobs, outdoor: float, returning: np.ndarray, dampers: np.ndarray) -> None:
        """Move supply temperature, duct pressure and outdoor-air fraction on by one step."""
        self.wander = _KEEP * self.wander + _FRESH * self.draws[step]
        cold = min(max((10.0 - outdoor) / 20.0, 0.0), 1.0)
        usual = np.where(np.isnan(knobs.supply_fixed), self.supply_setpoint + self.reset * cold, knobs.supply_fixed)
        setpoint = np.where(self.warm, self.warm_up_temp, usual + knobs.supply_shift)
        self.shown_setpoint = setpoint - np.where(self.warm, 0.0, knobs.supply_shift)
        setpoint = self._without_heat(setpoint, knobs.unit_heat_dead > 0, outdoor, returning)
        setpoint = setpoint + self._wind_temp(setpoint, knobs.supply_temp_stuck > 0)
        target = np.where(self.on, setpoint + 0.25 * self.wander[2], STILL_AIR)
        self.supply_temp += (target - self.supply_temp) * np.where(self.on, _COIL, _STILL)
        sag = 1.0 - 0.05 * (self.flow / self.design_flow) ** 2
        self._reset(dampers)
        self.reset_level = np.where(np.isnan(knobs.static_fixed), self.reset_level, knobs.static_fixed)
        held = (
            self.pressure_setpoint
            * self._wind_fan(self.reset_level, knobs.pressure_stuck > 0)
            * knobs.static
            * sag
            * (1.0 + 0.015 * self.wander[0] + 0.012 * self.wander[1])
        )
        target = np.where(self.on, held, 0.0)
        self.pressure = np.maximum(self.pressure + (target - self.pressure) * _FAN, 0.0)
        mixed = (returning - self.supply_temp + 0.5) / np.maximum(returning - outdoor, 1.0)
        free = np.where(outdoor < self.supply_temp, mixed, 1.0)
        target = np.where(self.on & ~self.warm, between(free, self.least_fraction, 1.0), np.where(self.on, 0.02, 0.0))
        self.fraction += (target - self.fraction) * _DAMPERS
        self._outputs(knobs)
        self._read(knobs)

    def _wind_temp(self, setpoint: np.ndarray, stuck: np.ndarray) -> np.ndarray:
        """Return how far a loop that sees a stuck supply temperature drives the air from its setpoint [K]."""
        if not stuck.any():
            self.temp_wound = np.zeros_like(self.temp_wound)
            return self.temp_wound
        error = setpoint - self.supply_temp_read
        step = np.where(np.abs(error) > TEMP_BAND, TEMP_WINDS * STEP / 60.0 * error, 0.0)
        self.temp_wound = np.where(stuck & self.on, between(self.temp_wound + step, *TEMP_ENDS), 0.0)
        return self.temp_wound

    def _wind_fan(self, level: np.ndarray, stuck: np.ndarray) -> np.ndarray:
        """Return the share of the design pressure that the fan makes: its setpoint's, or what a blind loop comes to.

        A fan that keeps its speed makes less the more air it moves.
        """
        if not stuck.any():
            self.fan_wound = level
            return level
        error = level - self.pressure_read / self.pressure_setpoint
        step = np.where(np.abs(error) > FAN_BAND * level, FAN_WINDS * STEP / 60.0 * error, 0.0)
        self.fan_wound = np.where(stuck, between(self.fan_wound + step * self.on, *FAN_ENDS), level)
        moved = np.minimum(self.flow / self.design_flow, 1.0) ** 2
        return np.where(stuck, self.fan_wound * (1.0 - FALLS_OFF * moved) / (1.0 - FALLS_OFF * 0.25), level)

    def _read(self, knobs) -> None:
        """Read the unit's own sensors; a stuck one shows what it showed."""
        self.outdoor_flow = self.fraction * self.flow * (1.0 + 0.01 * self.wander[0])
        self.supply_temp_read = np.where(knobs.supply_temp_stuck > 0, self.supply_temp_read, self.supply_temp)
        self.pressure_read = np.where(knobs.pressure_stuck > 0, self.pressure_read, self.pressure)
        self.flow_read = np.where(knobs.supply_flow_stuck > 0, self.flow_read, self.flow)
        self.outdoor_flow_read = np.where(knobs.outdoor_flow_stuck > 0, self.outdoor_flow_read, self.outdoor_flow)

    def _reset(self, dampers: np.ndarray) -> None:
        """Trim the pressure setpoint while no damper is nearly open, and respond to those that are."""
        if not self.reset_on.any():
            return
        asking = np.bincount(self.owner, dampers > NEARLY_OPEN, len(self.on))
        step = np.where(asking > 0, RESPOND * np.minimum(asking, 3.0), -TRIM)
        level = between(self.reset_level + step, LEAST_RESET, 1.0)
        self.reset_level = np.where(self.reset_on, np.where(self.on, level, 0.6), 1.0)

    def _without_heat(self, setpoint, dead, outdoor: float, returning: np.ndarray) -> np.ndarray:
        """Let a unit whose heat is dead supply what return and least outdoor air mix to, where it is asked for more."""
        mixed = self.least_fraction * outdoor + (1.0 - self.least_fraction) * returning + 0.5
        most = np.where(self.warm, returning, mixed)
        return np.where(dead, np.minimum(setpoint, most), setpoint)

    def _outputs(self, knobs) -> None:
        """Show what the unit's own points show: fan speed, pressure setpoint, heat."""
        self.shown_pressure_setpoint = self.pressure_setpoint * self.reset_level
        part = 35.0 + 60.0 * self.flow / self.design_flow * np.sqrt(self.reset_level)
        self.fan_speed = np.where(self.on, np.where(knobs.static < 0.8, 100.0, between(part, 30.0, 100.0)), 0.0)
        heats = self.on & (self.shown_setpoint > self.supply_temp + 0.5) & (knobs.unit_heat_dead < 0.5)
        wanted = np.where(heats, between(12.0 * (self.shown_setpoint - self.supply_temp), 0.0, 100.0), 0.0)
        kept = np.where(self.on & self.warm & (knobs.unit_heat_dead < 0.5), 60.0, 0.0)
        self.heating_signal = np.maximum(wanted, kept)
