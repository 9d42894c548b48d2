"""Faults and sound sequences that only field mode has: what real trends show and a plain week does not.

As ``sample_trends.catalogue``: each kind is a set of knobs turned. ``shows`` names the right cause; ``also`` what may
be named as well, where load and weather bring it out; ``brings`` consequences, which belong under the cause: told for
themselves they are a nuisance. What stands in none of the three is a wrong cause.
"""

from __future__ import annotations

from sample_trends.building import INCH_WC
from sample_trends.catalogue import Kind

_ANY, _HEATED = "kind == kind", "reheat != 'none'"
_COLD_ROOM = ("zone-too-cold", "heating-capacity-short")
_SHORT_OF_AIR = (
    "starved-terminal", "primary-below-setpoint", "primary-below-ventilation-minimum", "zone-too-warm", "zone-too-cold",
    "air-handler-common-cause", "co2-high",
)  # fmt: skip
_SENSOR_LOW = (
    "primary-below-setpoint", "primary-below-ventilation-minimum", "zone-too-cold", "zone-too-warm",
    "reheat-at-high-minimum", "fan-short-of-flow",
)  # fmt: skip
_OVERCOOLED = (
    *_COLD_ROOM,
    "reheat-with-high-primary",
    "neighbours-fighting",
    "series-primary-without-fan",
    "discharge-too-hot",
)

# fmt: off
FIELD_KINDS: dict[str, Kind] = {
    # Coils
    "coil-dead": Kind(
        {"heat_capacity": 0.07}, ("reheat-not-delivering",), _HEATED,
        "coil dead: a few degrees of rise at full demand", brings=_COLD_ROOM),
    "coil-weak": Kind(
        {"heat_capacity": 0.45}, (), _HEATED, "coil weak: half of its heat at full demand",
        also=("reheat-not-delivering", *_COLD_ROOM)),
    "valve-leaks-much": Kind(
        {"heat_leak": 0.30}, ("reheat-leaking-by",), "reheat == 'hot-water'",
        "valve passes water when shut: some 18 degF of rise",
        also=("discharge-too-hot",), brings=("zone-too-warm",)),
    "heater-welded": Kind(
        {"heat_welded": 0.5}, ("reheat-leaking-by",), "reheat == 'electric' and kind == 'single-duct'",
        "contactor of an electric heater welded: it heats at a signal of 0, with air and without",
        also=("reheat-without-airflow", "discharge-too-hot"), brings=("zone-too-warm", "sensor-implausible")),
    "heat-in-hand-at-dual-maximum": Kind(
        {"heat_hand": 0.5}, ("reheat-during-cooling",), f"{_HEATED} and kind == 'single-duct'",
        "reheat held open by hand at a dual-maximum terminal, in cooling too",
        also=("reheat-without-airflow", "discharge-too-hot", "heating-and-cooling-at-once"),
        brings=("reheat-with-high-primary", "zone-too-warm", "neighbours-fighting")),
    # Flow
    "sensor-tube-off": Kind(
        {"flow_held": 3.0}, ("flow-sensor-drift",), _ANY,
        "tube off the flow sensor: it reads 3 L/s at an open damper while air moves",
        also=("sensor-flatlined",), brings=_SENSOR_LOW),
    "flow-slides": Kind(
        {"flow_gain": 0.55}, ("flow-sensor-drift",), _ANY,
        "flow sensor slides down within the period, in a unit at part speed too",
        brings=(*_SENSOR_LOW, "starved-terminal")),
    "flow-reads-a-fifth": Kind(
        {"flow_gain": 0.18}, ("flow-sensor-drift",), "kind == 'single-duct' and distribution == 'overhead'",
        "flow sensor reads a fifth: the damper stands open, the zone is overcooled", brings=_SENSOR_LOW),
    "series-flow-reads-low": Kind(
        {"flow_gain": 0.6}, ("flow-sensor-drift",),
        "kind == 'series' and distribution == 'overhead' and not variable_fan"
        " and outdoor_air_inlet_min != outdoor_air_inlet_min",
        "flow sensor of a series unit reads low", brings=_SENSOR_LOW),
    "flow-zero-drifted": Kind(
        {"flow_zero": 0.016 * INCH_WC}, ("flow-sensor-drift",), _ANY, "flow sensor reads air with none moving",
        also=("flow-with-closed-damper",), brings=("flow-above-setpoint",)),
    "duct-blocked-in-field": Kind(
        {"inlet_path": 0.45, "gains": 2.2}, ("starved-terminal",), _ANY, "duct of one terminal blocked",
        also=("holds-back-reset",), brings=("primary-below-setpoint", "zone-too-warm", "co2-high")),
    "damper-stuck-in-field": Kind(
        {"damper_held": 0.12}, ("primary-below-setpoint",),
        _ANY, "damper stuck nearly shut",
        also=("damper-not-moving-air", "flow-above-setpoint"),
        brings=("primary-below-ventilation-minimum", "zone-too-warm", "co2-high")),
    "linkage-slipped-in-field": Kind(
        {"damper_slips": 0.45, "gains": 1.6}, ("damper-not-moving-air",), _ANY,
        "actuator turns, the blade does not",
        also=("flow-with-closed-damper", "starved-terminal", "damper-position-not-credible", "flow-above-setpoint"),
        brings=("series-primary-without-fan", "primary-below-setpoint", "primary-below-ventilation-minimum",
                "zone-too-warm", "co2-high")),
    "minimum-too-low-in-field": Kind(
        {"minimum": 0.5}, ("primary-below-ventilation-minimum", "minimum-setpoint-off-schedule"),
        "outdoor_air_inlet_min != outdoor_air_inlet_min and not dcv", "minimum entered too low",
        also=("design-values-disagree",), brings=("co2-high",)),
    "blade-jammed": Kind(
        {"blade_least": 0.45}, ("flow-above-setpoint",), _ANY,
        "blade jammed half open: it opens further, and never closes",
        also=("damper-not-moving-air", "flow-with-closed-damper", "damper-position-not-credible",
              "reheat-at-high-minimum", "inlet-overpressure"),
        brings=_OVERCOOLED),
    "damper-in-hand-open": Kind(
        {"damper_open": 1.0}, ("flow-above-setpoint",), _ANY, "damper held open by hand",
        also=("primary-above-maximum", "reheat-at-high-minimum", "damper-not-moving-air"), brings=_OVERCOOLED),
    "slow-actuator": Kind(
        {"stroke": 55.0}, ("slow-to-respond",), _ANY, "damper shaft stiff: an hour and more for the actuator's stroke",
        also=("airflow-hunting", "primary-below-setpoint", "flow-above-setpoint"), brings=_OVERCOOLED),
    "minimum-too-high": Kind(
        {"minimum": 1.6}, ("minimum-setpoint-off-schedule",),
        "not dcv and 1.8 * primary_min < primary_max", "minimum entered well above the schedule",
        also=("reheat-at-high-minimum", "reheat-with-high-primary", "design-values-disagree"), brings=_OVERCOOLED),
    "minimum-at-two-thirds": Kind(
        {"minimum": 3.0}, ("reheat-at-high-minimum",), f"{_HEATED} and not dcv and primary_min < 0.5 * primary_max",
        "minimum entered as two thirds of the maximum: reheat runs to warm it",
        also=("minimum-setpoint-off-schedule", "reheat-with-high-primary", "design-values-disagree"),
        brings=_OVERCOOLED),
    # Fans
    "fan-all-night": Kind(
        {"fan_hand": 1.0}, ("fan-running-when-unoccupied",), "kind == 'series'",
        "fan overridden: it runs all night, its air handler off"),
    "series-fan-off-in-field": Kind(
        {"fan_hand": 0.0, "no_fan_interlock": 1.0}, ("series-fan-off-when-occupied",), "kind == 'series'",
        "series fan switched off by hand; primary air goes on",
        also=("series-primary-without-fan",), brings=("zone-too-cold", "reheat-without-airflow")),
    "parallel-fan-dead-in-field": Kind(
        {"fan_dead": 1.0}, ("parallel-fan-missing-in-heating", "fan-status-disagrees-with-command"),
        "kind == 'parallel'", "parallel fan does not start", brings=(*_COLD_ROOM, "reheat-not-delivering")),
    "fan-chatters-in-field": Kind(
        {"fan_by_call": 0.0, "fan_band": 0.06, "fan_least_run": 3.5, "fan_least_rest": 3.5, "draught": 0.08,
         "leaky_room": 1.5},
        ("fan-short-cycling",), "kind == 'parallel' and not fan_night_cycle",
        "fan switched on a narrow difference without timers",
        brings=("reheat-hunting", "zone-temperature-swinging", "electric-heat-short-cycling")),
    # Rooms
    "room-loses-too-much": Kind(
        {"heat_capacity": 0.25, "leaky_room": 4.0}, ("heating-capacity-short", "zone-too-cold"), _HEATED,
        "heat installed is short of the room's loss", also=("reheat-not-delivering",)),
    "room-overloaded": Kind(
        {"gains": 2.8}, ("zone-too-warm",), _ANY, "far more equipment in the room than designed for",
        also=("starved-terminal", "holds-back-reset")),
    "zone-sensor-stuck": Kind(
        {"zone_frozen": 1.0}, ("sensor-flatlined",), _ANY, "zone temperature frozen",
        brings=("zone-too-cold", "zone-too-warm", "heating-capacity-short", "reheat-during-cooling", "co2-high")),
    "loops-overlap": Kind(
        {"cooling_hidden": 3.0}, ("heating-and-cooling-at-once",), _HEATED,
        "the cooling loop works to a setpoint of its own, under that of heating",
        also=("reheat-with-high-primary", "reheat-during-cooling", "reheat-at-high-minimum"), brings=_OVERCOOLED),
    "heater-chatters": Kind(
        {"stage_least": 1.0, "draught": 0.16, "leaky_room": 2.0}, ("electric-heat-short-cycling",),
        "reheat == 'electric' and staged",
        "thermostat in the draught of the discharge, and no least time between two switchings of the heater",
        also=("fan-short-cycling",), brings=("zone-temperature-swinging", "reheat-hunting", "zone-too-cold")),
    # Setpoints
    "deadband-zero": Kind(
        {"heating_shift": 2.5}, ("setpoints-too-close",), _HEATED,
        "no deadband: heating and cooling run at once", also=("setpoint-out-of-policy", "heating-and-cooling-at-once"),
        brings=("reheat-during-cooling", "reheat-with-high-primary", "zone-too-cold", "zone-too-warm",
                "parallel-fan-on-in-cooling", "no-unoccupied-setback")),
    "setpoint-odd": Kind(
        {"heating_shift": 5.0, "cooling_shift": 5.0}, ("setpoint-out-of-policy",), _ANY,
        "setpoints far outside the policy", brings=(*_COLD_ROOM, "neighbours-fighting")),
    "no-setback-in-field": Kind({"no_setback": 1.0}, ("no-unoccupied-setback",), _ANY, "no unoccupied setpoints"),
    # Air handlers
    "unit-outage": Kind(
        {"outage": 1.0}, ("air-handler-outage",), "air handler", "supply fan stands for days; its points freeze",
        brings=(*_SHORT_OF_AIR, *_COLD_ROOM)),
    "unit-short-of-pressure": Kind(
        {"static": 0.08}, ("air-handler-short-of-pressure",), "air handler",
        "fan at full speed with a fraction of its pressure", brings=_SHORT_OF_AIR),
    "unit-supply-cold": Kind(
        {"unit_heat_dead": 1.0}, ("air-handler-supply-temp-off",), "air handler",
        "supplies 52 to 56 degF against 62, its heat at 0", brings=(*_COLD_ROOM, "air-handler-common-cause")),
    **{
        f"unit-{sensor.replace('_', '-')}-stuck": Kind(
            {f"{sensor}_stuck": 1.0}, ("air-handler-sensor-stuck",), "air handler", f"{reads} of the unit stuck",
            also=also, brings=brings)
        for sensor, reads, also, brings in (
            ("outdoor_flow", "outdoor airflow", (), ()),
            ("supply_flow", "supply airflow", (), ()),
            ("pressure", "duct pressure", ("air-handler-short-of-pressure", "inlet-overpressure"),
             (*_SHORT_OF_AIR, "airflow-hunting")),
            ("supply_temp", "supply temperature", ("supply-temp-unfit-for-load",),
             ("air-handler-supply-temp-off", *_COLD_ROOM, "zone-too-warm", "air-handler-common-cause",
              "reheat-with-high-primary", "reheat-during-cooling")),
        )
    },
    "unit-runs-all-night": Kind(
        {"unit_all_night": 1.0}, ("air-handler-runs-unoccupied",), "air handler",
        "its schedule runs the fan all night and on Sundays, nobody in",
        brings=(*_COLD_ROOM, "fan-running-when-unoccupied", "never-unoccupied", "air-handler-common-cause")),
    "unit-static-fixed-high": Kind(
        {"static_fixed": 1.7}, ("static-setpoint-never-reset",), "air handler",
        "pressure setpoint fixed far above what the terminals need", also=("inlet-overpressure",)),
    "unit-supply-too-cold": Kind(
        {"supply_fixed": 10.5, "unit_minimum": 3.5}, ("supply-temp-unfit-for-load",), "air handler",
        "supply temperature fixed so cold, at minimum flows so high, that all terminals reheat it",
        also=("reheat-at-high-minimum", "minimum-setpoint-off-schedule", "reheat-with-high-primary"),
        brings=(*_COLD_ROOM, "design-values-disagree", "air-handler-common-cause", "reheat-during-cooling",
                "primary-above-maximum", "reheat-not-delivering")),
    "unit-supply-too-warm": Kind(
        {"supply_fixed": 19.5}, ("supply-temp-unfit-for-load",), "air handler",
        "supply temperature fixed so warm that all terminals stand at full cooling",
        also=("holds-back-reset",),
        brings=("zone-too-warm", "starved-terminal", "primary-below-setpoint", "air-handler-common-cause")),
    # Sound: sequences and moments that look unsound
    "functional-test": Kind(
        {"damper_open": 1.0, "heat_hand": 1.0}, (), _HEATED, "functional test: damper and heat by hand"),
    "balancing": Kind({"damper_open": 1.0}, (), _ANY, "balanced: damper open by hand"),
    "busy-room": Kind(
        {"gains": 2.4}, (), _ANY, "more people and equipment than designed for",
        also=("zone-too-warm", "holds-back-reset")),
    "draughty-room": Kind(
        {"leaky_room": 2.0}, (), "reheat != 'none' and kind == 'single-duct'",
        "a room that calls for much heat: its dual maximum is used"),
    "flow-a-little-low-in-field": Kind({"flow_gain": 0.95}, (), _ANY, "flow sensor reads 5 % low"),
}
# fmt: on
