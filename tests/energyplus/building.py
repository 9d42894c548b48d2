"""Quillfeather Annex, an invented building: one storey, fifteen rooms, a terminal each, one air handler.

South row and north row of six rooms with a window, three deep rooms between them, a return plenum above all of it.

    N1 N2 N3 N4 N5 N6      series, parallel and single-duct terminals in turn, with hot-water and electric reheat
    C1    C2    C3
    S1 S2 S3 S4 S5 S6
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import pandas as pd

AIR_HANDLER = "AHU-A"
TIME_ZONE = "Etc/GMT+6"  # the engine's clock keeps standard time all year, and so do this building's
ALTITUDE = 201.0  # m, of the weather file
HEIGHT, PLENUM_HEIGHT = 3.0, 1.0  # m
OCCUPIED = {"mon-fri": "07:00-18:00"}
SYSTEM_HOURS = (6, 19)  # of the air handler, Monday to Friday
HEATING, HEATING_SETBACK = 21.1, 15.6  # degC
COOLING, COOLING_SETBACK = 23.9, 29.4
SUPPLY_TEMP = 13.0  # degC
OUTDOOR_AIR_SHARE = 0.35  # of primary air, for which the schedule's ventilation minimums were worked out
FAN_POWER = 0.43  # W per L/s of a terminal fan: 150 Pa at a total efficiency of 0.35
# Rates of ASHRAE 62.1, table 6-1, for offices (from memory), and overhead heating's effectiveness.
PER_PERSON, PER_AREA, EFFECTIVENESS = 2.5, 0.3, 0.8  # L/s, L/s m2


@dataclass(frozen=True)
class Room:
    """A room and its terminal.

    Attributes
    ----------
    name : str
        ``S1`` and the like.
    tag, kind, reheat : str
        Of its terminal, as in the terminal schedule.
    x, y, width, depth : float
        South-west corner and size of the floor [m].
    people : int
    primary_max : float
        Largest primary airflow [L/s].
    """

    name: str
    tag: str
    kind: str
    reheat: str
    x: float
    y: float
    width: float
    depth: float
    people: int
    primary_max: float

    @property
    def area(self) -> float:
        return self.width * self.depth

    @cached_property
    def ventilation_min(self) -> float:
        """Primary airflow that ventilation needs [L/s]."""
        need = PER_PERSON * self.people + PER_AREA * self.area
        return round(need / EFFECTIVENESS / OUTDOOR_AIR_SHARE)

    @property
    def primary_min(self) -> float:
        return round(1.1 * self.ventilation_min)

    @property
    def fan_flow(self) -> float:
        """Scheduled flow of the terminal's fan [L/s]; 0 without one."""
        return round({"series": 1.05, "parallel": 0.55, "single-duct": 0.0}[self.kind] * self.primary_max)


def _rooms() -> tuple[Room, ...]:
    of_row = [
        ("SFB", "series", "electric"),
        ("PFB", "parallel", "hot-water"),
        ("VAV", "single-duct", "hot-water"),
        ("SFB", "series", "hot-water"),
        ("PFB", "parallel", "electric"),
        ("VAV", "single-duct", "electric"),
    ]
    core = [("SFB", "series", "electric"), ("PFB", "parallel", "electric"), ("VAV", "single-duct", "none")]
    rooms = []
    for row, y, flow, floor in (("S", 0.0, 250.0, 1), ("N", 14.0, 210.0, 2)):
        for number, (short, kind, reheat) in enumerate(of_row, start=1):
            name = f"{row}{number}"
            rooms.append(
                Room(name, f"{short}-{floor}0{number}", kind, reheat, 7.0 * (number - 1), y, 7.0, 6.0, 4, flow)
            )
    for number, (short, kind, reheat) in enumerate(core, start=1):
        rooms.append(
            Room(f"C{number}", f"{short}-30{number}", kind, reheat, 14.0 * (number - 1), 6.0, 14.0, 8.0, 8, 380.0)
        )
    return tuple(rooms)


ROOMS = _rooms()
OF_TAG = {room.tag: room for room in ROOMS}


def schedule(capacities: dict[str, float]) -> pd.DataFrame:
    """Return the terminal schedule, SI, for reheat coils of the given capacities [W] by tag."""
    rows = [
        {
            "terminal": room.tag,
            "kind": room.kind,
            "distribution": "overhead",
            "air_handler": AIR_HANDLER,
            "zone": f"Room {room.name}",
            "reheat": room.reheat,
            "primary_max": room.primary_max,
            "balanced_max": room.primary_max,
            "primary_min": room.primary_min,
            "ventilation_min": room.ventilation_min,
            "heating_primary": room.primary_min,
            "fan_flow": room.fan_flow or None,
            "reheat_capacity": capacities.get(room.tag),
            "area": room.area,
            "people": room.people,
            "zone_volume": room.area * HEIGHT,
        }
        for room in ROOMS
    ]
    return pd.DataFrame(rows).set_index("terminal")
