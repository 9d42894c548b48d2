"""Every limit by which a value is rejected, or a unit is found, just below it and just at it."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.site import Site


def column(tmp_path, header: str, values: list, quantity: str, site: Site | None = None, freq: str = "15min"):
    """Read one column of a terminal; return its values and what was said."""
    stamps = pd.date_range("2026-01-26", periods=len(values), freq=freq)
    rows = "".join(f"{stamp},{value}\n" for stamp, value in zip(stamps, values, strict=True))
    (tmp_path / "trend.csv").write_text(f"Time,{header}\n{rows}")
    trends = read_exports([tmp_path], site or Site())
    return trends.terminals[quantity].tolist(), " ".join(trends.ledger.assumptions)


@pytest.mark.parametrize(("others", "kept"), [(10.0, True), (10.1, False)])
def test_a_temperature_of_nought_ten_degrees_from_the_others(tmp_path, others, kept):
    values, _ = column(tmp_path, "VAV-1 ZN-T (degC)", [0, others, others, others], "zone_temp")
    assert (0 in values) is kept


@pytest.mark.parametrize(("next_one", "kept"), [(5000, True), (4999, False)])
def test_a_full_scale_that_is_twice_the_others(tmp_path, next_one, kept):
    values, _ = column(tmp_path, "VAV-1 FLOW (L/s)", [100, next_one, 9999, 200], "primary_flow")
    assert (9999 in values) is kept


@pytest.mark.parametrize(("reading", "kept"), [(1, False), (1.1, True)])
def test_co2_of_no_more_than_one(tmp_path, reading, kept):
    values, _ = column(tmp_path, "VAV-1 CO2 (ppm)", [400, reading, 500], "co2")
    assert (reading in values) is kept


@pytest.mark.parametrize(("samples", "flow", "kept"), [(24, 1000, False), (23, 1000, True), (24, 900, True)])
def test_an_outdoor_airflow_of_one_round_number(tmp_path, samples, flow, kept):
    _, said = column(tmp_path, "VAV-1 OA FLOW (cfm)", [flow] * samples, "outdoor_air_flow")
    assert ("outdoor airflow" in said) == (not kept)


@pytest.mark.parametrize(("most", "asked"), [(4, True), (5, False)])
def test_a_signal_of_whole_numbers_up_to_four_may_count_stages(tmp_path, most, asked):
    values, said = column(tmp_path, "VAV-1 RHT VLV", [0, 1, 2, most], "reheat_position")
    assert values == [0, 1, 2, most]
    assert ("If they are stages" in said) == asked


@pytest.mark.parametrize(("days", "kept"), [(6, False), (5.9, True)])
def test_an_occupancy_that_stands_still_for_six_days(tmp_path, days, kept):
    samples = int(days * 24) + 1
    values, said = column(tmp_path, "VAV-1 OCC", [1] * samples, "occupied", freq="1h")
    assert ("throughout and was rejected" in said) is not kept
    assert (1 in values) is kept


@pytest.mark.parametrize(("room", "unit"), [(45, "degC"), (45.1, "degF")])
def test_a_room_over_45_is_in_degf(tmp_path, room, unit):
    stamps = pd.date_range("2026-01-26", periods=3, freq="15min")
    rows = "".join(f"{stamp},{value},100\n" for stamp, value in zip(stamps, [30, 31, room], strict=True))
    (tmp_path / "trend.csv").write_text(f"Time,VAV-1 ZN-T,VAV-1 FLOW\n{rows}")
    said = " ".join(read_exports([tmp_path], Site()).ledger.assumptions)
    assert ("goes with the exports' temperatures in degF" in said) == (unit == "degF")


@pytest.mark.parametrize(
    ("room", "unit"),
    [(9.9, ""), (10, "degC"), (35, "degC"), (35.1, ""), (49.9, ""), (50, "degF"), (95, "degF"), (95.1, "")],
)
def test_a_zone_is_usual_from_10_to_35_degc(tmp_path, room, unit):
    _, said = column(tmp_path, "VAV-1 ZN-T", [room] * 3, "zone_temp")
    assert ("typical of its values" in said) is bool(unit)
    assert f"was read in {unit}" in said


@pytest.mark.parametrize(("equal", "parted"), [(5, True), (6, False)])
def test_logs_of_which_half_the_samples_are_equal_are_of_two_terminals(tmp_path, equal, parted):
    assert _parted(tmp_path, [n < equal for n in range(10)], 10) == parted


@pytest.mark.parametrize(("meeting", "parted"), [(2, True), (1, False)])
def test_logs_that_meet_at_a_tenth_of_their_moments_are_compared(tmp_path, meeting, parted):
    assert _parted(tmp_path, [False] * 20, meeting) == parted


def _parted(tmp_path, alike: list[bool], meeting: int) -> bool:
    """Read one tag in two folders; return whether it was taken for two terminals."""
    first = pd.date_range("2026-01-26", periods=len(alike), freq="15min")
    second = (
        first.delete(slice(meeting, None)).append(first[meeting:] + pd.Timedelta("5min")) if meeting < 10 else first
    )
    for folder, stamps, shift in (("a", first, 0), ("b", second, 2)):
        rows = "".join(f"{t},{60 + n % 7 + shift * (not alike[n])}\n" for n, t in enumerate(stamps))
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "VAV-1.csv").write_text(f"Time,ZN-T (degF)\n{rows}")
    return len(read_exports([tmp_path], Site()).terminals["terminal"].cat.categories) == 2
