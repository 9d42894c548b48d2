"""The start of a rule is taken by the rule book, judges nothing, names every key, and its cases fail until it is written."""

import re

import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rule_file import (
    LimitTable,
    _CauseTable,
    _EvidenceTable,
    _GradedTable,
    _MeasureTable,
    _RuleTable,
    _TextTable,
)
from analyzer.engine.rulebook import read_rules
from analyzer.errors import CallError
from analyzer.places import rule_book
from analyzer.rule_start import start_rule
from analyzer.signals import Scene
from tests.rules.case_trends import TERMINAL_TAG, cases_of, site_of, trends_of
from tests.rules.start import start

ID = "zone-too-humid"


@pytest.fixture
def started(tmp_path):
    """A rule and its cases, started in folders of their own."""
    (tmp_path / "cases").mkdir()
    return start(ID, tmp_path / "mine", tmp_path / "cases")


def verdict(rule, case) -> tuple[str, str]:
    """Judge a case by one rule; return the verdict and its reason."""
    judged = judge_building(Scene(trends_of(case), site_of(case)), {rule.id: rule}).verdicts
    row = judged.set_index("terminal").loc[TERMINAL_TAG]
    return row["verdict"], row["reason"]


def test_it_joins_the_rule_book_and_judges_nothing(started):
    rule = read_rules([rule_book(), started[0].parent])[ID]
    for case in cases_of(started[1]):
        told, reason = verdict(rule, case)
        assert told == "not-judged"
        assert "started and not written yet" in reason or "missing: the trend zone_temp" in reason


def test_written_as_its_remark_says_it_judges_its_cases_as_they_are_labelled(started):
    file, cases = started
    file.write_text(file.read_text().replace('judged_when = "0 > 1"', 'judged_when = "occupied"'))
    rule = read_rules([file.parent])[ID]
    assert {case.told["expect"] for case in cases_of(cases)} == {"fault", "clear", "not-judged"}
    for case in cases_of(cases):
        assert verdict(rule, case)[0] == case.told["expect"]


def test_it_names_every_key_that_a_rule_may_have(started):
    told = set(re.findall(r"^(?:# )?(\w+) =", started[0].read_text(), re.MULTILINE))
    told |= set(re.findall(r"^(?:# )?\[+(\w+)", started[0].read_text(), re.MULTILINE))
    told |= set(re.findall(r"[{,] (\w+) = ", started[0].read_text()))
    # A measure of energy, or of what a schedule may not give; what a rule that judges air handlers says of terminals.
    seldom = {"priced_as", "where_unknown", "explains", "terminals_by"}
    for table in (_RuleTable, LimitTable, _MeasureTable, _EvidenceTable, _CauseTable, _GradedTable, _TextTable):
        assert set(table.model_fields) - seldom <= told, table.__name__


def test_a_remark_taken_off_is_valid(started):
    text = re.sub(r"^# (?=[\w\[]+.*[=\]])", "", started[0].read_text(), flags=re.MULTILINE)
    kept = "\n".join(line for line in text.splitlines() if not line.startswith(("# ", "'")))
    started[0].write_text(kept)
    rule = read_rules([rule_book(), started[0].parent])[ID]
    assert rule.milder and rule.graver and rule.evidence and rule.text.caution and rule.best_interval == 60


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ("humid", "is no id"),
        ("Zone-Too-Humid", "is no id"),
        ("../zone-humid", "is no id"),
        ("zone-too-warm", "already"),
        (ID, "already"),
    ],
)
def test_an_id_that_is_none_or_is_taken_is_refused(started, rule, told):
    before = started[0].read_text()
    with pytest.raises(CallError, match=told):
        start_rule(rule, started[0].parent, read_rules([rule_book()]))
    assert started[0].read_text() == before
    assert [file.name for file in started[0].parent.iterdir()] == [f"{ID}.toml"]
