"""Knobs: numbers that are the same for every sound terminal. They are all that the simulation knows of faults."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from sample_trends.building import Building
from sample_trends.faults import Fault, kind_of, local_time

FREE = float("nan")  # a knob that holds something in place is FREE in a sound terminal

# name -> (value in a sound terminal, meaning)
KNOBS: dict[str, tuple[float, str]] = {
    "minimum": (1.0, "controller's minimum flow over the scheduled one"),
    "maximum": (1.0, "controller's maximum flow over the scheduled one"),
    "heating_flow": (1.0, "controller's heating flow over the scheduled one"),
    "damper_held": (FREE, "true position at which the damper is stuck [0..1]"),
    "damper_slips": (FREE, "true position at which the blade stays while the actuator and its feedback travel [0..1]"),
    "blade_least": (0.0, "true position below which the blade does not close, whatever its actuator does [0..1]"),
    "damper_shut": (0.0, "1: the controller holds the damper shut"),
    "damper_open": (0.0, "1: the controller holds the damper fully open"),
    "inlet_path": (1.0, "flow that the duct lets through at a pressure, over design"),
    "flow_swing": (1.0, "gain of the flow loop over a sound one's"),
    "flow_smoothing": (1.0, "share of a new flow reading that the flow loop takes in at each step; 1: all of it"),
    "flow_gain": (1.0, "flow reading over true flow"),
    "flow_zero": (0.0, "pressure that the flow sensor reads without flow [Pa]"),
    "flow_frozen": (0.0, "1: the flow reading stays as it is"),
    "flow_held": (FREE, "flow reading whatever the air does [L/s]"),
    "outdoor_inlet": (1.0, "dedicated outdoor-air inlet's flow over its own"),
    "fan_band": (0.6, "difference between the fan's start and stop temperatures [K]"),
    "fan_by_call": (1.0, "1: the fan runs on while the heating loop calls; 0: a bare thermostat"),
    "fan_least_run": (15.0, "least run time of the fan [min]"),
    "fan_least_rest": (15.0, "least rest of the fan [min]"),
    "fan_hand": (FREE, "command given by hand: 0 or 1"),
    "fan_in_occupied": (0.0, "1: commanded on in all occupied hours"),
    "fan_dead": (0.0, "1: the fan does not start"),
    "fan_flow": (1.0, "fan's flow over the scheduled one"),
    "fan_status_held": (FREE, "status shown whatever the fan does: 0 or 1"),
    "no_fan_interlock": (0.0, "1: primary air does not wait for the series fan"),
    "heat_hand": (FREE, "reheat signal given by hand [0..1]"),
    "heat_welded": (0.0, "share of an electric heater's heat that is on whatever the controller says"),
    "heat_leak": (0.0, "share of the coil's heat that passes the shut valve"),
    "heat_capacity": (1.0, "coil's heat over design"),
    "heat_swing": (1.0, "integral gain of the reheat loop over a sound one's"),
    "heat_hottest": (11.0, "most that the discharge setpoint may exceed the heating setpoint [K]"),
    "stage_least": (4.0, "least time between two switchings of staged electric heat [min]"),
    "no_heat_interlock": (0.0, "1: electric heat does not wait for moving air"),
    "zone_frozen": (0.0, "1: the zone reading stays as it is"),
    "zone_error": (0.0, "error of the zone reading [K]"),
    "draught": (0.0, "share of the discharge air in what the zone sensor feels"),
    "zone_band": (0.0, "over 0: heating and cooling go all or nothing, switching this far apart [K]"),
    "heating_shift": (0.0, "heating setpoint in active hours over the building's [K]"),
    "cooling_shift": (0.0, "cooling setpoint in active hours over the building's [K]"),
    "cooling_hidden": (0.0, "how far the setpoint that the cooling loop works to lies under the one shown [K]"),
    "no_setback": (0.0, "1: occupied setpoints by night, too"),
    "standby_off": (0.0, "1: the controller never goes to its standby mode"),
    "always_occupied": (0.0, "1: the controller stays in its occupied mode, day and night"),
    "gains": (1.0, "internal gains over the room's own"),
    "crowd": (1.0, "people in the room over its own"),
    "co2_error": (0.0, "error of the carbon dioxide reading [ppm]"),
    "co2_ignored": (0.0, "1: the minimum flow does not follow carbon dioxide: it stays at its least"),
    "stroke": (1.0, "time of the damper's stroke over that of a sound actuator"),
    "leaky_room": (1.0, "heat loss over the room's own"),
    "static": (1.0, "air handler: duct static pressure over its setpoint"),
    "supply_shift": (0.0, "air handler: supply temperature over its setpoint [K]"),
    "outage": (0.0, "air handler: 1: its fan does not run"),
    "never_off": (0.0, "air handler: 1: it and its terminals run as if occupied, day and night"),
    "unit_heat_dead": (0.0, "air handler: 1: no heat of its own; it supplies what outdoor and return air mix to"),
    "unit_all_night": (0.0, "air handler: 1: its schedule runs the fan whether anybody is in or not"),
    "static_fixed": (FREE, "air handler: its pressure setpoint stands at so much of the design's, never reset"),
    "supply_fixed": (FREE, "air handler: its supply temperature setpoint stands there [degC], never reset"),
    "unit_minimum": (1.0, "air handler: minimum flows of all its terminals' controllers over the scheduled ones"),
    "supply_temp_stuck": (0.0, "air handler: 1: the supply temperature's reading stays as it is"),
    "pressure_stuck": (0.0, "air handler: 1: the duct pressure's reading stays as it is"),
    "supply_flow_stuck": (0.0, "air handler: 1: the supply flow's reading stays as it is"),
    "outdoor_flow_stuck": (0.0, "air handler: 1: the outdoor flow's reading stays as it is"),
}
AIR_HANDLER_KNOBS = (
    "static", "supply_shift", "outage", "never_off", "unit_heat_dead", "unit_all_night", "static_fixed",
    "supply_fixed", "unit_minimum", "supply_temp_stuck", "pressure_stuck", "supply_flow_stuck", "outdoor_flow_stuck",
)  # fmt: skip


class Knobs:
    """The knobs' values at a step, one attribute for each of KNOBS, turned as the faults say.

    Parameters
    ----------
    building : Building
    faults : sequence of Fault
    local : DatetimeIndex
        The local time of every step.

    Raises
    ------
    ValueError
        A fault names a terminal or knob that is not there, or a terminal where its kind cannot happen.
    """

    GROWTH_STEPS = 40  # a growing fault moves on every so many steps

    def __init__(self, building: Building, faults: Sequence[Fault], local: pd.DatetimeIndex):
        self._sizes = {
            name: len(building.air_handlers if name in AIR_HANDLER_KNOBS else building.terminals) for name in KNOBS
        }
        self._turned = [self._prepare(building, fault, local) for fault in faults]
        self._changes = {0} | {step for turned in self._turned for step in turned[2]}
        self._set_all()

    def _prepare(self, building: Building, fault: Fault, local: pd.DatetimeIndex):
        kind = kind_of(fault.kind)
        turns = kind.turns | fault.turns
        unknown = set(turns) - set(KNOBS)
        if unknown:
            raise ValueError(f"{fault.kind} at {fault.at}: unknown knobs {sorted(unknown)}")
        owners = building.air_handlers if kind.where == "air handler" else building.terminals.query(kind.where)
        if fault.at not in owners.index:
            raise ValueError(f"{fault.kind} cannot happen at {fault.at}: it needs {kind.where}")
        table = building.air_handlers if kind.where == "air handler" else building.terminals
        step = local[1] - local[0]
        begin = 0 if fault.start is None else -int((local[0] - local_time(building, fault.start)) / step)
        end = len(local) if fault.end is None else int(local.searchsorted(local_time(building, fault.end).floor("s")))
        grown = begin + int(pd.Timedelta(fault.grows) / step) if fault.grows else begin
        moments = {max(begin, 0), end, *range(max(begin, 0), min(grown, len(local)), self.GROWTH_STEPS)}
        return turns, table.index.get_loc(fault.at), moments, begin, grown, end

    def _set_all(self) -> None:
        for name, (sound, _) in KNOBS.items():
            setattr(self, name, np.full(self._sizes[name], sound))

    def turn(self, step: int) -> None:
        """Set the knobs for a step."""
        if step not in self._changes:
            return
        self._set_all()
        for turns, column, _, begin, grown, end in self._turned:
            if not begin <= step < end:
                continue
            share = 1.0 if step >= grown else (step - begin) / (grown - begin)
            for name, value in turns.items():
                sound = KNOBS[name][0]
                grows = not np.isnan(sound) and share < 1.0
                getattr(self, name)[column] = sound + share * (value - sound) if grows else value
