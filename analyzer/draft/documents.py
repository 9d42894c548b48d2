"""Schedules and balancing reports in a draft: what they say of the terminals that the exports hold, and its sources."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd

from analyzer.intake.words.wording import some
from analyzer.quantities import shown_unit, to_shown
from analyzer.report import plural
from analyzer.schedule.facts import Fact, Reading
from analyzer.schedule.match import Matched, common_lead, match
from analyzer.schedule.merged import Merged, merge, told
from analyzer.schedule.rows import NOT_NEEDED, UNKNOWN
from analyzer.site import Site
from analyzer.site.model import SCHEDULE, empty_schedule
from analyzer.site.sources import COLUMNS

_DOCUMENTS = {False: "drawings", True: "balancing report"}
_MOST_SAID = 5


@dataclass(frozen=True)
class Documents:
    """What schedules and balancing reports gave.

    Attributes
    ----------
    reading : Reading
    merged : Merged
        By the exports' tags where they are spelled alike.
    matched : Matched
    """

    reading: Reading
    merged: Merged
    matched: Matched


def with_led_tags(site: Site, reading: Reading) -> Site:
    """Return a site that knows the tags of documents that all begin with their building's word, without any value.

    In the exports the words before a terminal's own are taken for those of a network or a place, and left out: who
    knows ``B-TU-001`` takes it whole.
    """
    new = [tag for tag in reading.tags if tag not in site.schedule.index] if common_lead(reading.tags) else []
    return replace(site, schedule=site.schedule.reindex([*site.schedule.index, *new])) if new else site


def matched_documents(reading: Reading, exported: Iterable[str]) -> Documents:
    """Match the tags of what was read with those of the exports."""
    matched = match(reading.tags, exported)
    return Documents(reading, merge(reading, matched.spelled), matched)


def with_documents(site: Site, documents: Documents) -> Site:
    """Return a site whose schedule holds what the documents say, under what it holds itself."""
    values = documents.merged.values
    rows = {tag: {column: fact.value for column, fact in of.items()} for tag, of in values.items()}
    table = pd.DataFrame.from_dict(rows, orient="index").reindex(columns=list(SCHEDULE))
    for name, dimension in SCHEDULE.items():
        column = table[name]
        table[name] = column.astype(object).where(column.notna(), None) if dimension == "text" else column.astype(float)
    table = table.rename_axis("terminal")
    own = site.schedule
    if len(own):
        table = own.combine_first(table).reindex(columns=list(SCHEDULE))
        table = table.where(table.notna(), None).astype(dict.fromkeys(_numbers(), float))
    return replace(site, schedule=table if len(table) else empty_schedule())


def _numbers() -> list[str]:
    return [name for name, dimension in SCHEDULE.items() if dimension != "text"]


def source_rows(documents: Documents, known: Site, units: str) -> list[list[str]]:
    """Return the rows of ``sources.csv``: every value of the schedule that a document gave, and what stands beside."""
    rows: list[list[str]] = [list(COLUMNS)]
    own = known.schedule
    for tag, of in documents.merged.values.items():
        for column, fact in of.items():
            if tag in own.index and not pd.isna(own.at[tag, column]) and not _agree(own.at[tag, column], fact.value):
                continue  # the schedule that was there already goes before
            rows.append(_source_row(tag, column, said(fact, column, units), fact))
    rows += [_source_row(fact.tag, fact.column, _beside(fact, units), fact) for fact in documents.merged.beside]
    return rows


def _agree(own: object, value: float | str) -> bool:
    if isinstance(own, str) or isinstance(value, str):
        return str(own) == str(value)
    return math.isclose(float(str(own)), value, rel_tol=0.005)


def otherwise(documents: Documents, known: Site, units: str) -> list[str]:
    """Say where the schedule that was there already, which goes before, holds something else than the documents."""
    own = known.schedule
    return [
        f"{tag}, {column}: the schedule that was there says otherwise than {said(fact, column, units)} "
        f"({fact.source}), and was kept"
        for tag, of in documents.merged.values.items()
        for column, fact in of.items()
        if tag in own.index and not pd.isna(own.at[tag, column]) and not _agree(own.at[tag, column], fact.value)
    ]


def _source_row(tag: str, column: str, value: str, fact: Fact) -> list[str]:
    source = fact.source
    return [tag, column, value, source.file, source.sheet, source.place, fact.text, _DOCUMENTS[fact.report], fact.note]


def said(fact: Fact, column: str, units: str) -> str:
    """Spell a fact's value with its unit, as ``sources.csv`` and the page have it."""
    dimension = SCHEDULE[column]
    if isinstance(fact.value, str):
        return fact.value
    if dimension == "number":
        return f"{fact.value:.6g}"
    return f"{float(to_shown(fact.value, dimension, units)):.6g} {shown_unit(dimension, units)}"


def _beside(fact: Fact, units: str) -> str:
    if isinstance(fact.value, str) or math.isnan(fact.value):
        return str(fact.value)
    return f"{float(to_shown(fact.value, 'flow', units)):.6g} {shown_unit('flow', units)}"


def account(documents: Documents) -> list[str]:
    """Say of each file how many cells were read, used and set aside, and why."""
    lines = []
    for one in documents.reading.accounts:
        why = ", ".join(f"{count} {reason}" for reason, count in one.set_aside.most_common())
        aside = sum(one.set_aside.values())
        lines.append(
            f"{one.file}: {one.cells:,} cells read, {one.used:,} used, {one.not_data:,} headings, titles and notes, "
            f"{aside:,} rejected{f' ({why})' if why else ''}"
        )
    return lines


def to_tell(documents: Documents) -> list[str]:
    """Say what a user has to know of the documents, the most important first; a line each."""
    matched, merged = documents.matched, documents.merged
    lines = [*_of_tags(matched), *merged.disagree]
    lines += _unknown_columns(documents.reading)
    for why, asides in told(merged.asides).items():
        if why not in (NOT_NEEDED, UNKNOWN):
            cells = some(
                [f"{aside.text!r} ({aside.tag + ', ' if aside.tag else ''}{aside.source})" for aside in asides],
                _MOST_SAID,
            )
            lines.append(f"{plural(len(asides), 'cell')} rejected, {why}: {cells}")
    worked_out = [
        f"{fact.tag}, {fact.column}"
        for of in merged.values.values()
        for fact in of.values()
        if "worked out" in fact.note or "same area" in fact.note
    ]
    if worked_out:
        lines.append(f"{plural(len(worked_out), 'value')} worked out: {some(worked_out, _MOST_SAID)}")
    return lines + documents.reading.assumptions


def _of_tags(matched: Matched) -> list[str]:
    lines = []
    other = [f"{one} is {tag}" for one, tag in matched.spelled.items() if one != tag]
    if other:
        lines.append(
            f"{plural(len(other), 'tag')} spelled otherwise in the schedule than in the exports: {some(other)}"
        )
    if matched.proposed:
        pairs = [f"{one} and {tag}" for one, tag in matched.proposed]
        lines.append(
            f"perhaps one terminal, and not taken for one: {some(pairs)}; tick them on the draft's page if they are"
        )
    if matched.only_scheduled:
        of = plural(len(matched.only_scheduled), "terminal")
        lines.append(f"{of} scheduled and in no export: {some(matched.only_scheduled)}")
    if matched.only_exported:
        of = plural(len(matched.only_exported), "terminal")
        lines.append(f"{of} in the exports and not scheduled: {some(matched.only_exported)}")
    return lines


def _unknown_columns(reading: Reading) -> list[str]:
    """Name every column that was not recognized with three of its values."""
    columns: dict[tuple[str, str, str], list[str]] = {}
    for aside in reading.asides:
        if aside.why == UNKNOWN:
            columns.setdefault((aside.source.file, aside.source.sheet, aside.heading), []).append(aside.text)
    lines = []
    for (file, sheet, heading), values in columns.items():
        where = f"{file}, {sheet}" if sheet else file
        few = ", ".join(repr(value) for value in list(dict.fromkeys(values))[:3])
        lines.append(f"{where}: the column {heading!r} was not recognized; it holds {few}")
    return lines
