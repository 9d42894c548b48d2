"""What goes under what: within whose time a finding lies, and how severe a cause has to be."""

import pandas as pd
import pytest

from analyzer.engine.explained import Explained
from analyzer.findings.causes import put_under_causes, without_wrong_support
from analyzer.findings.results import Episode, Measure
from tests.findings.made import RULES, START, made

CAUSE = "AHU-1/air-handler-outage"


def hours(*spans: tuple[float, float]) -> tuple[Episode, ...]:
    hour = pd.Timedelta(hours=1)
    return tuple(Episode(START + first * hour, START + last * hour) for first, last in spans)


def goes_under(spans, *, rule="zone-too-cold", covers=(), perhaps=(), fault=(0, 10)) -> bool:
    """Whether a finding at TU-1 goes under an outage of AHU-1 in the hours of ``fault``."""
    finding = made("TU-1", rule, episodes=hours(*spans))
    times = tuple((START + pd.Timedelta(hours=hour)).timestamp() for hour in fault)
    own = Explained("air-handler-outage", "AHU-1", None, (), covers, (rule,), (times,), perhaps=perhaps)
    (found,) = put_under_causes([finding], RULES, [own])
    assert found.under in (None, CAUSE)
    return found.under == CAUSE


@pytest.mark.parametrize(
    ("rule", "last", "under"),
    [
        ("zone-too-cold", 16, True),
        ("zone-too-cold", 24, True),
        ("zone-too-cold", 26, False),
        ("starved-terminal", 16, False),
    ],
)
def test_what_an_outage_brought_to_a_room_is_over_half_a_day_after_it_and_air_is_there_at_once(rule, last, under):
    """From the last hour of the outage on; two hours, and a fifth, past what it explains are allowed."""
    assert goes_under([(9, last)], rule=rule, covers=("TU-1",)) == under


def test_a_finding_of_the_next_day_is_not_explained():
    assert not goes_under([(24, 30)], covers=("TU-1",))


@pytest.mark.parametrize(("later", "under"), [([(30, 32)], True), ([(30, 32.5)], True), ([(30, 33)], False)])
def test_what_a_terminal_shows_for_hours_at_other_times_too_is_its_own(later, under):
    """Ten hours within the outage and its recovery; a fifth of all is the most that may lie elsewhere."""
    assert goes_under([(2, 12), *later], covers=("TU-1",)) == under


@pytest.mark.parametrize(
    ("spans", "under"), [([(2, 12)], True), ([(2, 12), (30, 31)], True), ([(2, 12), (30, 32)], False)]
)
def test_at_a_terminal_of_nobody_nearly_all_of_it_has_to_lie_within(spans, under):
    assert goes_under(spans, perhaps=("TU-1",)) == under
    assert goes_under(spans, covers=("TU-1",))
    assert not goes_under(spans, perhaps=("TU-2",))


def under_a_low_cause(cause: str, follower: str, severity: str, of_cause: str = "low") -> bool:
    causes = [made("TU-1", cause, severity=of_cause)]
    found = put_under_causes([*causes, made("TU-1", follower, severity=severity)], RULES, [])
    return found[1].under is not None


@pytest.mark.parametrize("severity", ["urgent", "high", "medium", "low"])
def test_a_low_cause_hides_nothing_urgent_or_high(severity):
    assert RULES["fan-short-of-flow"].explains_when_low
    follower = next(name for name, rule in RULES.items() if "fan-short-of-flow" in rule.follows_from)
    assert under_a_low_cause("fan-short-of-flow", follower, severity) == (severity in ("medium", "low"))


@pytest.mark.parametrize("cause", ["setpoints-too-close", "setpoint-out-of-policy"])
@pytest.mark.parametrize("severity", ["high", "medium", "low"])
def test_a_low_pair_of_setpoints_explains_only_what_is_low(cause, severity):
    assert under_a_low_cause(cause, "neighbours-fighting", severity) == (severity == "low")
    assert under_a_low_cause(cause, "neighbours-fighting", severity, of_cause="medium")


def _beside_the_minimum(impact: str, follower: str = "primary-below-ventilation-minimum") -> str | None:
    """What a finding goes under, beside a minimum that lies off the schedule."""
    found = [made("TU-1", "minimum-setpoint-off-schedule", impact=impact), made("TU-1", follower, severity="medium")]
    return put_under_causes(found, RULES, [])[1].under


def test_too_low_a_minimum_explains_too_little_ventilation_air_and_too_high_a_one_does_not():
    assert _beside_the_minimum("ventilation") == "TU-1/minimum-setpoint-off-schedule"
    assert _beside_the_minimum("energy") is None


def test_too_high_a_minimum_explains_reheat_of_cold_air_and_too_low_a_one_does_not():
    assert _beside_the_minimum("energy", "reheat-with-high-primary") == "TU-1/minimum-setpoint-off-schedule"
    assert _beside_the_minimum("ventilation", "reheat-with-high-primary") is None


def test_a_damper_that_moves_no_air_explains_a_starved_terminal_and_air_past_a_shut_damper():
    followers = [made("TU-1", name) for name in ("starved-terminal", "flow-with-closed-damper")]
    found = put_under_causes([made("TU-1", "damper-not-moving-air"), *followers], RULES, [])
    assert [each.under for each in found] == [None, *2 * ["TU-1/damper-not-moving-air"]]
    found = put_under_causes([made("TU-2", "damper-not-moving-air"), *followers], RULES, [])
    assert [each.under for each in found] == [None, None, None]


def test_a_blade_that_does_not_close_explains_an_airflow_that_waits_for_the_position():
    """The airflow stands still until the position passes where the blade does: no slow actuator."""
    slow = made("TU-1", "slow-to-respond", severity="low")
    found = put_under_causes([made("TU-1", "flow-with-closed-damper"), slow], RULES, [])
    assert [each.under for each in found] == [None, "TU-1/flow-with-closed-damper"]
    found = put_under_causes([made("TU-2", "flow-with-closed-damper"), slow], RULES, [])
    assert [each.under for each in found] == [None, None]


def test_a_stuck_sensor_explains_a_flow_that_repeats_and_no_log_that_ended():
    def under(measure: str) -> str | None:
        ended = made("TU-1", "point-log-ended", measures={measure: Measure(48.0, "h")})
        return put_under_causes([made("TU-1", "sensor-flatlined"), ended], RULES, [])[1].under

    assert under("repeats") == "TU-1/sensor-flatlined"
    assert under("ended") is None


OVERRIDE = {
    "reheat-during-cooling": "Manual override of the reheat output: the signal stays at one value through the hours in use.",
    "reheat-without-airflow": "Manual override of the reheat output: the signal stays at one value, at night too.",
}


@pytest.mark.parametrize(
    ("cooling", "night", "under"), [(True, True, True), (True, False, False), (False, True, False)]
)
def test_an_override_that_both_show_lasts_beyond_the_hours_of_cooling(cooling, night, under):
    """Nights before and after the warm afternoons: the same override is told once, another cause by itself."""
    support = {rule: (OVERRIDE[rule],) if seen else () for rule, seen in zip(OVERRIDE, (cooling, night), strict=True)}
    cause = made("TU-1", "reheat-during-cooling", supported_causes=support["reheat-during-cooling"])
    nights = {"episodes": hours((-60, -40), (40, 60)), "severity": "low", "impact": "energy"}
    other = made("TU-1", "reheat-without-airflow", supported_causes=support["reheat-without-airflow"], **nights)
    found = put_under_causes([cause, other], RULES, [])
    assert (found[1].under == cause.id) == under


def test_no_cause_is_supported_by_a_reading_that_is_wrong():
    """Starved under a flow sensor that reads low is no sign of a short duct; under a lack of duct pressure it is."""
    sensor = made("TU-1", "flow-sensor-drift", supported_causes=("Sensor tubing kinked.",))
    air = made("AHU-1", "air-handler-short-of-pressure", scope="air_handler")
    short = {"supported_causes": ("Duct pressure too low.",)}
    findings = [
        sensor,
        air,
        made("TU-1", "starved-terminal", under=sensor.id, **short),
        made("TU-1", "primary-below-ventilation-minimum", under="TU-1/starved-terminal", **short),
        made("TU-2", "starved-terminal", under=air.id, **short),
    ]
    assert [bool(finding.supported_causes) for finding in without_wrong_support(findings)] == [
        True,
        False,
        False,
        False,
        True,
    ]


def _warm_beside(reheat, starved, warm=((10, 13),)) -> str | None:
    """Under what a room that was too warm in some hours goes: reheat in cooling, or a starved terminal."""
    found = [
        made(
            "TU-1", name, impact=impact, episodes=hours(*spans), start=hours(*spans)[0].start, end=hours(*spans)[-1].end
        )
        for name, impact, spans in (
            ("zone-too-warm", "comfort", warm),
            ("reheat-during-cooling", "energy", reheat),
            ("starved-terminal", "comfort", starved),
        )
    ]
    return put_under_causes(found, RULES, [])[0].under


def test_what_came_and_went_with_a_finding_explains_it_before_what_went_on_for_days():
    assert _warm_beside(reheat=[(9, 20), (33, 44), (57, 68)], starved=[(9, 13)]) == "TU-1/starved-terminal"


def test_a_cause_of_the_same_hours_stays_the_first_and_one_of_many_other_hours_is_no_better():
    assert _warm_beside(reheat=[(9, 20)], starved=[(9, 13)]) == "TU-1/reheat-during-cooling"
    days = [(9, 20), (33, 44), (57, 68)]
    assert _warm_beside(reheat=days, starved=days) == "TU-1/reheat-during-cooling"
