"""When a supply temperature that several terminals log is one sensor's: every threshold just below it and just at it."""

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
