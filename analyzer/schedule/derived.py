"""Figures of a row that rest on others: a share of the maximum, the same as another terminal's."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule.facts import Fact
from analyzer.schedule.tags import looks_like_tag

_SHARES = {"min_share": "primary_min", "heating_share": "heating_primary"}
_SAME = re.compile(
    r"^\s*(?:SAME|IDENTICAL|ALL VALUES|VALUES|SIZED)\s+(?:AS|TO|PER)\s+(?:FOR\s+)?(\S.*)$", re.IGNORECASE
)
# What is a terminal's own, whatever else it shares with another.
_ITS_OWN = ("zone", "remarks", "floor", "air_handler", "open_zone")


def with_shares(facts: list[Fact]) -> list[Fact]:
    """Return a row's facts, minimums in per cent of its maximum worked out."""
    most = next((fact for fact in facts if fact.column == "primary_max"), None)
    found = [fact for fact in facts if fact.column not in _SHARES]
    for fact in facts:
        column = _SHARES.get(fact.column)
        if column is None or most is None or any(other.column == column for other in found):
            continue
        share = float(fact.value) / (100.0 if float(fact.value) > 1.0 else 1.0)
        if 0.0 <= share <= 1.0:
            note = f"worked out of {fact.text.rstrip(' %')} % of {most.text}" if float(fact.value) > 1.0 else (
                f"worked out of {fact.text} of {most.text}"
            )  # fmt: skip
            found.append(replace(fact, column=column, value=share * float(most.value), stage=most.stage, note=note))
    return found


def same_as(text: str) -> str:
    """Return the tag that a cell refers to: "SAME AS VAV-2-01"; "" where it refers to none."""
    match = _SAME.match(text)
    other = match[1].strip(" .") if match else ""
    return other if looks_like_tag(other) and re.search(r"\d", other) else ""


def copied_facts(facts: list[Fact], alike: list[tuple[str, str]]) -> list[Fact]:
    """Return what terminals have of the others that their rows refer to."""
    by_tag: dict[str, list[Fact]] = {}
    for fact in facts:
        by_tag.setdefault(fact.tag.upper(), []).append(fact)
    found = []
    for tag, other in dict.fromkeys(alike):
        own = {(fact.column, fact.stage) for fact in by_tag.get(tag.upper(), ()) if not fact.concluded}
        found += [
            replace(fact, tag=tag, note="; ".join(note for note in (fact.note, f"as {other}") if note))
            for fact in by_tag.get(other.upper(), ())
            if fact.column not in _ITS_OWN and (fact.column, fact.stage) not in own and not fact.concluded
        ]
    return found
