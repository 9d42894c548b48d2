"""What to check of a draft first, most important first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.draft.documents import account, otherwise, to_tell
from analyzer.draft.drafted import Drafted
from analyzer.draft.names import GUESS, LEFT_OUT, NOT_RECOGNISED, UNUSABLE
from analyzer.draft.schedule import EVIDENCE
from analyzer.intake.points.alike import name_of
from analyzer.intake.points.point import Point
from analyzer.intake.reading import Survey
from analyzer.intake.words.names import tokens_of
from analyzer.intake.words.wording import some
from analyzer.report import plural

_OF_NAMES = (
    (NOT_RECOGNISED, "{} not recognized: {}", "; say what they are, or leave them out"),
    (UNUSABLE, "{} without a usable value: {}", "; spell the codes, or correct quantity or unit"),
    (LEFT_OUT, "{} left out, as a likelier one measures the same: {}", ""),
    (GUESS, "{} guessed: {}", ""),
)


@dataclass(frozen=True)
class Check:
    """Something to check: in which file, and what; ``by_hand`` where that is said otherwise to who edits the file."""

    file: str
    said: str
    by_hand: str = ""

    def __str__(self) -> str:
        return f"{self.file}: {self.by_hand or self.said}." if self.file else f"{self.said}."


def what_to_check(found: Survey, drafted: Drafted, *, given: bool) -> list[Check]:
    """Say what to check; ``given`` tells that there was a site file already."""
    mapped = [point for point in found.points if point.mapped]
    told = f"{len(mapped)} of {len(found.points)} points were recognized, of {len(drafted.terminals)} terminals"
    checks = [Check("", told)]
    if drafted.undecided is not None:
        found_so = drafted.undecided.found
        checks.append(Check("site.toml", found_so, f"{found_so}. Take the # off the right date_order"))
    if not given:
        until = f'until then stamps without an offset are taken as "{drafted.time_zone}"'
        checks.append(Check("site.toml", f"set the time zone; {until}", f"set time_zone; {until}"))
    return checks + _of_documents(drafted) + _of_points(found, drafted, mapped) + _of_terminals(drafted)


def _of_documents(drafted: Drafted) -> list[Check]:
    """Say what the schedules and balancing reports gave, and what of them a person has to look at."""
    if drafted.documents is None:
        return []
    kept = otherwise(drafted.documents, drafted.site, drafted.units)
    lines = [*account(drafted.documents), *to_tell(drafted.documents)]
    if kept:
        lines.append(f"{plural(len(kept), 'value')} kept as the schedule that was there has them: {some(kept, 3)}")
    return [Check("schedule", line) for line in lines]


def _of_points(found: Survey, drafted: Drafted, mapped: Sequence[Point]) -> list[Check]:
    checks = []
    for certainty, said, remedy in _OF_NAMES:
        of_it = [name for name in drafted.names if name.certainty == certainty]
        if of_it:
            columns = list(dict.fromkeys(point.column for name in of_it for point in name.points))
            names = len({name_of(point) for name in of_it for point in name.points})
            checks.append(Check("points.csv", said.format(plural(names, "name"), some(columns)) + remedy))
    guessed = [point for point in mapped if point.unit_from == "assumption"]
    if guessed:
        units = some(_guessed_units(guessed), 8)
        checks.append(Check("points.csv", f"the unit of {plural(len(guessed), 'point')} is a guess: {units}"))
    if alike := _perhaps_one(found, mapped):
        said = f"tags with one number that have no quantity in common, and may be one terminal: {some(alike)}"
        checks.append(Check("points.csv", said, f"{said}. If so, give them one tag under 'terminal'"))
    return checks


def _of_terminals(drafted: Drafted) -> list[Check]:
    terminals, checks = drafted.terminals, []
    told = drafted.schedule.set_index("terminal")
    fans = list(told.index[told[EVIDENCE["kind"]].str.contains("guess|neither")])
    if fans:
        of = f"{plural(len(fans), 'terminal')}: {some(fans)}"
        checks.append(Check("terminals.csv", f"series or parallel is not clear for {of}"))
    by_trends = set(told.index[told[EVIDENCE["air_handler"]].str.startswith("no name says so")])
    learned = [tag for tag in terminals.index[terminals["learned"]] if tag in by_trends]
    if learned:
        of = f"{plural(len(learned), 'terminal')}; it was inferred from their trends, check it: {some(learned)}"
        checks.append(Check("terminals.csv", f"the names do not tell the air handler of {of}"))
    for column, what in (("air_handler", "the air handler"), ("reheat", "the reheat type")):
        blank = list(drafted.schedule.loc[drafted.schedule[column] == "", "terminal"])
        if blank:
            of = f"{plural(len(blank), 'terminal')}; fill it in: {some(blank)}"
            checks.append(Check("terminals.csv", f"the names do not tell {what} of {of}"))
    if not len(drafted.site.schedule) and drafted.documents is None:
        said = "the design values are blank; observed values stand beside them, and are no substitute"
        checks.append(Check("terminals.csv", said))
    return checks


def _guessed_units(points: Sequence[Point]) -> list[str]:
    """Tell which units were guessed of how many points, and of the first one why."""
    first: dict[tuple[str, str], Point] = {}
    counts: Counter[tuple[str, str]] = Counter()
    for point in points:
        key = point.meaning.dimension, point.unit or ""
        first.setdefault(key, point)
        counts[key] += 1
    return [
        f"{unit} for {count} of {dimension} ({first[dimension, unit].column}: "
        f"{first[dimension, unit].assumed.removeprefix('which ')})"
        for (dimension, unit), count in counts.most_common()
    ]


def _perhaps_one(found: Survey, mapped: Sequence[Point]) -> list[str]:
    """Find tags that the schedule does not list, that hold the same numbers, and share no quantity."""
    quantities: dict[str, set[str]] = {}
    for point in mapped:
        if not point.air_handler and point.tag and found.tags.known_terminal(point.tag) is None:
            quantities.setdefault(point.tag, set()).add(point.quantity or "")
    numbered: dict[tuple[int, ...], list[str]] = {}
    for tag in quantities:
        numbers = tuple(int(token.text) for token in tokens_of(tag) if token.is_number)
        if numbers:
            numbered.setdefault(numbers, []).append(tag)
    return [
        " and ".join(repr(tag) for tag in tags)
        for tags in numbered.values()
        if len(tags) > 1
        and sum(len(quantities[tag]) for tag in tags) == len(set().union(*(quantities[t] for t in tags)))
    ]
