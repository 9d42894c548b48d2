"""The notes as ``CHANGELOG.md`` holds them, and the part of each rule that decides its verdicts."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

from analyzer.engine.rule import Limit, Rule

HOME = Path(__file__).parents[2]
CHANGELOG = HOME / "CHANGELOG.md"
TOLD = Path(__file__).with_name("told.toml")
_ID = r"`[a-z0-9]+(?:-[a-z0-9]+)+`"
_BULLET = re.compile(rf"- (?P<rules>{_ID}(?:,\s+{_ID})*):\s+(?P<said>.+)", re.DOTALL)


@dataclass(frozen=True)
class Note:
    """What a section of the change log says of the verdicts of some rules."""

    section: str
    rules: tuple[str, ...]
    said: str


def sections() -> list[str]:
    """Return the headings of the change log's sections, the newest first."""
    return re.findall(r"^## (.+)$", CHANGELOG.read_text(encoding="utf-8"), re.MULTILINE)


def notes() -> list[Note]:
    """Return the notes under every heading "Verdicts", the newest section first."""
    found = []
    for section, text in _parts(CHANGELOG.read_text(encoding="utf-8"), "## "):
        for heading, under in _parts(text, "### "):
            if heading == "Verdicts":
                found += [_note(section, bullet) for bullet in re.split(r"\n(?=- )", under.strip())]
    return found


def _parts(text: str, mark: str) -> list[tuple[str, str]]:
    """Cut a text at its headings: pairs of heading and what stands under it."""
    cut = re.split(rf"^{mark}(.+)\n", text, flags=re.MULTILINE)[1:]
    return list(zip(cut[::2], cut[1::2], strict=True))


def _note(section: str, bullet: str) -> Note:
    match = _BULLET.match(bullet)
    if match is None:
        raise ValueError(f"CHANGELOG.md, {section}: a note on verdicts begins with its rules: '- `rule-id`: ...'")
    return Note(
        section, tuple(match["rules"].replace("`", "").replace(",", " ").split()), " ".join(match["said"].split())
    )


def told_last(rule: str) -> Note | None:
    """Return the newest note that names a rule."""
    return next((note for note in notes() if rule in note.rules), None)


def judging(rule: Rule) -> str:
    """Return a short digest of all that decides a rule's verdicts and how they are ranked; its other words are left out."""
    told = {
        "severity": [rule.impact, rule.severity],
        "where": [rule.applies_to, rule.only_with, rule.follows_from, *sorted(rule.follows_impact.items()),
                  *sorted(rule.follows_unless.items())],
        "needs": [sorted(rule.needs), sorted(map(sorted, rule.needs_one_of))],
        "conditions": [rule.judged_when.text, rule.fault_when.text],
        "times": [
            rule.lasting, rule.fault_hours_at_least, rule.judged_hours_at_least, rule.longest_interval, rule.best_interval
        ],
        **({"share": rule.fault_share_at_least} if rule.fault_share_at_least else {}),
        "limits": {name: _limit(limit) for name, limit in sorted(rule.limits.items())},
        "milder": [[each.when.text, each.severity, each.impact] for each in rule.milder] or None,
        **({"graver": [[each.when.text, each.severity, each.impact] for each in rule.graver]} if rule.graver else {}),
    }  # fmt: skip
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()[:16]


def _limit(limit: Limit) -> list:
    return [limit.value, limit.dimension, limit.accuracy, *([limit.uncertainty.text] if limit.uncertainty else [])]


def told() -> dict[str, dict[str, str]]:
    """Return what was told: rule to ``{"judging", "section"}``."""
    return tomllib.loads(TOLD.read_text(encoding="utf-8"))
