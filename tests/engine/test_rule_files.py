"""Rule files: what is wrong is refused with file, field and remedy; the site moves limits and switches rules off."""

import shutil

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.errors import RuleError, SiteError
from analyzer.places import rule_book
from analyzer.site import Site

SHIPPED = rule_book() / "reheat-during-cooling.toml"


def broken(tmp_path, old: str, new: str):
    """Return a folder with one shipped rule in which a piece of text was changed."""
    text = SHIPPED.read_text()
    assert old in text
    (tmp_path / SHIPPED.name).write_text(text.replace(old, new, 1))
    return tmp_path


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("fault_when", "fault_wen", r"unknown key 'fault_wen' \(did you mean 'fault_when'\?\)"),
        ('impact = "energy"', 'impact = "enrgy"', "impact: .*'energy'"),
        ("[limits.above_setpoint]\nvalue", "[limits.above_setpoint]\nvalu", r"limits.above_setpoint.valu.*did you mean 'value'"),
        ('unit = "K"', 'unit = "kelvins"', "limits.above_setpoint.unit: 'kelvins' is no known unit"),
        ("reheat_position > reheat_open", "reheat_pos > reheat_open", r"fault_when: unknown name 'reheat_pos' \(did you mean 'reheat_position'\?\)"),
        ("reheat_position > reheat_open", "reheat_position + reheat_open", "fault_when: .* is a number where a condition is needed"),
        ("reheat_position > reheat_open", "reheat_position.real > 3", "'reheat_position.real' is not allowed"),
        ("averaged {reheat}", "averaged {rehaet}", r"text.seen: {rehaet} is no measure or limit .*did you mean 'reheat'"),
        ("averaged {reheat}", "averaged {reheat", "text.seen: "),
        ('needs = ["reheat_position"]', 'needs = ["reheat"]', "needs: 'reheat' is no trend"),
        ('expression = "reheat_position"', 'expression = "flow_called"', "measures.reheat.unit: 'flow_called' is a fraction, and '%' a percent"),
        ('accuracy = "zone_temp"', 'accuracy = "zone"', "limits.above_setpoint.accuracy: 'zone' is no quantity"),
        ('accuracy = "zone_temp"', 'uncertainty = "zone_tmp"', "limits.above_setpoint.uncertainty: unknown name 'zone_tmp'"),
        ('accuracy = "zone_temp"', 'uncertainty = "zone_temp > 3"', "limits.above_setpoint.uncertainty: .* is a condition where a number is needed"),
        ('accuracy = "zone_temp"', 'uncertainty = "flow_drift"', "limits.above_setpoint.uncertainty: the signal .* needs a limit 'full_damper'"),
        ('applies_to = ["all"]', 'applies_to = ["air-handler"]', "'co2' is a terminal's; a rule that judges air handlers names their own points"),
        ('site_checks', 'who_acts = "controls, then balancer"\nsite_checks', r"who_acts: .*'balancer' is nobody who acts"),
        ('lasting = "15 min"', "lasting = 15", "lasting: 15 carries no unit"),
        ('retest = "', 'retest = "" # "', "text.retest: is empty"),
        ('title = "', 'title = ', "is not valid TOML"),
    ],
)  # fmt: skip
def test_mistake_is_refused_with_file_field_and_remedy(tmp_path, old, new, told):
    with pytest.raises(RuleError, match=told) as caught:
        read_rules([broken(tmp_path, old, new)])
    assert str(caught.value).startswith(str(tmp_path / SHIPPED.name))
    assert len(str(caught.value)) < 1000


def test_a_signal_needs_its_limits(tmp_path):
    text = (rule_book() / "primary-below-ventilation-minimum.toml").read_text()
    (tmp_path / "own-rule.toml").write_text(text.replace("[limits.averaging_time]", "[limits.averaging_tim]"))
    with pytest.raises(RuleError, match="'ventilation_air_average' needs a limit 'averaging_time'"):
        read_rules([tmp_path])


def test_file_name_is_the_id(tmp_path):
    shutil.copy(SHIPPED, tmp_path / "My Rule.toml")
    with pytest.raises(RuleError, match="a rule's file name is its id"):
        read_rules([tmp_path])


def test_a_rule_of_the_users_own_joins_the_book_and_may_not_take_a_shipped_id(tmp_path):
    shutil.copy(SHIPPED, tmp_path / "reheat-in-summer.toml")
    assert {"reheat-in-summer", "reheat-during-cooling"} <= set(read_rules([rule_book(), tmp_path]))
    shutil.copy(SHIPPED, tmp_path / SHIPPED.name)
    with pytest.raises(RuleError, match="has a rule 'reheat-during-cooling' already"):
        read_rules([rule_book(), tmp_path])


def test_site_switches_a_rule_off_and_moves_a_limit():
    changes = {
        "fan-short-cycling": {"enabled": False},
        "reheat-during-cooling": {"above_setpoint": "1.8 delta degF", "reheat_open": 20, "lasting": "1 h"},
    }
    rules = read_rules([rule_book()], Site(rule_changes=changes))
    assert "fan-short-cycling" not in rules
    moved = rules["reheat-during-cooling"]
    assert moved.limits["above_setpoint"].value == pytest.approx(1.0)
    assert moved.limits["above_setpoint"].moved
    assert moved.limits["reheat_open"].value == 20
    assert moved.lasting == 3600
    assert not moved.limits["past_heating_maximum"].moved


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"fan-short-cycle": {}}, r"rule.fan-short-cycle: there is no such rule \(did you mean 'fan-short-cycling'\?\)"),
        ({"fan-short-cycling": {"starts": "6"}}, "rule.fan-short-cycling.starts: the rule has no limit 'starts'"),
        ({"fan-short-cycling": {"starts_per_hour": "six"}}, "rule.fan-short-cycling.starts_per_hour: 'six' is not a number"),
        ({"fan-short-cycling": {"shortest_run": "4 cfm"}}, "'cfm' is no unit of time"),
        ({"fan-short-cycling": {"enabled": "no"}}, "'no' is neither true nor false"),
    ],
)  # fmt: skip
def test_wrong_change_is_refused(changes, told):
    with pytest.raises(SiteError, match=told):
        read_rules([rule_book()], Site(file="site.toml", rule_changes=changes))
