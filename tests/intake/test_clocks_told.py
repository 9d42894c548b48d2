"""The zone that offsets tell, stamps that cannot be of the site's clock, and the site file's word on them."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.errors import SiteError
from analyzer.site import Site, read_site
from analyzer.site.stored import read_stored_site, site_json
from tests.intake.folders import read, said

SUSPECTED = "may be UTC"


def site(folder, more: str = "", zone: str = "America/Chicago") -> Site:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(f'[site]\ntime_zone = "{zone}"\n{more}')
    return read_site(folder / "site.toml")


def log(stamps: pd.DatetimeIndex, form: str, start: int = 7, days: int | None = None) -> str:
    """Write a log of an air handler whose fan runs for ten hours from one hour on."""
    late = stamps[0].normalize() + pd.Timedelta(days=days or 999)
    rows = [f"{form.format(t=t)},{int(start <= t.hour < start + 10) if t < late else 0}" for t in stamps]
    return "Time,AHU-1 Supply Fan Status\n" + "\n".join(rows) + "\n"


def week(begin: str = "2026-01-26", days: int = 5) -> pd.DatetimeIndex:
    return pd.date_range(begin, periods=24 * 4 * days, freq="15min")


@pytest.mark.parametrize(
    ("spelled", "zone"),
    [
        ("-06:00", "Etc/GMT+6"),
        ("+01:00", "Etc/GMT-1"),
        ("+0530", "Asia/Calcutta"),
        ("Z", "UTC"),
        ("+00:00", "UTC"),
        ("", "UTC"),
    ],
)
def test_one_offset_is_a_zone(tmp_path, spelled, zone):
    trends = read(tmp_path, {"log.csv": log(week(), f"{{t:%Y-%m-%dT%H:%M}}{spelled}")})
    found = pd.Timestamp("2026-01-26", tz=trends.time_zone).utcoffset()
    assert found == pd.Timestamp("2026-01-26", tz=zone).utcoffset()
    assert ("local time follows the offsets of the time stamps" in said(trends)) is (zone != "UTC")
    assert ("stamps without an offset are read as UTC" in said(trends)) is (spelled == "")


def test_offsets_that_change_are_of_a_zone_with_summer_time(tmp_path):
    stamps = pd.date_range("2026-03-06", "2026-03-11", freq="h", tz="America/Denver")
    rows = "".join(f"{stamp.isoformat()},2{n % 5}\n" for n, stamp in enumerate(stamps))
    trends = read(tmp_path, {"log.csv": f"Time,VAV-1 ZN-T\n{rows}"})
    assert trends.time_zone == "America/Denver"


def test_stamps_with_a_zone_in_parquet(tmp_path):
    frame = pd.DataFrame({"time": week().tz_localize("Europe/Berlin"), "VAV-1 ZN-T": 21.0})
    frame.to_parquet(tmp_path / "log.parquet")
    from analyzer.intake import read_exports

    assert read_exports([tmp_path], Site()).time_zone == "Etc/GMT-1"


def test_the_site_files_zone_stands_over_offsets(tmp_path):
    trends = read(
        tmp_path / "x", {"log.csv": log(week(), "{t:%Y-%m-%dT%H:%M}-06:00")}, site(tmp_path, zone="Europe/Berlin")
    )
    assert trends.time_zone == "Europe/Berlin"


@pytest.mark.parametrize(("start", "suspected"), [(9, False), (10, True), (13, True), (15, True), (16, False)])
def test_fans_that_start_at_noon(tmp_path, start, suspected):
    """In Chicago 10:00 to 15:00 are, as UTC, 4:00 to 9:00; a building that starts at 16:00 does so by any clock."""
    trends = read(tmp_path / "x", {"log.csv": log(week(), "{t:%Y-%m-%d %H:%M}", start)}, site(tmp_path))
    assert (SUSPECTED in said(trends)) is suspected
    assert (f"begin at {start:02d}:00 by it" in said(trends)) is suspected


@pytest.mark.parametrize(("days", "suspected"), [(2, False), (3, True)])
def test_fans_start_late_on_three_days(tmp_path, days, suspected):
    trends = read(tmp_path / "x", {"log.csv": log(week(), "{t:%Y-%m-%d %H:%M}", 13, days)}, site(tmp_path))
    assert (SUSPECTED in said(trends)) is suspected


@pytest.mark.parametrize(("zone", "suspected"), [("Atlantic/Azores", False), ("America/Sao_Paulo", True)])
def test_a_late_start_near_utc_is_a_late_start(tmp_path, zone, suspected):
    trends = read(tmp_path / "x", {"log.csv": log(week(), "{t:%Y-%m-%d %H:%M}", 10)}, site(tmp_path, zone=zone))
    assert (SUSPECTED in said(trends)) is suspected


def test_stamps_in_the_hour_that_the_clock_skips(tmp_path):
    text = log(week("2026-03-07", 3), "{t:%Y-%m-%d %H:%M}")
    trends = read(tmp_path / "x", {"log.csv": text}, site(tmp_path))
    assert "4 stand in the hour that its clock skips in spring" in said(trends)
    trends = read(tmp_path / "y", {"log.csv": text}, site(tmp_path, 'stamps = "UTC"\n'))
    assert SUSPECTED not in said(trends)
    assert not trends.ledger.set_aside
    assert trends.time_zone == "America/Chicago"
    assert trends.air_handlers["time"].iloc[0] == pd.Timestamp("2026-03-07", tz="UTC")


def test_the_stamps_zone_is_checked_and_kept(tmp_path):
    kept = tmp_path / "site.json"
    kept.write_text(site_json(site(tmp_path, 'stamps = "UTC"\n')), "utf-8")
    assert read_stored_site(kept).stamps == "UTC"
    with pytest.raises(SiteError, match="stamps"):
        site(tmp_path, 'stamps = "UTZ"\n')


SPRING = pd.date_range("2026-03-28 22:00", "2026-03-29 06:00", freq="15min")  # Warsaw skips 02:00 to 03:00


def under(heading: str, stamps: pd.DatetimeIndex) -> str:
    return f"{heading},VAV-1 ZN-T\n" + "".join(f"{t:%Y-%m-%d %H:%M},2{n % 5}\n" for n, t in enumerate(stamps))


@pytest.mark.parametrize(
    ("heading", "hours"),
    [
        ("Time (UTC+01:00)", 1),
        ("Time (GMT-6)", -6),
        ("Time [+01:00]", 1),
        ("Timestamp UTC+0530", 5.5),
        ("Time (UTC+00:00)", 0),
    ],
)
def test_a_heading_that_tells_an_offset(tmp_path, heading, hours):
    stamps = pd.date_range("2026-06-16", periods=8, freq="15min")
    trends = read(tmp_path / "x", {"log.csv": under(heading, stamps)}, site(tmp_path, zone="Europe/Warsaw"))
    assert trends.terminals["time"].iloc[0] == pd.Timestamp("2026-06-16", tz="UTC") - pd.Timedelta(hours=hours)
    assert f"read at the offset that their heading {heading!r} tells" in said(trends)


def test_an_offset_in_a_heading_is_kept_over_a_clock_change(tmp_path):
    trends = read(tmp_path / "x", {"log.csv": under("Time (UTC+1)", SPRING)}, site(tmp_path, zone="Europe/Warsaw"))
    assert len(trends.terminals) == len(SPRING)
    assert SUSPECTED not in said(trends)


def test_an_offset_in_a_heading_over_a_clock_that_skips_an_hour(tmp_path):
    clock = SPRING[(SPRING < "2026-03-29 02:00") | (SPRING >= "2026-03-29 03:00")]
    trends = read(tmp_path / "x", {"log.csv": under("Time (UTC+1)", clock)}, site(tmp_path, zone="Europe/Warsaw"))
    assert trends.terminals["time"].iloc[-1] == pd.Timestamp("2026-03-29 04:00", tz="UTC")
    assert "leave out the hour that the clock of Europe/Warsaw skips" in said(trends)


@pytest.mark.parametrize("heading", ["(UTC+01:00) Warsaw time", "Time (UTC+15)", "Time", "Time +1"])
def test_a_heading_that_tells_no_offset(tmp_path, heading):
    stamps = pd.date_range("2026-06-16", periods=8, freq="15min")
    trends = read(tmp_path / "x", {"log.csv": under(heading, stamps)}, site(tmp_path, zone="Europe/Warsaw"))
    assert trends.terminals["time"].iloc[0] == pd.Timestamp("2026-06-15 22:00", tz="UTC")


def test_an_offset_over_each_of_several_columns_of_stamps(tmp_path):
    rows = "".join(f"2026-06-16 00:{m:02d},2{m % 5},2026-06-16 02:{m:02d},{m + 300}\n" for m in range(0, 60, 5))
    text = f"Zone time (UTC-03:30),VAV-1 ZN-T,Flow time (UTC-03:30),VAV-1 Airflow (L/s)\n{rows}"
    trends = read(tmp_path / "x", {"log.csv": text}, site(tmp_path, zone="Europe/Warsaw"))
    begun = [trends.terminals.dropna(subset=quantity)["time"].iloc[0] for quantity in ("zone_temp", "primary_flow")]
    assert begun == [pd.Timestamp("2026-06-16 03:30", tz="UTC"), pd.Timestamp("2026-06-16 05:30", tz="UTC")]
