"""Terminals in the order of what to do first, and what they cost in a year."""

from dataclasses import replace

import pandas as pd
import pytest

from analyzer.findings.ranked import ranked_terminals
from analyzer.findings.results import Measure, Results
from analyzer.findings.tables import findings_table
from analyzer.findings.yearly import LEAST_LOG, SPREADS, yearly_of_findings, yearly_of_terminals
from analyzer.ledger import Ledger
from analyzer.quantities import TERMINAL
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import TERMINAL_COLUMNS, Trends, in_form, no_air_handlers
from tests.findings.made import RULES, made

WEEK = 7 * 24.0
TAGS = ["VAV-1", "VAV-2", "VAV-3", "VAV-4", "VAV-5"]


def _results(findings, hours: float = WEEK) -> Results:
    start = pd.Timestamp("2026-01-12", tz="UTC")
    table = pd.DataFrame({"terminal": TAGS, "time": start}).reindex(columns=TERMINAL_COLUMNS)
    trends = Trends(
        in_form(table), no_air_handlers(), pd.DataFrame(0.0, TAGS, list(TERMINAL)), "UTC", Ledger([])
    )  # fmt: skip
    schedule = pd.DataFrame(index=pd.Index(TAGS, name="terminal"), columns=list(SCHEDULE), dtype=object)
    verdicts = pd.DataFrame({"terminal": TAGS, "rule": "zone-too-cold", "verdict": "clear"})
    moments = (start, start + pd.Timedelta(hours=hours))
    return Results(
        Site(schedule=schedule), trends, RULES, verdicts, findings, pd.DataFrame(), moments, completeness=None
    )  # fmt: skip


def _priced(terminal: str, rule: str, energy: float, cost: float, **other):
    return made(terminal, rule, measures={"energy": Measure(energy, "kWh"), "cost": Measure(cost, "USD")}, **other)


def _order(findings) -> list[str]:
    return ranked_terminals(_results(findings))["terminal"].tolist()


def test_safety_comes_before_harm_and_harm_before_money():
    found = [
        _priced("VAV-1", "reheat-during-cooling", 500.0, 70.0),
        made("VAV-2", "zone-too-cold", severity="medium", impact="comfort"),
        made("VAV-3", "reheat-without-airflow", severity="high", impact="safety"),
        made("VAV-4", "primary-below-ventilation-minimum", severity="urgent", impact="ventilation"),
    ]
    assert _order(found) == ["VAV-3", "VAV-4", "VAV-2", "VAV-1", "VAV-5"]


def test_among_equal_harm_the_dearer_comes_first_and_firm_before_marginal():
    cold = {"severity": "medium", "impact": "comfort"}
    found = [
        made("VAV-1", "zone-too-cold", **cold),
        made("VAV-2", "zone-too-cold", **cold),
        _priced("VAV-2", "reheat-during-cooling", 50.0, 7.0),
        made("VAV-3", "zone-too-cold", confidence="marginal", **cold),
        _priced("VAV-3", "reheat-during-cooling", 900.0, 90.0),
    ]
    assert _order(found)[:3] == ["VAV-2", "VAV-1", "VAV-3"]


def test_what_is_caused_elsewhere_is_worth_no_ladder():
    shared = made("AHU-1", "air-handler-outage", scope="air_handler", terminals=("VAV-1",), severity="urgent")
    found = [
        shared,
        made("VAV-1", "primary-below-ventilation-minimum", severity="urgent", impact="ventilation", under=shared.id),
        made("VAV-2", "sensor-flatlined", severity="low", impact="data"),
    ]
    table = ranked_terminals(_results(found)).set_index("terminal")
    assert table.index[:2].tolist() == ["VAV-2", "VAV-1"]
    assert table.loc["VAV-1", ["findings", "caused_elsewhere", "ventilation"]].tolist() == [0, 1, ""]
    assert "AHU-1" not in table.index


def test_the_worst_finding_is_the_cause_and_its_consequence_counts_as_harm():
    cause = made("VAV-1", "flow-sensor-drift", severity="high", impact="data")
    found = [cause, made("VAV-1", "zone-too-cold", severity="urgent", impact="comfort", under=cause.id)]
    row = ranked_terminals(_results(found)).iloc[0]
    assert (row["worst_rule"], row["comfort"]) == ("flow-sensor-drift", "urgent")


def test_a_week_is_taken_for_a_year_with_its_range():
    found = _priced("VAV-1", "reheat-during-cooling", 100.0, 14.0)
    row = ranked_terminals(_results([found])).iloc[0]
    weeks = 8760 / WEEK
    assert row["kwh_year"] == round(100 * weeks)
    assert row["cost_year"] == round(14 * weeks)
    spread = SPREADS[-1][1]
    assert (row["kwh_year_low"], row["kwh_year_high"]) == (
        round(100 * weeks * (1 - spread)),
        round(100 * weeks * (1 + spread)),
    )


def test_the_longer_the_log_the_closer_the_range_and_a_few_days_tell_no_year():
    found = _priced("VAV-1", "reheat-during-cooling", 100.0, 14.0)
    widths = []
    for hours in (WEEK, 100 * 24.0, 365 * 24.0):
        energy = yearly_of_findings(_results([found], hours))[found.id].energy
        widths.append((energy.high - energy.low) / energy.value)
    assert widths == sorted(widths, reverse=True) and widths[0] > widths[1] > widths[2]
    assert yearly_of_findings(_results([found], LEAST_LOG - 1)) == {}


def test_a_log_that_ended_counts_by_its_own_length():
    found = _priced("VAV-1", "reheat-during-cooling", 100.0, 14.0)
    results = _results([found], 4 * WEEK)
    ended = replace(found, logged_until=results.moments[0] + pd.Timedelta(hours=WEEK))
    assert yearly_of_findings(_results([ended], 4 * WEEK))[found.id].energy.value == pytest.approx(100 * 8760 / WEEK)


def test_a_marginal_finding_may_cost_nothing():
    found = _priced("VAV-1", "reheat-during-cooling", 100.0, 14.0, confidence="marginal")
    assert yearly_of_findings(_results([found]))[found.id].energy.low == 0


def test_the_same_heat_told_by_two_findings_counts_once():
    found = [
        _priced("VAV-1", "reheat-during-cooling", 100.0, 5.0),
        _priced("VAV-1", "neighbours-fighting", 60.0, 3.0),
        _priced("VAV-1", "fan-running-when-unoccupied", 10.0, 1.4),
    ]
    results = _results(found)
    energy = yearly_of_terminals(results, yearly_of_findings(results))["VAV-1"].energy
    weeks, spread = 8760 / WEEK, SPREADS[-1][1]
    assert energy.value == pytest.approx(110 * weeks)
    assert energy.high == pytest.approx(170 * (1 + spread) * weeks)


def test_a_shared_finding_costs_what_its_terminals_do():
    tags = ("VAV-1", "VAV-2")
    own = [_priced(tag, "reheat-during-cooling", 100.0, 5.0, under="AHU-1/reheat-during-cooling") for tag in tags]
    shared = _priced("AHU-1", "reheat-during-cooling", 100.0, 5.0, scope="air_handler", terminals=tags)
    table = findings_table(_results([shared, *own])).set_index("id")
    assert table.loc[shared.id, "kwh_year"] == pytest.approx(2 * table.loc[own[0].id, "kwh_year"], abs=1)


def test_a_finding_without_a_price_stays_blank():
    table = findings_table(_results([made("VAV-1", "zone-too-cold")]))
    assert pd.isna(table.loc[0, "kwh_year"]) and table.loc[0, "currency"] == ""


@pytest.mark.parametrize(("rule", "priced"), [("reheat-leaking-by", False), ("parallel-fan-on-in-cooling", True)])
def test_heat_that_a_wrong_airflow_reading_implies_has_no_cost(rule, priced):
    """A fan that runs is paid for whatever the reading; heat by airflow and temperatures may be none."""
    sensor = made("VAV-1", "flow-sensor-drift")
    found = _results([sensor, _priced("VAV-1", rule, 50.0, 7.0, under=sensor.id)])
    assert (f"VAV-1/{rule}" in yearly_of_findings(found)) == priced
    assert f"VAV-2/{rule}" in yearly_of_findings(_results([sensor, _priced("VAV-2", rule, 50.0, 7.0)]))
