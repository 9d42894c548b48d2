"""Outlets that stand under their terminals: their flows added up, or the total that a row of its own gives."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule.facts import Fact
from analyzer.schedule.layout import Table
from analyzer.schedule.tags import looks_like_tag
from analyzer.schedule.words import read_heading

_TOTAL = re.compile(r"^\s*(?:SUB[- ]?)?TOTALS?\b\s*(?:OF|FOR|:|-)?\s*(.*)$", re.IGNORECASE)
_OF_A_TERMINAL = re.compile(r"^[A-Za-z]+[A-Za-z0-9 ._/#-]*\d")


def are_under_terminals(table: Table) -> bool:
    """Tell whether the column of tags names terminals and, under each, its outlets: headed UNIT / OUTLET."""
    texts = [table.grid.text(row, table.tag_at) for row in table.header]
    return any(read_heading(text).concepts == ("TAG", "OUTLETS") for text in texts)


def is_outlet(text: str) -> bool:
    """Tell whether a cell of such a column names an outlet, and no terminal."""
    return not _OF_A_TERMINAL.match(text) or not looks_like_tag(text)


def totalled(text: str) -> str | None:
    """Return what a row's first words are the total of; "" where they do not say, None where it is no total."""
    match = _TOTAL.match(text)
    return match[1].strip() if match else None


def with_outlets_summed(facts: list[Fact]) -> list[Fact]:
    """Return facts with the outlets of each terminal added up, where each has a row."""
    kept: list[Fact] = []
    sums: dict[tuple[str, str], Fact] = {}
    for fact in facts:
        if fact.column == "outlets_flow":
            first = sums.get((fact.tag, fact.stage))
            if first is not None:
                text, value = f"{first.text} + {fact.text}", float(first.value) + float(fact.value)
                fact = replace(first, value=value, text=text, note="sum of its outlets")
            sums[fact.tag, fact.stage] = fact
        elif fact.column != "outlet":
            kept.append(fact)
    return [*kept, *sums.values()]
