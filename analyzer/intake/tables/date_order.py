"""Whether month or day comes first in dates such as 03/04/2026: told by the column, its days, or the other files."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.words.date_patterns import order_told
from analyzer.intake.words.named_dates import days_in
from analyzer.intake.words.stamps import DAY, NOT_A_TIME, split_fields, to_micros, whole_year
from analyzer.intake.words.wording import Remark

# Judgement. Stamps that speak for the other order of day and month than most are damaged up to this share of those that
# speak for it; with more of them a column holds both orders, and is refused.
MISREAD = 0.02
# Days of a log follow each other within a week, read rightly; read the other way they lie a month apart. Where a day
# has fewer stamps than this, as in a log of months, days say nothing.
DAYS_FOLLOW, MONTH_APART, MANY_A_DAY = 7, 27, 4


# In Unicode's locale data (CLDR, looked up in the package babel 2.19.0) no language writes numeric dates with points
# month first, and of those with decimal commas only Anii does.
_POINTED = re.compile(r"\d{1,2}\.\s?\d{1,2}\.\s?\d{2}")


class UndecidedDates(ExportError):
    """Month and day cannot be told apart in a column, and nothing else says which comes first."""


@dataclass
class DateOrder:
    """Whether month or day comes first where a column cannot tell: the site file's word, or what other files told.

    ``month_first_here`` says that dates are written so where the site is: that counts once all files are known, and
    none told.
    """

    site: str | None = None
    month_first_here: bool = False
    all_known: bool = False
    learnt: str | None = None
    assumptions: list[Remark] = field(default_factory=list)
    unlike: bool = False
    borrowed: list[UndecidedDates] = field(default_factory=list)
    decimal: str = "."

    def assume(self, label: str, sentence: str, detail: str) -> None:
        """Take note of what was taken as given of a file; see :class:`Remark`."""
        self.assumptions.append(Remark(label, sentence, detail))

    def learn(self, word: str) -> None:
        """Take note of what a file's own stamps tell."""
        self.unlike |= self.learnt not in (None, word)
        self.learnt = self.learnt or word

    def know_all(self) -> None:
        """Take note that all files are known, and told what they can."""
        self.all_known = True

    def check(self) -> None:
        """Refuse what was read as the other files show, where those turned out to differ.

        Raises
        ------
        UndecidedDates
        """
        if self.unlike and self.borrowed:
            raise self.borrowed[0]

    def reads(self, decimal: str) -> None:
        """Take note of the decimal sign of the table whose stamps are read next; empty where nothing proves one."""
        self.decimal = decimal

    def _by_form(self, example: str) -> str:
        """Say why a date can only have its day first by its form; nothing where it may have its month."""
        if _POINTED.search(example):
            return "as all languages do that write dates with points (Unicode's locale data)"
        return "as the languages with decimal commas do (Unicode's locale data)" if self.decimal == "," else ""

    def settle(self, label: str, name: str, example: str, readings: tuple[str, str]) -> bool:
        """Return whether the month comes first.

        Raises
        ------
        UndecidedDates
            Nothing settles it.
        """
        word = self.site or self.learnt
        if word is None and (why := self._by_form(example)):
            self.assume(label, f"dates such as {{detail}} were read day-first, {why}.", example)
            return False
        if word is None and self.all_known and self.month_first_here:
            self.assume(
                label, "dates such as {detail} were read month-first, as they are written where the site is.", example
            )
            return True
        undecided = UndecidedDates(
            label,
            f"{example!r} may be {readings[0]} (month first) or {readings[1]} (day first), and no stamp in the "
            f"column tells which{'; the other files differ' if self.learnt else ''}",
            'Set date_order = "month-first" or "day-first" under [site] in the site file.',
            place=f"column {name!r}",
        )
        if word is None:
            raise undecided
        if not self.site:
            self.borrowed.append(undecided)
        why = "as the site file says" if self.site else "as the other files of this export show"
        self.assume(label, f"dates such as {{detail}} were read {word}, {why}.", example)
        return word == "month-first"


def month_first(parts, texts: pa.Array, label: str, name: str, order: DateOrder, beside: Sequence[str] = ()) -> bool:
    """Decide from the whole column whether the month or the day comes first."""
    parts = [part for part in parts if "first" in part.numbers]
    if not parts:
        return True
    first = np.concatenate([part.numbers["first"] for part in parts])
    middle = np.concatenate([part.numbers["middle"] for part in parts])
    day_leads = int(((first > 12) & (first <= 31) & (middle <= 12)).sum())
    month_leads = int(((middle > 12) & (middle <= 31) & (first <= 12)).sum())
    if day_leads and month_leads and min(day_leads, month_leads) > MISREAD * max(day_leads, month_leads):
        raise ExportError(
            label,
            f"{month_leads} distinct stamps can only be month-first and {day_leads} can only be day-first",
            "Export the file again with one date order.",
            place=f"column {name!r}",
        )
    if day_leads or month_leads:
        told = month_leads > day_leads
        order.learn("month-first" if told else "day-first")
        return told
    if (first == middle).all():
        return True
    named = order_told([name, *beside]) if order.site is None else None
    if named is not None:
        order.assume(
            label,
            f"dates such as {{detail}} were read {named[0]}, as {named[1]!r} says.",
            _example(parts, texts, first, middle)[0],
        )
        order.learn(named[0])
        return named[0] == "month-first"
    follows = _by_continuity(parts) if order.site is None else None
    if follows is not None:
        order.assume(
            label,
            f"dates such as {{detail}} were read {follows}: so the days follow each other, the other way they lie a "
            "month apart.",
            _example(parts, texts, first, middle)[0],
        )
        order.learn(follows)
        return follows == "month-first"
    dated = _by_date_beside(parts, beside) if order.site is None else None
    if dated is not None:
        word, where = dated
        order.assume(
            label,
            f"dates such as {{detail}} were read {word}: so they are of the date that {where!r} tells.",
            _example(parts, texts, first, middle)[0],
        )
        order.learn(word)
        return word == "month-first"
    return order.settle(label, name, *_example(parts, texts, first, middle))


def _example(parts, texts: pa.Array, first: np.ndarray, middle: np.ndarray) -> tuple[str, tuple[str, str]]:
    """Return a stamp that can be read two ways, and both readings."""
    unlike = int(np.flatnonzero(first != middle)[0])
    at = np.concatenate([part.at for part in parts])[unlike]
    year = int(whole_year(np.concatenate([part.numbers["year"] for part in parts])[unlike]))
    readings = (
        f"{year:04d}-{first[unlike]:02d}-{middle[unlike]:02d}",
        f"{year:04d}-{middle[unlike]:02d}-{first[unlike]:02d}",
    )
    return texts[int(at)].as_py().strip(), readings


def _by_date_beside(parts, beside: Sequence[str]) -> tuple[str, str] | None:
    """Tell the order in which stamps are of a date that a title or a name tells unmistakably; None where none does.

    Returns
    -------
    str, str
        The order, and the text that tells the date.
    """
    days = {}
    for word in ("month-first", "day-first"):
        micros = np.concatenate([to_micros(part, word == "month-first") for part in parts])
        days[word] = set((micros[micros != NOT_A_TIME] // DAY).tolist())
    found: dict[str, str] = {}
    for text in beside:
        for day in _plain_days(text):
            words = [word for word in days if day in days[word]]
            if len(words) == 1:
                found.setdefault(words[0], text)
    return next(iter(found.items())) if len(found) == 1 else None


def _plain_days(text: str) -> list[int]:
    """Return the days since 1970 that a text tells; a date that may be two days tells none."""
    spelled = sorted(days_in(text))
    parts = split_fields(pa.array(spelled, pa.string())) if spelled else []
    sure = [part for part in parts if "first" not in part.numbers or (part.numbers["first"] > 12).all()]
    micros = np.concatenate([to_micros(part, month_first=False) for part in sure]) if sure else np.array([], np.int64)
    return (micros[micros != NOT_A_TIME] // DAY).tolist()


def _by_continuity(parts) -> str | None:
    """Tell the order in which the days of a log follow each other, where in the other they lie a month apart.

    None where neither or both do, or where days have too few stamps to be days of a log.
    """
    good = {}
    for word in ("month-first", "day-first"):
        micros = np.concatenate([to_micros(part, word == "month-first") for part in parts])
        days, stamps = np.unique(micros[micros != NOT_A_TIME] // DAY, return_counts=True)
        if len(days) < 2 or np.median(stamps) < MANY_A_DAY:
            return None
        good[word] = int(np.diff(days).max())
    for word, other in (("month-first", "day-first"), ("day-first", "month-first")):
        if good[word] <= DAYS_FOLLOW and good[other] >= MONTH_APART:
            return word
    return None
