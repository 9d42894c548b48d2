"""What can go wrong: every kind of fault stands once in CATALOGUE, as what it does to a sound terminal.

The simulation knows no fault. It knows knobs (``sample_trends.knobs``). A kind of fault is a set of knobs turned, the
rules whose readings then show it, and the terminals where it can happen. To add one, add an entry here, and a knob
where none does what the fault does.
"""

from __future__ import annotations

from dataclasses import dataclass

from sample_trends.building import INCH_WC


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


_NO_INLET = "outdoor_air_inlet_min != outdoor_air_inlet_min"
_ANY, _HEATED = "kind == kind", "reheat != 'none'"
_FAN, _SERIES, _PARALLEL = "kind != 'single-duct'", "kind == 'series'", "kind == 'parallel'"

# A thermostat without a heating loop behind it, on a narrow difference, near the air that the terminal blows out.
_BARE = {"fan_by_call": 0.0, "fan_band": 0.06}

# fmt: off
CATALOGUE: dict[str, Kind] = {
    "minimum-entered-too-low": Kind(
        {"minimum": 0.5}, ("primary-below-ventilation-minimum",), _NO_INLET,
        "minimum flow entered too low in the controller"),
    "minimum-below-measurable": Kind(
        {"minimum": 0.12}, ("flow-below-measurable", "primary-below-ventilation-minimum"),
        _NO_INLET, "minimum flow entered below what the flow sensor can resolve"),
    "damper-stuck-nearly-shut": Kind(
        {"damper_held": 0.14}, ("primary-below-ventilation-minimum", "primary-below-setpoint"), _ANY,
        "primary damper stuck nearly shut"),
    "outdoor-inlet-tripped": Kind(
        {"outdoor_inlet": 0.08}, ("primary-below-ventilation-minimum", "outdoor-air-inlet-below-minimum"),
        "outdoor_air_inlet_min == outdoor_air_inlet_min",
        "dedicated outdoor-air inlet shut; primary air alone does not make up for it"),
    "duct-blocked": Kind(
        {"inlet_path": 0.50}, ("starved-terminal", "primary-below-setpoint"), _ANY,
        "fire damper half shut before the inlet"),
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
        _BARE | {"fan_least_run": 3.5, "fan_least_rest": 3.5, "draught": 0.07},
        ("fan-short-cycling",), _PARALLEL,
        "fan switched on a narrow difference without timers"),
    "fan-runs-short": Kind(
        _BARE | {"fan_least_run": 2.5, "fan_least_rest": 4.5, "draught": 0.12},
        ("fan-short-cycling",), _PARALLEL,
        "fan runs of three or four minutes: least run time set to nearly nothing"),
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
        {"fan_hand": 0.0, "no_fan_interlock": 1.0}, ("series-fan-off-when-occupied", "series-primary-without-fan"),
        _SERIES, "fan switched off by hand; primary air goes on without it"),
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
        {"heat_swing": 400.0}, ("reheat-hunting",), "reheat == 'hot-water'", "reheat loop tuned far too fast"),
    "heat-too-small": Kind(
        {"heat_capacity": 0.35, "leaky_room": 1.5}, ("heating-capacity-short", "zone-too-cold"), _HEATED,
        "heat installed is short of the room's loss"),
    "zone-overloaded": Kind(
        {"gains": 2.6}, ("zone-too-warm",), _ANY, "far more equipment in the room than designed for"),
    "neighbours-fight": Kind(
        {"heating_shift": 3.4}, ("neighbours-fighting",), "open_zone == open_zone and reheat != 'none'",
        "heats its open zone past the temperature to which its neighbours cool it"),
    "zone-loops-swing": Kind(
        {"zone_swing": 12.0, "heat_swing": 3.0}, ("zone-temperature-swinging",), _HEATED,
        "zone loops tuned far too fast"),
    "setpoints-too-close": Kind(
        {"heating_shift": 2.2}, ("setpoints-too-close",), _ANY,
        "heating setpoint raised to just below the cooling one"),
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
    "controller-restarts": Kind(
        {"damper_shut": 1.0}, (), _ANY, "damper shut for some minutes while the controller restarts"),
    "fan-two-starts-an-hour": Kind(
        _BARE | {"fan_least_run": 20.0, "fan_least_rest": 10.0, "draught": 0.03}, (), _PARALLEL,
        "fan switched on a narrow difference, with timers that hold it to two starts an hour"),
    "warm-room": Kind({"gains": 1.35}, (), _ANY, "more equipment than designed for, within what the terminal can cool"),
}
# fmt: on
