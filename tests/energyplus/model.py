"""The annex as an input file of the engine: rooms, plenum, gains, weather week and air system.

The air system is written in the engine's own short templates, which its ``ExpandObjects`` turns into full objects.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from tests.energyplus import building as annex
from tests.energyplus.building import ROOMS, Room

STEPS_PER_HOUR = 60
WALL, ROOF, CEILING, INSIDE, FLOOR, GLASS = "Wall", "Roof", "Tile", "Partition", "Slab", "Glass"
WINDOW_SHARE = 0.5
PLENUM = "Plenum"
WIDTH, DEPTH = 42.0, 20.0  # m
USUAL = "Usual"
THERMOSTATS = {  # name -> its schedules of the heating and cooling setpoint
    USUAL: ("Heating setpoint", "Cooling setpoint"),
    "No setback": ("Heating all day", "Cooling all day"),
    "Close": ("Heating close", "Cooling close"),
}
# What the trends and the checks need.
NODE_OUTPUTS = ("Temperature", "Mass Flow Rate", "Humidity Ratio")
OUTPUTS = (
    "Site Outdoor Air Drybulb Temperature",
    "Zone Mean Air Temperature",
    "Schedule Value",
    "Zone Air Terminal Sensible Heating Rate",
    "Zone Air Terminal Sensible Cooling Rate",
    "Zone Air Terminal VAV Damper Position",
    "Zone Air Terminal Primary Damper Position",
    "Heating Coil Heating Rate",
    "Fan Electricity Rate",
    "Air System Outdoor Air Flow Fraction",
)
_WEEKDAYS = "For: Weekdays SummerDesignDay WinterDesignDay"


def text(start: date, days: int = 7, thermostats: dict[str, str] | None = None) -> str:
    """Return the input file for a run of some days from a Monday; ``thermostats`` gives rooms another than the usual one."""
    parts = [*_general(start, days), *_schedules(), *_materials(), *_plenum(), *_thermostats()]
    for room in ROOMS:
        parts += [*_room(room), *_gains(room), _terminal(room, (thermostats or {}).get(room.name, USUAL))]
    parts += [*_system(), *_outputs()]
    return "\n".join(parts)


def _object(kind: str, *fields) -> str:
    return f"{kind},\n  " + ",\n  ".join("" if field is None else str(field) for field in fields) + ";\n"


# When and where ---------------------------------------------------------------------------------------------------


def _general(start: date, days: int) -> Iterator[str]:
    end = start + timedelta(days=days - 1)
    yield _object("Version", "25.2")
    yield _object("Timestep", STEPS_PER_HOUR)
    yield _object("SimulationControl", "Yes", "Yes", "Yes", "No", "Yes")
    yield _object("Building", "Quillfeather Annex", 0, "Suburbs", 0.04, 0.2, "FullExterior", 25, 6)
    yield _object("HeatBalanceAlgorithm", "ConductionTransferFunction")
    yield _object("GlobalGeometryRules", "LowerLeftCorner", "Counterclockwise", "Relative")
    yield _object("Site:Location", "Invented site", 41.98, -87.92, -6, annex.ALTITUDE)
    yield _object(
        "RunPeriod", "Week", start.month, start.day, start.year, end.month, end.day, end.year, None, "No", "No"
    )
    yield _object("ConvergenceLimits", 1, 25)
    # Furniture, paper and wall linings follow the air within minutes: common practice, no source.
    yield _object("ZoneCapacitanceMultiplier:ResearchSpecial", "Furnished", None, 8)
    yield _object("Sizing:Parameters", 1.2, 1.1)
    # Design days after those of the weather file's own header: 99.6 % heating and 0.4 % cooling.
    yield _object(
        "SizingPeriod:DesignDay", "Coldest", 1, 21, "WinterDesignDay", -20, 0, "DefaultMultipliers", None, "Wetbulb",
        -20, None, None, None, None, 98934, 4.9, 270, "No", "No", "No", "ASHRAEClearSky", None, None, None, None, 0,
    )  # fmt: skip
    yield _object(
        "SizingPeriod:DesignDay", "Warmest", 7, 21, "SummerDesignDay", 33.3, 10.5, "DefaultMultipliers", None,
        "Wetbulb", 23.7, None, None, None, None, 98934, 5.2, 230, "No", "No", "No", "ASHRAEClearSky", None, None, None,
        None, 1.0,
    )  # fmt: skip


def _schedules() -> Iterator[str]:
    yield _object("ScheduleTypeLimits", "Any")
    on, off = annex.SYSTEM_HOURS
    for name, outside, begin, inside, end in (
        ("System hours", 0, on, 1, off),
        ("People", 0, 7.5, 0.8, 17.5),
        ("Lamps", 0.05, 7, 0.9, 18),
        ("Machines", 0.25, 7, 0.9, 18),
        ("Heating setpoint", annex.HEATING_SETBACK, 6, annex.HEATING, 18),
        ("Cooling setpoint", annex.COOLING_SETBACK, 6, annex.COOLING, 18),
        ("Heating close", annex.HEATING_SETBACK, 6, 22.0, 18),
        ("Cooling close", annex.COOLING_SETBACK, 6, 22.8, 18),
    ):
        yield _week(name, outside, begin, inside, end)
    for name, value in (
        ("Always", 1),
        ("Activity", 120),
        ("Supply air", annex.SUPPLY_TEMP),
        ("Supply air heated", annex.SUPPLY_TEMP - 0.5),
        ("Heating all day", annex.HEATING),
        ("Cooling all day", annex.COOLING),
    ):
        yield _object("Schedule:Constant", name, "Any", value)


def _week(name: str, outside: float, begin: float, inside: float, end: float) -> str:
    clock = [f"Until: {int(hour)}:{round(60 * (hour % 1)):02d}" for hour in (begin, end)]
    weekday = [_WEEKDAYS, clock[0], outside, clock[1], inside, "Until: 24:00", outside]
    return _object(
        "Schedule:Compact", name, "Any", "Through: 12/31", *weekday, "For: AllOtherDays", "Until: 24:00", outside
    )


# Walls and gains --------------------------------------------------------------------------------------------------


def _materials() -> Iterator[str]:
    for name, thick, conducts, density, heat in (
        ("Brick", 0.10, 0.9, 1900, 790),
        ("Wool", 0.10, 0.04, 40, 800),
        ("Board", 0.016, 0.16, 800, 1090),
        ("Deck", 0.05, 0.15, 600, 1600),
        ("Concrete", 0.15, 1.7, 2300, 880),
        ("Ceiling tile", 0.015, 0.06, 300, 800),
    ):
        yield _object("Material", name, "MediumRough", thick, conducts, density, heat)
    yield _object("WindowMaterial:SimpleGlazingSystem", "Two panes", 2.0, 0.45)
    yield _object("Construction", WALL, "Brick", "Wool", "Board")
    yield _object("Construction", ROOF, "Deck", "Wool", "Board")
    yield _object("Construction", CEILING, "Ceiling tile")
    yield _object("Construction", INSIDE, "Board", "Board")
    yield _object("Construction", FLOOR, "Concrete")
    yield _object("Construction", GLASS, "Two panes")


def _plenum() -> Iterator[str]:
    yield _object("Zone", PLENUM)
    low, high = annex.HEIGHT, annex.HEIGHT + annex.PLENUM_HEIGHT
    for side, wall in _walls(0, 0, WIDTH, DEPTH, low, high).items():
        yield _surface(f"Plenum {side}", "Wall", WALL, PLENUM, "Outdoors", None, wall)
    top = [(0, 0, high), (WIDTH, 0, high), (WIDTH, DEPTH, high), (0, DEPTH, high)]
    yield _surface("Plenum roof", "Roof", ROOF, PLENUM, "Outdoors", None, top)


def _walls(x: float, y: float, width: float, depth: float, low: float, high: float) -> dict[str, list]:
    """Return the four walls, seen from outside, counterclockwise from the lower left."""
    corners = [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]
    return {
        side: [(*a, low), (*b, low), (*b, high), (*a, high)]
        for side, a, b in zip(("south", "east", "north", "west"), corners, corners[1:] + corners[:1], strict=True)
    }


def _surface(name, kind, construction, zone, beyond, other, corners) -> str:
    sun = ("SunExposed", "WindExposed") if beyond == "Outdoors" else ("NoSun", "NoWind")
    flat = [value for corner in corners for value in corner]
    return _object(
        "BuildingSurface:Detailed", name, kind, construction, zone, None, beyond, other, *sun, None, len(corners), *flat
    )


def _room(room: Room) -> Iterator[str]:
    x, y, width, depth, high = room.x, room.y, room.width, room.depth, annex.HEIGHT
    yield _object("Zone", room.name)
    base = [(x, y, 0), (x, y + depth, 0), (x + width, y + depth, 0), (x + width, y, 0)]
    yield _surface(f"{room.name} floor", "Floor", FLOOR, room.name, "Adiabatic", None, base)
    top = [(x, y, high), (x + width, y, high), (x + width, y + depth, high), (x, y + depth, high)]
    yield _surface(f"{room.name} ceiling", "Ceiling", CEILING, room.name, "Surface", f"{room.name} above", top)
    yield _surface(
        f"{room.name} above", "Floor", CEILING, PLENUM, "Surface", f"{room.name} ceiling", [top[0], *top[:0:-1]]
    )
    for side, wall in _walls(x, y, width, depth, 0, high).items():
        outside = (side == "south" and y == 0) or (side == "north" and y + depth == DEPTH)
        outside = outside or (side == "west" and x == 0) or (side == "east" and x + width == WIDTH)
        name = f"{room.name} {side}"
        if not outside:
            yield _surface(name, "Wall", INSIDE, room.name, "Adiabatic", None, wall)
            continue
        yield _surface(name, "Wall", WALL, room.name, "Outdoors", None, wall)
        if side in ("south", "north"):
            length = width * 0.9
            yield _object(
                "Window", f"{name} window", GLASS, name, None, 1, 0.05 * width, 0.9, length,
                WINDOW_SHARE * width * high / length,
            )  # fmt: skip


def _gains(room: Room) -> Iterator[str]:
    yield _object(
        "People", f"{room.name} people", room.name, "People", "People", room.people, None, None, 0.4, None, "Activity"
    )
    watts = "Watts/Area"
    # The room without reheat holds machines that run day and night.
    machines = ("Always", watts, None, 16) if room.reheat == "none" else ("Machines", watts, None, 14)
    yield _object("Lights", f"{room.name} lamps", room.name, "Lamps", watts, None, 8, None, 0.3, 0.3, 0.2, 1.0)
    yield _object("ElectricEquipment", f"{room.name} machines", room.name, *machines, None, 0, 0.3, 0)
    # Furniture and the air's own inertia: a room's air does not jump within a minute.
    yield _object("InternalMass", f"{room.name} furniture", INSIDE, room.name, None, 2.0 * room.area)
    yield _object("ZoneInfiltration:DesignFlowRate", f"{room.name} cracks", room.name, "Always", "AirChanges/Hour",
                  None, None, None, 0.2 if room.name[0] != "C" else 0.02)  # fmt: skip


# Air --------------------------------------------------------------------------------------------------------------


def _thermostats() -> Iterator[str]:
    for name, (heating, cooling) in THERMOSTATS.items():
        yield _object("HVACTemplate:Thermostat", name, heating, None, cooling, None)


def _terminal(room: Room, thermostat: str) -> str:
    most, least = room.primary_max / 1000, room.primary_min / room.primary_max
    outdoor = ("Sum", PER_PERSON_M3, PER_AREA_M3, 0)
    coil = {"electric": "Electric", "hot-water": "HotWater", "none": "None"}[room.reheat]
    if room.kind == "single-duct":
        return _object(
            "HVACTemplate:Zone:VAV", room.name, annex.AIR_HANDLER, thermostat, most, None, None, "Constant", least,
            None, None, *outdoor, coil, None, "Normal", None, None, 32.0,
        )  # fmt: skip
    flow = "SeriesFromPlenum" if room.kind == "series" else "ParallelFromPlenum"
    # A parallel fan runs on a call for heat and not otherwise: primary air never falls below what would start it.
    return _object(
        "HVACTemplate:Zone:VAV:FanPowered", room.name, annex.AIR_HANDLER, thermostat, most, None, None, least,
        room.fan_flow / 1000, flow, 0.99 * least, *outdoor, coil, None, 0.35, 150, 0.8,
    )  # fmt: skip


PER_PERSON_M3, PER_AREA_M3 = annex.PER_PERSON / 1000, annex.PER_AREA / 1000


def _system() -> Iterator[str]:
    all_air = sum(room.primary_max for room in ROOMS) / 1000
    least_outdoor = annex.OUTDOOR_AIR_SHARE * sum(room.primary_min for room in ROOMS) / 1000
    yield _object(
        "HVACTemplate:System:VAV", annex.AIR_HANDLER, "System hours", round(1.05 * all_air, 3), 0, 0.6, 900, 0.9, 1,
        "ChilledWater", None, "Supply air", annex.SUPPLY_TEMP, "HotWater", None, "Supply air heated",
        annex.SUPPLY_TEMP - 0.5, None, None, "None", None, None, None, None, None, round(1.05 * all_air, 3),
        round(least_outdoor, 3), "FixedMinimum", None, "FixedDryBulb", "NoLockout", 20, None, None, None, None, PLENUM,
        "DrawThrough", "VariableSpeedMotor", "CycleOnAnyZoneFansOnly",
    )  # fmt: skip
    yield _object(
        "HVACTemplate:Plant:ChilledWaterLoop", "Chilled water", None, "Intermittent", "Default", None, None, 7.2,
        "VariablePrimaryNoSecondary",
    )  # fmt: skip
    yield _object(
        "HVACTemplate:Plant:Chiller", "Chilled water source", "DistrictChilledWater", "autosize", None, "WaterCooled",
        1, 1.0, 0, 1.0, 1.0, 0.25, 5,
    )  # fmt: skip
    yield _object(
        "HVACTemplate:Plant:HotWaterLoop", "Hot water", None, "Intermittent", "Default", None, None, 70, "VariableFlow"
    )
    yield _object(
        "HVACTemplate:Plant:Boiler", "Hot water source", "DistrictHotWater", "autosize", 0.8, "NaturalGas", 1, 1.0, 0,
        1.1, 1.0, 100,
    )  # fmt: skip


def _outputs() -> Iterator[str]:
    for name in OUTPUTS:
        yield _object("Output:Variable", "*", name, "Timestep")
    for name in NODE_OUTPUTS:
        yield _object("Output:Variable", "*", f"System Node {name}", "Timestep")
