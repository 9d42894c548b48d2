"""When a supply temperature of terminals is the entering air's: every threshold just below it and just at it."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.site import Site

SWINGING = [55.0, 56.0, 57.0, 58.0]  # degF


def taken(tmp_path, one: list[float], other: list[float], name: str = "Supply Air Temp") -> set[str]:
    """Read one temperature of two terminals; return what it was taken for."""
    for tag, values in (("VAV-1", one), ("VAV-2", other)):
        stamps = pd.date_range("2026-01-26", periods=len(values), freq="15min")
        rows = "".join(f"{stamp},70,{value}\n" for stamp, value in zip(stamps, values, strict=True))
        (tmp_path / f"{tag}.csv").write_text(f"Time,Zone Temp (degF),{name} (degF)\n{rows}")
    columns = read_exports([tmp_path], Site()).terminals.notna().any()
    return {quantity for quantity in ("primary_temp", "discharge_temp") if columns[quantity]}


def test_the_same_values_at_two_terminals_are_one_sensors(tmp_path):
    assert taken(tmp_path, SWINGING * 3, SWINGING * 3) == {"primary_temp"}


def test_a_discharge_stays_one_whoever_repeats_it(tmp_path):
    assert taken(tmp_path, SWINGING * 3, SWINGING * 3, "Discharge Air Temp") == {"discharge_temp"}


@pytest.mark.parametrize(("apart", "found"), [(0.14, "primary_temp"), (0.16, "discharge_temp")])
def test_they_differ_by_no_more_than_rounding_does(tmp_path, apart, found):
    assert taken(tmp_path, SWINGING * 3, [value + apart for value in SWINGING * 3]) == {found}


@pytest.mark.parametrize(("samples", "found"), [(12, "primary_temp"), (11, "discharge_temp")])
def test_a_dozen_samples_tell(tmp_path, samples, found):
    values = (SWINGING * 3)[:samples]
    assert taken(tmp_path, values, values) == {found}


@pytest.mark.parametrize(("others", "found"), [(2, "primary_temp"), (3, "discharge_temp")])
def test_nine_tenths_of_the_samples_agree(tmp_path, others, found):
    values = SWINGING * 5
    assert taken(tmp_path, values, [value + (n < others) for n, value in enumerate(values)]) == {found}


@pytest.mark.parametrize(("swing", "found"), [(1.51, "primary_temp"), (1.49, "discharge_temp")])
def test_what_stands_still_is_alike_by_chance(tmp_path, swing, found):
    values = [55.0, 55.0 + swing] * 6
    assert taken(tmp_path, values, values) == {found}


def of_one(tmp_path, supply: list[float | str], discharge: list[float], more: str = "") -> dict[str, list[float]]:
    """Read a supply and a discharge temperature of one terminal; return the numbers that were used [degF]."""
    stamps = pd.date_range("2026-01-26", periods=len(discharge), freq="15min")
    rows = "".join(
        f"{stamp},70,{a},{b}{more and ',58.5'}\n" for stamp, a, b in zip(stamps, supply, discharge, strict=True)
    )
    heading = f"Time,Zone Temp (degF),Supply Air Temp (degF),Discharge Air Temp (degF){more}\n"
    (tmp_path / "VAV-1.csv").write_text(heading + rows)
    read = read_exports([tmp_path], Site()).terminals
    return {
        name: (read[name].dropna() * 1.8 + 32).round(2).to_list()
        for name in ("primary_temp", "discharge_temp")
        if read[name].notna().any()
    }


HEATED = [0.5, 0.5, 0.5, 25.0] * 3  # K over the entering air


def test_what_a_discharge_is_warmed_from_enters_the_terminal(tmp_path):
    leaving = [low + rise for low, rise in zip(SWINGING * 3, HEATED, strict=True)]
    assert of_one(tmp_path, SWINGING * 3, leaving) == {"primary_temp": SWINGING * 3, "discharge_temp": leaving}


def test_a_second_sensor_of_the_same_air_stays_its_rival(tmp_path):
    """It is warmed with it."""
    leaving = [low + rise for low, rise in zip(SWINGING * 3, HEATED, strict=True)]
    assert of_one(tmp_path, [value - 1.5 for value in leaving], leaving) == {"discharge_temp": leaving}


def test_what_is_warmer_than_the_discharge_does_not_enter(tmp_path):
    leaving = [low + rise for low, rise in zip(SWINGING * 3, HEATED, strict=True)]
    assert of_one(tmp_path, [value + 30 for value in SWINGING * 3], leaving) == {"discharge_temp": leaving}


@pytest.mark.parametrize("colder", [1, 2], ids=["a twelfth of the samples", "a sixth"])
def test_nine_tenths_of_the_samples_are_no_colder(tmp_path, colder):
    leaving = [low + rise - 2 * (n < colder) for n, (low, rise) in enumerate(zip(SWINGING * 3, HEATED, strict=True))]
    assert ("primary_temp" in of_one(tmp_path, SWINGING * 3, leaving)) == (colder == 1)


@pytest.mark.parametrize(("warmed", "found"), [(2.9, False), (3.1, True)])
def test_it_has_to_be_warmed_by_more_than_sensors_err(tmp_path, warmed, found):
    leaving = [low + rise for low, rise in zip(SWINGING * 3, [0.0, 0.0, warmed, warmed] * 3, strict=True)]
    assert ("primary_temp" in of_one(tmp_path, SWINGING * 3, leaving)) == found


def test_a_dead_sensor_enters_nothing(tmp_path):
    assert set(of_one(tmp_path, [0.0] * 12, [low + 10 for low in SWINGING * 3])) == {"discharge_temp"}


def test_a_few_samples_tell_nothing_of_the_others(tmp_path):
    leaving = [low + rise for low, rise in zip(SWINGING * 9, HEATED * 3, strict=True)]
    few = [value if n % 3 == 0 else "" for n, value in enumerate(SWINGING * 9)]
    assert set(of_one(tmp_path, few, leaving)) == {"discharge_temp"}


def test_an_entering_temperature_that_is_named_so_is_taken_before_it(tmp_path):
    leaving = [low + rise for low, rise in zip(SWINGING * 3, HEATED, strict=True)]
    read = of_one(tmp_path, SWINGING * 3, leaving, ",Primary Air Temp (degF)")
    assert read == {"primary_temp": [58.5] * 12, "discharge_temp": leaving}


def test_one_sensors_values_are_found_where_one_of_two_terminals_has_a_discharge(tmp_path):
    stamps = pd.date_range("2026-01-26", periods=12, freq="15min")
    for tag, discharge in (("VAV-1", ""), ("VAV-2", ",{0}")):
        head = "Time,Zone Temp (degF),Supply Air Temp (degF)" + (",Discharge Air Temp (degF)" if discharge else "")
        rows = (
            f"{stamp},70,{value}{discharge.format(value + 5 * n)}"
            for n, (stamp, value) in enumerate(zip(stamps, SWINGING * 3, strict=True))
        )
        (tmp_path / f"{tag}.csv").write_text("\n".join([head, *rows]) + "\n")
    table = read_exports([tmp_path], Site()).terminals
    there = table.groupby("terminal", observed=True)[["primary_temp", "discharge_temp"]].count()
    assert there.to_numpy().tolist() == [[12, 0], [12, 12]]
