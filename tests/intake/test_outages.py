"""A change-of-value log through a stretch in which its terminal recorded nothing."""

from __future__ import annotations

import pandas as pd

from analyzer.intake import read_exports
from analyzer.intake.grid import rows
from analyzer.intake.limits import SILENCE_LIMIT_HOURS
from analyzer.site import Site

DAY = pd.Timestamp("2026-01-26", tz="UTC")
OUTAGE = (pd.Timedelta(hours=6), pd.Timedelta(hours=16))  # ten hours without a record


def export(outage: bool, changes: tuple[str, ...] = ()) -> str:
    """A day of zone temperatures at 15 minutes, and a fan that starts at one in the morning; then ``changes``."""
    lines = ["Time,Point,Value"]
    for minutes in range(0, 24 * 60, 15):
        since = pd.Timedelta(minutes=minutes)
        if not (outage and OUTAGE[0] < since < OUTAGE[1]):
            lines.append(f"{(DAY + since):%Y-%m-%d %H:%M},FPB-1 ZN-T (degF),{70 + minutes % 7}")
    fan = ["00:10,Off", "01:00,On", *changes]
    lines += [f"2026-01-26 {text.replace(',', ',FPB-1 FAN STS,')}" for text in fan]
    return "\n".join(lines) + "\n"


def read(tmp_path, text: str):
    path = tmp_path / "log.csv"
    path.write_text(text)
    trends = read_exports([path], Site())
    table = trends.terminals
    told = trends.ledger
    return table.set_index(table["time"] - DAY), told.assumptions


def test_without_an_outage_the_value_stands_all_day(tmp_path):
    table, said = read(tmp_path, export(outage=False))
    assert (table["fan_status"][pd.Timedelta(hours=1) :] == 1).all()
    assert not any("nothing was recorded" in sentence.lower() for sentence in said)


def test_in_an_outage_the_value_stands_for_the_limit_and_again_after_it(tmp_path):
    table, said = read(tmp_path, export(outage=True))
    held = OUTAGE[0] + pd.Timedelta(hours=SILENCE_LIMIT_HOURS)
    fan = table["fan_status"]
    assert (fan[pd.Timedelta(hours=1) : held] == 1).all()
    assert not len(fan[held + pd.Timedelta(minutes=1) : OUTAGE[1] - pd.Timedelta(minutes=1)])
    assert (fan[OUTAGE[1] :] == 1).all()
    assert any("more than 4 h" in sentence and "FPB-1" in sentence for sentence in said)


def test_a_change_within_the_outage_is_a_record(tmp_path):
    table, _ = read(tmp_path, export(outage=True, changes=("09:30,Off",)))
    fan = table["fan_status"]
    assert fan[pd.Timedelta(hours=9, minutes=30)] == 0
    assert fan[pd.Timedelta(hours=13, minutes=30)] == 0
    assert pd.Timedelta(hours=13, minutes=45) not in fan.index


def test_an_interval_log_that_ends_is_no_outage(tmp_path):
    text = export(outage=False, changes=("23:00,Off",)).splitlines()
    early = [line for line in text if "ZN-T" not in line or line.split(",")[0] < "2026-01-26 08:00"]
    table, said = read(tmp_path, "\n".join(early) + "\n")
    fan = table["fan_status"]
    assert (fan[pd.Timedelta(hours=1) : pd.Timedelta(hours=22, minutes=45)] == 1).all()
    assert len(fan) == 4 * 23 + 1  # to the last change
    assert not any("nothing was recorded" in sentence.lower() for sentence in said)


def test_a_clock_that_jumped_reads_the_same(tmp_path, monkeypatch):
    usual, _ = read(tmp_path, export(outage=True))
    monkeypatch.setattr(rows, "_MOST_SLOTS", 10)
    listed, _ = read(tmp_path, export(outage=True))
    pd.testing.assert_frame_equal(usual, listed)
