"""``python -m tests.rules.start ID``: begin a rule of the shipped rule book, with cases that fail until it is written."""

from __future__ import annotations

import sys
from pathlib import Path

from analyzer.engine.rulebook import read_rules
from analyzer.errors import UserError
from analyzer.places import rule_book
from analyzer.rule_start import start_rule
from tests.rules.case_trends import FOLDER

CASES = """\
# tests/rules/case_trends.py says how a case is written. Replace the trends by what the fault looks like in a log.

[[case]]
name = "what is wrong, as plainly as it comes"
expect = "fault"
confidence = "firm"
trends = { zone_temp = 28, cooling_setpoint = 24 }

[[case]]
name = "a near miss: what looks like it, and is sound"
expect = "clear"
trends = { zone_temp = 25, cooling_setpoint = 24 }

[[case]]
name = "a trend that it needs is missing"
expect = "not-judged"
reason = "missing: the trend"
trends = { cooling_setpoint = 24 }
"""
NEXT = """\
written: {rule}
written: {cases}
next: write the rule, then its cases (pytest tests/rules -k {id}), then
  tests/rules/cause_signs.toml   two lines or more for each 'when' and 'unless' of a likely cause
  pytest tests/rules             its texts at every kind and reheat
  pytest tests/command           sound terminals of the demo building stay sound
  sample_trends/catalogue.py     the kinds of fault that it finds, then pytest tests/sample_trends
  python -m tests.make_docs      its page and its chart
  a note in CHANGELOG.md under 'Verdicts', then python -m tests.change_notes
  python -m tests.checks form types dead imports docs
DEVELOPERS.md, 'To add something', tells more."""


def start(rule: str, rules: Path, cases: Path = FOLDER) -> tuple[Path, Path]:
    """Write the start of a rule and of its cases."""
    file = start_rule(rule, rules, read_rules([rule_book()]))
    skeleton = cases / file.name
    skeleton.write_text(CASES, encoding="utf-8")
    return file, skeleton


def main() -> int:
    if len(sys.argv) != 2:
        print("python -m tests.rules.start ID", file=sys.stderr)
        return 2
    try:
        file, skeleton = start(sys.argv[1], rule_book())
    except UserError as error:
        print(error, file=sys.stderr)
        return 2
    print(NEXT.format(rule=file, cases=skeleton, id=file.stem))
    return 0


if __name__ == "__main__":
    sys.exit(main())
