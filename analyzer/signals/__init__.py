"""What is derived from the trends: every name that a rule may use, beyond the trends and the schedule themselves.

Each topic has its file; importing this package fills the register ``SIGNALS``.
"""

from analyzer.signals import (  # noqa: F401 (they register signals)
    air_seen,
    airflow,
    coil_off,
    damper,
    damper_counted,
    damper_credible,
    deadband,
    design_figures,
    duct_pressure,
    energy,
    fan_flow,
    fans,
    flow_drift,
    flow_zero,
    heat_starts,
    heating,
    in_force,
    minimum,
    mixing,
    reheat,
    sensors,
    shared,
    supply_air,
    unit_points,
    ventilation_air,
    zone,
)
from analyzer.signals.register import SIGNALS, Signal
from analyzer.signals.scene import HOLD_INTERVALS, NUMBERS, Scene

__all__ = ["HOLD_INTERVALS", "NUMBERS", "SIGNALS", "Scene", "Signal"]
