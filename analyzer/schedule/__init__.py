"""Schedules of the drawings and balancing reports, read as they come: each value with the cell that it stands in."""

from analyzer.schedule.reading import read_schedules

__all__ = ["read_schedules"]
