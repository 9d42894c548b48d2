"""A window of a stored table is the same rows, and the same account, as a window of the table in memory."""

import pickle
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.dataset import (
    keep_trends,
    kept_trends,
    open_dataset,
    read_normalized,
    reading,
    write_dataset,
    write_trends,
)
from analyzer.errors import CallError
from analyzer.site import Site
from analyzer.trend_store import deliver
from analyzer.trends import Window
from analyzer.window_asked import check_window, stored_within, window_of, within
from tests.trend_store.building import ZONE, trends

SITE = Site(time_zone=ZONE)
START = datetime(2026, 1, 24)
EDGE = st.none() | st.integers(0, 12 * 24 * 60).map(lambda n: np.datetime64(START + timedelta(minutes=n), "us"))
HELD = trends(hours=9 * 24, tags=("VAV-1", "VAV-2", "VAV-3"))


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    """The same trends as one file, as a dataset of a file for each terminal, and as a store."""
    room = tmp_path_factory.mktemp("stored")
    write_trends(HELD, room / "trends.parquet")
    (room / "dataset").mkdir()
    write_dataset(HELD, room / "dataset", rows=500)
    deliver(HELD, room / "store", SITE)
    return [room / "trends.parquet", room / "dataset", room / "store"]


@settings(max_examples=60)
@given(begin=EDGE, end=EDGE)
def test_a_window_is_the_same_wherever_the_rows_stand(stored, begin, end):
    window = Window(begin, end)
    wanted = HELD.within(window)
    for location in stored:
        found = read_normalized(location, window=window)
        pd.testing.assert_frame_equal(found.terminals, wanted.terminals, check_categorical=False)
        pd.testing.assert_frame_equal(found.air_handlers, wanted.air_handlers, check_categorical=False)
        assert open_dataset(location, window).rows.tolist() == wanted.rows.tolist()
        cells = wanted.terminals.iloc[:, 2:].count().sum() + wanted.air_handlers.iloc[:, 2:].count().sum()
        assert found.ledger.cells_used == cells


@pytest.mark.parametrize(
    "send", [lambda found: found, lambda found: pickle.loads(pickle.dumps(found))], ids=["here", "sent"]
)
def test_a_store_elsewhere_is_read_by_its_address(stored, send):
    """As an object store is; and as a worker of a cluster gets it."""
    window = Window(np.datetime64("2026-01-28T00:00", "us"))
    found = send(open_dataset(stored[2].as_uri(), window))
    part = found.of(found.tags, found.air_handler_tags)
    pd.testing.assert_frame_equal(part.terminals, HELD.within(window).terminals, check_categorical=False)


def test_a_review_keeps_the_window_that_it_judged(stored, tmp_path):
    window = Window(np.datetime64("2026-01-28T00:00", "us"), np.datetime64("2026-01-30T00:00", "us"))
    for number, location in enumerate(stored):
        path = tmp_path / str(number) / "trends.parquet"
        path.parent.mkdir()
        keep_trends(open_dataset(location, window), path)
        kept, only = kept_trends(path)
        found = read_normalized(kept, ["VAV-2"], only).terminals
        assert found["time"].min() == pd.Timestamp("2026-01-28", tz="UTC")
        assert found["time"].max() == pd.Timestamp("2026-01-29 23:30", tz="UTC")


@pytest.mark.parametrize(
    ("asked", "begin", "end"),
    [
        (("1w", None, None), "2026-02-22T06:00:00.000001", None),
        (("36h", None, None), "2026-02-27T18:00:00.000001", None),
        ((None, "2026-01-26", "2026-02-01"), "2026-01-26T06:00", "2026-02-02T06:00"),
        ((None, "2026-01-26 07:00", "2026-01-26 09:30"), "2026-01-26T13:00", "2026-01-26T15:30"),
        ((None, "2026-03-08", "2026-03-08"), "2026-03-08T06:00", "2026-03-09T05:00"),  # a day of 23 hours
        ((None, None, None), None, None),
    ],
)
def test_what_a_call_asks_for(asked, begin, end):
    window = window_of(*asked, ZONE, np.datetime64("2026-03-01T06:00", "us"))
    assert window == Window(*(None if at is None else np.datetime64(at, "us") for at in (begin, end)))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("5x", None, None), "'5x' is no length of time"),
        (("0d", None, None), "'0d' is no length of time"),
        (("1w", "2026-01-26", None), "is given beside --from or --to"),
        ((None, "26 Jan", None), "'26 Jan' is no day or moment"),
        ((None, "2026-02-02", "2026-02-01"), "'2026-02-02' is not before --to '2026-02-01'"),
    ],
)
def test_what_no_call_can_mean(asked, said):
    with pytest.raises(CallError, match=said):
        check_window(*asked)


def test_a_window_without_a_row_says_what_there_is(stored):
    for ask in (
        lambda: within(HELD, None, "2026-03-01", None),
        lambda: stored_within(stored[2], None, "2026-03-01", None, SITE),
    ):
        with pytest.raises(CallError, match=r"the trends reach from 2026-01-26 00:00 to 2026-02-03 23:30"):
            ask()


def test_what_a_file_says_of_itself_is_read_once(tmp_path, monkeypatch):
    """Read anew for each group of terminals it would pile up: it and its schema refer to each other."""
    write_dataset(HELD, tmp_path, rows=100)
    dataset, read = open_dataset(tmp_path), []
    monkeypatch.setattr(reading, "MOST_HELD", 1)
    monkeypatch.setattr(pq, "read_metadata", lambda source, real=pq.read_metadata: read.append(source) or real(source))
    for _ in range(3):
        dataset.of(dataset.tags)
    assert len(read) == len(list(tmp_path.glob("trends-*.parquet"))) == 3
