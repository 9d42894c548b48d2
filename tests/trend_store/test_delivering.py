"""A store takes each delivery in once: late weeks, late points, corrections, the same again; or not at all."""

import json
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.dataset import open_dataset, read_normalized
from analyzer.errors import CallError, ExportError
from analyzer.site import Site
from analyzer.trend_store import check_store, deliver, delivering
from analyzer.trend_store.delivering import DOUBTFUL_SHARE
from tests.trend_store.building import MONDAY, ZONE, trends

SITE = Site(time_zone=ZONE)


@pytest.fixture
def store(tmp_path) -> Path:
    return tmp_path / "campus"


def _files(store: Path) -> dict[str, bytes]:
    return {file.relative_to(store).as_posix(): file.read_bytes() for file in store.rglob("*") if file.is_file()}


def _same(found, wanted):
    pd.testing.assert_frame_equal(found.terminals, wanted.terminals, check_categorical=False)
    pd.testing.assert_frame_equal(found.air_handlers, wanted.air_handlers, check_categorical=False)
    pd.testing.assert_frame_equal(found.logging, wanted.logging)


def test_what_is_delivered_is_read_back(store):
    given = trends(hours=10 * 24)
    done = deliver(given, store, SITE)
    _same(read_normalized(store), given)
    assert done.weeks == ["2026-01-26", "2026-02-02"]
    assert done.changes.rows == len(given.terminals) + len(given.air_handlers)


def test_a_week_begins_on_monday_by_the_sites_clock(store):
    deliver(trends("2026-02-01 23:00", hours=2), store, SITE)
    times = {
        file.parent.name: pd.read_parquet(file)["time"].dt.tz_convert(ZONE) for file in store.rglob("trends-*.parquet")
    }
    assert str(times["2026-01-26"].max()) == "2026-02-01 23:30:00-06:00"
    assert str(times["2026-02-02"].min()) == "2026-02-02 00:00:00-06:00"


def test_weeks_that_come_later_and_weeks_that_come_late(store):
    for first in ("2026-02-02", "2026-02-09", MONDAY):
        deliver(trends(first, hours=168), store, SITE)
    _same(read_normalized(store), trends(hours=3 * 168))


def test_the_same_again_changes_nothing(store):
    given = trends()
    deliver(given, store, SITE)
    again = deliver(given, store, SITE).changes
    assert (again.rows, again.completed, again.corrected) == (0, 0, 0)
    assert again.agreed == given.terminals.iloc[:, 2:].count().sum() + given.air_handlers.iloc[:, 2:].count().sum()
    _same(read_normalized(store), given)


def test_a_late_point_fills_the_cells_that_were_empty(store):
    deliver(trends(without=("primary_flow",)), store, SITE)
    late = deliver(trends(without=("zone_temp",)), store, SITE).changes
    assert (late.rows, late.completed, late.corrected) == (0, 2 * 96, 0)
    _same(read_normalized(store), trends())


def test_a_late_terminal_joins_the_others(store):
    deliver(trends(tags=("VAV-2",)), store, SITE)
    deliver(trends(tags=("VAV-1",), zone_temp=0.0), store, SITE)
    found = read_normalized(store)
    assert found.tags == ["VAV-1", "VAV-2"]
    assert len(found.terminals) == 2 * 96


def test_a_correction_counts_and_what_it_replaced_is_kept(store):
    deliver(trends(), store, SITE)
    corrected = trends(hours=6)
    corrected.terminals.loc[corrected.terminals["terminal"] == "VAV-2", "zone_temp"] += 0.5
    done = deliver(corrected, store, SITE)
    assert done.changes.corrected == 12
    kept = pd.read_parquet(store / "deliveries" / "0002" / "corrections.parquet")
    assert (kept["tag"] == "VAV-2").all()
    assert (kept["quantity"] == "zone_temp").all()
    np.testing.assert_allclose(kept["after"] - kept["before"], 0.5)
    found = read_normalized(store, ["VAV-2"]).terminals["zone_temp"].to_numpy()
    given = trends().terminals.query("terminal == 'VAV-2'")["zone_temp"].to_numpy()
    np.testing.assert_allclose(found - given, np.r_[np.full(12, 0.5), np.zeros(84)])


def test_a_fan_start_is_not_lost_where_a_delivery_begins(store):
    """The first row of a delivery cannot count a start: what ran before it, it does not hold."""
    whole, tail = trends(), trends("2026-01-26 01:00", hours=6)
    tail.terminals.loc[tail.terminals.groupby("terminal", observed=True).head(1).index, "fan_starts"] = 0.0
    deliver(whole, store, SITE)
    deliver(tail, store, SITE)
    _same(read_normalized(store), whole)


@pytest.mark.parametrize(("rows", "refused"), [(44, False), (52, True)])
def test_exports_that_contradict_most_of_the_store_are_refused(store, rows, refused):
    deliver(trends(), store, SITE)
    before = _files(store)
    other = trends()
    shared = other.terminals.iloc[:, 2:].count().sum() + other.air_handlers.iloc[:, 2:].count().sum()
    for name in ("zone_temp", "primary_flow", "fan_starts"):
        other.terminals.loc[: int(rows / 100 * shared / 3), name] += 3.0
    if not refused:
        deliver(other, store, SITE)
        return
    with pytest.raises(CallError, match=r"holds other values in \d+ of the 672 cells .* first VAV-1 zone_temp"):
        deliver(other, store, SITE)
    assert _files(store) == before
    assert deliver(other, store, SITE, corrects=True).changes.corrected > DOUBTFUL_SHARE * shared


def test_another_time_zone_is_refused(store):
    deliver(trends(), store, SITE)
    other = trends()
    other.time_zone = "Europe/Berlin"
    with pytest.raises(CallError, match=r"America/Chicago, and these exports of Europe/Berlin"):
        deliver(other, store, SITE)


@pytest.mark.parametrize("at", ["before the list", "before the last file", "while a week is written"])
def test_who_is_stopped_on_the_way_has_changed_nothing(store, monkeypatch, at):
    deliver(trends(), store, SITE)
    standing = read_normalized(store)

    class Stopped(BaseException):
        pass

    def stop(*_, **__):
        raise Stopped

    if at == "while a week is written":
        monkeypatch.setattr(delivering, "_write_account", stop)
    else:
        place = delivering.os.replace
        left = iter([True, True, True, True, True] if at == "before the list" else [True])
        monkeypatch.setattr(
            delivering.os,
            "replace",
            lambda a, b: place(a, b) if next(left, False) and "store.json" not in str(b) else stop(),
        )
    with pytest.raises(Stopped):
        deliver(trends("2026-02-02"), store, SITE)
    _same(read_normalized(store), standing)
    monkeypatch.undo()
    deliver(trends("2026-02-02"), store, SITE)
    found = read_normalized(store)
    assert len(found.terminals) == 2 * len(standing.terminals)
    listed = json.loads((store / "store.json").read_text())
    assert {f"weeks/{file.parent.name}/{file.name}" for file in store.rglob("*-*.parquet")} == {*listed["files"]}


def test_what_a_delivery_replaced_lies_there_until_the_next(store):
    """Whoever reads the store meanwhile still finds the files that counted when he began."""
    deliver(trends(), store, SITE)
    reading = open_dataset(store)
    deliver(trends(zone_temp=0.1), store, SITE)
    _same(reading.of(reading.tags, reading.air_handler_tags), trends())
    deliver(trends(), store, SITE)
    assert [file.name for file in store.rglob("trends-*.parquet")].count("trends-0001.parquet") == 0


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda store: store.write_text("x"), "is a file"),
        (lambda store: [store.mkdir(), (store / "notes.txt").write_text("x")], "holds 'notes.txt', and no store"),
    ],
)
def test_a_place_that_is_no_store_is_refused(store, make, said):
    make(store)
    with pytest.raises(CallError, match=said):
        check_store(store, [])


def test_exports_within_the_store_are_refused(store):
    deliver(trends(), store, SITE)
    with pytest.raises(CallError, match="which is read"):
        check_store(store, [store])


def test_the_site_file_and_what_others_laid_into_a_store_stay_there(store):
    deliver(trends(), store, SITE)
    theirs = [store / "site.toml", store / "terminals.csv", store / "deliveries" / "2026" / "letter.txt"]
    theirs[2].parent.mkdir()
    for file in theirs:
        file.write_text("x")
    check_store(store, [])
    deliver(trends("2026-02-02"), store, SITE)
    assert all(file.read_text() == "x" for file in theirs)


def test_a_damaged_list_is_said(store):
    deliver(trends(), store, SITE)
    (store / "store.json").write_text("{", "utf-8")
    with pytest.raises(ExportError, match=r"store\.json.* is damaged"):
        open_dataset(store)


def test_a_store_may_be_moved(store, tmp_path):
    deliver(trends(), store, SITE)
    shutil.move(store, tmp_path / "elsewhere")
    _same(read_normalized(tmp_path / "elsewhere"), trends())
