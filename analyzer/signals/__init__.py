"""What is derived from the trends: every name that a rule may use, beyond the trends and the schedule themselves.

Each topic has its file; importing this package fills the register ``SIGNALS``.
"""

from analyzer.signals import fans, flow_drift, in_force, reheat, ventilation_air  # noqa: F401 (they register signals)
from analyzer.signals.scene import HOLD_INTERVALS, NUMBERS, SIGNALS, Scene, Signal

__all__ = ["HOLD_INTERVALS", "NUMBERS", "SIGNALS", "Scene", "Signal"]
