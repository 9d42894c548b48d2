"""``python -m tests.change_notes``: take down what the rules judge by now, once ``CHANGELOG.md`` tells of each change."""

from __future__ import annotations

import sys

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from tests.change_notes.notes import TOLD, judging, sections, told, told_last

HEAD = "# Made by `python -m tests.change_notes`. What each rule judges by, and the section of CHANGELOG.md that told of it.\n\n"


def main() -> int:
    """Write the table, unless the newest section is silent about a rule that is new, gone or judges differently."""
    rules, before, newest = read_rules([rule_book()]), told() if TOLD.exists() else {}, sections()[0]
    now = {name: judging(rule) for name, rule in sorted(rules.items())}
    changed = [name for name in {**before, **now} if before.get(name, {}).get("judging") != now.get(name)]
    silent = [name for name in changed if (note := told_last(name)) is None or note.section != newest]
    if silent:
        print(
            f"CHANGELOG.md, {newest}: under 'Verdicts', say what changed for {', '.join(sorted(silent))}",
            file=sys.stderr,
        )
        return 1
    lines = [
        f'{name} = {{ judging = "{digest}", section = "{told_last(name).section}" }}\n' for name, digest in now.items()
    ]
    TOLD.write_text(HEAD + "".join(lines), encoding="utf-8")
    print(f"{len(now)} rules, {len(changed)} changed: {TOLD.name} written")
    return 0


if __name__ == "__main__":
    sys.exit(main())
