"""What each seeded fault of field mode looks like in what was logged: hours of it, by plain arithmetic.

Shares nothing with the rules. A fault is *shown* where the columns at hand settle it: the hours reach LEAST, and what
it takes to see it was logged. Then a verdict is asked for: neither 'clear' nor 'not judged' will do.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sample_trends.field import Logged
from tests.accuracy.field.evidence import air, air_handlers, annex, fans, heat, loops, setpoints
from tests.accuracy.field.view import View

# kind -> rule -> hours of evidence at a terminal
OF_TERMINALS: dict[str, dict[str, Callable[[View], float]]] = {
    "coil-dead": {"reheat-not-delivering": heat.coil_dead},
    "valve-leaks-much": {"reheat-leaking-by": heat.leaking},
    "heater-welded": {"reheat-leaking-by": heat.welded},
    "heat-in-hand-at-dual-maximum": {"reheat-during-cooling": heat.heat_in_cooling},
    "sensor-tube-off": {"flow-sensor-drift": air.tube_off},
    "flow-slides": {"flow-sensor-drift": air.slides},
    "flow-reads-a-fifth": {"flow-sensor-drift": air.reads_a_fifth},
    "series-flow-reads-low": {"flow-sensor-drift": air.mixing},
    "flow-zero-drifted": {"flow-sensor-drift": air.reads_without_air},
    "linkage-slipped-in-field": {"damper-not-moving-air": air.open_without_air},
    "room-loses-too-much": {"heating-capacity-short": heat.capacity_short, "zone-too-cold": heat.too_cold},
    "room-overloaded": {"zone-too-warm": heat.too_warm, "holds-back-reset": air.alone_at_full},
    "zone-sensor-stuck": {"sensor-flatlined": heat.stuck},
    "duct-blocked-in-field": {"starved-terminal": air.starved},
    "damper-stuck-in-field": {"primary-below-setpoint": air.below_setpoint},
    "minimum-too-low-in-field": {
        "primary-below-ventilation-minimum": air.below_ventilation,
        "minimum-setpoint-off-schedule": loops.minimum_rests_elsewhere,
    },
    "fan-all-night": {"fan-running-when-unoccupied": fans.fan_at_night},
    "series-fan-off-in-field": {"series-fan-off-when-occupied": fans.fan_off},
    "parallel-fan-dead-in-field": {
        "parallel-fan-missing-in-heating": fans.fan_missing, "fan-status-disagrees-with-command": fans.fan_disagrees,
    },
    "fan-chatters-in-field": {"fan-short-cycling": fans.chatters},
    "deadband-zero": {"setpoints-too-close": setpoints.no_gap},
    "setpoint-odd": {"setpoint-out-of-policy": setpoints.odd_setpoint},
    "no-setback-in-field": {"no-unoccupied-setback": setpoints.no_setback},
    "blade-jammed": {"flow-above-setpoint": loops.air_not_asked_for},
    "damper-in-hand-open": {"flow-above-setpoint": loops.air_not_asked_for},
    "minimum-too-high": {"minimum-setpoint-off-schedule": loops.minimum_rests_elsewhere},
    "minimum-at-two-thirds": {"reheat-at-high-minimum": loops.reheat_at_two_thirds},
    "loops-overlap": {"heating-and-cooling-at-once": loops.both_loops},
    "slow-actuator": {"slow-to-respond": loops.late_steps},
    "heater-chatters": {"electric-heat-short-cycling": loops.heater_starts},
    "room-crowded": {"co2-high": annex.breathed},
    "co2-control-dead": {"co2-high": annex.breathed},
    "co2-sensor-high": {"co2-sensor-offset": annex.reads_off},
    "co2-sensor-low": {"co2-sensor-offset": annex.reads_off},
    "stays-occupied": {"never-unoccupied": annex.stays_occupied},
    "standby-off": {"standby-never-used": annex.no_standby},
    "zone-sensor-off": {"zone-sensor-offset": annex.zone_off},
}  # fmt: skip

# kind -> rule -> hours of evidence at an air handler
OF_AIR_HANDLERS: dict[str, dict[str, Callable[[Logged, str, np.ndarray], float]]] = {
    "unit-outdoor-flow-stuck": {"air-handler-sensor-stuck": air_handlers.reading_stuck("outdoor_air_flow")},
    "unit-supply-flow-stuck": {"air-handler-sensor-stuck": air_handlers.reading_stuck("supply_flow")},
    "unit-pressure-stuck": {"air-handler-sensor-stuck": air_handlers.reading_stuck("duct_static_pressure")},
    "unit-supply-temp-stuck": {"air-handler-sensor-stuck": air_handlers.reading_stuck("supply_temp")},
    "unit-runs-all-night": {"air-handler-runs-unoccupied": air_handlers.runs_all_night},
    "unit-static-fixed-high": {"static-setpoint-never-reset": air_handlers.never_reset},
    "unit-supply-too-cold": {"supply-temp-unfit-for-load": air_handlers.unfit_for_load},
    "unit-supply-too-warm": {"supply-temp-unfit-for-load": air_handlers.unfit_for_load},
    "unit-outage": {"air-handler-outage": air_handlers.outage},
    "unit-short-of-pressure": {"air-handler-short-of-pressure": air_handlers.short_of_pressure},
    "unit-supply-cold": {"air-handler-supply-temp-off": air_handlers.supply_cold},
    "unit-never-off": {"never-unoccupied": annex.air_all_night},
}

# Hours from which on it is shown, in a week.
LEAST = {
    "zone-too-cold": 6.0,
    "zone-too-warm": 6.0,
    "no-unoccupied-setback": 24.0,
    "flow-sensor-drift": 8.0,
    "fan-running-when-unoccupied": 6.0,
    "setpoint-out-of-policy": 8.0,
    "static-setpoint-never-reset": 45.0,
    "air-handler-runs-unoccupied": 8.0,
    "supply-temp-unfit-for-load": 12.0,
    "holds-back-reset": 20.0,
    "flow-above-setpoint": 5.0,
    "heating-and-cooling-at-once": 5.0,
    "reheat-at-high-minimum": 10.0,
    "electric-heat-short-cycling": 2.0,
    "slow-to-respond": 0.4,
    "co2-sensor-offset": 10.0,
    "never-unoccupied": 24.0,
    "standby-never-used": 45.0,
    "zone-sensor-offset": 5.0,
    "point-log-ended": 30.0,
}

USUAL_LEAST = 4.0  # h

# What the readings show without naming a cause.
SYMPTOMS = {
    "zone-too-cold": heat.too_cold,
    "zone-too-warm": heat.too_warm,
    "heating-capacity-short": heat.capacity_short,
    "discharge-too-hot": heat.too_hot,
    "holds-back-reset": air.often_at_full,
    "primary-below-setpoint": air.below_setpoint_at_all,
    "series-primary-without-fan": air.without_fan,
    "zone-temperature-swinging": heat.swings,
    "primary-below-ventilation-minimum": air.below_minimum_at_all,
}

# What most of a building share, and what explains no symptom.
STATES = (
    "setpoints-too-close", "setpoint-out-of-policy", "no-unoccupied-setback", "damper-position-not-credible",
    "point-log-ended", "standby-never-used", "holds-back-reset",
)  # fmt: skip
