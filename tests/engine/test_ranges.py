"""No limit is taken that would make everything clear, or everything a fault: each has a range, and says it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from analyzer.engine.rulebook import read_rules, with_changes
from analyzer.errors import RuleError, SiteError
from analyzer.places import rule_book
from analyzer.site import Site, read_site

BOOK = read_rules([rule_book()])
LIMITS = [(rule.id, limit) for rule in BOOK.values() for limit in rule.limits.values()]


def set_to(rule: str, limit: str, value):
    """The rule book of a site that moves a limit."""
    return with_changes(BOOK, Site(file=Path("site.toml"), rule_changes={rule: {limit: value}}))


def moved(folder, rule: str, line: str):
    (folder / "site.toml").write_text(f'[site]\ntime_zone = "UTC"\n[rule.{rule}]\n{line}\n')
    return read_rules([rule_book()], read_site(folder))


@pytest.mark.parametrize(("rule", "limit"), LIMITS, ids=lambda value: value if isinstance(value, str) else value.name)
def test_every_shipped_limit_has_a_range_and_is_held_to_it(rule, limit):
    assert limit.lowest <= limit.value <= limit.highest and limit.lowest < limit.highest
    assert math.isfinite(limit.lowest) and math.isfinite(limit.highest)
    low, high = (float(end) for end in limit.allowed.removesuffix(limit.unit).split(" to "))
    for value in (low, high):
        assert set_to(rule, limit.name, value)[rule].limits[limit.name].moved
    apart = 0.01 * (high - low)
    for value in (low - apart, high + apart, math.inf, -math.inf, math.nan):
        with pytest.raises(SiteError, match=rf"rule\.{rule}\.{limit.name}"):
            set_to(rule, limit.name, value)


def test_the_sentence_says_what_is_allowed(tmp_path):
    with pytest.raises(SiteError) as caught:
        moved(tmp_path, "fan-short-cycling", "starts_per_hour = 1e9")
    assert "site.toml: rule.fan-short-cycling.starts_per_hour: " in str(caught.value)
    assert "is outside the range of this limit; allowed are 1 to 20 starts/h" in str(caught.value)


@pytest.mark.parametrize(
    "line", ['lasting = "-1 min"', 'lasting = "40 d"', "fault_hours_at_least = -1", "judged_hours_at_least = 1e6",
             "fault_hours_at_least = inf", 'longest_interval = "-5 min"'],
)  # fmt: skip
def test_times_of_a_rule_are_held_to_a_range_too(tmp_path, line):
    with pytest.raises(SiteError, match=r"rule\.fan-short-cycling\."):
        moved(tmp_path, "fan-short-cycling", line)


def changed(folder, old: str, new: str) -> None:
    """Lay a rule with one change into a folder."""
    text = (rule_book() / "fan-short-cycling.toml").read_text()
    assert old in text
    (folder / "my-cycling.toml").write_text(text.replace(old, new, 1).replace("follows_from", "# follows_from", 1))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("value = 5", "value = inf"),
        ("value = 5", "value = nan"),
        ("value = 5", "value = -5"),
        ("value = 5", "value = 90"),
        ("range = [1, 20]", "range = [1, inf]"),
        ("fault_hours_at_least = ", "fault_hours_at_least = 1e9 # "),
    ],
)
def test_a_rule_file_is_held_to_its_ranges(tmp_path, old, new):
    changed(tmp_path, old, new)
    with pytest.raises(RuleError, match=r"my-cycling\.toml"):
        read_rules([tmp_path])


def test_a_rule_that_names_no_range_keeps_the_sign_of_its_limit(tmp_path):
    changed(tmp_path, "range = [1, 20]\n", "")
    limit = read_rules([tmp_path])["my-cycling"].limits["starts_per_hour"]
    assert (limit.lowest, limit.highest) == (0.0, math.inf)


@pytest.mark.parametrize(
    ("section", "line", "told"),
    [
        ("site", 'altitude = "-20000 m"', r"altitude: -20000 is out of range; allowed are -450 to 6,000 m"),
        ("site", 'altitude = "9000 m"', "allowed are -450 to 6,000 m"),
        ("site", 'setpoint_hold = "-1 d"', "allowed are 0 to 3,660 d"),
        ("setpoints", 'heating = "-300 degC"', "allowed are 0 to 50 degC"),
        ("setpoints", 'cooling = "900 degF"', "allowed are 0 to 50 degC"),
        ("tariff", "electricity = inf", "electricity"),
        ("accuracy", "primary_flow = { of_reading = 40 }", "not a fraction from 0 to 1"),
        ("accuracy", 'zone_temp = "-0.5 K"', "is negative"),
    ],
)
def test_the_sites_own_figures_are_held_to_a_range(tmp_path, section, line, told):
    lines = ["[site]", 'time_zone = "UTC"', *([] if section == "site" else [f"[{section}]"]), line]
    (tmp_path / "site.toml").write_text("\n".join(lines) + "\n")
    with pytest.raises(SiteError, match=told):
        read_site(tmp_path)
