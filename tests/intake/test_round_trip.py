"""A known building written in a random layout and dialect reads back as itself, and the ledger balances."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
from hypothesis import HealthCheck, Phase, given
from hypothesis import strategies as st

from analyzer.intake import read_exports
from analyzer.site import Site
from analyzer.trends import TERMINAL_COLUMNS
from tests.drawn import drawn
from tests.intake.counting import counted_cells
from tests.intake.writing import LAYOUTS, SPELLING, STORES, Building, Dialect, write

PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
_RANGES = {
    "zone_temp": (60, 85), "cooling_setpoint": (70, 78), "primary_flow": (0, 2400), "damper_position": (0, 100),
    "reheat_position": (2, 100), "discharge_temp": (8, 45), "fan_status": (0, 1), "co2": (390, 2100),
}  # fmt: skip
_STAMPS = (
    "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%m/%d/%Y %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%m/%d/%y %I:%M:%S %p",
    "%d-%b-%Y %H:%M:%S", "%b %d, %Y %I:%M:%S %p", "%Y%m%d%H%M%S", "iso", "unix",
)  # fmt: skip

# Days up to the 12th leave the order of day and month open; the site file settles it.
ORDERS = {"%m/%d/%Y %H:%M:%S": "month-first", "%d.%m.%Y %H:%M:%S": "day-first", "%m/%d/%y %I:%M:%S %p": "month-first"}


@st.composite
def buildings(draw) -> Building:
    """A few terminals over a stretch of a day that may hold the autumn hour, with a day over 12 to tell dates by."""
    zone = draw(st.sampled_from(["America/Chicago", "Europe/Berlin", "Australia/Sydney", "UTC"]))
    start = draw(st.sampled_from(["2026-10-31 20:00", "2026-10-24 20:00", "2026-04-04 09:00", "2026-01-14 06:00"]))
    minutes = draw(st.sampled_from([1, 5, 15]))
    count = draw(st.integers(12, 60))
    times = pd.date_range(start, periods=count, freq=f"{minutes}min", tz="UTC").as_unit("us")
    building = Building(times, zone)
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    tags = draw(
        st.lists(st.sampled_from(["VAV-1-01", "VAV-1-02", "FPB-2-11", "TU-N-112"]), min_size=1, max_size=3, unique=True)
    )
    names = draw(st.lists(st.sampled_from(list(SPELLING)), min_size=1, max_size=6, unique=True))
    for tag in tags:
        for name in names:
            low, high = _RANGES[name]
            number = np.round(random.uniform(low, high, count), SPELLING[name][2])
            if draw(st.booleans()):
                # Of a dozen samples with more holes nobody could tell whether they were logged by interval or on change.
                number[np.flatnonzero(random.random(count) < 0.15)[: count // 6]] = np.nan
            number[[0, -1]] = np.round([low, high], SPELLING[name][2])
            building.numbers[tag, name] = number
    return building


@st.composite
def dialects(draw) -> Dialect:
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    decimal = draw(st.sampled_from([".", ","])) if delimiter != "," else "."
    return Dialect(
        delimiter=delimiter,
        decimal=decimal,
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])),
        stamp=draw(st.sampled_from(_STAMPS)),
        missing=draw(st.sampled_from(["", "NaN", "N/A", "--", "null"])),
        quoting=draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL])),
        line_end=draw(st.sampled_from(["\n", "\r\n"])),
        words=draw(
            st.sampled_from([("Off", "On"), ("0", "1"), ("Inactive", "Active"), ("FALSE", "TRUE"), ("stop", "run")])
        ),
        preamble=draw(st.integers(0, 3)),
        footer=draw(st.booleans()),
        blank_every=draw(st.sampled_from([0, 0, 5])),
        header_every=draw(st.sampled_from([0, 0, 7])),
        trailing=draw(st.booleans()),
        # "1.854" alone may be a number with decimals or without: the cases hold what tells them apart.
        thousands=draw(st.booleans()) and decimal == ".",
    )


@drawn(30, phases=PHASES, suppress_health_check=[HealthCheck.too_slow])
@given(buildings(), st.sampled_from(LAYOUTS), st.sampled_from(STORES), dialects())
def test_a_building_reads_back_as_itself(building, layout, store, dialect):
    with tempfile.TemporaryDirectory() as folder:
        write(building, layout, store, dialect, Path(folder))
        with counted_cells() as cells:
            trends = read_exports([folder], Site(time_zone=building.zone, date_order=ORDERS.get(dialect.stamp)))
    told = trends.ledger
    assert told.cells_read == sum(cells)
    assert told.cells_used == sum(np.isfinite(number).sum() for number in building.numbers.values())
    same_table(trends.terminals, building.expected())


def same_table(found: pd.DataFrame, expected: pd.DataFrame) -> None:
    """Compare two normalized tables; fan starts and rows that hold nothing are left out."""
    assert list(found.columns) == TERMINAL_COLUMNS
    plain = [table.drop(columns="fan_starts") for table in (found, expected)]
    filled = [table[table.iloc[:, 2:].notna().any(axis=1)].reset_index(drop=True) for table in plain]
    for table in filled:
        table["terminal"] = table["terminal"].astype(object)
    pd.testing.assert_frame_equal(*filled, check_dtype=False, rtol=1e-9, atol=1e-9)
