"""The site file: ``site.toml`` read, checked as a whole, and turned into a ``Site``."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import available_timezones

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from analyzer.errors import SiteError, nearest
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity, parse_quantity
from analyzer.site.excluded import ExcludeSection, exclusions
from analyzer.site.functional_tests import FunctionalTestSection, functional_tests, left_out_for
from analyzer.site.hours import parse_week
from analyzer.site.model import SETPOINT_HOLD, USUAL_ACCURACY, Accuracy, Site, Tariff, empty_schedule
from analyzer.site.schedule import read_schedule
from analyzer.site.sources import read_sources
from analyzer.validation import read_settings

NAME = "site.toml"


def _quantity(dimension: str) -> BeforeValidator:
    """Return a validator that reads a text such as ``"70 degF"`` as SI."""
    return BeforeValidator(lambda text: parse_quantity(text, dimension))


def _between(low: float, high: float, allowed: str) -> AfterValidator:
    """Return a validator that refuses a value (SI) outside a range, which ``allowed`` words."""

    def check(value: float) -> float:
        if not low <= value <= high:
            raise ValueError(f"{value:g} is out of range; allowed are {allowed}")
        return value

    return AfterValidator(check)


# From below the lowest dry shores to above the highest towns; what any room is held at. Judgement.
_ON_LAND = _between(-450.0, 6000.0, "-450 to 6,000 m")
_OF_A_ROOM = _between(0.0, 50.0, "0 to 50 degC, 32 to 122 degF")
_TEN_YEARS = _between(0.0, 10 * 366 * 86400.0, "0 to 3,660 d")


def _known_zone(zone: str) -> str:
    if zone not in available_timezones():
        raise ValueError(f"{zone!r} is no time zone of the IANA list{nearest(zone, available_timezones())}")
    return zone


def _fraction_of_one(value: float) -> float:
    if not 0 < value <= 1:
        raise ValueError(f"{value:g} is not a fraction above 0 and up to 1")
    return value


def _band(text: object) -> tuple[float, float]:
    """Read a band of temperatures such as ``"68 to 72 degF"`` in degC; the unit of the second holds for both."""
    low, between, high = str(text).partition(" to ")
    if not between:
        raise ValueError(f'{text!r} is no band; write it as "68 to 72 degF"')
    unit = high.strip().lstrip("+-.0123456789").strip()
    bare = not low.strip().lstrip("+-.0123456789").strip()
    ends = (parse_quantity(f"{low} {unit}" if bare else low, "temperature"), parse_quantity(high, "temperature"))
    if ends[0] >= ends[1]:
        raise ValueError(f"{text!r} ends below where it begins")
    return ends


def _share(value: float) -> float:
    if not 0 <= value <= 1:
        raise ValueError(f"of_reading {value:g} is not a fraction from 0 to 1")
    return value


def _sensible(value: float, quantity: Quantity) -> float:
    """Refuse an accuracy that is negative, or with which no reading would tell anything: half of all that can be."""
    if value < 0:
        raise ValueError(f"{value:g} is negative")
    if value > (most := (quantity.high - quantity.low) / 2):
        raise ValueError(f"{value:g} is more than half of all that a sensor can read; allowed are 0 to {most:g} (SI)")
    return value


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=False)


class SiteSection(_Section):
    """``[site]``: what the building is, and which files describe it."""

    time_zone: Annotated[str, AfterValidator(_known_zone)] = Field(description="the IANA zone of the exports' stamps")
    name: str = Field("Unnamed building", description="the building's name, as the report shows it")
    units: Literal["ip", "si"] = Field("si", description="what reports show")
    altitude: Annotated[float, _quantity("length"), _ON_LAND] = Field(
        0.0, description="height above sea level, for air density"
    )
    terminals: str | None = Field(None, description="the terminal schedule, relative to this file")
    points: str | None = Field(None, description="the point list, relative to this file")
    documents: list[str] = Field(
        default_factory=list,
        description="schedules and balancing reports, relative to this file: they are no exports, wherever they lie",
    )
    rules: str | None = Field(None, description="a folder of the user's own rules, relative to this file")
    date_order: Literal["month-first", "day-first"] | None = Field(
        None, description="order of day and month, where the exports cannot tell"
    )
    stamps: Annotated[str, AfterValidator(_known_zone)] | None = Field(
        None, description="the zone of stamps without an offset, where it is not the building's: UTC, as a rule"
    )
    outdoor_air_fraction: Annotated[float, AfterValidator(_fraction_of_one)] | None = Field(
        None, description="share of outdoor air in primary air, where not trended per air handler"
    )
    setpoint_hold: Annotated[float, _quantity("time"), _TEN_YEARS] = Field(
        SETPOINT_HOLD, description="for how long a setpoint whose log is silent is taken to stay in force"
    )


class HoursSection(_Section):
    """``[hours]``: when the building is occupied, where occupancy is not trended."""

    occupied: Annotated[dict[int, list[tuple[int, int]]], BeforeValidator(parse_week)] = Field(
        description='days to hours, such as { mon-fri = "07:00-18:00", sat = "09:00-13:00" }'
    )
    holidays: list[date] = Field(
        default_factory=list,
        description="dates on which nobody is in; a review adds, and says, days on which all rests as at night",
    )


class SetpointsSection(_Section):
    """``[setpoints]``: where setpoints are not trended."""

    heating: Annotated[float, _quantity("temperature"), _OF_A_ROOM] | None = Field(
        None, description="occupied heating setpoint"
    )
    cooling: Annotated[float, _quantity("temperature"), _OF_A_ROOM] | None = Field(
        None, description="occupied cooling setpoint"
    )


class PolicySection(_Section):
    """``[policy]``: the zone setpoints that the owner allows while occupied."""

    heating: Annotated[tuple[float, float], BeforeValidator(_band)] | None = Field(
        None, description='lowest and highest heating setpoint, such as "68 to 72 degF"'
    )
    cooling: Annotated[tuple[float, float], BeforeValidator(_band)] | None = Field(
        None, description='lowest and highest cooling setpoint, such as "73 to 78 degF"'
    )


class TariffSection(_Section):
    """``[tariff]``: what energy costs, per kWh."""

    currency: str = Field("USD", description="the currency's code")
    electricity: float = Field(0.14, ge=0, allow_inf_nan=False, description="price of electricity per kWh")
    heat: float = Field(0.05, ge=0, allow_inf_nan=False, description="price of heat per kWh")


class SiteFile(_Section):
    """The whole of ``site.toml``."""

    site: SiteSection
    hours: HoursSection | None = None
    setpoints: SetpointsSection = SetpointsSection()
    policy: PolicySection = PolicySection()
    accuracy: dict[str, Any] = Field(default_factory=dict)
    tariff: TariffSection = TariffSection()
    exclude: list[ExcludeSection] = Field(default_factory=list)
    functional_test: list[FunctionalTestSection] = Field(default_factory=list)
    response: dict[str, Any] = Field(default_factory=dict)
    rule: dict[str, dict[str, Any]] = Field(default_factory=dict)
    cause: dict[str, dict[str, Any]] = Field(default_factory=dict)


def read(path: str | Path) -> Site:
    """Read a site file, or the one in a folder, and the schedule that it names."""
    path = Path(path)
    if path.is_dir():
        path = path / NAME
    checked = read_settings(path, SiteFile, SiteError, "site", "Give the path of a site.toml with --site.")
    return _site(path, checked)


def _site(path: Path, told: SiteFile) -> Site:
    section, hours = told.site, told.hours
    schedule = empty_schedule()
    terminals_file = _beside(path, section.terminals, "terminals")
    if terminals_file:
        schedule = read_schedule(terminals_file)
    rules_folder = _beside(path, section.rules, "rules")
    if rules_folder and not rules_folder.is_dir():
        raise SiteError(path, f"{rules_folder.name!r} is not a folder", "Name a folder.", place="site.rules")
    setpoints = {name: value for name, value in told.setpoints.model_dump().items() if value is not None}
    if {"heating", "cooling"} <= set(setpoints) and setpoints["heating"] >= setpoints["cooling"]:
        raise SiteError(
            path, "the heating setpoint is not below the cooling setpoint", "Correct them.", place="setpoints"
        )
    tests = functional_tests(path, told.functional_test, section.time_zone, schedule.index)
    return Site(
        file=path,
        name=section.name,
        time_zone=section.time_zone,
        units=section.units,
        units_told="units" in section.model_fields_set,
        altitude=section.altitude,
        schedule=schedule,
        terminals_file=terminals_file,
        sources=read_sources(terminals_file, schedule) if terminals_file else {},
        documents=tuple(path.parent / name for name in section.documents),
        points_file=_beside(path, section.points, "points"),
        rules_folder=rules_folder,
        date_order=section.date_order,
        stamps=section.stamps,
        outdoor_air_fraction=section.outdoor_air_fraction,
        setpoint_hold=section.setpoint_hold,
        occupied_hours=hours.occupied if hours else None,
        holidays=tuple(hours.holidays) if hours else (),
        setpoints=setpoints,
        policy={name: band for name, band in told.policy.model_dump().items() if band is not None},
        accuracy={**USUAL_ACCURACY, **_accuracies(path, told.accuracy)},
        tariff=Tariff(**told.tariff.model_dump()),
        excluded=exclusions(path, told.exclude, section.time_zone, schedule.index) + left_out_for(tests),
        functional_tests=tests,
        response_changes=told.response,
        rule_changes=told.rule,
        cause_changes=told.cause,
        assumptions=_not_named(path, section),
    )


def _not_named(path: Path, section: SiteSection) -> tuple[str, ...]:
    """Say of a table beside the site file that it is not read, as the file does not name it."""
    return tuple(
        f"{name}.csv lies beside {path.name}, which does not name it: it was not read. To use it, write "
        f'{name} = "{name}.csv" under [site].'
        for name in ("terminals", "points")
        if getattr(section, name) is None and (path.parent / f"{name}.csv").is_file()
    )


def _beside(path: Path, name: str | None, key: str) -> Path | None:
    if name is None:
        return None
    found = path.parent / name
    if not found.exists():
        raise SiteError(
            path, f"names {name!r}, and there is no such file", f"Correct the path or remove the key {key}.",
            place=f"site.{key}",
        )  # fmt: skip
    return found


def _accuracies(path: Path, told: dict[str, Any]) -> dict[str, Accuracy]:
    return {name: _accuracy(path, name, value) for name, value in told.items()}


def _accuracy(path: Path, name: str, told: object) -> Accuracy:
    quantity = TERMINAL.get(name) or AIR_HANDLER.get(name)
    if quantity is None:
        known = [*TERMINAL, *AIR_HANDLER]
        raise SiteError(path, f"{name!r} is no quantity{nearest(name, known)}", "Correct its name.", place="accuracy")
    differences = {"temperature": "temperature_difference"}
    dimension = differences.get(quantity.dimension, quantity.dimension)
    place = f"accuracy.{name}"
    try:
        if not isinstance(told, dict):
            return Accuracy(at_least=_sensible(parse_quantity(told, dimension), quantity))
        unknown = set(told) - {"of_reading", "at_least"}
        if unknown:
            word = sorted(unknown)[0]
            raise ValueError(f"unknown key {word!r}{nearest(word, ('of_reading', 'at_least'))}")
        return Accuracy(
            of_reading=_share(parse_quantity(told.get("of_reading", 0.0), "fraction")),
            at_least=_sensible(parse_quantity(told.get("at_least", 0.0), dimension), quantity),
        )
    except ValueError as error:
        raise SiteError(path, str(error), 'Write it as "0.5 K" or { of_reading = 0.05 }.', place=place) from None
