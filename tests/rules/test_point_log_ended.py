"""The rule of logs that end names every quantity of a terminal."""

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals.log_ends import ENDING

RULE = read_rules([rule_book()])["point-log-ended"]


@pytest.mark.parametrize("name", ENDING)
def test_every_quantity_has_its_measure_and_its_evidence(name):
    add = f"add it to rules/point-log-ended.toml as co2 has it: {name}"
    assert name in RULE.measures, add
    assert any(f"{{{name}}}" in evidence.say for evidence in RULE.evidence), add
