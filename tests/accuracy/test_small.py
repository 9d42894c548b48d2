"""The measurement in small: two days of 60 terminals, two thirds of them with a fault; its page can be made."""

from __future__ import annotations

from datetime import date

import pytest

from tests.accuracy.measure import INTERVALS, Measured, measure
from tests.accuracy.page import page
from tests.accuracy.plan import Week

CLEAR_CUT = {"sensor-implausible", "series-fan-off-when-occupied", "fan-running-when-unoccupied", "setpoints-too-close"}


@pytest.fixture(scope="module")
def measured() -> Measured:
    return measure([Week("mild", 6200, terminals=60, each=1, days=2)])


def test_no_finding_in_a_sound_terminal(measured):
    assert measured.sound_weeks >= 15
    false = measured.findings[measured.findings["sound"]]
    assert false.empty, false.to_string()


def test_clear_cut_faults_are_found_at_every_interval(measured):
    seeded = measured.seeded[measured.seeded["rule"].isin(CLEAR_CUT) & measured.seeded["shown"]]
    assert set(seeded["rule"]) == CLEAR_CUT
    assert set(seeded["interval"]) == set(INTERVALS)
    missed = seeded[seeded["verdict"] != "fault"]
    assert missed.empty, missed.to_string()


def test_the_page_tells_every_rule_and_what_was_counted(measured):
    told = page(measured, date(2026, 2, 3))
    assert told.startswith("# How often the rule book is right")
    assert "on 2026-02-03: 60 terminal-weeks" in told
    assert all(told.count(f"| {rule} |") >= len(INTERVALS) for rule in measured.rules)
    counted = measured.seeded[(measured.seeded["interval"] == 5) & (measured.seeded["rule"] == "sensor-implausible")]
    shown = int(counted["shown"].sum())
    assert f"| sensor-implausible | {len(counted)} | {shown} | {shown} | {shown} | 0 | 100% |" in told
