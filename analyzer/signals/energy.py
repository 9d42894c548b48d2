"""What a fault costs: heat and fan power, as estimates from what is trended and scheduled."""

from __future__ import annotations

import numpy as np

from analyzer.airside import FAN_POWER_PER_FLOW
from analyzer.signals.mixing import variable_speed
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene


@signal("power", settled_by="the trends that tell coil heat, or reheat_capacity in the terminal schedule")
def reheat_given(scene: Scene) -> np.ndarray:
    """Heat that reheat gives [W]: by the discharge temperature where that is known, else capacity times its signal.

    None where no air is delivered: a coil in still air gives next to nothing to the zone.
    """
    asked = scene.value("reheat_capacity") * scene.trend("reheat_position") / 100.0
    by_temperature = np.maximum(scene.value("coil_heat"), 0.0)
    given = np.where(np.isnan(by_temperature), asked, by_temperature)
    return np.where(scene.value("air_delivered") <= 0.0, 0.0, given)


@signal("power", needs=("fan_status",), settled_by="fan_flow in the terminal schedule")
def fan_power(scene: Scene) -> np.ndarray:
    """Electric power of the running terminal fan [W], from its scheduled airflow and a usual power per airflow.

    Unknown for a variable-speed fan.
    """
    power = scene.value("fan_flow") * FAN_POWER_PER_FLOW * scene.trend("fan_status")
    return np.where(scene.per_row(variable_speed(scene)), np.nan, power)


# Electric power of a supply fan [W per L/s]: half of what ANSI/ASHRAE/IES 90.1, 6.5.3.1, allows at design with variable
# flow (0.0015 hp per cfm is 2.4 W per L/s; from memory), as for part load. Judgement.
FAN_POWER = 1.2
# Heat of air [J per L and K], and to what it is warmed [degC]. Common practice, no source.
HEAT_OF_AIR, WARMED_TO = 1.2, 20.0


@signal("power", settled_by="the air handler's supply_flow", whole=True)
def supply_fan_power(scene: Scene) -> np.ndarray:
    """Electric power of the air handler's supply fan [W], estimated from its airflow."""
    return np.maximum(scene.air_handler("supply_flow"), 0.0) * FAN_POWER


@signal("power", settled_by="the air handler's outdoor_air_flow, with outdoor_temp", whole=True)
def outdoor_air_heat(scene: Scene) -> np.ndarray:
    """Heat that warms the air handler's outdoor air to 20 degC [W]; 0 where it is warmer."""
    flow = scene.air_handler("outdoor_air_flow")
    part = scene.air_handler("supply_flow") * scene.air_handler("outdoor_air_fraction")
    flow = np.maximum(np.where(np.isnan(flow), part, flow), 0.0)
    return flow * HEAT_OF_AIR * np.maximum(WARMED_TO - scene.air_handler("outdoor_temp"), 0.0)
