"""What a field building logs, and what is known of it."""

from __future__ import annotations

from dataclasses import dataclass

SETPOINTS = ("effective and occupied", "effective and occupied", "pair", "effective", "occupied", "none")


@dataclass(frozen=True)
class Logging:
    """What the building logs, and what is known of it.

    Attributes
    ----------
    minutes : int
        Interval.
    schedule : bool
        There is a terminal schedule (without one nobody says which air handler a terminal hangs on).
    fan_control : bool
        It says which fans are variable.
    flow_setpoint, static, static_setpoint, supply_setpoint, outdoor_flow : bool
        The point is in the export.
    setpoints : str
        One of SETPOINTS.
    setpoint_days : float
        How long the points by mode are logged, where the effective one goes on.
    site_setpoints, policy : bool
        The site file says.
    counted : bool
        Damper positions are counted by the controllers.
    volts : bool
        ... and logged in whole volts.
    cooling_signal : bool
        The output of each terminal's cooling loop is in the export.
    mode : bool
        The occupancy mode is logged, in the annex; elsewhere it is a code that never changes.
    """

    minutes: int
    schedule: bool
    fan_control: bool
    flow_setpoint: bool
    static: bool
    static_setpoint: bool
    supply_setpoint: bool
    setpoints: str
    setpoint_days: float
    site_setpoints: bool
    policy: bool
    counted: bool
    volts: bool
    cooling_signal: bool
    outdoor_flow: bool
    mode: bool
