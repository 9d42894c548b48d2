"""Time stamps as text: which spelling, and what moment it says on the wall clock.

Whole columns are read through the set of their distinct spellings. A stamp is microseconds since 1970 of the wall
clock, or of UTC where the text carries its offset.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.words.months import ENGLISH, UnclearMonth, in_english, may_name_month

SECOND = 1_000_000
DAY = 86_400 * SECOND
NOT_A_TIME = np.iinfo(np.int64).min

# Numbers that are stamps, by size: Unix time in seconds, milli-, micro- and nanoseconds from 1990 to 2100; and the day
# numbers of spreadsheets (days since 1899-12-30) over the same years.
UNIX_SINCE, UNIX_UNTIL = 631_152_000, 4_102_444_800
SERIAL_SINCE, SERIAL_UNTIL = 32_874, 73_051
UNIX_SCALES = (1, 1e3, 1e6, 1e9)

_MONTHS = tuple(name.lower() for name in ENGLISH)
_MONTH = (
    r"(?P<name>(?i:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?"
    r"|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?))\.?"
)
_CLOCK = (
    r"(?:(?P<hour>\d{1,2})[:hH](?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,](?P<fraction>\d{1,9}))?)?"
    r"\s*(?:(?P<half>[AaPp])(?:\.?\s?[Mm]\.?|\b))?(?:\s*(?:[Uu]hr|h\b))?)"
)
# Behind a date a point may part hours and minutes; alone it would be a number.
_BEHIND_DATE = _CLOCK.replace("[:hH]", "[:.hH]").replace("(?::(", "(?:[:.](")
_OFFSET = r"\s*(?P<offset>[Zz]|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2})?(?:\[[^\]]*\])?\s*(?P<zone>[A-Z]{2,4}T)?"
_WEEKDAY = r"(?:[A-Za-z]{2,9}\.?,?\s+)?"
_BETWEEN = r"(?:[T_,]?\s*|\s+at\s+|\s+-\s+)"

# The spellings, in the order in which they are tried. "first" and "middle" are month and day, in an order that the
# column has to tell.
_AND_CLOCK = rf"(?:{_BETWEEN}{_BEHIND_DATE}{_OFFSET})?\s*$"
_WITH_CLOCK = rf"(?:[T_,]\s*|\s+at\s+|\s+-\s+|\s+){_CLOCK}{_OFFSET}\s*$"
_YEAR = r"(?P<year>\d{4}|\d{2})"
SPELLINGS = {
    "year first": rf"^\s*(?P<year>\d{{4}})[-/.](?P<month>\d{{1,2}})[-/.](?P<day>\d{{1,2}}){_AND_CLOCK}",
    "numbers": rf"^\s*{_WEEKDAY}(?P<first>\d{{1,2}})[-/.](?P<middle>\d{{1,2}})[-/.]{_YEAR}{_AND_CLOCK}",
    "day and name": rf"^\s*{_WEEKDAY}(?P<day>\d{{1,2}})[-/. ]\s*{_MONTH}[-/., ]\s*{_YEAR}{_AND_CLOCK}",
    "name and day": rf"^\s*{_WEEKDAY}{_MONTH}[- ]\s*(?P<day>\d{{1,2}})(?:,\s*|[- ]\s*){_YEAR}{_AND_CLOCK}",
    "year and name": rf"^\s*(?P<year>\d{{4}})[-/. ]\s*{_MONTH}[-/. ]\s*(?P<day>\d{{1,2}}){_AND_CLOCK}",
    "run together": (
        r"^\s*(?P<year>(?:19|20)\d{2})(?P<month>\d{2})(?P<day>\d{2})[T _-]?"
        r"(?P<hour>\d{2})(?P<minute>\d{2})(?P<second>\d{2})?(?P<offset>Z)?\s*$"
    ),
    "date run together": (
        rf"^\s*(?P<year>(?:19|20)\d{{2}})(?P<month>\d{{2}})(?P<day>\d{{2}})(?:[T_-]|\s+){_CLOCK}{_OFFSET}\s*$"
    ),
    "clock and numbers": (
        rf"^\s*{_CLOCK},?\s+{_WEEKDAY}(?P<first>\d{{1,2}})[-/.](?P<middle>\d{{1,2}})[-/.]{_YEAR}\s*$"
    ),
    "clock and year first": rf"^\s*{_CLOCK},?\s+(?P<year>\d{{4}})[-/.](?P<month>\d{{1,2}})[-/.](?P<day>\d{{1,2}})\s*$",
    "year last": (
        rf"^\s*{_WEEKDAY}{_MONTH}\s+(?P<day>\d{{1,2}}),?\s+{_CLOCK}\s*"
        r"(?:(?P<offset>[Zz]|UTC|GMT|[+-]\d{2}:?\d{2})|(?P<zone>[A-Z]{2,4}T))?\s+(?P<year>\d{4})\s*$"
    ),
    "week": rf"^\s*(?P<year>\d{{4}})-?W(?P<week>\d{{2}})-?(?P<weekday>[1-7]){_AND_CLOCK}",
    "day of the year": rf"^\s*(?P<year>\d{{4}})-(?P<ordinal>\d{{3}}){_WITH_CLOCK}",
    "numbers without a year": rf"^\s*{_WEEKDAY}(?P<first>\d{{1,2}})[-/.](?P<middle>\d{{1,2}})\.?{_WITH_CLOCK}",
    "day and name without a year": rf"^\s*{_WEEKDAY}(?P<day>\d{{1,2}})[-/. ]\s*{_MONTH}{_WITH_CLOCK}",
    "name and day without a year": rf"^\s*{_WEEKDAY}{_MONTH}[- ]\s*(?P<day>\d{{1,2}}){_WITH_CLOCK}",
}
_DAY_NUMBER = re.compile(r"^\s*(?:19[7-9]\d|20\d{2})(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])\s*$")
_SHORTEST = 6  # letters: 1/1/26
_KEPT = 80  # letters of a cell whose look is kept in mind: one that is longer would fill the memory
_DIGIT = re.compile(r"\d")
CENTURY_FROM = 70  # two-digit years from here on are of the last century, as Unix time begins in 1970; judgement
EARLIEST, LATEST = 1900, 2200  # years of a stamp; beyond them a number is no year; judgement
_NUMBERS = ("year", "month", "day", "first", "middle", "week", "weekday", "ordinal", "hour", "minute", "second")
_LOOKED_AT = 1000  # stamps that fit no English spelling, by which is told whether another language's may fit
_IN_SIGNS = r"['\[(]?\s*", r"[\])]?\s*$"  # what exports put around a whole stamp
SPELLINGS = {
    name: "^\\s*" + _IN_SIGNS[0] + pattern.removeprefix("^\\s*").removesuffix("$") + _IN_SIGNS[1]
    for name, pattern in SPELLINGS.items()
}
COMPILED = {name: re.compile(pattern) for name, pattern in SPELLINGS.items()}
# Beside a column of dates, a time of day may carry the nought day of spreadsheets, and a date its midnight.
NOUGHT_DAY = r"^\s*(?:1899-12-30|30[./]12[./]1899|12/30/1899)[T ]\s*"
MIDNIGHT = r"[T\s]\s*(?:0?0:00(?::00(?:[.,]0+)?)?|12:00(?::00)?\s?[Aa]\.?\s?[Mm]\.?)\s*$"
CLOCK_ONLY = re.compile(rf"(?:{NOUGHT_DAY}|^\s*){_CLOCK}{_OFFSET}\s*$")
_SPACES = "[\u00a0\u2009\u202f]"


@dataclass
class Fields:
    """The numbers that distinct stamps of one spelling hold; ``at`` says which stamps, ``zones`` which zones they name.

    Those are abbreviations beside stamps without an offset.
    """

    at: np.ndarray
    numbers: dict[str, np.ndarray]
    absolute: np.ndarray
    summer: np.ndarray
    zones: frozenset[str] = frozenset()

    @property
    def yearless(self) -> bool:
        """Whether the stamps say no year."""
        return "year" not in self.numbers

    def take_years(self, years: np.ndarray) -> None:
        """Give the stamps their years, one each."""
        self.numbers["year"] = years

    def lead_with_year(self) -> None:
        """Take 26-01-14 for a year, a month and a day where the last number changes more often than the first."""
        if "first" not in self.numbers or self.yearless or not (self.numbers["year"] < 100).all():
            return
        first, middle, last = (self.numbers[name] for name in ("first", "middle", "year"))
        years, days = (np.count_nonzero(np.bincount(number)) for number in (first, last))
        is_date = first.min() > 12 and 1 <= middle.min() <= middle.max() <= 12 and 1 <= last.min() <= last.max() <= 31
        if is_date and days > years:
            self.numbers |= {"year": first, "month": middle, "day": last}
            del self.numbers["first"], self.numbers["middle"]


def looks_like_stamp(text: str) -> bool:
    """Tell whether a cell may be a date with or without a time."""
    if len(text) < _SHORTEST or not _DIGIT.search(text):
        return False
    return _is_stamp(text) if len(text) <= _KEPT else _is_stamp.__wrapped__(text)


@lru_cache(maxsize=16384)
def _is_stamp(text: str) -> bool:
    """Tell a stamp by its spelling; the same cells of a table's head are asked for again and again."""
    if any(pattern.match(text) for pattern in COMPILED.values()):
        return True
    if not may_name_month(text):
        return False
    try:
        (plain,) = in_english([text])
    except UnclearMonth:
        return True
    return any(pattern.match(plain) for pattern in COMPILED.values())


def looks_like_clock(text: str) -> bool:
    """Tell whether a cell is a time of day alone."""
    return bool(CLOCK_ONLY.match(text))


def stamp_at_end(text: str) -> str | None:
    """Return the stamp with which a text ends, or that stands before remarks in brackets.

    Examples
    --------
    >>> stamp_at_end("Start, 2026-01-26 07:00 (day shift)")
    '2026-01-26 07:00'
    """
    text = re.sub(r"\s*\([^)]*\)\s*$", "", text).strip()
    ends = [match.start() for match in re.finditer(r"(?<![\w.:/-])(?=\w)", text)]
    return next((text[n:] for n in ends if looks_like_stamp(text[n:])), None)


def is_stamp_number(number: float) -> bool:
    """Tell whether a number may be Unix time or a spreadsheet's day number."""
    unix = any(UNIX_SINCE * scale <= number <= UNIX_UNTIL * scale for scale in UNIX_SCALES)
    return unix or SERIAL_SINCE <= number <= SERIAL_UNTIL


def is_day_number(text: str) -> bool:
    """Tell whether a text may be a day that is written as one number: ``20260125``."""
    return bool(_DAY_NUMBER.match(text))


def split_fields(texts: pa.Array) -> list[Fields]:
    """Take distinct stamps apart, spelling by spelling; what fits none is in no ``Fields``.

    Raises
    ------
    UnclearMonth
        The name of a month is another month's in another language, and the others do not tell.
    """
    if not pc.all(pc.string_is_ascii(texts)).as_py():  # between a time and its half of the day, as a rule
        texts = pc.replace_substring_regex(texts, _SPACES, " ")
    found, left = _split(texts, np.arange(len(texts)))
    rest = texts.take(pa.array(left)).to_pylist() if len(left) else []
    if any(text and may_name_month(text) for text in rest[:_LOOKED_AT]):
        found += _split(pa.array(in_english(text or "" for text in rest), pa.string()), left)[0]
    return found


def _split(texts: pa.Array, left: np.ndarray) -> tuple[list[Fields], np.ndarray]:
    """Take stamps apart; return also those that fit no spelling. ``left`` numbers the texts."""
    found = []
    at = np.arange(len(texts))
    for name in _likely_first(texts):
        if not len(at):
            break
        part = texts if len(at) == len(texts) else texts.take(pa.array(at))
        fields = _fixed_width(part, COMPILED[name]) or _by_pattern(part, SPELLINGS[name])
        if len(fields.at):
            rest = np.ones(len(at), bool)
            rest[fields.at] = False
            fields.at = left[at[fields.at]]
            found.append(fields)
            at = at[rest]
    return found, left[at]


def _likely_first(texts: pa.Array) -> list[str]:
    first = next((text for text in texts.slice(0, 50).to_pylist() if text), "")
    return sorted(SPELLINGS, key=lambda name: not COMPILED[name].match(first))


def _fixed_width(texts: pa.Array, pattern: re.Pattern) -> Fields | None:
    """Read stamps that all have the same letters in the same places, straight from their bytes.

    Large change-of-value logs have millions of distinct stamps; this reads them at memory speed. None where the
    column is not that regular.
    """
    if len(texts) < 1000 or texts.null_count:
        return None
    first = texts[0].as_py()
    match = pattern.match(first)
    lengths = pc.binary_length(texts)
    width = len(first.encode())
    if not match or width != len(first) or pc.min(lengths).as_py() != width or pc.max(lengths).as_py() != width:
        return None
    stored = pa.concat_arrays([texts.cast(pa.large_string())])
    start = np.frombuffer(stored.buffers()[1], np.int64)[stored.offset]
    letters = np.frombuffer(stored.buffers()[2], np.uint8)[start : start + width * len(texts)].reshape(-1, width)
    digits = {name: match.span(name) for name in match.groupdict() if match[name] and match[name].isdigit()}
    free = np.zeros(width, bool)
    for begin, end in digits.values():
        free[begin:end] = True
    if match.groupdict().get("half"):
        free[match.start("half")] = True
    if (letters[:, ~free] != letters[0, ~free]).any():
        return None
    numbers = {}
    for name, (begin, end) in digits.items():
        ciphers = letters[:, begin:end].astype(np.int64) - ord("0")
        if ciphers.min() < 0 or ciphers.max() > 9:
            return None
        numbers[name] = ciphers @ 10 ** np.arange(end - begin - 1, -1, -1)
    return _fields_of_fixed(match, letters, numbers)


def _fields_of_fixed(match: re.Match, letters: np.ndarray, numbers: dict[str, np.ndarray]) -> Fields | None:
    groups = match.groupdict()
    rows = len(letters)
    if groups.get("fraction"):
        numbers["fraction"] = numbers["fraction"] * SECOND // 10 ** len(groups["fraction"])
    if groups.get("name"):
        month = _month_number(groups["name"])
        if month is None:
            return None
        numbers["month"] = np.full(rows, month)
    if groups.get("half"):
        half = letters[:, match.start("half")]
        numbers["hour"] = _twelve_hour(numbers["hour"], np.isin(half, [ord("P"), ord("p")]))
    offset = groups.get("offset")
    if offset:
        numbers["offset"] = np.full(rows, _offset_micros(offset))
    summer = np.full(rows, _summer(groups.get("zone")), np.int8)
    return Fields(np.arange(rows), numbers, np.full(rows, bool(offset)), summer, _zones([groups.get("zone")]))


def _by_pattern(texts: pa.Array, pattern: str) -> Fields:
    parts = pc.extract_regex(texts, pattern=pattern)
    at = np.flatnonzero(parts.is_valid().to_numpy(zero_copy_only=False))
    parts = parts.take(pa.array(at))
    columns = {field.name: parts.field(index) for index, field in enumerate(parts.type)}
    numbers = {name: _integers(columns[name]) for name in _NUMBERS if name in columns}
    if "fraction" in columns:
        padded = pc.utf8_slice_codeunits(pc.utf8_rpad(columns["fraction"], 6, "0"), 0, 6)
        numbers["fraction"] = _integers(padded)
    if "name" in columns:
        numbers["month"] = _each_distinct(columns["name"], lambda name: _month_number(name) or 0)
    if "half" in columns:
        half = columns["half"].to_numpy(zero_copy_only=False)
        afternoon = np.isin(half, ["P", "p"])
        twelve = afternoon | np.isin(half, ["A", "a"])
        numbers["hour"] = np.where(twelve, _twelve_hour(numbers["hour"], afternoon), numbers["hour"])
    absolute = np.zeros(len(at), bool)
    if "offset" in columns:
        absolute = pc.not_equal(columns["offset"], "").fill_null(False).to_numpy(zero_copy_only=False)
        numbers["offset"] = _each_distinct(columns["offset"], _offset_micros)
    summer, zones = np.full(len(at), -1, np.int8), _zones([])
    if "zone" in columns:
        summer = _each_distinct(columns["zone"], _summer).astype(np.int8)
        zones = _zones(columns["zone"].filter(pa.array(~absolute)).unique().to_pylist())
    return Fields(at, numbers, absolute, summer, zones)


def _zones(names: list[str | None]) -> frozenset[str]:
    return frozenset(filter(None, names))


def _integers(texts: pa.Array) -> np.ndarray:
    plain = pc.if_else(pc.equal(texts, ""), None, texts)
    return plain.cast(pa.int64()).fill_null(0).to_numpy(zero_copy_only=False)


def _each_distinct(texts: pa.Array, read) -> np.ndarray:
    coded = texts.dictionary_encode()
    read_once = np.array([read(text) for text in coded.dictionary.to_pylist()] or [0], dtype=np.int64)
    return read_once[coded.indices.fill_null(0).to_numpy(zero_copy_only=False)]


def _twelve_hour(hour: np.ndarray, afternoon: np.ndarray) -> np.ndarray:
    return np.where(hour > 12, 99, hour % 12 + 12 * afternoon)


def _month_number(name: str) -> int | None:
    short = name.strip(".").lower()[:3]
    return _MONTHS.index(short) + 1 if short in _MONTHS else None


def _offset_micros(text: str | None) -> int:
    if not text or text.upper() in ("Z", "UTC", "GMT"):
        return 0
    digits = text[1:].replace(":", "").ljust(4, "0")
    size = (int(digits[:2]) * 3600 + int(digits[2:]) * 60) * SECOND
    return -size if text[0] == "-" else size


def _summer(zone: str | None) -> int:
    """Tell daylight time from standard time by the letter before the T of a zone's abbreviation."""
    return {"D": 1, "S": 0}.get(zone[-2:-1], -1) if zone else -1


def whole_year(year):
    """Return a year with its century, where it is written without."""
    return np.where(year < 100, year + np.where(year < CENTURY_FROM, 2000, 1900), year)


def to_micros(fields: Fields, month_first: bool) -> np.ndarray:
    """Put the numbers together; ``NOT_A_TIME`` where they are no date or no time of day."""
    numbers = dict(fields.numbers)
    if "first" in numbers:
        order = ("month", "day") if month_first else ("day", "month")
        numbers[order[0]], numbers[order[1]] = numbers["first"], numbers["middle"]
    year = whole_year(numbers["year"])
    nought = np.zeros_like(year)
    hour, minute, second = (numbers.get(name, nought) for name in ("hour", "minute", "second"))
    good = (year >= EARLIEST) & (year <= LATEST) & (minute < 60) & (second < 60)
    good &= (hour < 24) | ((hour == 24) & (minute == 0) & (second == 0))
    date, is_date = _date_of(numbers, np.where(good, year, 1970))
    good &= is_date
    micros = date * DAY
    micros += (
        (hour * 3600 + minute * 60 + second) * SECOND + numbers.get("fraction", nought) - numbers.get("offset", nought)
    )
    return np.where(good, micros, NOT_A_TIME)


def _date_of(numbers: dict[str, np.ndarray], year: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return days since 1970, and whether they are a date: by day and month, the week of ISO 8601 or the year's day."""
    begin = (year - 1970).astype("datetime64[Y]")
    first_day, next_year = ((begin + n).astype("datetime64[D]").astype(np.int64) for n in (0, 1))
    if "ordinal" in numbers:
        day = numbers["ordinal"]
        return first_day + day - 1, (day >= 1) & (day <= next_year - first_day)
    if "week" in numbers:
        # The first week is that of 4 January; 1970 began on a Thursday.
        week, monday = numbers["week"], _monday(first_day + 3)
        date = monday + 7 * (week - 1) + numbers["weekday"] - 1
        return date, (week >= 1) & (monday + 7 * (week - 1) < _monday(next_year + 3))
    month, day = numbers["month"], numbers["day"]
    good = (month >= 1) & (month <= 12)
    first = begin.astype("datetime64[M]") + (np.where(good, month, 1) - 1)
    length = ((first + 1).astype("datetime64[D]") - first.astype("datetime64[D]")).astype(np.int64)
    good &= (day >= 1) & (day <= length)
    return first.astype("datetime64[D]").astype(np.int64) + day - 1, good


def _monday(day: np.ndarray) -> np.ndarray:
    return day - (day + 3) % 7
