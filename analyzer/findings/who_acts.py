"""Who acts on a finding first: a proposal by the kind of work that its rule points to, for the reader to correct."""

from __future__ import annotations

# By impact, for any rule: common practice, no source.
_BY_IMPACT = {
    "safety": "controls, then mechanical",
    "ventilation": "controls, then balancing",
    "comfort": "controls",
    "energy": "controls",
    "equipment": "controls",
    "data": "controls",
}
# Where the work of a shipped rule lies elsewhere.
_BY_RULE = {
    "air-handler-common-cause": "operation, then controls",
    "air-handler-outage": "operation, then mechanical",
    "air-handler-short-of-pressure": "mechanical, then controls",
    "air-handler-supply-temp-off": "mechanical, then controls",
    "damper-not-moving-air": "mechanical",
    "damper-position-not-credible": "controls",
    "fan-running-when-unoccupied": "operation, then controls",
    "fan-short-of-flow": "balancing, then mechanical",
    "flow-below-measurable": "design, then balancing",
    "flow-sensor-drift": "balancing",
    "flow-with-closed-damper": "balancing, then controls",
    "heating-capacity-short": "mechanical, then design",
    "inlet-overpressure": "balancing, then operation",
    "neighbours-fighting": "operation, then controls",
    "never-unoccupied": "operation, then controls",
    "no-unoccupied-setback": "operation",
    "outdoor-air-inlet-below-minimum": "balancing, then controls",
    "primary-below-setpoint": "mechanical, then balancing",
    "reheat-leaking-by": "mechanical",
    "reheat-not-delivering": "mechanical",
    "setpoint-out-of-policy": "operation",
    "setpoints-too-close": "operation",
    "starved-terminal": "balancing, then mechanical",
}


def who_acts(rule: str, impact: str) -> str:
    """Return who is proposed to act: controls, balancing, mechanical, design, operation."""
    return _BY_RULE.get(rule) or _BY_IMPACT[impact]
