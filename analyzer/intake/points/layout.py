"""How a table is laid out: which columns are time, names, values, units and flags."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.intervals import take_start
from analyzer.intake.tables.number_tags import spell_number_tags
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.tables.stamp_columns import is_more_time, time_columns
from analyzer.intake.words.flags import says_quality
from analyzer.intake.words.names import read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import is_unit, take_unit
from analyzer.intake.words.values import WORD, read_values
from analyzer.intake.words.vocabulary import (
    FLAG_WORDS,
    KEY_WORDS,
    NAME_WORDS,
    PLACE_WORDS,
    QUALITY_WORDS,
    ROW_WORDS,
    TAG_WORDS,
    UNIT_WORDS,
    VALUE_WORDS,
    fold,
)

# What tells columns of names from columns of values. Judgement, all that follows: headings say it as a rule, and this
# decides where they do not. Shares are of the distinct texts that are looked at.
MOST_COLUMNS_OF_LONG = 12  # columns of a table with a row per value: time, names, value, unit, flag and such
MOST_LOOKED_AT = 60  # distinct texts of a column
NAMED = 0.5  # share that names tags, or points, and makes a column one of names: a note or a state matches by chance
SOME_NAMED = 0.3  # share that does where the header says names already: the vocabulary knows few of a plant's points
TAGGED = 0.9  # share of a column's cells that are tags and nothing else, where no heading says tags
READABLE = 0.5  # a column of values has more than this share of texts that can be read as values
KNOWN = 0.5  # a column of tags without a header for it has more than this share of the schedule's


@dataclass
class Layout:
    """Places of columns in a table.

    Attributes
    ----------
    kind : str
        ``wide`` (a column per point), ``long`` (a row per value) or ``tidy`` (a row per terminal and time).
    time : list of int
        One column of stamps, or a date and a time of day.
    names : list of int
        Columns whose words name the point (long) or the terminal (tidy).
    values : list of int
        The value column (long), or a column per point (wide) or quantity (tidy).
    unit, flag : int or None
        Columns of units and of quality flags (long, tidy).
    flags : dict
        For a wide table: the quality column of a value column.
    places : list of int
        Columns that say where the tag stands (long, tidy): a building, a floor, an air handler.
    key : int or None
        A column that tells several logs of one point apart (long, tidy): the instrument, where a room has two.
    left : list of int
        Columns that may be such a key.
    """

    kind: str
    time: list[int]
    names: list[int] = field(default_factory=list)
    values: list[int] = field(default_factory=list)
    unit: int | None = None
    flag: int | None = None
    flags: dict[int, int] = field(default_factory=dict)
    places: list[int] = field(default_factory=list)
    key: int | None = None
    left: list[int] = field(default_factory=list)

    def keyed(self, key: int | None) -> Layout:
        """Return the layout with a column that tells the logs of one point apart."""
        return self if key is None else replace(self, key=key, values=[n for n in self.values if n != key])

    @property
    def common_stamps(self) -> bool:
        """Whether several points share each row's stamp: a file of one point has stamps of its own, as a long one."""
        return self.kind != "long" and len(self.values) > 1


def recognise(table: RawTable, tags: TagFinder) -> Layout:
    """Recognise a table's layout from its headers and its cells.

    Raises
    ------
    ExportError
        No column holds time stamps, or none holds values.
    """
    words = [fold(take_unit(name)[0]) for name in table.names]
    time, end = take_start(table, words, time_columns(table, words))
    spell_number_tags(table, words, time[0])
    rest = [
        n
        for n in range(len(words))
        if n not in (*time, end) and words[n] not in ROW_WORDS and not is_more_time(table, n, words[n])
    ]
    texts = [n for n in rest if is_text(table.columns[n])]
    for n in texts:  # "Unit" may head terminals as well
        if words[n] in UNIT_WORDS and _holds_tags(table.columns[n], tags):
            words[n] = "unittag"
    _tell_headings_by_cells(table, words, rest, texts, tags)
    value = _value_column(table, words, rest, texts, tags)
    if value is not None:
        layout = _long(table, words, time, rest, texts, value, tags)
        if layout:
            return layout
    layout = _tidy(table, words, time, rest, texts, tags)
    if layout:
        return layout
    if not rest:
        raise ExportError(
            table.label,
            "holds time stamps but no column of values",
            "Export the values with the stamps.",
            place="header",
        )
    return _wide(table, words, time, rest, texts)


def _tell_headings_by_cells(
    table: RawTable, words: list[str], rest: list[int], texts: list[int], tags: TagFinder
) -> None:
    """Settle by its cells what a heading leaves open: points under "Reading", tags under "Terminal box"."""
    if sum(words[n] in VALUE_WORDS for n in rest) > 1:
        for n in texts:
            if words[n] in VALUE_WORDS and _names_quantities(table, n):
                words[n] = "point"
    if any(words[n] in TAG_WORDS | NAME_WORDS for n in rest):
        return
    tagged = [n for n in texts if words[n] not in FLAG_WORDS | PLACE_WORDS and _holds_nothing_but_tags(table, n, tags)]
    if len(tagged) == 1:
        words[tagged[0]] = "tag"


def _holds_nothing_but_tags(table: RawTable, n: int, tags: TagFinder) -> bool:
    """Tell a column whose cells are terminals' tags, and say nothing else."""
    cells = texts_of(table.columns[n], MOST_LOOKED_AT)
    owners = [tags.named(cell) for cell in cells]
    pure = sum(owner is not None and not owner.air_handler and not owner.words for owner in owners)
    return len(cells) > 1 and pure >= TAGGED * len(cells)


def _value_column(table: RawTable, words: list[str], rest: list[int], texts: list[int], tags: TagFinder) -> int | None:
    named = [n for n in rest if words[n] in VALUE_WORDS]
    if len(named) == 1:
        return named[0]
    numbers = [n for n in rest if n not in texts]
    if not named and len(numbers) == 1 and any(words[n] in NAME_WORDS for n in texts):
        return None if _is_tidy_already(table, words, numbers[0], texts) else numbers[0]
    if len(named) or len(rest) > MOST_COLUMNS_OF_LONG:
        return None
    # No header says it: beside a column whose cells name points, the only one that holds values.
    full = [n for n in rest if _holds_values(table.columns[n], table.decimal)]
    names = [n for n in texts if n not in full]  # "1.659 cfm" reads like a point's name
    if not any(_share_named(table.columns[n], tags, tag=True, quantity=True) >= NAMED for n in names):
        return None
    values = [n for n in full if words[n] not in FLAG_WORDS | UNIT_WORDS]
    values = values or [n for n in full if words[n] in FLAG_WORDS]  # "State", beside which there is no other value
    return values[0] if len(values) == 1 else None


def _is_tidy_already(table: RawTable, words: list[str], value: int, texts: list[int]) -> bool:
    """Tell a table whose only column of values says what it measures, beside a tag and, perhaps, an instrument."""
    named = [n for n in texts if words[n] in NAME_WORDS]
    tagged = any(words[n] in TAG_WORDS for n in texts)
    return tagged and _says_quantity(table.names[value]) and not any(_names_quantities(table, n) for n in named)


def _holds_values(column: pa.ChunkedArray, decimal: str) -> bool:
    """Tell a column of numbers, or of text most of whose cells can be read as values."""
    if not is_text(column):
        return True
    texts = texts_of(column, MOST_LOOKED_AT)
    kinds = read_values(pa.array(texts, pa.string()), decimal).kind
    return bool(texts) and (kinds <= WORD).mean() > READABLE


def _long(table, words, time, rest, texts, value, tags) -> Layout | None:
    """A row per value: one or two columns of text name the point."""
    others = [n for n in rest if n != value]
    unit = next(
        (n for n in others if words[n] in UNIT_WORDS or (n in texts and _is_unit_column(table.columns[n]))), None
    )
    flag = next((n for n in others if n != unit and words[n] in FLAG_WORDS and _may_flag(table, words, n)), None)
    places = [n for n in others if words[n] in PLACE_WORDS]
    notes = [n for n in others if n not in (unit, flag) and words[n] in FLAG_WORDS and not _names_quantities(table, n)]
    spent = {unit, flag, *places, *notes}
    left = [n for n in others if n not in spent and (n in texts or words[n] in NAME_WORDS | TAG_WORDS)]
    names = [n for n in left if words[n] in NAME_WORDS | TAG_WORDS] or [
        n for n in left if _names_points(table.columns[n])
    ][:1]
    if names and not any(_names_quantities(table, n) for n in names):  # "point_type" beside "equip_tag"
        names += [n for n in left if n not in names and _names_several(table, n)][:1]
    if not names and len(rest) == 1 + len(notes) + sum(n is not None for n in (unit, flag)):
        return Layout("wide", time, values=[value], unit=unit, flag=flag)
    if not names:
        return None
    best = _best_names(table, words, names, tags)
    places += [n for n in names if n not in best and words[n] in TAG_WORDS and n in texts]
    spent = {*best, *places, unit, flag, *notes}
    left = [n for n in others if n not in spent and not pa.types.is_floating(table.columns[n].type)]
    return Layout("long", time, names=best, values=[value], unit=unit, flag=flag, places=places, left=left)


def _may_flag(table: RawTable, words: list[str], n: int) -> bool:
    """Tell a column of flags from one of states or of points' names, by what its words say."""
    if words[n].endswith(QUALITY_WORDS):
        return True
    says = is_text(table.columns[n]) and says_quality(texts_of(table.columns[n], MOST_LOOKED_AT), whole=False)
    return says or not _names_points(table.columns[n])


def _names_quantities(table: RawTable, n: int) -> bool:
    """Tell a column whose texts name quantities, whatever its header says."""
    if not is_text(table.columns[n]):
        return False
    texts = texts_of(table.columns[n], MOST_LOOKED_AT)
    return sum(_says_quantity(text) for text in texts) >= NAMED * len(texts)


def _names_several(table: RawTable, n: int) -> bool:
    """Tell a column whose texts name quantities, and not one alone as ``Occupied`` does in a column of modes."""
    return _names_quantities(table, n) and sum(map(_says_quantity, texts_of(table.columns[n], MOST_LOOKED_AT))) > 1


def _best_names(table, words, names: list[int], tags: TagFinder) -> list[int]:
    """Choose the fewest columns that name tag and quantity: one that names both, else a tag's and a quantity's."""
    whole = [n for n in names if words[n] not in TAG_WORDS or not _are_letters_with_numbers(table.columns[n])]
    both = [n for n in whole if _share_named(table.columns[n], tags, tag=True, quantity=True) >= SOME_NAMED]
    if both:
        return both[:1]
    quantity = [n for n in whole if _share_named(table.columns[n], tags, tag=False, quantity=True) >= SOME_NAMED]
    owner = [
        n
        for n in names
        if n not in quantity[:1]
        and (words[n] in TAG_WORDS or _share_named(table.columns[n], tags, tag=True, quantity=False) >= SOME_NAMED)
    ]
    if quantity and owner:
        return [_finest(table, words, owner), quantity[0]]
    tagged = [n for n in owner if words[n] in TAG_WORDS]
    coded = [n for n in whole if words[n] in NAME_WORDS and n not in tagged]
    if tagged and coded and not quantity:
        return [_finest(table, words, tagged), coded[0]]  # a legend may say what its codes stand for
    return names[:1] if not quantity else quantity[:1]


def _are_letters_with_numbers(column: pa.ChunkedArray) -> bool:
    """Tell cells such as ``T2.1``: under a heading for tags their letter names no quantity."""
    cells = [tokens_of(text) for text in texts_of(column, MOST_LOOKED_AT)]
    return all(
        len(cell) > 1 and len(cell[0].text) == 1 and all(token.is_number for token in cell[1:]) for cell in cells
    )


def _finest(table: RawTable, words: list[str], owners: list[int]) -> int:
    """Choose the column of tags: of an air handler's and its terminals' the one with more of them."""
    tagged = [n for n in owners if words[n] in TAG_WORDS]
    if len(tagged) < 2:
        return (tagged or owners)[0]
    return max(tagged, key=lambda n: len(as_coded(table.columns[n]).dictionary))


def _share_named(column: pa.ChunkedArray, tags: TagFinder, *, tag: bool, quantity: bool) -> float:
    """Tell how many of the texts name a tag, a quantity, or both."""
    texts = texts_of(column, MOST_LOOKED_AT)
    if not texts:
        return 0.0
    good = 0
    for text in texts:
        owner = tags.find(take_unit(text)[0])
        named = read_quantity(owner.words, air_handler=owner.air_handler) is not None
        good += (owner.tag is not None or not tag) and (named or not quantity)
    return good / len(texts)


def _holds_tags(column: pa.ChunkedArray, tags: TagFinder) -> bool:
    """Tell tags from units with figures in them, such as 0-10 V."""
    texts = texts_of(column, MOST_LOOKED_AT)
    if sum(map(is_unit, texts)) >= NAMED * len(texts):
        return False
    return _share_named(column, tags, tag=True, quantity=False) >= NAMED


def _names_points(column: pa.ChunkedArray) -> bool:
    """Tell a column of text in which most texts hold words that name a quantity."""
    if not is_text(column):
        return False
    texts = texts_of(column, MOST_LOOKED_AT)
    named = [
        text
        for text in texts
        if len(tokens_of(text)) > 1 or read_quantity(tuple(t.low for t in tokens_of(text)), air_handler=False)
    ]
    return bool(texts) and len(named) >= NAMED * len(texts) and not _is_unit_column(column)


def _is_unit_column(column: pa.ChunkedArray) -> bool:
    texts = texts_of(column, MOST_LOOKED_AT)
    return bool(texts) and all(is_unit(text) for text in texts)


def _tidy(table, words, time, rest, texts, tags) -> Layout | None:
    """A row per terminal and time: one column of tags, and headers that name quantities."""
    words_of_owners = TAG_WORDS | NAME_WORDS
    named = [n for n in rest if words[n] in words_of_owners and not pa.types.is_floating(table.columns[n].type)]
    tagged = [n for n in named if n in texts or words[n] in TAG_WORDS]
    tagged = [n for n in tagged if words[n] not in KEY_WORDS] or tagged
    owner = _finest(table, words, tagged) if tagged else None
    if owner is None:
        owner = next((n for n in texts if not words[n] or _all_known(table.columns[n], tags)), None)
    if owner is None:
        return None
    places = [n for n in rest if n != owner and (words[n] in PLACE_WORDS or (words[n] in TAG_WORDS and n in texts))]
    values = [n for n in rest if n not in (owner, *places) and n not in [m for m in named if m in texts]]
    quantities = [n for n in values if _says_quantity(table.names[n])]
    if not quantities:
        return None
    flag = next((n for n in values if words[n] in FLAG_WORDS and _is_flag(table, words, n)), None)
    values = [n for n in values if n != flag]
    left = [n for n in named if n != owner and n not in places]
    return Layout("tidy", time, names=[owner], values=values, flag=flag, places=places, left=left)


def _all_known(column: pa.ChunkedArray, tags: TagFinder) -> bool:
    if not tags.knows_terminals:
        return False
    texts = texts_of(column, MOST_LOOKED_AT)
    return bool(texts) and sum(tags.known_terminal(text) is not None for text in texts) > KNOWN * len(texts)


def _says_quantity(header: str) -> bool:
    words = tuple(token.low for token in tokens_of(take_unit(header)[0]))
    return any(read_quantity(words, air_handler=kind) is not None for kind in (False, True))


def _is_flag(table: RawTable, words: list[str], n: int) -> bool:
    """Tell a column of flags: by its header, or by a header that may mean a status as well and by its words."""
    return words[n].endswith(QUALITY_WORDS) or (is_text(table.columns[n]) and _is_flag_column(table.columns[n]))


def _is_flag_column(column: pa.ChunkedArray) -> bool:
    return says_quality(texts_of(column, MOST_LOOKED_AT))


def _wide(table: RawTable, words: list[str], time: list[int], rest: list[int], texts: list[int]) -> Layout:
    """A column per point; a column named like the one before it and a word for quality flags that one."""
    there, flags = set(rest), {}
    for n in sorted({*texts, *(n for n in rest if words[n].endswith(QUALITY_WORDS))}):
        if n - 1 in there and _flags_column(words[n], words[n - 1]) and _is_flag(table, words, n):
            flags[n - 1] = n
    spent = set(flags.values())
    return Layout("wide", time, values=[n for n in rest if n not in spent], flags=flags)


def _flags_column(word: str, before: str) -> bool:
    return word in FLAG_WORDS or any(word == before + suffix for suffix in FLAG_WORDS)
