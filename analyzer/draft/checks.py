"""What to check of a draft first, in sentences, most important first."""

from __future__ import annotations

from collections import Counter

from analyzer.draft.drafted import Drafted
from analyzer.draft.names import GUESS, LEFT_OUT, NOT_RECOGNISED, certainty_of, counted
from analyzer.intake.points.point import Point
from analyzer.intake.reading import Survey
from analyzer.intake.words.names import tokens_of
from analyzer.intake.words.wording import some


def what_to_check(found: Survey, drafted: Drafted, *, given: bool) -> list[str]:
    """Say what to check; ``given`` tells that there was a site file already."""
    points, terminals = found.points, drafted.terminals
    mapped = [point for point in points if point.mapped]
    lines = [
        f"{len(mapped)} of {len(points)} points were recognised, of {len(terminals)} terminals; "
        f"they have {counted(drafted.names)} names."
    ]
    if drafted.undecided is not None:
        lines.append(f"site.toml: {drafted.undecided.found}. Take the # off the right date_order.")
    if not given:
        lines.append(
            f'site.toml: set time_zone; until then stamps without an offset are taken as "{drafted.time_zone}".'
        )
    for certainty, said in (
        (NOT_RECOGNISED, "not recognised, {} names, which stand first: {}."),
        (LEFT_OUT, "left out, {} names, as a likelier one measures the same: {}."),
        (GUESS, "guesses, {} names: {}."),
    ):
        of_it = list(dict.fromkeys(point.column for point in points if certainty_of(point) == certainty))
        names = list(dict.fromkeys(name.column for name in drafted.names if name.certainty == certainty))
        if names:
            lines.append(f"points.csv: {said.format(len(names), some(of_it))}")
    guessed = [point for point in mapped if point.unit_from == "assumption"]
    if guessed:
        lines.append(f"points.csv: the unit of {len(guessed)} points is a guess: {some(_guessed_units(guessed), 8)}.")
    alike = _perhaps_one(found, mapped)
    if alike:
        lines.append(
            "points.csv: tags with one number that have no quantity in common, and may be one terminal: "
            f"{some(alike)}. If so, give them one tag under 'terminal'."
        )
    return [*lines, *_of_terminals(drafted)]


def _of_terminals(drafted: Drafted) -> list[str]:
    terminals, lines = drafted.terminals, []
    fans = list(terminals.index[terminals["kind_why"].str.contains("guess|neither")])
    if fans:
        lines.append(f"terminals.csv: series or parallel is not clear for {len(fans)} terminals: {some(fans)}.")
    learned = list(terminals.index[terminals["learned"]])
    if learned:
        lines.append(
            f"terminals.csv: no name tells the air handler of {len(learned)} terminals; it was inferred from their "
            f"trends, check it: {some(learned)}."
        )
    for column, what in (("air_handler", "the air handler"), ("reheat", "the sort of reheat")):
        blank = list(drafted.schedule.loc[drafted.schedule[column] == "", "terminal"])
        if blank:
            lines.append(f"terminals.csv: no name tells {what} of {len(blank)} terminals; fill it in: {some(blank)}.")
    if not len(drafted.site.schedule):
        lines.append(
            "terminals.csv: the design values are blank; observed values stand beside them, and are no substitute."
        )
    return lines


def _guessed_units(points: list[Point]) -> list[str]:
    """Tell which units were guessed of how many points, and of the first one why."""
    first: dict[tuple[str, str], Point] = {}
    counts: Counter[tuple[str, str]] = Counter()
    for point in points:
        key = point.meaning.dimension, point.unit
        first.setdefault(key, point)
        counts[key] += 1
    return [
        f"{unit} for {count} of {dimension} ({first[dimension, unit].column}: {first[dimension, unit].assumed})"
        for (dimension, unit), count in counts.most_common()
    ]


def _perhaps_one(found: Survey, mapped: list[Point]) -> list[str]:
    """Find tags that the schedule does not list, that hold the same numbers, and share no quantity."""
    quantities: dict[str, set[str]] = {}
    for point in mapped:
        if not point.air_handler and found.tags.known_terminal(point.tag) is None:
            quantities.setdefault(point.tag, set()).add(point.quantity)
    numbered: dict[tuple[int, ...], list[str]] = {}
    for tag in quantities:
        numbers = tuple(int(token.text) for token in tokens_of(tag) if token.is_number)
        if numbers:
            numbered.setdefault(numbers, []).append(tag)
    return [
        " and ".join(repr(tag) for tag in tags)
        for tags in numbered.values()
        if len(tags) > 1 and sum(len(quantities[tag]) for tag in tags) == len(set().union(*map(quantities.get, tags)))
    ]
