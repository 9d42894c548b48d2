"""Which air handler is a terminal's is learned from what both show, and left open where nothing tells them apart."""

import numpy as np
import pandas as pd
import pytest

from analyzer.signals import Scene
from analyzer.signals.membership import learned_told, left_open_told
from analyzer.site import Site
from analyzer.site.model import empty_schedule
from analyzer.trends import AIR_HANDLER_COLUMNS, TERMINAL_COLUMNS, Trends, in_form, observed_logging

MOMENTS = pd.date_range("2026-01-12", periods=4 * 96, freq="15min", tz="UTC")


def restless(seed: int, spread: float = 0.4) -> np.ndarray:
    """A temperature that wanders."""
    return np.cumsum(np.random.default_rng(seed).normal(0.0, spread, len(MOMENTS)))


def scene(terminals: list[dict], units: dict[str, dict], scheduled: list[str] | None = None) -> Scene:
    """Terminals TU-1, TU-2 ... and air handlers, each with arrays over the moments."""
    tags = [f"TU-{number}" for number, _ in enumerate(terminals, 1)]
    table = pd.concat(
        [pd.DataFrame({"terminal": tag, "time": MOMENTS, **own}) for tag, own in zip(tags, terminals, strict=True)]
    ).reindex(columns=TERMINAL_COLUMNS)
    of_units = pd.concat(
        [pd.DataFrame({"air_handler": tag, "time": MOMENTS, **own}) for tag, own in units.items()]
    ).reindex(columns=AIR_HANDLER_COLUMNS)
    table = in_form(table)
    schedule = empty_schedule().reindex(tags if scheduled else [])
    schedule["air_handler"] = pd.Series(scheduled or [], index=schedule.index, dtype=object)
    return Scene(Trends(table, in_form(of_units), observed_logging(table)), Site(schedule=schedule))


def follows(supply: np.ndarray, seed: int, noise: float = 0.15) -> dict:
    """A terminal with air and its coil off, whose discharge lies some kelvins above the supply air."""
    doubt = np.random.default_rng(seed).normal(0.0, noise, len(MOMENTS))
    return {"primary_flow": 100.0, "reheat_position": 0.0, "discharge_temp": supply + 1.5 + doubt}


ONE, OTHER = 13 + restless(1), 13 + restless(2)


def test_two_air_handlers_are_told_apart_by_the_discharge_that_follows_them():
    units = {"AHU-1": {"supply_temp": ONE}, "AHU-2": {"supply_temp": OTHER}}
    built = scene([follows(ONE, 11), follows(OTHER, 12), follows(ONE, 13)], units)
    assert built.words("air_handler").tolist() == ["AHU-1", "AHU-2", "AHU-1"]
    (first, second) = learned_told(built.learned)
    assert first.startswith("AHU-1 was inferred for 2 terminals from the supply air temperature")
    assert second.startswith("AHU-2 was inferred for 1 terminal from")


def test_what_they_share_does_not_hide_what_they_differ_in():
    shared = restless(5)
    one, other = 13 + shared + 0.7 * restless(1), 13 + shared + 0.7 * restless(2)
    built = scene(
        [follows(one, 11), follows(other, 12)], {"AHU-1": {"supply_temp": one}, "AHU-2": {"supply_temp": other}}
    )
    assert built.words("air_handler").tolist() == ["AHU-1", "AHU-2"]


def test_air_handlers_that_go_alike_are_not_told_apart():
    units = {"AHU-1": {"supply_temp": ONE}, "AHU-2": {"supply_temp": ONE + 0.3}}
    built = scene([follows(ONE, 11)], units)
    assert built.words("air_handler").tolist() == [""] and not learned_told(built.learned)


def test_one_air_handler_takes_no_terminal_that_does_not_follow_it():
    built = scene([follows(ONE, 11), follows(OTHER, 12)], {"AHU-1": {"supply_temp": ONE}})
    assert built.words("air_handler").tolist() == ["AHU-1", ""]


def test_a_coil_that_heats_tells_nothing():
    heating = follows(ONE, 11) | {"reheat_position": 60.0}
    assert scene([heating], {"AHU-1": {"supply_temp": ONE}}).words("air_handler").tolist() == [""]


def test_the_schedule_goes_before_what_could_be_learned():
    units = {"AHU-1": {"supply_temp": ONE}, "AHU-2": {"supply_temp": OTHER}}
    built = scene([follows(ONE, 11), follows(ONE, 12)], units, scheduled=["AHU-2", ""])
    assert built.words("air_handler").tolist() == ["AHU-2", "AHU-1"]


def test_full_damper_flow_that_moves_with_the_root_of_its_pressure():
    one, other = (200 + 60 * np.tanh(restless(seed, 0.3)) for seed in (21, 22))
    open_damper = {"damper_position": 100.0, "primary_flow": 10 * np.sqrt(other)}
    built = scene([open_damper], {"AHU-1": {"duct_static_pressure": one}, "AHU-2": {"duct_static_pressure": other}})
    assert built.words("air_handler").tolist() == ["AHU-2"]


@pytest.mark.parametrize(
    ("level", "status", "learned"),
    [
        (17.0, 1.0, "AHU-2"),  # a plenum under the floor, its fan known to run
        (17.0, None, ""),  # nobody knows whether the fan runs
        (17.0, 0.0, ""),  # it stands: the wind moves the reading
        (3.0, 1.0, ""),  # less than the reading can tell
    ],
)
def test_low_pressure_tells_where_the_fan_is_known_to_run(level, status, learned):
    one, other = (level * (1 + 0.3 * np.tanh(restless(seed, 0.3))) for seed in (21, 22))
    open_damper = {"damper_position": 100.0, "primary_flow": 30 * np.sqrt(other)}
    more = {} if status is None else {"supply_fan_status": status}
    units = {"AHU-1": {"duct_static_pressure": one, **more}, "AHU-2": {"duct_static_pressure": other, **more}}
    assert scene([open_damper], units).words("air_handler").tolist() == [learned]


@pytest.mark.parametrize(("other_stands", "learned"), [(range(18, 22), "AHU-1"), (range(6), "")])
def test_flow_that_stops_with_one_fan_and_not_with_the_other(other_stands, learned):
    """Where both stand at the same hours it may be either's."""
    hour = MOMENTS.hour
    first, second = (hour >= 6).astype(float), (~hour.isin(other_stands)).astype(float)
    built = scene(
        [{"primary_flow": 100.0 * first}],
        {"AHU-1": {"supply_fan_status": first}, "AHU-2": {"supply_fan_status": second}},
    )
    assert built.words("air_handler").tolist() == [learned]


def test_what_was_learned_is_where_the_air_comes_from():
    units = {"AHU-1": {"supply_temp": ONE}, "AHU-2": {"supply_temp": OTHER}}
    built = scene([follows(OTHER, 12)], units)
    assert built.value("primary_temp") == pytest.approx(OTHER)


@pytest.mark.parametrize(
    ("owners", "units", "told"),
    [
        ({"TU-1": "AHU-1", "TU-2": ""}, ["AHU-1"], "The air handler of 1 terminal is not known"),
        ({"TU-1": "", "TU-2": ""}, ["AHU-1", "AHU-2"], "use the trends of AHU-1 and AHU-2 were not judged for them"),
        ({"TU-1": "AHU-1"}, ["AHU-1"], None),
        ({"TU-1": ""}, [], None),
    ],
)
def test_what_a_schedule_would_add_is_said(owners, units, told):
    said = left_open_told(owners, units)
    assert (told is None and said == []) or (told in said[0] and "would add it" in said[0])
