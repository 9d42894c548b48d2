"""What the charts of a terminal show: the panels, and the series in each."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.findings import plain_name
from analyzer.quantities import AIR_HANDLER, TERMINAL, shown_unit

_DECIMALS = {"degC": 2, "degF": 1, "L/s": 1, "in.w.c.": 2}


@dataclass(frozen=True)
class Series:
    """A line of a chart. ``held`` series keep their value until the next sample: setpoints and states."""

    name: str
    label: str
    dimension: str
    held: bool = False
    dash: tuple[int, ...] = ()
    width: float = 1.5

    def decimals(self, units: str) -> int:
        """Return how many decimals are drawn in the site's units."""
        return _DECIMALS.get(shown_unit(self.dimension, units), 0)


@dataclass(frozen=True)
class Panel:
    """One chart: its heading, what its axis measures, and its series, the later drawn over the earlier."""

    name: str
    title: str
    dimension: str
    series: tuple[Series, ...]
    # What the heading calls each series; the heading stands as it is where there is none.
    parts: tuple[str, ...] = ()

    def heading(self, drawn: set[str]) -> str:
        """Return the heading over the series that are drawn: no fan speed at a terminal without a fan."""
        named = (
            [part for part, series in zip(self.parts, self.series, strict=True) if series.name in drawn]
            if self.parts
            else []
        )
        if not named:
            return self.title
        text = " and ".join(filter(None, [", ".join(named[:-1]), named[-1]]))
        return text[:1].upper() + text[1:]


def _line(name: str, label: str, **style) -> Series:
    quantity = TERMINAL.get(name) or AIR_HANDLER[name]
    return Series(name, label, quantity.dimension, **style)


PANELS = (
    Panel("zone", "Zone temperature", "temperature", (
        _line("heating_setpoint", "heating setpoint", held=True, dash=(6, 3), width=1.3),
        _line("cooling_setpoint", "cooling setpoint", held=True, dash=(2, 2), width=1.3),
        _line("zone_temp", "zone", width=1.8),
    )),
    Panel("air", "Airflow", "flow", (
        _line("discharge_flow", "delivered to the zone", dash=(8, 2, 2, 2)),
        _line("primary_flow_setpoint", "primary setpoint", held=True, dash=(5, 3), width=1.3),
        _line("primary_flow", "primary", width=1.8),
    )),
    # On a scale of its own: an inlet's minimum is a line at the bottom of the primary air's.
    Panel("outdoor_air", "Dedicated outdoor-air inlet", "flow", (
        _line("outdoor_air_flow", "inlet airflow", width=1.8),
    )),
    Panel("position", "Damper, reheat and fan speed", "percent", (
        _line("fan_speed", "fan speed", dash=(2, 2)),
        _line("cooling_signal", "cooling demand", dash=(3, 2)),
        _line("damper_position", "damper"),
        _line("reheat_position", "reheat", dash=(7, 2), width=1.8),
    ), ("fan speed", "cooling demand", "damper", "reheat")),
    # The air handler's supply stands in where the primary air at the terminal is not trended.
    Panel("temperatures", "Air temperatures at the terminal", "temperature", (
        _line("plenum_temp", "plenum", dash=(2, 2)),
        _line("supply_temp", "air handler's supply", dash=(6, 3)),
        _line("primary_temp", "primary air", dash=(6, 3)),
        _line("discharge_temp", "discharge", width=1.8),
    )),
    Panel("fan", "Terminal fan", "state", (
        _line("fan_command", "command", held=True, dash=(3, 2)),
        _line("fan_status", "status", held=True, width=1.8),
    )),
    Panel("co2", "Zone CO2", "concentration", (
        _line("co2", "CO2", width=1.8),
    )),
)  # fmt: skip

# What an air handler's own page draws.
AIR_HANDLER_PANELS = (
    Panel("air_handler_temperatures", "Supply and outdoor air", "temperature", (
        _line("outdoor_temp", "outdoor air", dash=(2, 2)),
        _line("supply_temp", "supply", dash=(6, 3)),
    )),
    Panel("supply_flow", "Supply airflow", "flow", (_line("supply_flow", "supply", width=1.8),)),
    Panel("pressure", "Duct static pressure", "pressure", (_line("duct_static_pressure", "duct static", width=1.8),)),
    Panel("supply_fan", "Supply fan", "state", (_line("supply_fan_status", "status", held=True, width=1.8),)),
)  # fmt: skip

ALL_PANELS = (*PANELS, *AIR_HANDLER_PANELS)
SERIES = {series.name: series for panel in ALL_PANELS for series in panel.series}

# The schedule's figures that are drawn across the airflow chart, and what they are called there.
FLOW_LIMITS = {
    "primary_max": "maximum",
    "balanced_max": "balanced maximum",
    "heating_primary": "heating",
    "primary_min": "minimum",
    "ventilation_min": "ventilation min.",
    "fan_flow": "fan",
}
INLET_LIMITS = {"outdoor_air_inlet_min": "minimum"}
# The panels that scheduled flows are drawn across, and the name under which a page brings them.
LIMITS_OF = {"air": "limits", "outdoor_air": "inlet_limits"}


# The trends that any terminal could have, of which a page says so where one is not there; others are extras.
MISSED = (
    "heating_setpoint", "cooling_setpoint", "zone_temp", "primary_flow_setpoint", "primary_flow", "damper_position",
    "reheat_position", "plenum_temp", "primary_temp", "discharge_temp", "fan_status",
)  # fmt: skip
_NEVER_ALONE = {"heating_setpoint", "cooling_setpoint"}


def drawn_panels(series: dict, panels: tuple[Panel, ...]) -> list[Panel]:
    """Return the panels in which something of its own is drawn: a terminal's setpoints or supply make no panel."""
    beside = _NEVER_ALONE | ({"supply_temp"} if panels is PANELS else set())
    return [panel for panel in panels if ({line.name for line in panel.series} & set(series)) - beside]


def not_trended(present: set[str], kind: str | None, reheat: str | None) -> list[str]:
    """Return what a terminal of its kind could have trended and has not, in words."""
    fan = kind in ("series", "parallel")
    beside_the_point = set()
    if not fan and kind is not None:
        beside_the_point |= {"fan_status", "plenum_temp"}
    if reheat == "none":
        beside_the_point |= {"reheat_position"}
    return [plain_name(name) for name in MISSED if name not in present | beside_the_point]
