"""Field mode: buildings whose trends look like those of real ones, drawn by a seed, with what is true of them.

>>> from sample_trends.field import Period, simulate_field
>>> logged = simulate_field(Period(3, days_given=0.25, terminals_given=12))
>>> sorted(set(logged.terminals) - set(logged.recording.terminals))[:1]
['effective_setpoint']
"""

from __future__ import annotations

from sample_trends.field.logs import Logged, log
from sample_trends.field.period import Period
from sample_trends.simulation import record

__all__ = ["Logged", "Period", "simulate_field"]


def simulate_field(period: Period) -> Logged:
    """Simulate a period of a field building and log it as that building does."""
    recording = record(
        period.building, period.faults, seed=period.seed, start=period.start, days=period.days,
        step_minutes=period.minutes, climate=period.climate, more=True,
    )  # fmt: skip
    return log(period, recording)
