"""What can go wrong: every kind of fault stands once in CATALOGUE, as what it does to a sound terminal.

The simulation knows no fault. It knows knobs: numbers that are the same for every sound terminal (KNOBS). A kind of fault
is a set of knobs turned, the rules whose readings then show it, and the terminals where it can happen. To add one, add an
entry to CATALOGUE, and a knob where none does what the fault does.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from sample_trends.building import INCH_WC, Building

FREE = float("nan")  # a knob that holds something in place is FREE in a sound terminal

# name -> (value in a sound terminal, meaning)
KNOBS: dict[str, tuple[float, str]] = {
    "minimum": (1.0, "controller's minimum flow over the scheduled one"),
    "maximum": (1.0, "controller's maximum flow over the scheduled one"),
    "heating_flow": (1.0, "controller's heating flow over the scheduled one"),
    "damper_held": (FREE, "true position at which the damper is stuck [0..1]"),
    "damper_slips": (FREE, "true position at which the blade stays while the actuator and its feedback travel [0..1]"),
    "damper_shut": (0.0, "1: the controller holds the damper shut"),
    "damper_open": (0.0, "1: the controller holds the damper fully open"),
    "inlet_path": (1.0, "flow that the duct lets through at a pressure, over design"),
    "flow_swing": (1.0, "gain of the flow loop over a sound one's"),
    "flow_gain": (1.0, "flow reading over true flow"),
    "flow_zero": (0.0, "pressure that the flow sensor reads without flow [Pa]"),
    "flow_frozen": (0.0, "1: the flow reading stays as it is"),
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
    "heat_leak": (0.0, "share of the coil's heat that passes the shut valve"),
    "heat_capacity": (1.0, "coil's heat over design"),
    "heat_swing": (1.0, "gain of the reheat loop over a sound one's"),
    "heat_hottest": (11.0, "most that the discharge setpoint may exceed the heating setpoint [K]"),
    "no_heat_interlock": (0.0, "1: electric heat does not wait for moving air"),
    "zone_frozen": (0.0, "1: the zone reading stays as it is"),
    "zone_error": (0.0, "error of the zone reading [K]"),
    "draught": (0.0, "share of the discharge air in what the zone sensor feels"),
    "heating_shift": (0.0, "heating setpoint over the building's [K]"),
    "cooling_shift": (0.0, "cooling setpoint over the building's [K]"),
    "no_setback": (0.0, "1: occupied setpoints by night, too"),
    "gains": (1.0, "internal gains over the room's own"),
    "leaky_room": (1.0, "heat loss over the room's own"),
    "static": (1.0, "air handler: duct static pressure over its setpoint"),
    "supply_shift": (0.0, "air handler: supply temperature over its setpoint [K]"),
}
AIR_HANDLER_KNOBS = ("static", "supply_shift")


@dataclass(frozen=True)
class Kind:
    """A kind of fault.

    Attributes
    ----------
    turns : dict
        Knob -> value at full size.
    shows : tuple of str
        Ids of the rules whose own readings show it. Empty: a near miss, sound by every rule.
    where : str
        A pandas query over ``Building.terminals`` (or ``"air handler"``): where it can happen.
    note : str
        What is wrong, for the truth list.
    """

    turns: dict[str, float]
    shows: tuple[str, ...]
    where: str
    note: str


_ANY, _HEATED = "kind == kind", "reheat != 'none'"
_FAN, _SERIES, _PARALLEL = "kind != 'single-duct'", "kind == 'series'", "kind == 'parallel'"

CATALOGUE: dict[str, Kind] = {
    "minimum-entered-too-low": Kind(
        {"minimum": 0.5}, ("primary-below-ventilation-minimum",), "outdoor_air_inlet_min != outdoor_air_inlet_min",
        "minimum flow entered too low in the controller"),
    "damper-stuck-nearly-shut": Kind(
        {"damper_held": 0.14}, ("primary-below-ventilation-minimum", "primary-below-setpoint"), _ANY,
        "primary damper stuck nearly shut"),
    "outdoor-inlet-tripped": Kind(
        {"outdoor_inlet": 0.08}, ("primary-below-ventilation-minimum", "outdoor-air-inlet-below-minimum"),
        "outdoor_air_inlet_min == outdoor_air_inlet_min",
        "dedicated outdoor-air inlet shut; primary air alone does not make up for it"),
    "duct-blocked": Kind(
        {"inlet_path": 0.50}, ("starved-terminal", "primary-below-setpoint"), _ANY, "fire damper half shut before the inlet"),
    "maximum-entered-too-high": Kind(
        {"maximum": 1.3}, ("primary-above-maximum",), _ANY, "maximum flow entered too high in the controller"),
    "flow-zero-error": Kind(
        {"flow_zero": 0.016 * INCH_WC}, ("flow-sensor-drift", "flow-with-closed-damper"), _ANY,
        "flow sensor reads air with the damper shut: zero drifted"),
    "flow-gain-low": Kind(
        {"flow_gain": 0.72}, ("flow-sensor-drift",), _ANY, "flow sensor reads low"),
    "flow-gain-high": Kind(
        {"flow_gain": 1.45}, ("flow-sensor-drift",), _ANY, "flow sensor reads high"),
    "flow-loop-hunts": Kind(
        {"flow_swing": 9.0}, ("airflow-hunting",), _ANY, "flow loop tuned far too fast"),
    "damper-linkage-slipped": Kind(
        {"damper_slips": 0.35}, ("damper-not-moving-air",), _ANY, "actuator turns, the blade does not"),
    "fan-band-too-narrow": Kind(
        {"fan_by_call": 0.0, "fan_band": 0.06, "fan_least_run": 0.5, "fan_least_rest": 0.5, "draught": 0.03}, ("fan-short-cycling",), _PARALLEL,
        "fan switched on a narrow difference without timers"),
    "fan-runs-short": Kind(
        {"fan_by_call": 0.0, "fan_band": 0.06, "fan_least_run": 1.5, "fan_least_rest": 9.0, "draught": 0.05}, ("fan-short-cycling",), _PARALLEL,
        "fan runs of two or three minutes: least run time set to nearly nothing"),
    "fan-in-hand": Kind(
        {"fan_in_occupied": 1.0}, ("parallel-fan-on-in-cooling",), _PARALLEL, "fan commanded on in all occupied hours"),
    "fan-on-at-night": Kind(
        {"fan_hand": 1.0}, ("fan-running-when-unoccupied",), _SERIES, "fan in hand: runs day and night"),
    "parallel-fan-dead": Kind(
        {"fan_dead": 1.0}, ("parallel-fan-missing-in-heating", "fan-status-disagrees-with-command"), _PARALLEL,
        "fan does not start when commanded"),
    "fan-status-broken": Kind(
        {"fan_status_held": 0.0}, ("fan-status-disagrees-with-command", "parallel-fan-missing-in-heating"), _PARALLEL,
        "current switch broken: status stays off while the fan runs"),
    "series-fan-off": Kind(
        {"fan_hand": 0.0, "no_fan_interlock": 1.0}, ("series-fan-off-when-occupied", "series-primary-without-fan"), _SERIES,
        "fan switched off by hand; primary air goes on without it"),
    "series-fan-off-and-shut": Kind(
        {"fan_hand": 0.0}, ("series-fan-off-when-occupied", "primary-below-ventilation-minimum"), _SERIES,
        "fan switched off by hand; the damper stays shut without it"),
    "fan-slow": Kind(
        {"fan_flow": 0.6}, ("fan-short-of-flow",), _FAN, "fan delivers far less than scheduled"),
    "heat-in-hand": Kind(
        {"heat_hand": 0.4}, ("reheat-during-cooling",), _HEATED, "reheat held open by hand"),
    "heat-without-air": Kind(
        {"heat_hand": 0.3, "no_heat_interlock": 1.0}, ("reheat-without-airflow", "reheat-during-cooling"),
        "reheat == 'electric'", "electric heat held on by hand with its airflow switch bridged"),
    "valve-leaks-by": Kind(
        {"heat_leak": 0.16}, ("reheat-leaking-by",), "reheat == 'hot-water'", "valve passes water when shut"),
    "heat-fails": Kind(
        {"heat_capacity": 0.08}, ("reheat-not-delivering",), _HEATED, "coil gives next to no heat"),
    "heating-flow-too-high": Kind(
        {"heating_flow": 1.8}, ("reheat-with-high-primary",), _HEATED, "heating flow entered far too high"),
    "discharge-too-hot": Kind(
        {"heat_hottest": 22.0}, ("discharge-too-hot",), _HEATED, "discharge limit entered too high"),
    "reheat-loop-hunts": Kind(
        {"heat_swing": 12.0}, ("reheat-hunting",), "reheat == 'hot-water'", "reheat loop tuned far too fast"),
    "heat-too-small": Kind(
        {"heat_capacity": 0.35, "leaky_room": 1.5}, ("heating-capacity-short", "zone-too-cold"), _HEATED,
        "heat installed is short of the room's loss"),
    "zone-overloaded": Kind(
        {"gains": 2.6}, ("zone-too-warm",), _ANY, "far more equipment in the room than designed for"),
    "setpoints-too-close": Kind(
        {"heating_shift": 2.2}, ("setpoints-too-close",), _ANY, "heating setpoint raised to just below the cooling one"),
    "no-setback": Kind(
        {"no_setback": 1.0}, ("no-unoccupied-setback",), _ANY, "no unoccupied setpoints"),
    "zone-sensor-flat": Kind(
        {"zone_frozen": 1.0}, ("sensor-flatlined",), _ANY, "zone temperature frozen"),
    "zone-sensor-implausible": Kind(
        {"zone_error": 30.0}, ("sensor-implausible",), _ANY, "zone sensor wired wrongly: reads 30 K too warm"),
    "duct-pressure-too-high": Kind(
        {"static": 2.6}, ("inlet-overpressure",), "air handler", "duct static pressure far above its setpoint"),
    "duct-pressure-too-low": Kind(
        {"static": 0.25}, ("air-handler-common-cause", "starved-terminal", "primary-below-setpoint"), "air handler",
        "supply fan cannot hold its duct static pressure"),
    # Near misses: sound by every rule.
    "flow-gain-a-little-low": Kind({"flow_gain": 0.97}, (), _ANY, "flow sensor reads 3 % low"),
    "controller-restarts": Kind({"damper_shut": 1.0}, (), _ANY, "damper shut for some minutes while the controller restarts"),
    "fan-two-starts-an-hour": Kind(
        {"fan_by_call": 0.0, "fan_band": 0.06, "fan_least_run": 12.0, "fan_least_rest": 18.0, "draught": 0.03}, (), _PARALLEL,
        "fan switched on a narrow difference, with timers that hold it to two starts an hour"),
    "warm-room": Kind({"gains": 1.35}, (), _ANY, "more equipment than designed for, within what the terminal can cool"),
}  # fmt: skip


@dataclass(frozen=True)
class Fault:
    """One fault, in one terminal or air handler.

    Attributes
    ----------
    kind : str
        A key of CATALOGUE.
    at : str
        The terminal (or air handler).
    start, end : str or Timestamp, optional
        Local times; the whole simulation where left out.
    grows : str, optional
        A duration (``"60h"``): the fault grows evenly from nothing to full size, starting at ``start``.
    turns : dict
        Knobs that differ from the catalogue's.
    shows : tuple of str, optional
        Rules that differ from the catalogue's.
    visible : str or Timestamp, optional
        From when on its size can be seen, where that is later than ``start``.
    note : str
        What stands in the truth list instead of the kind's note.
    """

    kind: str
    at: str
    start: str | pd.Timestamp | None = None
    end: str | pd.Timestamp | None = None
    grows: str | None = None
    turns: dict[str, float] = field(default_factory=dict)
    shows: tuple[str, ...] | None = None
    visible: str | pd.Timestamp | None = None
    note: str = ""

    @property
    def rules(self) -> tuple[str, ...]:
        """Ids of the rules that the fault shows in."""
        return CATALOGUE[self.kind].shows if self.shows is None else self.shows


def truth(building: Building, faults, start, days: float, week: str = "") -> pd.DataFrame:
    """List what is wrong: a row for each fault and rule, with ``week, terminal, rule, from, to, note``.

    ``from`` and ``to`` are local times with their offset; a fault of an air handler is listed for each of its terminals.
    """
    begin = pd.Timestamp(start).tz_localize(building.time_zone)
    finish = _local(building, pd.Timestamp(start) + pd.Timedelta(days=days))
    rows = []
    for fault in faults:
        since = max(begin, _local(building, fault.visible or fault.start) or begin)
        until = min(finish, _local(building, fault.end) or finish)
        for terminal in _owners(building, fault.at):
            for rule in fault.rules:
                rows.append(
                    (
                        week,
                        terminal,
                        rule,
                        since.isoformat(),
                        until.isoformat(),
                        fault.note or CATALOGUE[fault.kind].note,
                    )
                )
    table = pd.DataFrame(rows, columns=["week", "terminal", "rule", "from", "to", "note"])
    return table.sort_values(["week", "terminal", "rule", "from"], ignore_index=True)


def _local(building: Building, when) -> pd.Timestamp | None:
    if when is None:
        return None
    stamp = pd.Timestamp(when)
    return stamp.tz_localize(building.time_zone) if stamp.tzinfo is None else stamp.tz_convert(building.time_zone)


def _owners(building: Building, at: str) -> list[str]:
    if at in building.air_handlers.index:
        return list(building.terminals.index[building.terminals["air_handler"] == at])
    return [at]


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

    def __init__(self, building: Building, faults, local: pd.DatetimeIndex):
        self._sizes = {
            name: len(building.air_handlers if name in AIR_HANDLER_KNOBS else building.terminals) for name in KNOBS
        }
        self._turned = [self._prepare(building, fault, local) for fault in faults]
        self._changes = {0} | {step for turned in self._turned for step in turned[2]}
        self._set_all()

    def _prepare(self, building: Building, fault: Fault, local: pd.DatetimeIndex):
        kind = CATALOGUE[fault.kind]
        turns = kind.turns | fault.turns
        unknown = set(turns) - set(KNOBS)
        if unknown:
            raise ValueError(f"{fault.kind} at {fault.at}: unknown knobs {sorted(unknown)}")
        owners = building.air_handlers if kind.where == "air handler" else building.terminals.query(kind.where)
        if fault.at not in owners.index:
            raise ValueError(f"{fault.kind} cannot happen at {fault.at}: it needs {kind.where}")
        table = building.air_handlers if kind.where == "air handler" else building.terminals
        begin = 0 if fault.start is None else int(local.searchsorted(_local(building, fault.start)))
        end = len(local) if fault.end is None else int(local.searchsorted(_local(building, fault.end)))
        grown = begin
        if fault.grows:
            grown = begin + int(pd.Timedelta(fault.grows) / (local[1] - local[0]))
        moments = {begin, end, *range(begin, min(grown, len(local)), self.GROWTH_STEPS)}
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
