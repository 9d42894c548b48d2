"""A limit's reason says first what the limit is: beside its key and its value nothing else does."""

from __future__ import annotations

import re

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book

# Openings that point at a figure or a thing that was not named yet.
POINTS_AT_NOTHING = re.compile(
    r"(From (there|then|here) on|Below (it|that|this)|Past it|Less\b|Fewer\b|So (long|far|much|many)\b|Such\b|Then\b|"
    r"Shorter\b|Nearer\b|Taken where|What is not there|It is\b|They\b|That\b)"
)


def test_a_reason_begins_with_what_is_limited():
    told = {
        (rule.id, limit.name): limit.reason
        for rule in read_rules([rule_book()]).values()
        for limit in rule.limits.values()
    }
    assert told
    assert {at: reason for at, reason in told.items() if POINTS_AT_NOTHING.match(reason)} == {}
