"""Engineering of air in a terminal: density and heat, mixing, the inlet sensor, what heating can deliver,
how warm people find it.

Pure functions on numbers or arrays, all SI: airflow [L/s], temperature [degC], pressure [Pa], heat [W]. A missing
value (NaN) in gives a missing value out; an input is never changed. Humidity is left out of heat: at room conditions
up to 0.012 kg/kg it changes sensible heat per volume of air by less than 1 %.
"""

from analyzer.airside.air import (
    SPECIFIC_HEAT,
    STANDARD_DENSITY,
    air_density,
    air_pressure,
    flow_for_heat,
    sensible_heat,
    temperature_rise,
)
from analyzer.airside.comfort import predicted_dissatisfied, predicted_mean_vote
from analyzer.airside.heating import (
    ZONE_CAPACITY_PER_AREA,
    ZONE_CAPACITY_SPREAD,
    call_effectiveness,
    coil_heat,
    delivered_heat,
    most_heat,
    zone_capacity_from_rates,
    zone_heat_load,
    zone_heat_load_uncertainty,
)
from analyzer.airside.inlet import (
    AMPLIFICATION,
    LEAST_READABLE_PRESSURE,
    flow_coefficient_from_reading,
    flow_coefficient_of_inlet,
    flow_from_pressure,
    inlet_area,
    least_measurable_flow,
    pressure_from_flow,
    velocity_from_pressure,
    velocity_pressure,
)
from analyzer.airside.mixing import (
    FAN_POWER_PER_FLOW,
    coil_off_temp,
    discharge_flow,
    fan_temp_rise,
    induced_flow,
    mixed_temp,
    primary_share,
    primary_share_uncertainty,
)

__all__ = [
    "AMPLIFICATION",
    "FAN_POWER_PER_FLOW",
    "LEAST_READABLE_PRESSURE",
    "SPECIFIC_HEAT",
    "STANDARD_DENSITY",
    "ZONE_CAPACITY_PER_AREA",
    "ZONE_CAPACITY_SPREAD",
    "air_density",
    "air_pressure",
    "call_effectiveness",
    "coil_heat",
    "coil_off_temp",
    "delivered_heat",
    "discharge_flow",
    "fan_temp_rise",
    "flow_coefficient_from_reading",
    "flow_coefficient_of_inlet",
    "flow_for_heat",
    "flow_from_pressure",
    "induced_flow",
    "inlet_area",
    "least_measurable_flow",
    "mixed_temp",
    "most_heat",
    "predicted_dissatisfied",
    "predicted_mean_vote",
    "pressure_from_flow",
    "primary_share",
    "primary_share_uncertainty",
    "sensible_heat",
    "temperature_rise",
    "velocity_from_pressure",
    "velocity_pressure",
    "zone_capacity_from_rates",
    "zone_heat_load",
    "zone_heat_load_uncertainty",
]
