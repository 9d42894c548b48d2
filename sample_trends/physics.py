"""What air, coil and room do in one step, whatever the controller meant."""

from __future__ import annotations

import numpy as np

from sample_trends.building import INCH_WC
from sample_trends.steps import STEP, between, lag

TEMPERED = 20.0  # degC, of the dedicated outdoor air
HOT_WATER = 58.0  # degC, entering the coils
LEAST_PRESSURE = 0.0018 * INCH_WC  # Pa: below it a flow sensor shows nothing
STRATIFICATION = 1.6  # K: how much warmer than the zone the air leaves it above cool floor supply
_DISCHARGE, _STILL, _PLENUM, _DUCT, _WALL = lag(25.0), lag(1500.0), lag(900.0), lag(60.0), lag(120.0)


def primary_air(b, t, knobs, pressure, noise) -> None:
    """Let the primary air through the damper, and read it.

    ``pressure`` [Pa] is the duct's static pressure for each terminal. The damper's own resistance stands in series with
    what lies behind it, so that the installed curve flattens towards full open.
    """
    opening = b.damper_leak + (1.0 - b.damper_leak) * t.blade**b.damper_curve
    coefficient = b.open_coefficient * np.sqrt((1.0 + b.downstream) / (1.0 / opening**2 + b.downstream))
    t.primary_flow = coefficient * knobs.inlet_path * np.sqrt(pressure * b.inlet_share)
    gain = b.flow_gain * knobs.flow_gain
    sensed = (gain * t.primary_flow / b.flow_coefficient) ** 2 * (1.0 + 0.012 * noise[0])
    sensed = sensed + b.zero_pressure + knobs.flow_zero + 0.00025 * INCH_WC * noise[1]
    reading = b.flow_coefficient * np.sqrt(np.where(sensed > LEAST_PRESSURE, sensed, 0.0))
    t.flow_read = np.where(
        knobs.flow_frozen > 0, t.flow_read, np.where(np.isnan(knobs.flow_held), reading, held(knobs, noise))
    )


def held(knobs, noise):
    """Read next to nothing, a little unsteady: a tube that is off."""
    return np.maximum(knobs.flow_held * (1.0 + 0.1 * noise[1]), 0.0)


def mix(b, t, knobs, mode) -> None:
    """Mix primary, dedicated outdoor and induced air: the flow to the zone, and its temperature before the coil."""
    t.outdoor_inlet = b.outdoor_inlet * knobs.outdoor_inlet * mode.outdoor_inlet
    fan = b.fan_flow * b.fan_built * knobs.fan_flow * t.fan_running * t.fan_share
    ducted = t.primary_flow + t.outdoor_inlet
    total = np.where(b.series, np.maximum(fan, ducted), ducted + fan)
    induced = np.maximum(total - ducted, 0.0)
    t.discharge_flow = total
    heat = t.primary_flow * t.primary_temp + t.outdoor_inlet * TEMPERED + induced * t.plenum_temp
    floor = np.maximum(total, 0.5)
    t.entering_temp = np.where(
        total > 0.5, heat / floor + b.fan_heat * t.fan_running / (b.air_heat * floor), t.plenum_temp
    )


def coil(b, t, knobs) -> None:
    """Heat the air: a water coil by its effectiveness at this flow, an electric one by its stages."""
    flow = np.maximum(t.discharge_flow, 1.0)
    effect = 1.0 - np.exp(-b.transfer_units * (flow / b.design_flow) ** -0.45)
    water = effect * b.air_heat * flow * np.maximum(HOT_WATER - t.entering_temp, 0.0)
    full = np.where(b.electric, b.reheat_capacity, water) * knobs.heat_capacity
    opening = np.maximum(t.heat_signal, np.where(b.electric, 0.0, knobs.heat_leak))
    opening = np.maximum(opening, knobs.heat_welded)
    wanted = np.where((t.discharge_flow > 3.0) | (knobs.heat_welded > 0), opening * full, 0.0)
    t.coil_heat += (wanted - t.coil_heat) * b.coil_lag
    rise = t.coil_heat / (b.air_heat * np.maximum(flow, 0.15 * b.design_flow))
    moving = t.discharge_flow > 0.02 * b.design_flow
    # Still air about a hot water coil takes its warmth; an electric one is off by then.
    still = t.plenum_temp + np.where(b.electric & (knobs.heat_welded <= 0), 0.0, 16.0 * opening)
    target = np.where(moving, t.entering_temp + rise, still)
    t.discharge_temp += (target - t.discharge_temp) * np.where(moving, _DISCHARGE, _STILL)


def room(b, t, knobs, outdoor: float, sun, people, gains, lamps: float) -> None:
    """Balance the heat of the zone's air and of its mass, and its carbon dioxide."""
    inside = (gains * b.plug_load * knobs.gains) + people * b.people_heat
    sunny = b.solar_area * sun
    leaving = t.zone_temp + np.where(b.underfloor & (t.discharge_temp < t.zone_temp - 1.0), STRATIFICATION, 0.0)
    supplied = np.where(
        t.discharge_flow > 0.02 * b.design_flow, b.air_heat * t.discharge_flow * (t.discharge_temp - leaving), 0.0
    )
    exchange = b.mass_coupling * (t.mass_temp - t.zone_temp)
    air = supplied + exchange + b.loss * knobs.leaky_room * (outdoor - t.zone_temp) + 0.6 * inside + 0.35 * sunny
    together = np.bincount(b.open_group, t.zone_temp) / b.open_count
    air += b.open_exchange * (together[b.open_group] - t.zone_temp)
    air += b.party_loss * (t.zone_temp.mean() - t.zone_temp)
    mass = -exchange + b.mass_loss * knobs.leaky_room * (outdoor - t.mass_temp) + 0.4 * inside + 0.65 * sunny
    t.zone_temp += STEP * air / b.air_capacity
    t.mass_temp += STEP * mass / b.mass_capacity
    above = np.where(b.underfloor, 0.3, 1.2 * lamps + 0.3)
    plenum = t.zone_temp + above + np.where(b.top_floor & ~b.underfloor, 0.04, 0.0) * (outdoor - t.zone_temp)
    plenum = plenum + b.plenum_extra * between((27.0 - t.zone_temp) / 4.0, 0.0, 1.0)
    t.plenum_temp += (plenum - t.plenum_temp) * _PLENUM


def carbon_dioxide(b, t, knobs, people, supply_ppm) -> None:
    """Balance the zone's carbon dioxide [ppm], and read it.

    People breathe out 0.0052 L/s each (office work, from memory).
    """
    made = people * b.people * 0.0052 * 1e6
    brought = t.primary_flow * (supply_ppm - t.co2) + (t.outdoor_inlet + b.crack_flow) * (420.0 - t.co2)
    t.co2 += STEP * (made + brought) / (1000.0 * b.zone_volume)
    t.co2_read = t.co2 + knobs.co2_error


def duct_air(b, t, supply) -> None:
    """Bring the supply air to the inlets: a gain on the way, more at low flow; still air takes the plenum's warmth."""
    part = np.maximum(t.primary_flow / b.primary_max, 0.03)
    moving = t.primary_flow > 0.02 * b.primary_max
    arriving = supply + b.duct_gain + 0.10 / part
    t.primary_temp += (np.where(moving, arriving, t.plenum_temp) - t.primary_temp) * np.where(moving, _DUCT, _STILL)


def read_zone(b, t, knobs, noise) -> None:
    """Read the zone's and the discharge's temperatures as the sensors do."""
    t.felt += (knobs.draught * (t.discharge_temp - t.zone_temp) - t.felt) * _WALL
    t.sensor_noise = 0.9 * t.sensor_noise + 0.436 * noise[2]
    reading = t.zone_temp + b.zone_offset + knobs.zone_error + t.felt + 0.03 * t.sensor_noise
    t.zone_read = np.where(knobs.zone_frozen > 0, t.zone_read, reading)
    t.discharge_read = t.discharge_temp + b.discharge_offset + 0.08 * noise[3]
