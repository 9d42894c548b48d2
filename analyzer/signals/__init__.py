"""What is derived from the trends: every name that a rule may use, beyond the trends and the schedule themselves.

Each topic has its file; importing this package fills the register ``SIGNALS``.
"""

from analyzer.signals import (  # noqa: F401 (they register signals)
    air_balance,
    air_seen,
    airflow,
    carbon_dioxide,
    coil_off,
    damper,
    damper_counted,
    damper_credible,
    deadband,
    design_figures,
    drivers,
    duct_pressure,
    energy,
    fan_by_discharge,
    fan_flow,
    fans,
    flow_drift,
    flow_zero,
    heat_starts,
    heating,
    in_force,
    log_ends,
    minimum,
    mixing,
    reheat,
    response,
    sensors,
    shared,
    supply_air,
    unit_demand,
    unit_points,
    unit_standstill,
    unoccupied,
    ventilation_air,
    zone,
    zone_offset,
)
from analyzer.signals.layout import HOLD_INTERVALS
from analyzer.signals.register import SIGNALS, Signal
from analyzer.signals.scene import NUMBERS, Scene

__all__ = ["HOLD_INTERVALS", "NUMBERS", "SIGNALS", "Scene", "Signal"]
