"""What the rest of the program knows of a building. All SI."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

# The terminal schedule's columns beyond the terminal's tag: name -> dimension ("text" for words).
SCHEDULE = {
    "kind": "text",
    "distribution": "text",
    "air_handler": "text",
    "zone": "text",
    "floor": "text",
    "reheat": "text",
    "primary_max": "flow",
    "balanced_max": "flow",
    "balanced_pressure": "pressure",
    "primary_min": "flow",
    "balanced_min": "flow",
    "ventilation_min": "flow",
    "heating_primary": "flow",
    "balanced_heating": "flow",
    "fan_flow": "flow",
    "balanced_fan": "flow",
    "fan_control": "text",
    "outdoor_air_min": "flow",
    "outdoor_air_inlet_min": "flow",
    "reheat_capacity": "power",
    "heater_stages": "number",
    "heater_volts": "number",
    "water_flow": "water_flow",
    "entering_water_temp": "temperature",
    "leaving_water_temp": "temperature",
    "entering_air_temp": "temperature",
    "leaving_air_temp": "temperature",
    "external_static": "pressure",
    "inlet_diameter": "length",
    "flow_coefficient": "flow_coefficient",
    "area": "area",
    "people": "number",
    "zone_volume": "volume",
    "open_zone": "text",
}
WORDS = {
    "kind": ("single-duct", "series", "parallel"),
    "distribution": ("overhead", "underfloor"),
    "reheat": ("none", "electric", "hot-water"),
    "fan_control": ("constant", "variable"),
}


@dataclass(frozen=True)
class Accuracy:
    """A sensor's accuracy: the larger of a share of the reading and an absolute figure (SI)."""

    of_reading: float = 0.0
    at_least: float = 0.0

    def of(self, reading: Any) -> Any:
        """Return the accuracy at a reading, in the reading's unit."""
        return np.maximum(np.abs(reading) * self.of_reading, self.at_least)


# Where the site file is silent. Common practice, no source: a wall sensor, a duct sensor, an inlet flow sensor that
# was balanced, a zone sensor for carbon dioxide.
USUAL_ACCURACY = {
    "zone_temp": Accuracy(at_least=0.3),
    "heating_setpoint": Accuracy(),
    "cooling_setpoint": Accuracy(),
    "discharge_temp": Accuracy(at_least=0.5),
    "primary_temp": Accuracy(at_least=0.5),
    "plenum_temp": Accuracy(at_least=0.5),
    "supply_temp": Accuracy(at_least=0.5),
    "outdoor_temp": Accuracy(at_least=0.5),
    "effective_setpoint": Accuracy(),
    "primary_flow": Accuracy(of_reading=0.05, at_least=5.0),
    "discharge_flow": Accuracy(of_reading=0.05, at_least=5.0),
    "outdoor_air_flow": Accuracy(of_reading=0.10, at_least=3.0),
    "damper_position": Accuracy(at_least=2.0),
    "reheat_position": Accuracy(at_least=2.0),
    "cooling_signal": Accuracy(at_least=2.0),
    "duct_static_pressure": Accuracy(of_reading=0.02, at_least=5.0),
    "co2": Accuracy(of_reading=0.03, at_least=75.0),
}


# For how long a setpoint whose log is silent is taken to stay in force [s]. Judgement: two months of one season; they
# are set anew for the next.
SETPOINT_HOLD = 60 * 86400.0


@dataclass(frozen=True)
class Tariff:
    """What energy costs, per kWh, in the site's currency."""

    currency: str = "USD"
    electricity: float = 0.14
    heat: float = 0.05


@dataclass(frozen=True)
class Exclusion:
    """A window of time that is left out of judging: a functional test, a balancing day.

    Attributes
    ----------
    start, end : Timestamp
        In the site's zone; from ``start`` up to, but not at, ``end``.
    why : str
    terminals : tuple of str
        The terminals it is for; empty for all.
    """

    start: pd.Timestamp
    end: pd.Timestamp
    why: str
    terminals: tuple[str, ...] = ()


@dataclass(frozen=True)
class FunctionalTest:
    """A window in which a sequence was tried out on purpose: how soon what was to follow its steps did.

    Attributes
    ----------
    start, end : Timestamp
        In the site's zone; from ``start`` up to, but not at, ``end``.
    name : str
        What was tested.
    terminals : tuple of str
        The terminals it is for; empty for all.
    steps : tuple of str
        The kinds of steps that were to be made at each terminal; empty where the site file does not say.
    """

    start: pd.Timestamp
    end: pd.Timestamp
    name: str
    terminals: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()


@dataclass(frozen=True)
class ValueSource:
    """Where one value of the schedule stands.

    Attributes
    ----------
    file, sheet, cell : str
        The file's name; a sheet or "page 2", or blank; "F17" or "row 17, column 6".
    text : str
        What the cell holds.
    document : str
        "drawings" or "balancing report".
    note : str
        What was made of it: worked out, as above.
    """

    file: str
    sheet: str
    cell: str
    text: str = ""
    document: str = "drawings"
    note: str = ""

    @property
    def short(self) -> str:
        """The sheet or file and the row: ``"M-601, row 17"``."""
        row = re.search(r"row \d+|\d+$", self.cell)
        said = row[0] if row and row[0].startswith("row") else f"row {row[0]}" if row else self.cell
        sheet = f"{self.file}, {self.sheet}" if self.sheet.startswith("page ") else self.sheet or self.file
        return ", ".join(part for part in (sheet, said) if part)

    @property
    def whole(self) -> str:
        """The file, the sheet and the cell, and what was made of it."""
        place = ", ".join(part for part in (self.file, self.sheet, self.cell) if part)
        return f"{place} ({self.note})" if self.note else place


@dataclass(frozen=True)
class Site:
    """A building. Every field has a stated default: without a site file the tool judges what it can.

    Attributes
    ----------
    file : Path or None
        The site file it came from.
    units : str
        "si" or "ip": what reports show.
    units_told : bool
        Whether the site file says so; where it does not, the exports' temperatures tell the units of what names none.
    schedule : DataFrame
        Index ``terminal`` (text), columns ``SCHEDULE``, SI, NaN (or None for words) where blank. Empty without a
        schedule.
    sources : dict
        Terminal to column to where the schedule's value of it stands in the drawings or the balancing report.
    documents : tuple of Path
        Schedules and balancing reports: files that are no exports, wherever they lie.
    occupied_hours : dict or None
        Weekday 0 (Monday) .. 6 to a list of (start, end) minutes of the day; None where the site file is silent.
    setpoints : dict
        ``heating`` and ``cooling`` [degC] where given.
    setpoint_hold : float
        For how long a setpoint whose log is silent stays in force [s].
    policy : dict
        ``heating`` and ``cooling`` to (lowest, highest) setpoint that the owner allows [degC], where given.
    excluded : tuple of Exclusion
        Windows that are left out of judging; those of functional tests stand last.
    functional_tests : tuple of FunctionalTest
        Windows whose steps have a page of their own.
    response_changes : dict
        Limit of the functional tests to what the site file moves it to, text or number.
    rule_changes : dict
        Rule id to {"enabled": bool, limit name: text or number}, as the site file says; checked by the rule book.
    cause_changes : dict
        The same of causes of complaints.
    """

    file: Path | None = None
    name: str = "Unnamed building"
    time_zone: str = "UTC"
    units: str = "si"
    units_told: bool = False
    altitude: float = 0.0
    schedule: pd.DataFrame = field(default_factory=lambda: empty_schedule())
    terminals_file: Path | None = None
    sources: dict[str, dict[str, ValueSource]] = field(default_factory=dict)
    documents: tuple[Path, ...] = ()
    points_file: Path | None = None
    rules_folder: Path | None = None
    date_order: str | None = None
    stamps: str | None = None
    outdoor_air_fraction: float | None = None
    setpoint_hold: float = SETPOINT_HOLD
    occupied_hours: dict[int, list[tuple[int, int]]] | None = None
    holidays: tuple[date, ...] = ()
    setpoints: dict[str, float] = field(default_factory=dict)
    policy: dict[str, tuple[float, float]] = field(default_factory=dict)
    excluded: tuple[Exclusion, ...] = ()
    functional_tests: tuple[FunctionalTest, ...] = ()
    response_changes: dict[str, Any] = field(default_factory=dict)
    accuracy: dict[str, Accuracy] = field(default_factory=lambda: dict(USUAL_ACCURACY))
    tariff: Tariff = field(default_factory=Tariff)
    rule_changes: dict[str, dict[str, Any]] = field(default_factory=dict)
    cause_changes: dict[str, dict[str, Any]] = field(default_factory=dict)
    assumptions: tuple[str, ...] = ()


def empty_schedule() -> pd.DataFrame:
    """Return a schedule without a terminal."""
    columns = {name: pd.Series(dtype=object if kind == "text" else "float64") for name, kind in SCHEDULE.items()}
    return pd.DataFrame(columns, index=pd.Index([], name="terminal", dtype=object))
