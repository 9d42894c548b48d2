"""Figures about one complaint that the conditions of a cause may name, beside trends, signals and schedule values."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from analyzer.complaint.facts import A_LITTLE, Facts


@dataclass(frozen=True)
class Figure:
    """A figure of the hour before the complaint.

    ``function`` takes the facts and which way the zone feels ('cold', 'warm' or ''), and returns an SI value, NaN where
    unknown; ``needs`` are the trends without which it is unknown, in the words of a reader.
    """

    dimension: str
    meaning: str
    function: Callable[[Facts, str], float]
    needs: tuple[str, ...] = ()

    @property
    def state(self) -> bool:
        """Whether it is 0 or 1, and so a condition by itself."""
        return self.dimension == "state"


def _truth(value: bool | None) -> float:
    return math.nan if value is None else float(value)


def _open_zone_apart(facts: Facts, feels: str) -> float:
    room = facts.schedule.get("open_zone")
    mates = [tag for tag in facts.neighbour_tags if room and facts.review.schedule(tag).get("open_zone") == room]
    apart = [abs(facts.at("zone_temp", tag) - facts.at("zone_temp")) for tag in mates]
    return max((value for value in apart if not math.isnan(value)), default=math.nan)


def alike(facts: Facts, feels: str) -> tuple[int, int]:
    """Return how many of the neighbors were outside their setpoints the same way, and how many there are."""
    off = []
    for tag in facts.neighbour_tags:
        zone = facts.at("zone_temp", tag)
        under, above = facts.at("heating_setpoint", tag) - zone, zone - facts.at("cooling_setpoint", tag)
        off.append(max({"cold": [under], "warm": [above]}.get(feels, [under, above])))
    known = [value for value in off if not math.isnan(value)]
    return sum(value > A_LITTLE for value in known), len(known)


FIGURES: dict[str, Figure] = {
    "said_cold": Figure("state", "the complaint is that it is too cold", lambda f, feels: float(feels == "cold")),
    "said_warm": Figure("state", "the complaint is that it is too warm", lambda f, feels: float(feels == "warm")),
    "shows_it": Figure(
        "state", "setpoints and comfort range show what is felt",
        lambda f, feels: _truth(f.feels == feels if feels and not math.isnan(f.at("zone_temp")) else None),
        ("zone_temp",),
    ),
    "flow_reads_wrong": Figure(
        "state", "a finding of that time says that the primary airflow sensor reads wrong",
        lambda f, feels: _truth(None if math.isnan(f.as_read("primary_flow")) else f.wrong_flow is not None),
        ("primary_flow",),
    ),
    "series": Figure("state", "series fan-powered", lambda f, feels: float(f.kind == "series")),
    "parallel": Figure("state", "parallel fan-powered", lambda f, feels: float(f.kind == "parallel")),
    "occupied": Figure("state", "occupied at the moment itself", lambda f, feels: _truth(f.occupied), ("occupied",)),
    "zone_below": Figure(
        "temperature_difference", "how far the zone was below its heating setpoint", lambda f, feels: f.below,
        ("zone_temp", "heating_setpoint"),
    ),
    "zone_above": Figure(
        "temperature_difference", "how far the zone was above its cooling setpoint", lambda f, feels: f.above,
        ("zone_temp", "cooling_setpoint"),
    ),
    "comfort_low": Figure("temperature", "lower end of the comfort range", lambda f, feels: f.comfort.low),
    "comfort_high": Figure("temperature", "upper end of the comfort range", lambda f, feels: f.comfort.high),
    "outdoor_temp": Figure(
        "temperature", "outdoor air temperature", lambda f, feels: f.at("air handler outdoor_temp"), ("outdoor_temp",)
    ),
    "usual_supply_temp": Figure(
        "temperature", "median supply air temperature of the occupied hours",
        lambda f, feels: f.usual("air handler supply_temp"), ("supply_temp",),
    ),
    "neighbors": Figure(
        "count", "terminals of the same air handler with zone temperature and setpoints known",
        lambda f, feels: float(alike(f, feels)[1]),
    ),
    "neighbors_alike": Figure(
        "count", "of those, the ones outside their setpoints the same way", lambda f, feels: float(alike(f, feels)[0])
    ),
    "open_zone_apart": Figure(
        "temperature_difference", "the most that a terminal of the same open zone reads away", _open_zone_apart,
        ("open_zone",),
    ),
}  # fmt: skip
