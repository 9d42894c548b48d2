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
    also : tuple of str
        Rules that may show it, too, where the load or the weather happen to bring it out: to find them is right, and
        not to find them is no miss.
    brings : tuple of str
        Rules in which its consequences may show: right under the finding of the cause, a nuisance for themselves. What
        stands in none of the three names a wrong cause.
    """

    turns: dict[str, float]
    shows: tuple[str, ...]
    where: str
    note: str
    also: tuple[str, ...] = ()
    brings: tuple[str, ...] = ()


_NO_INLET = "outdoor_air_inlet_min != outdoor_air_inlet_min"
_ANY, _HEATED = "kind == kind", "reheat != 'none'"
_FAN, _SERIES, _PARALLEL = "kind != 'single-duct'", "kind == 'series'", "kind == 'parallel'"

# A thermostat without a heating loop behind it, on a narrow difference, near the air that the terminal blows out.
_BARE = {"fan_by_call": 0.0, "fan_band": 0.06}

# fmt: off
CATALOGUE: dict[str, Kind] = {
    "minimum-entered-too-low": Kind(
        {"minimum": 0.5}, ("primary-below-ventilation-minimum", "minimum-setpoint-off-schedule"),
        _NO_INLET, "minimum flow entered too low in the controller", also=("flow-below-measurable",)),
    "minimum-below-measurable": Kind(
        {"minimum": 0.12}, ("flow-below-measurable", "primary-below-ventilation-minimum"),
        _NO_INLET, "minimum flow entered below what the flow sensor can resolve",
        also=("minimum-setpoint-off-schedule",)),
    "damper-stuck-nearly-shut": Kind(
        {"damper_held": 0.14}, ("primary-below-ventilation-minimum", "primary-below-setpoint"), _NO_INLET,
        "primary damper stuck nearly shut", also=("zone-too-warm", "damper-not-moving-air", "flow-above-setpoint")),
    "outdoor-inlet-tripped": Kind(
        {"outdoor_inlet": 0.08}, ("primary-below-ventilation-minimum", "outdoor-air-inlet-below-minimum"),
        "outdoor_air_inlet_min == outdoor_air_inlet_min",
        "dedicated outdoor-air inlet shut; primary air alone does not make up for it"),
    "duct-blocked": Kind(
        {"inlet_path": 0.50}, ("starved-terminal",), _ANY,
        "fire damper half shut before the inlet",
        brings=("primary-below-setpoint", "zone-too-warm")),
    "maximum-entered-too-high": Kind(
        {"maximum": 1.4, "inlet_path": 1.5}, ("primary-above-maximum",), _ANY,
        "maximum flow entered too high in the controller",
        also=("flow-sensor-drift", "design-values-disagree")),
    "flow-zero-error": Kind(
        {"flow_zero": 0.016 * INCH_WC}, ("flow-sensor-drift", "flow-with-closed-damper"), _ANY,
        "flow sensor reads air with the damper shut: zero drifted"),
    "flow-gain-low": Kind(
        {"flow_gain": 0.72}, ("flow-sensor-drift",), _ANY, "flow sensor reads low",
        brings=("fan-short-of-flow", "starved-terminal", "primary-below-setpoint")),
    "flow-gain-high": Kind(
        {"flow_gain": 1.45}, ("flow-sensor-drift",), _ANY, "flow sensor reads high",
        brings=("fan-short-of-flow", "primary-above-maximum")),
    "flow-loop-hunts": Kind(
        {"flow_swing": 30.0, "flow_smoothing": 0.05}, ("airflow-hunting",), _ANY,
        "flow loop tuned far too fast for its smoothed reading",
        also=("primary-below-setpoint",)),
    "damper-linkage-slipped": Kind(
        {"damper_slips": 0.35}, ("damper-not-moving-air",), _ANY, "actuator turns, the blade does not",
        also=("flow-with-closed-damper", "starved-terminal", "flow-above-setpoint"),
        brings=("primary-below-setpoint", "primary-below-ventilation-minimum", "zone-too-warm")),
    "fan-band-too-narrow": Kind(
        _BARE | {"fan_least_run": 3.5, "fan_least_rest": 3.5, "draught": 0.07},
        ("fan-short-cycling",), _PARALLEL,
        "fan switched on a narrow difference without timers",
        also=("reheat-hunting", "zone-temperature-swinging")),
    "fan-runs-short": Kind(
        _BARE | {"fan_least_run": 2.5, "fan_least_rest": 4.5, "draught": 0.12},
        ("fan-short-cycling",), _PARALLEL,
        "fan runs of three or four minutes: least run time set to nearly nothing",
        also=("reheat-hunting", "zone-temperature-swinging")),
    "fan-in-hand": Kind(
        {"fan_in_occupied": 1.0}, ("parallel-fan-on-in-cooling",), _PARALLEL, "fan commanded on in all occupied hours"),
    "fan-on-at-night": Kind(
        {"fan_hand": 1.0}, ("fan-running-when-unoccupied",), _SERIES, "fan overridden: runs day and night"),
    "parallel-fan-dead": Kind(
        {"fan_dead": 1.0}, ("parallel-fan-missing-in-heating", "fan-status-disagrees-with-command"), _PARALLEL,
        "fan does not start when commanded", also=("zone-too-cold", "heating-capacity-short")),
    "fan-status-broken": Kind(
        {"fan_status_held": 0.0}, ("fan-status-disagrees-with-command",), _PARALLEL,
        "current switch broken: status stays off while the fan runs", also=("reheat-without-airflow",),
        # Where the discharge does not show that the fan runs, its status is all there is.
        brings=("parallel-fan-missing-in-heating",)),
    "series-fan-off": Kind(
        {"fan_hand": 0.0, "no_fan_interlock": 1.0}, ("series-fan-off-when-occupied", "series-primary-without-fan"),
        _SERIES, "fan switched off by hand; primary air goes on without it",
        also=("zone-too-cold",)),
    "series-fan-off-and-shut": Kind(
        {"fan_hand": 0.0}, ("series-fan-off-when-occupied", "primary-below-ventilation-minimum"), _SERIES,
        "fan switched off by hand; the damper stays shut without it", also=("zone-too-cold", "zone-too-warm")),
    "fan-slow": Kind(
        {"fan_flow": 0.6}, ("fan-short-of-flow",), _FAN, "fan delivers far less than scheduled",
        # Mixing temperatures alone tell a slow fan from a sensor that reads low no more than a person could.
        brings=("flow-sensor-drift", "zone-too-cold", "heating-capacity-short")),
    "heat-in-hand": Kind(
        {"heat_hand": 0.4}, ("reheat-during-cooling",), _HEATED, "reheat held open by hand",
        also=("reheat-without-airflow", "reheat-with-high-primary", "zone-too-warm",
              "parallel-fan-missing-in-heating", "neighbours-fighting")),
    "heat-without-air": Kind(
        {"heat_hand": 0.3, "no_heat_interlock": 1.0}, ("reheat-without-airflow", "reheat-during-cooling"),
        "reheat == 'electric'", "electric heat held on by hand with its airflow switch bridged",
        also=("reheat-with-high-primary", "zone-too-warm", "neighbours-fighting")),
    "valve-leaks-by": Kind(
        {"heat_leak": 0.16}, ("reheat-leaking-by",), "reheat == 'hot-water'", "valve passes water when shut",
        brings=("zone-too-warm",)),
    "heat-fails": Kind(
        {"heat_capacity": 0.08}, ("reheat-not-delivering",), _HEATED, "coil gives next to no heat",
        also=("heating-capacity-short", "zone-too-cold")),
    "heating-flow-too-high": Kind(
        {"heating_flow": 1.8}, ("reheat-with-high-primary",), f"{_HEATED} and {_FAN}",
        "heating flow entered far too high",
        also=("reheat-during-cooling", "design-values-disagree", "minimum-setpoint-off-schedule")),
    "discharge-too-hot": Kind(
        {"heat_hottest": 26.0, "heat_capacity": 3.0, "zone_band": 0.6}, ("discharge-too-hot",),
        f"{_HEATED} and kind != 'series'",
        "an oversized coil heats all or nothing, at a discharge limit entered far too high",
        also=("reheat-hunting", "zone-temperature-swinging", "fan-short-cycling")),
    "reheat-loop-hunts": Kind(
        {"heat_swing": 400.0}, ("reheat-hunting",), "reheat == 'hot-water'", "reheat loop tuned far too fast"),
    "heat-too-small": Kind(
        {"heat_capacity": 0.35, "leaky_room": 1.5}, ("heating-capacity-short", "zone-too-cold"), _HEATED,
        "heat installed is short of the room's loss",
        also=("reheat-not-delivering",)),
    "zone-overloaded": Kind(
        {"gains": 4.0}, ("zone-too-warm",), _ANY, "far more equipment in the room than designed for",
        also=("starved-terminal",)),
    "neighbours-fight": Kind(
        {"heating_shift": 5.0, "cooling_shift": 5.0}, ("neighbours-fighting",),
        f"open_zone == open_zone and {_HEATED}",
        "heats its open zone past the temperature to which its neighbours cool it", also=("setpoint-out-of-policy",)),
    "zone-switched-all-or-nothing": Kind(
        {"zone_band": 2.4, "heat_capacity": 3.0, "heat_hottest": 17.0}, ("zone-temperature-swinging",), _HEATED,
        "heating and cooling go all or nothing, 2.4 K apart, with an oversized coil",
        also=("reheat-hunting", "airflow-hunting", "zone-too-cold", "discharge-too-hot")),
    "setpoints-too-close": Kind(
        {"heating_shift": 2.2}, ("setpoints-too-close",), _ANY,
        "heating setpoint raised to just below the cooling one",
        also=("zone-too-cold", "reheat-during-cooling", "reheat-with-high-primary")),
    "no-setback": Kind(
        {"no_setback": 1.0}, ("no-unoccupied-setback",), _ANY, "no unoccupied setpoints"),
    "zone-sensor-flat": Kind(
        {"zone_frozen": 1.0}, ("sensor-flatlined",), _ANY, "zone temperature frozen"),
    "zone-sensor-implausible": Kind(
        {"zone_error": 30.0}, ("sensor-implausible",), _ANY, "zone sensor wired wrongly: reads 30 K too warm",
        also=("zone-too-warm", "zone-too-cold")),
    "duct-pressure-too-high": Kind(
        {"static": 3.0}, ("inlet-overpressure",), "air handler", "duct static pressure far above its setpoint",
        also=("air-handler-common-cause",)),
    "duct-pressure-too-low": Kind(
        {"static": 0.05}, ("air-handler-common-cause", "starved-terminal"), "air handler",
        "supply fan cannot hold its duct static pressure",
        also=("air-handler-short-of-pressure",),
        brings=("primary-below-setpoint", "primary-below-ventilation-minimum", "zone-too-warm")),
    # Near misses: sound by every rule.
    "flow-gain-a-little-low": Kind({"flow_gain": 0.97}, (), _ANY, "flow sensor reads 3 % low"),
    "controller-restarts": Kind(
        {"damper_shut": 1.0}, (), _ANY, "damper shut for some minutes while the controller restarts"),
    "fan-two-starts-an-hour": Kind(
        _BARE | {"fan_least_run": 24.0, "fan_least_rest": 7.0, "draught": 0.03, "leaky_room": 0.4}, (), _PARALLEL,
        "fan of a tight room switched on a narrow difference, with timers that hold it to two starts an hour"),
    "warm-room": Kind({"gains": 1.35}, (), _ANY, "more equipment than designed for, within what the terminal can cool"),
}
# fmt: on
