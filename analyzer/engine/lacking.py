"""What a terminal lacks of the things that a rule's names are made of, in words and as what to ask for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.signals import SIGNALS
from analyzer.signals.made_of import FACT, SCHEDULED, SIGNAL, TREND, Formula, Input, inputs_of

There = Callable[[Input], np.ndarray]
IN_SCHEDULE = " in the terminal schedule"


@dataclass(frozen=True)
class Asked:
    """One thing to ask for: whether it is a value of the schedule, and what it is, in words."""

    scheduled: bool
    what: str


def satisfied(formula: Input | Formula, there: There) -> np.ndarray:
    """Tell for each terminal whether it has everything that a formula takes."""
    if isinstance(formula, Input):
        return there(formula)
    join, settled = (np.logical_and, np.any) if formula.how == "all" else (np.logical_or, np.all)
    found = satisfied(formula.parts[0], there)
    for part in formula.parts[1:]:
        # What is settled for all terminals is not asked further: a point of an air handler takes some working out.
        if bool(settled(found)) == (formula.how == "any"):
            break
        found = join(found, satisfied(part, there))
    return found


def by_pattern(marks: Sequence[np.ndarray], among: np.ndarray) -> Iterator[tuple[np.ndarray, list[bool]]]:
    """Group terminals (those of ``among``) that are marked alike: their numbers, and the marks."""
    at = np.flatnonzero(among)
    if not len(at):
        return
    marked = [mark[at] for mark in marks]
    pattern = np.zeros(len(at), dtype=np.int64)
    for bit, mark in enumerate(marked):
        pattern |= mark.astype(np.int64) << bit
    for value in np.unique(pattern):
        same = np.flatnonzero(pattern == value)
        yield at[same], [bool(mark[same[0]]) for mark in marked]


def lacking(formula: Input | Formula, there: There, among: np.ndarray) -> Iterator[tuple[np.ndarray, Formula | None]]:
    """Yield what terminals lack, for those that lack the same: their numbers, and what; None where nothing is lacking.

    What is lacking is a formula of inputs none of which is there; of what can stand in for each other, all is named.
    """
    inputs = inputs_of(formula) if among.any() else []
    for at, held in by_pattern([there(wanted) for wanted in inputs], among):
        yield at, _lacks(formula, dict(zip(inputs, held, strict=True)))


def _lacks(formula: Input | Formula, held: dict[Input, bool]) -> Formula | None:
    found = _left(formula, held)
    if _cannot_be(found):
        return None
    return found if isinstance(found, Formula) or found is None else Formula("all", (found,))


def _left(formula: Input | Formula, held: dict[Input, bool]) -> Input | Formula | None:
    """What is still wanted; None where nothing is. What a terminal is not cannot be added: that way is left out."""
    if isinstance(formula, Input):
        return None if held[formula] else formula
    parts = [_left(part, held) for part in formula.parts]
    if formula.how == "any":
        if any(part is None for part in parts):
            return None
        parts = [part for part in parts if not _cannot_be(part)]
    else:
        parts = [part for part in parts if part is not None]
    return _joined(formula.how, parts) if parts else formula.parts[0] if formula.how == "any" else None


def _cannot_be(part: Input | Formula | None) -> bool:
    if isinstance(part, Formula):
        impossible = [_cannot_be(inner) for inner in part.parts]
        return any(impossible) if part.how == "all" else all(impossible)
    return part is not None and part.sort == FACT


def _joined(how: str, parts: list) -> Input | Formula:
    """Join parts of which each says something that no other says; parts of one sort of joining are taken apart."""
    flat: list = []
    for part in parts:
        flat += part.parts if isinstance(part, Formula) and part.how == how else [part]
    flat = list(dict.fromkeys(flat))
    return flat[0] if len(flat) == 1 else Formula(how, tuple(flat))


def only(formula: Formula, inputs: Sequence[Input]) -> Input | Formula:
    """Keep of what is lacking what is made of some inputs, at least one of which is in it."""
    kept = [
        part if isinstance(part, Input) else only(part, inputs)
        for part in formula.parts
        if set(inputs_of(part)) & set(inputs)
    ]
    return _joined(formula.how, kept)


# In words ---------------------------------------------------------------------------------------------------------


def in_words(formula: Input | Formula) -> str:
    """Say what is lacking, such as ``the trend discharge_temp and the trend primary_temp``."""
    return _say(formula, named=False, inside=False)


def _say(part: Input | Formula, *, named: bool, inside: bool) -> str:
    """``named``: that it is a trend was said already; ``inside``: it stands in a list."""
    if isinstance(part, Input):
        name, either, other = _name(part, named).partition(", or ")
        return f"{name} (or {other})" if inside and either and "(" not in name else name + either + other
    if part.how == "all":
        return listed([_say(inner, named=named, inside=len(part.parts) > 1) for inner in part.parts])
    scheduled = [inner.name for inner in part.parts if isinstance(inner, Input) and inner.sort == SCHEDULED]
    if len(scheduled) == len(part.parts):
        return " or ".join(scheduled) + IN_SCHEDULE
    first, *others = part.parts
    also = named or (isinstance(first, Input) and first.sort == TREND)
    head, tail = _say(first, named=named, inside=inside), [_say(inner, named=also, inside=False) for inner in others]
    return f"{head} (or {', or '.join(tail)})" if inside else ", or ".join([head, *tail])


def _name(wanted: Input, named: bool) -> str:
    match wanted.sort:
        case "trend":
            return wanted.name if named else f"the trend {wanted.name}"
        case "point of the air handler":
            return f"the air handler's {wanted.name}"
        case "scheduled":
            return f"{wanted.name}{IN_SCHEDULE}"
    signal = SIGNALS[wanted.name]
    return signal.settled_by or signal.meaning


def listed(words: Sequence[str]) -> str:
    """Join words: ``a``, ``a and b``, ``a, b and c``."""
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


# As what to ask for -------------------------------------------------------------------------------------------------


def asked(formula: Input | Formula) -> list[Asked]:
    """Return what to ask for, one thing each: of several ways the one that takes the fewest; its stand-ins named."""
    if isinstance(formula, Input):
        return [_asked([formula])]
    if formula.how == "all":
        return list(dict.fromkeys(found for part in formula.parts for found in asked(part)))
    stand_ins = [part for part in formula.parts if isinstance(part, Input)]
    if len(stand_ins) == len(formula.parts):
        return [_asked(stand_ins)]
    return min((asked(part) for part in formula.parts), key=len)


def _asked(stand_ins: list[Input]) -> Asked:
    scheduled = all(_is_scheduled(wanted) for wanted in stand_ins)
    names = [_plain(wanted) for wanted in stand_ins]
    return Asked(scheduled, (" or " if scheduled else ", or ").join(names))


def _is_scheduled(wanted: Input) -> bool:
    if wanted.sort != SIGNAL:
        return wanted.sort == SCHEDULED
    settled_by = SIGNALS[wanted.name].settled_by
    return IN_SCHEDULE in settled_by and "trend" not in settled_by


def _plain(wanted: Input) -> str:
    name = _name(wanted, named=True)
    return name.removesuffix(IN_SCHEDULE).removeprefix("the trend ")
