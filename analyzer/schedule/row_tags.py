"""Whose a row of a table is: the terminals that its tag names, or the type that it gives."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from analyzer.schedule import kinds
from analyzer.schedule.facts import Fact, Kind, Reading
from analyzer.schedule.figures import is_ditto, is_missing
from analyzer.schedule.layout import Table
from analyzer.schedule.marks import STRUCK, Marks
from analyzer.schedule.tag_columns import is_tag_heading
from analyzer.schedule.tags import Tags, looks_like_tag, numbered_from, read_tags, typical_in
from analyzer.schedule.types import is_key, key_of
from analyzer.schedule.words import fold

NO_TAG = "its row names no terminal"
DELETED = "a terminal that its row calls deleted"
_OF_TYPES = re.compile(r"\bTYPES\b|\bTYPE (?:SCHEDULE|LIST|MARK)\b|\bTYPICAL\b|\bTYP\.|\bSEE PLANS?\b", re.IGNORECASE)
_DELETED = re.compile(r"^(?:DELETED|DELETE|VOID|VOIDED|OMITTED|NOT USED|REMOVED|UNUSED|CANCELLED|CANCELED)(?: BY .*)?$")


@dataclass
class Row:
    """A row under way: its terminals, and what its cells said.

    ``by_type`` tells that its tag is the key of a type, and no terminal's; ``outlet`` that its flow is an outlet's;
    ``stage`` and ``percent`` what a column of stages says of its figures.
    """

    tags: list[str]
    note: str
    facts: list[Fact] = field(default_factory=list)
    by_type: bool = False
    outlet: bool = False
    stage: str | None = None
    percent: bool = False


def _column_of_prefixes(table: Table) -> int | None:
    """Return the column left of the tags' that holds their words, under the same heading: FPS beside 1-01."""
    grid, at = table.grid, table.tag_at
    shared = [row for row in table.header if at > table.left and grid.text(row, at)
              and grid.origin(row, at) == grid.origin(row, at - 1) and is_tag_heading(grid.text(row, at))]  # fmt: skip
    rows = [row for row in table.rows if grid.text(row, at)]
    words = all(re.fullmatch(r"[A-Za-z]{1,6}", grid.text(row, at - 1)) for row in rows)
    numbers = all(re.fullmatch(r"\d[\d.-]*[A-Za-z]?", grid.text(row, at)) for row in rows)
    return at - 1 if shared and rows and words and numbers else None


def _column_of_last(table: Table) -> int | None:
    """Return the column right of the tags' that holds the last one of a run: FROM and TO under one heading."""
    at = table.tag_at
    heads = [(fold(table.grid.text(row, at)), fold(table.grid.text(row, at + 1))) for row in table.header
             if at + 1 < table.right]  # fmt: skip
    return (
        at + 1 if any(first in ("FROM", "FIRST") and last in ("TO", "THRU", "LAST") for first, last in heads) else None
    )


def _are_named_by_handler(table: Table) -> bool:
    """Tell whether the boxes of a table bear their air handler's tag and a number: RTU3-01, under BOX NUMBER."""
    grid, at = table.grid, table.tag_at
    texts = [text for row in table.rows if (text := grid.text(row, at))]
    named = [text for text in texts if kinds.is_other_tag(text) and re.search(r"\d[A-Za-z]?\s*[-_./]\s*\d", text)]
    return table.of_boxes and len(named) * 10 >= len(texts) * 8


class RowTags:
    """Reads the tags of a table's rows.

    ``several_rows`` tells that a terminal may have rows under its own that name none; ``labels`` is the column that
    says what these rows are.
    """

    def __init__(self, table: Table, reading: Reading, marks: Marks, *, several_rows: bool, labels: int | None):
        self.table, self.grid, self.reading, self.marks = table, table.grid, reading, marks
        self.several_rows, self.labels = several_rows, labels
        self.prefix_at = _column_of_prefixes(table)
        self.named_by_handler = _are_named_by_handler(table)
        self.last_at = _column_of_last(table)

    def of(self, row: int, carried: list[str]) -> Row | None:
        """Return the terminals of a row, those of the row before where it names none; None where it is nobody's."""
        at = self.table.tag_at
        text = self.grid.text(row, at)
        if text and self.last_at is not None and (last := self.grid.text(row, self.last_at)) and last != text:
            self.marks.use(row, self.last_at)
            text = f"{text} THRU {last}"
        if text and self.prefix_at is not None and (prefix := self.grid.text(row, self.prefix_at)):
            text = f"{prefix}-{text}"
        if self.table.by_type:
            if self.marks.is_struck(row, at) or not is_key(text):
                return self._nobodys(row, NO_TAG)
            return self._as_type(row, " ".join(text.split()))
        if (not text or is_ditto(text)) and self.several_rows and carried:
            self.marks.use(row, at)
            return Row(carried, "")
        if self.marks.is_struck(row, at):
            return self._nobodys(row, STRUCK)
        if not text or not looks_like_tag(text):
            return self._nobodys(row, NO_TAG)
        if kinds.is_other_tag(text) and not self.named_by_handler:
            return self._nobodys(row, "a row of other equipment")
        if self._is_deleted(row):
            return self._nobodys(row, DELETED)
        return self._named(row, read_tags(text, self._quantity(row)))

    def _named(self, row: int, found: Tags) -> Row | None:
        at = self.table.tag_at
        if self._stands_for_several(found):
            return self._as_type(row, found.tags[0])
        tags, note = list(found.tags), ""
        if found.typical > 1:
            tags = self._typical(found)
        if len(tags) > 1:
            note = f"one row for {len(tags)} terminals"
        if found.problem:
            self.marks.aside(row, at, found.problem, tags[0] if tags else "")
        else:
            self.marks.use(row, at)
        if not tags:
            return self._nobodys(row, NO_TAG)
        for tag in tags:
            self.reading.tags.setdefault(tag, self.marks.source(row, at))
        return Row(tags, note)

    def _nobodys(self, row: int, why: str) -> Row | None:
        self.marks.all_aside(row, self.table.left, self.table.right, why)
        return None

    def _as_type(self, row: int, key: str) -> Row:
        self.marks.use(row, self.table.tag_at)
        self.reading.types.setdefault(key_of(key), Kind(key, self.marks.source(row, self.table.tag_at)))
        return Row([key], "", by_type=True)

    def _is_deleted(self, row: int) -> bool:
        """Tell whether a row says that its terminal is deleted, and gives no figure."""
        texts = [self.grid.text(row, column.at) for column in self.table.columns]
        said = [text for text in texts if _DELETED.match(fold(text))]
        figures = [column for column in self.table.columns if any(part.dimension != "text" for part in column.parts)]
        return bool(said) and all(
            is_missing(text) or text in said for c in figures for text in [self.grid.text(row, c.at)]
        )

    def _stands_for_several(self, found: Tags) -> bool:
        """Tell whether a tag without a number is that of a type: its table or its row says that there are several."""
        if len(found.tags) != 1 or re.search(r"\d", found.tags[0]):
            return False
        return found.typical > 1 or any(_OF_TYPES.search(text) for text in (*self.table.titles, *self.table.notes))

    def _quantity(self, row: int) -> int | None:
        for column in self.table.columns:
            if column.name == "quantity" and column.at != self.labels:
                count = typical_in(self.grid.text(row, column.at))
                if count:
                    self.marks.use(row, column.at)
                    return count
        return None

    def _typical(self, found: Tags) -> list[str]:
        """Take TYPICAL OF 6 for the six numbers from its tag on, unless some of them stand in rows of their own."""
        tag = found.tags[0]
        run = numbered_from(tag, found.typical)
        others = {self.grid.text(r, self.table.tag_at).upper() for r in self.table.rows}
        if run and not any(other.upper() in others for other in run[1:]):
            self.reading.assumptions.append(
                f"{self.grid.file}: {tag}, typical of {found.typical}, was taken for {run[0]} to {run[-1]}"
            )
            return run
        self.reading.assumptions.append(
            f"{self.grid.file}: {tag} is said to be typical of {found.typical}; which the others are is not said, "
            "and its values were taken for itself alone"
        )
        return [tag]
