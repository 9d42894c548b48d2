"""Windows that are left out of judging: neither judged, nor used, nor spanned by an episode; the verdict says so."""

import numpy as np
import pandas as pd
import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import TERMINAL_TAG, Case, site_of, trends_of

RULES = read_rules([rule_book()])
COLD = {"zone_temp": 17.0, "heating_setpoint": 21.0, "cooling_setpoint": 24.0, "occupied": 1}
# The setpoint counts as new after the window: a zone 4 K below it gets 18 minutes a kelvin, to the next sample [h].
ITS_TIME = 75 / 60
NOON = ["2026-01-12 10:00", "2026-01-12 14:00", "functional test"]


def judged(rule: str, **told):
    case = Case(rule, {"name": "as told", **told})
    judgement = judge_building(Scene(trends_of(case), site_of(case)), {rule: RULES[rule]})
    return judgement.verdicts.set_index("terminal").loc[TERMINAL_TAG], judgement.terminals.episodes[rule]


def test_excluded_hours_are_not_judged_and_no_episode_spans_them():
    whole, _ = judged("zone-too-cold", trends=COLD)
    verdict, episodes = judged("zone-too-cold", trends=COLD, excluded=[NOON])
    assert verdict["fault_hours"] == pytest.approx(whole["fault_hours"] - 4 - ITS_TIME, abs=0.01)
    assert verdict["judged_hours"] == pytest.approx(whole["judged_hours"] - 4 - ITS_TIME, abs=0.01)
    start, end = (pd.Timestamp(edge, tz="America/Chicago").timestamp() for edge in NOON[:2])
    assert len(episodes.start) == 2
    assert not ((episodes.start < end) & (episodes.end > start)).any()


def test_a_short_window_is_not_bridged():
    """One sample of five minutes left out parts an episode, though a missing sample would not."""
    one = ["2026-01-12 10:00", "2026-01-12 10:05", "calibration"]
    _, episodes = judged("zone-too-cold", trends=COLD, excluded=[one])
    assert len(episodes.start) == 2


def test_a_fault_within_the_window_only_is_no_fault():
    trends = COLD | {"zone_temp": {"00:00": 21.5, "10:00": 15.0, "14:00": 21.5}}
    assert judged("zone-too-cold", trends=trends)[0]["verdict"] == "fault"
    assert judged("zone-too-cold", trends=trends, excluded=[NOON])[0]["verdict"] == "clear"


def test_starts_within_the_window_do_not_count():
    trends = {"fan_status": {"00:00": 0, "09:00": 1, "10:00": "0/1 every 5 min", "13:00": 1, "15:00": 0}}
    told = {"schedule": {"kind": "parallel"}, "trends": trends, "on_change": ["fan_status"]}
    assert judged("fan-short-cycling", **told)[0]["verdict"] == "fault"
    assert judged("fan-short-cycling", **told, excluded=[NOON])[0]["verdict"] == "clear"


def test_what_is_left_out_whole_says_why():
    day = ["2026-01-12", "2026-01-13", "balancing day"]
    verdict, _ = judged("zone-too-cold", trends=COLD, excluded=[day])
    assert verdict["verdict"] == "not-judged"
    assert verdict["reason"] == "left out of judging by the site file: balancing day"


def test_what_is_left_out_for_the_most_part_says_how_much():
    most = ["2026-01-12 02:00", "2026-01-13", "functional test"]
    verdict, _ = judged("zone-too-cold", trends=COLD, excluded=[most])
    assert verdict["reason"].endswith("22.0 h were left out of judging by the site file")


@pytest.mark.parametrize(("window", "told"), [(NOON, False), (["2026-01-12 21:00", "2026-01-13", "test"], True)])
def test_hours_in_which_the_rule_never_judges_are_not_told_as_left_out(window, told):
    """The office hours are no loss to a rule that judges outside of them; its twin is a window of the night."""
    trends = {"fan_status": 1, "zone_temp": 21, "heating_setpoint": 16, "cooling_setpoint": 29}
    running = {"supply_fan_status": 1}
    verdict, _ = judged(
        "fan-running-when-unoccupied",
        days=2,
        schedule={"kind": "series"},
        trends=trends,
        air_handler=running,
        excluded=[window],
    )
    assert verdict["verdict"] == "not-judged"
    assert ("3.0 h were left out" in verdict["reason"]) == told
    assert ("left out" in verdict["reason"]) == told


def test_terminals_that_are_not_named_are_judged_as_before():
    case = Case("zone-too-cold", {"name": "two", "trends": COLD, "companions": [COLD], "excluded": [NOON]})
    site = site_of(case)
    (window,) = site.excluded
    site = type(site)(**{**vars(site), "excluded": (type(window)(window.start, window.end, window.why, ("TU-2",)),)})
    verdicts = judge_building(Scene(trends_of(case), site), {"zone-too-cold": RULES["zone-too-cold"]}).verdicts
    hours = verdicts.set_index("terminal")["judged_hours"]
    assert hours["TU-1"] - hours["TU-2"] == pytest.approx(4 + ITS_TIME, abs=0.01)


def test_day_statistics_do_not_use_it():
    case = Case("zone-too-cold", {"name": "masked", "trends": COLD, "excluded": [NOON]})
    scene = Scene(trends_of(case), site_of(case))
    zone = scene.trend("zone_temp")
    assert np.isnan(zone[scene.excluded]).all() and not np.isnan(zone[~scene.excluded]).any()
    part = Scene.part(scene, np.array([True]))
    assert part is scene
