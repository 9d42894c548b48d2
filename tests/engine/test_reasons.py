"""Why something was not judged: the input that is really missing or really poor, and no other."""

import numpy as np
import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import SIGNALS, Scene
from analyzer.signals.made_of import FACT, MADE_OF, POINT, SCHEDULED, SIGNAL, TREND, Input, inputs_of, made_of
from tests.rules.case_trends import TERMINAL_TAG, Case, site_of, trends_of

RULES = read_rules([rule_book()])
HEATING = {"zone_temp": 19.0, "heating_setpoint": 21.0, "reheat_position": 100, "primary_flow": 90, "occupied": 1}


def judged(rule: str, *, thinned: dict | None = None, **told) -> dict:
    """Judge one terminal by a rule; ``thinned`` names points of which only every so many samples are kept."""
    case = Case(rule, {"name": "as told", **told})
    trends = trends_of(case)
    for name, step in (thinned or {}).items():
        trends.terminals[name] = trends.terminals[name].where(np.arange(len(trends.terminals)) % step == 0)
    judgement = judge_building(Scene(trends, site_of(case)), {rule: RULES[rule]})
    rows = judgement.verdicts.set_index("terminal").loc[TERMINAL_TAG]
    return {**rows, "gaps": judgement.gaps.query("terminal == @TERMINAL_TAG")}


def test_a_full_call_without_the_entering_temperature_asks_for_that_temperature_and_nothing_that_is_there():
    told = judged("reheat-leaking-by", trends={**HEATING, "reheat_position": 0, "discharge_temp": 18.0})
    assert told["reason"].startswith(
        "missing: the trend primary_temp, or the air handler's supply_temp; only 0.0 h of 23.6 h "
    )
    (gap,) = told["gaps"].to_dict("records")
    assert (gap["what"], gap["point"]) == ("trend", "primary_temp, or the air handler's supply_temp")


def test_a_series_unit_lacks_its_fans_flow_as_well():
    told = judged(
        "reheat-leaking-by",
        schedule={"kind": "series", "reheat": "hot-water"},
        trends={**HEATING, "reheat_position": 0, "discharge_temp": 18.0, "fan_status": 1},
        air_handler={"supply_temp": 13.0},
    )
    assert told["reason"].startswith(
        "missing: the trend discharge_flow, or fan_flow in the terminal schedule; only 0.0 h of 23.6 h "
    )


def test_a_context_that_did_not_come_says_so_though_something_is_missing_as_well():
    trends = {name: value for name, value in HEATING.items() if name != "zone_temp"}
    told = judged("reheat-leaking-by", trends={**trends, "discharge_temp": 30.0})
    context = RULES["reheat-leaking-by"].text.context
    assert told["reason"].startswith(
        f"{context}: 0.0 h of the 3.0 h required; also missing: one of: the trend primary_temp"
    )
    assert told["gaps"]["what"].tolist() == ["context"]  # the temperature alone would settle nothing


def test_the_setpoint_is_blamed_and_not_the_zone_temperature():
    told = judged("zone-too-cold", trends={"zone_temp": "20 with noise 0.3", "occupied": 1})
    assert "heating_setpoint" in told["reason"] and "zone_temp" not in told["reason"]


def test_sparse_samples_are_counted():
    told = judged("zone-too-cold", trends=HEATING, days=5, thinned={"zone_temp": 100})
    assert told["verdict"] == "not-judged"
    assert "samples are missing or too far apart: zone_temp has 15 samples of 1,440" in told["reason"]
    (gap,) = told["gaps"].to_dict("records")
    assert (gap["what"], gap["point"]) == ("samples", "zone_temp")


def test_starts_are_counted_from_the_fans_status_and_not_asked_for_beside_it():
    told = judged(
        "fan-short-cycling",
        schedule={"kind": "parallel"},
        interval="15 min",
        trends={"fan_status": {"00:00": 0, "06:00": 1}},
    )
    assert told["reason"].startswith("logging interval too long to show it: fan_status; 5 min or less is needed")
    assert told["gaps"]["point"].tolist() == ["fan_status"]


def test_a_log_that_ended_says_when():
    trends = {**HEATING, "zone_temp": "19 with noise 0.2"}
    case = Case("zone-too-cold", {"name": "ended", "trends": trends, "days": 5})
    table = trends_of(case)
    table.terminals.loc[36:, "zone_temp"] = np.nan
    judgement = judge_building(Scene(table, site_of(case)), {"zone-too-cold": RULES["zone-too-cold"]})
    reason = judgement.verdicts["reason"].iloc[0]
    assert "zone_temp has 36 samples of 1,440, the last on 2026-01-12 02:55" in reason


def test_hours_just_after_occupancy_are_told_apart():
    """The air handler is off for two hours after closing time, which the rule leaves to run-on."""
    told = judged(
        "fan-running-when-unoccupied",
        schedule={"kind": "series", "reheat": "electric"},
        days=4,
        trends={"fan_status": 0, "zone_temp": 21, "heating_setpoint": 16, "reheat_position": 0},
        air_handler={"supply_fan_status": {"00:00": 1, "18:00": 0, "20:00": 1}},
    )
    assert "0.0 h of the 4.0 h required (" in told["reason"]
    assert "h more in the first hours after occupancy or of the log)" in told["reason"]


def test_hours_that_were_judged_are_not_told_as_none():
    """A trend that only an alternative would take leaves in doubt no hour that was judged without it."""
    told = judged(
        "fan-running-when-unoccupied",
        schedule={"kind": "series"},
        days=4,
        trends={"fan_status": 0, "zone_temp": 21, "heating_setpoint": 16},
        air_handler={"supply_fan_status": {"00:00": 1, "21:00": 0, "21:45": 1}},
    )
    assert told["verdict"] == "not-judged"
    assert told["judged_hours"] == pytest.approx(2.25)
    assert "for heat: 2.3 h of the 4.0 h required" in told["reason"]


def test_what_alone_kept_a_rule_from_judging_is_told():
    told = judged(
        "series-fan-off-when-occupied",
        schedule={"kind": "series"},
        trends={"fan_status": 0},
        air_handler={"supply_fan_status": 0},
    )
    assert "0.0 h of the 2.0 h required (11.0 h more with the air handler off or without air)" in told["reason"]


def test_one_way_that_says_no_is_no_want_of_the_other():
    told = judged(
        "reheat-during-cooling",
        schedule={"reheat": "hot-water"},
        trends={"zone_temp": 21.0, "cooling_setpoint": 24.0, "reheat_position": 40},
    )
    context = RULES["reheat-during-cooling"].text.context
    assert told["reason"].startswith(f"{context}: 0.0 h of the 1.0 h required; ")
    assert "; more could be judged with " in told["reason"] and "the trend primary_flow" in told["reason"]


def test_a_value_of_the_schedule_is_asked_for_as_such():
    told = judged(
        "inlet-overpressure", trends={"primary_flow": 90, "damper_position": 20, "occupied": 1}, days=2
    )  # fmt: skip
    assert told["reason"] == "missing: balanced_max or primary_max in the terminal schedule"
    (gap,) = told["gaps"].to_dict("records")
    assert gap["what"] == "schedule" and np.isnan(gap["interval"])


@pytest.mark.parametrize("rule", RULES.values(), ids=list(RULES))
def test_nothing_that_is_there_is_ever_named_as_missing(rule):
    """With every trend there at one value and no schedule, no reason names a trend as missing."""
    from analyzer.quantities import TERMINAL

    trends = {name: 20.0 for name in TERMINAL if name not in ("fan_starts", "occupied")} | {
        "occupied": 1,
        "fan_status": 1,
    }
    schedule = {
        "kind": "series"
        if "series" in rule.applies_to
        else "parallel"
        if "parallel" in rule.applies_to
        else "single-duct"
    }
    if "air-handler" in rule.applies_to:
        pytest.skip("judges air handlers")
    case = Case(rule.id, {"name": "all there", "trends": trends, "schedule": schedule})
    judgement = judge_building(Scene(trends_of(case), site_of(case)), {rule.id: rule})
    for reason in judgement.verdicts["reason"]:
        assert "the trend " not in reason.split("would settle")[0] or "missing" not in reason, reason


# What signals are made of --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SIGNALS)
def test_every_signal_is_made_of_inputs(name):
    sorts = {wanted.sort for wanted in inputs_of(made_of(name))}
    assert sorts and sorts <= {FACT, POINT, SCHEDULED, SIGNAL, TREND}


def test_every_definition_is_of_a_signal():
    assert set(MADE_OF) <= set(SIGNALS), "a signal is gone: take its definition out of analyzer/signals/made_of.py"


@pytest.mark.parametrize("name", sorted(set(SIGNALS) - set(MADE_OF)))
def test_a_signal_of_several_inputs_is_defined(name):
    """A signal whose ``settled_by`` names things beyond the trends that it needs has a definition of its own."""
    told, needs = SIGNALS[name].settled_by, SIGNALS[name].needs
    if made_of(name) == Input(SIGNAL, name):
        assert " and " not in told or "schedule" in told or "neighbour" in name, f"{name}: define it in made_of.py"
    else:
        assert "schedule" not in told and "air handler's" not in told, f"{name} is made of more than {needs}"


@pytest.mark.parametrize(("until", "in_the_dark"), [("16:00", False), ("09:00", True)])
def test_a_context_that_did_not_come_in_most_of_the_time_is_said_before_what_was_not_known_in_the_rest(
    until, in_the_dark
):
    """Until then the valve is known to be shut; after it, for a third of the day or for most of it, it is not logged."""
    told = judged(
        "reheat-with-high-primary",
        schedule={"reheat": "hot-water", "primary_max": 200, "heating_primary": 60, "primary_min": 60},
        air_handler={"supply_temp": 13.0},
        trends={**HEATING, "zone_temp": 21.0, "discharge_temp": 22.0, "reheat_position": {"00:00": 0, until: "none"}},
    )
    context = RULES["reheat-with-high-primary"].text.context
    assert told["reason"].startswith(context) is not in_the_dark
    assert "samples are missing or too far apart: reheat_position has" in told["reason"]


# What is missing, and what did not come ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("schedule", "trends", "missing"),
    [
        ({"air_handler": ""}, {}, "missing: air_handler in the terminal schedule"),
        ({}, {"damper_position": None}, "missing: the trend damper_position"),
    ],
    ids=["a damper, and no air handler", "an air handler, and no damper"],
)
def test_a_driver_lacks_its_air_handler_or_its_damper_and_never_what_is_there(schedule, trends, missing):
    told = {"damper_position": 100, "zone_temp": 23, "occupied": 1} | trends
    told = judged(
        "holds-back-reset", schedule=schedule, trends={n: v for n, v in told.items() if v is not None}, days=3
    )
    assert told["reason"].startswith(missing)
    assert not (told["reason"].count("damper_position") and trends == {})


DEMAND = {"damper_position": 100, "zone_temp": 25, "cooling_setpoint": 24, "heating_setpoint": 21, "occupied": 1}


def test_no_hours_are_counted_of_a_demand_that_takes_a_way_of_judging_that_is_not_there():
    told = judged("starved-terminal", trends=DEMAND)
    assert told["reason"].startswith("missing: the trend primary_flow; and one of: ")


def test_a_demand_that_one_way_knows_not_to_have_come_is_told_as_such():
    told = judged(
        "starved-terminal", trends=DEMAND | {"primary_flow_setpoint": 60, "primary_flow": 60} | {"damper_position": 40}
    )
    assert told["reason"].startswith(f"{RULES['starved-terminal'].text.context}: 0.0 h of the 1.0 h required")


@pytest.mark.parametrize(("flow", "more"), [(0, False), (60, True)])
def test_a_throttled_damper_without_air_counts_nowhere(flow, more):
    """By day the damper is open enough; by night it is throttled, and air passes it or does not."""
    told = judged(
        "inlet-overpressure",
        schedule={"primary_max": 100, "balanced_max": 100},
        trends={
            "damper_position": {"00:00": 40, "07:00": 75, "18:00": 40},
            "primary_flow": {"00:00": flow, "07:00": 90, "18:00": flow},
        },
        days=3,
    )
    assert told["verdict"] == "not-judged"
    assert ("more outside the occupied hours" in told["reason"]) is more
