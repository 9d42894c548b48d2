"""The controllers: what each kind of terminal does in cooling, deadband and heating. Generic trade practice."""

from __future__ import annotations

import numpy as np

from sample_trends.steps import STEP, between

OCCUPIED = (5 / 9 * (70 - 32), 5 / 9 * (75 - 32))  # heating and cooling setpoint [degC]
UNOCCUPIED = (5 / 9 * (60 - 32), 5 / 9 * (85 - 32))
GAIN = 0.35  # per K, of the zone loops
INTEGRAL = 2400.0  # s
FULL_STROKE = 90.0  # s, of a damper


def setpoints(b, t, knobs, mode) -> None:
    """Set the active setpoints: the occupied ones from the start of warm-up on, apart while nobody is in the room."""
    active = (knobs.no_setback > 0) | mode.active | mode.always
    apart = b.standby_gap * (t.standby * active)
    t.heating_setpoint = np.where(active, b.occupied_heating, b.unoccupied_heating) + knobs.heating_shift * active
    t.cooling_setpoint = np.where(active, b.occupied_cooling, b.unoccupied_cooling) + knobs.cooling_shift * active
    t.heating_setpoint, t.cooling_setpoint = t.heating_setpoint - apart, t.cooling_setpoint + apart


def zone_loops(t, knobs, mode) -> None:
    """Run the heating and the cooling loop, 0 to 1; each starts afresh when the setpoints step."""
    if mode.active != t.was_active:
        t.heating_sum, t.cooling_sum = np.zeros_like(t.heating_sum), np.zeros_like(t.cooling_sum)
    t.was_active = mode.active
    cold, warm = t.heating_setpoint - t.zone_read, t.zone_read - (t.cooling_setpoint - knobs.cooling_hidden)
    t.heating_sum = between(t.heating_sum + GAIN / INTEGRAL * STEP * cold, 0.0, 1.0)
    t.cooling_sum = between(t.cooling_sum + GAIN / INTEGRAL * STEP * warm, 0.0, 1.0)
    t.heating_call = between(GAIN * cold + t.heating_sum, 0.0, 1.0)
    t.cooling_call = between(GAIN * warm + t.cooling_sum, 0.0, 1.0)
    if (knobs.zone_band > 0.0).any():
        _all_or_nothing(t, knobs, cold, warm)


def _all_or_nothing(t, knobs, cold, warm) -> None:
    half, switched = 0.5 * knobs.zone_band, knobs.zone_band > 0.0
    t.heats = np.where(t.heats, cold > -half, cold > half)
    t.cools = np.where(t.cools, warm > -half, warm > half)
    t.heating_call = np.where(switched, t.heats, t.heating_call)
    t.cooling_call = np.where(switched, t.cools, t.cooling_call)


def flow_setpoint(b, t, knobs, mode) -> None:
    """Set the primary flow setpoint: minimum, up to the maximum in cooling, the heating flow in heating."""
    least, most = b.primary_min * knobs.minimum * _by_carbon_dioxide(b, t, knobs), b.primary_max * knobs.maximum
    least = np.minimum(least * mode.minimum, most)
    heating_most = np.maximum(b.heating_primary * knobs.heating_flow, least)
    cool_air = t.primary_temp < t.zone_read - 1.0
    setpoint = least + (most - least) * t.cooling_call * cool_air
    second_half = between(2.0 * t.heating_call - 1.0, 0.0, 1.0) * (t.discharge_temp > t.zone_read + 3.0)
    heating = b.heated * np.where(b.single, second_half, t.heating_call > 0.02) * (heating_most - least)
    setpoint = np.maximum(setpoint, least + heating)
    # Warm supply air in warm-up, or for a setback call: single-duct terminals open as far as they want heat.
    t.wide_open = mode.warm_air & b.single & (t.heating_call > np.where(t.wide_open, 0.80, 0.95))
    warming = mode.warm_air & b.single
    setpoint = np.where(warming, np.where(t.wide_open, 1.0, t.heating_call) * most, setpoint)
    runs = warming | (~mode.warm_up & (mode.active | mode.by_schedule | mode.always))
    waits = b.series & (t.fan_running < 0.5) & (knobs.no_fan_interlock < 0.5)
    t.flow_setpoint = np.where(runs & ~waits & (knobs.damper_shut < 0.5), setpoint, 0.0)


def _by_carbon_dioxide(b, t, knobs) -> np.ndarray:
    """Let the minimum drop while the air is fresh: all of it from 900 ppm on, the least below 550 ppm."""
    follows = between((t.co2_read - 550.0) / 350.0, 0.0, 1.0) * (knobs.co2_ignored < 0.5)
    return b.least_minimum + (1.0 - b.least_minimum) * follows


def move_damper(b, t, knobs) -> None:
    """Drive the damper towards the flow setpoint, within its stroke time; rest within a deadband."""
    smoothed = t.flow_seen + knobs.flow_smoothing * (t.flow_read - t.flow_seen)
    t.flow_seen = np.where(knobs.flow_smoothing < 1.0, smoothed, t.flow_read)
    error = (t.flow_setpoint - t.flow_seen) / b.primary_max
    near = 0.004 + 0.01 * t.flow_setpoint / b.primary_max
    step = np.where(np.abs(error) < near, 0.0, 0.35 * knobs.flow_swing * error)
    step = np.where(t.flow_setpoint <= 0.0, -1.0, step)
    step = np.where(t.wide_open | (knobs.damper_open > 0), 1.0, step)
    most = STEP / (FULL_STROKE * knobs.stroke)
    t.actuator = between(t.actuator + between(step, -most, most), 0.0, 1.0)
    held = ~np.isnan(knobs.damper_held)
    t.actuator = np.where(held, knobs.damper_held, t.actuator)
    t.blade = np.where(np.isnan(knobs.damper_slips), t.actuator, knobs.damper_slips)
    t.blade = np.maximum(t.blade, knobs.blade_least)


def command_fan(b, t, knobs, mode) -> None:
    """Command the terminal fan: series in all active hours, parallel below the heating setpoint, both for setback."""
    half = 0.5 * np.maximum(knobs.fan_band, 0.0)
    starts_below, stops_above = t.heating_setpoint - 0.1 - half + 0.3, t.heating_setpoint - 0.1 + half + 0.3
    keeps = (t.zone_read < stops_above) | ((t.heating_call > 0.0) & (knobs.fan_by_call > 0))
    wants = np.where(t.fan_command > 0.5, keeps, t.zone_read < starts_below)
    wants = np.where(b.fan_follows, mode.supply_on, wants | (b.series & (mode.active | mode.always)))
    t.fan_clock += STEP / 60.0
    least = np.where(t.fan_command > 0.5, knobs.fan_least_run, knobs.fan_least_rest)
    free = (t.fan_clock >= least) | b.series | b.fan_follows
    command = np.where(free, wants, t.fan_command > 0.5)
    if not mode.active:
        cold = (t.zone_read < t.heating_setpoint + 0.3) | (t.heating_call > 0.0)
        phase = mode.minute % 15  # 8 min on, run out, and 7 off
        on = cold if phase == 0 else (t.fan_command > 0.5) & (phase < 8)
        command = np.where(b.fan_night_cycle & ~mode.always, on, command)
    command = command | ((knobs.fan_in_occupied > 0) & mode.occupied)
    command = np.where(np.isnan(knobs.fan_hand), command, knobs.fan_hand > 0.5) & b.has_fan
    t.fan_clock = np.where(command != (t.fan_command > 0.5), 0.0, t.fan_clock)
    # The fan follows at the next step; primary air and heat wait until it is proven.
    t.fan_running = t.fan_command * (knobs.fan_dead < 0.5)
    t.fan_command = command.astype(float)
    part = between(0.45 + 0.75 * np.maximum(t.heating_call, t.cooling_call), 0.0, 1.0)
    t.fan_share = np.where(b.variable_fan, part, 1.0)


def command_heat(b, t, knobs, mode) -> None:
    """Command the reheat: the heating call sets the discharge temperature, which the valve or heater follows."""
    share = np.where(b.single, np.minimum(2.0 * t.heating_call, 1.0), t.heating_call)
    hottest = t.heating_setpoint + knobs.heat_hottest + (0.0 if mode.occupied else 3.0)
    base = np.minimum(t.entering_temp, hottest)
    t.discharge_setpoint = base + share * (hottest - base)
    moving = t.discharge_flow > b.heat_needs_flow
    permitted = b.heated & np.where(b.has_fan, t.fan_running > 0.5, moving) & (t.heating_call > 0.0)
    error = t.discharge_setpoint - t.discharge_read
    step = 0.012 * (error - t.heat_error) + knobs.heat_swing * 0.012 * STEP / 240.0 * error
    valve = np.where(permitted, between(t.valve + between(step, -0.3, 0.3), 0.0, 1.0), 0.0)
    valve = np.maximum(valve, t.valve - 0.5)
    t.valve = np.where(permitted | (t.valve > 0), valve, 0.0)
    t.heat_error = np.where(permitted, error, 0.0)
    _stage(b, t, knobs, permitted)
    hand = ~np.isnan(knobs.heat_hand)
    proven = moving | (knobs.no_heat_interlock > 0) | ~b.electric
    t.heat_signal = np.where(hand, np.where(proven, knobs.heat_hand, 0.0), np.where(b.staged, t.stage, t.valve))
    t.heat_signal = np.where(b.electric & ~proven, 0.0, t.heat_signal)


def _stage(b, t, knobs, permitted) -> None:
    """Switch two stages of electric heat from the heating call, each way no sooner than a while after the last."""
    t.stage_clock += STEP / 60.0
    up = np.where(
        t.stage > 0.7, 1.0, np.where(t.heating_call > 0.75, 1.0, np.where(t.heating_call > 0.25, 0.5, t.stage))
    )
    down = np.where(t.heating_call < 0.05, 0.0, np.where(t.heating_call < 0.45, np.minimum(t.stage, 0.5), t.stage))
    wanted = np.where(t.heating_call > t.stage, up, down)
    change = b.staged & (wanted != t.stage) & (t.stage_clock >= knobs.stage_least)
    stage = np.where(change, wanted, t.stage)
    t.stage = np.where(permitted, stage, 0.0)
    t.stage_clock = np.where(change, 0.0, t.stage_clock)
