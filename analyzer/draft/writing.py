"""Propose a building's description from its exports: the point list, the terminal schedule and the site file."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.draft.kinds import infer_terminals
from analyzer.errors import CallError
from analyzer.formulas import as_text
from analyzer.intake.points.point import Point
from analyzer.intake.points.point_list import COLUMNS, SHOWN
from analyzer.intake.reading import Survey, survey
from analyzer.intake.tables.date_order import UndecidedDates
from analyzer.intake.words.names import tokens_of
from analyzer.intake.words.wording import some
from analyzer.quantities import TERMINAL, find_unit, to_shown
from analyzer.site import Site
from analyzer.staging import check_place, files_placed, finish_placing, folder_replaced

FILES = ("site.toml", "terminals.csv", "points.csv")
_REMEDY = "Name another folder with --out."
_DESIGN = {
    "flow": ("primary_max", "balanced_max", "primary_min", "ventilation_min", "heating_primary", "fan_flow"),
    "area": ("area",),
}
# At this flow air moves [L/s]; under it a sensor barely tells. Judgement.
AIR_MOVES = 10.0
_UNITS = {"ip": {"flow": "cfm", "area": "ft2"}, "si": {"flow": "L/s", "area": "m2"}}


def draft(exports: list[str | Path], site: Site | None, folder: str | Path, say: Callable[[str], None]) -> list[str]:
    """Write ``points.csv``, ``terminals.csv`` and ``site.toml`` for a user to correct.

    Parameters
    ----------
    exports : list of str or path
        As for a review.
    site : Site or None
        What is known already; None where nothing is.
    folder : path
        Where to write; none of the three files may be there yet.
    say : callable
        Told what is being read.

    Returns
    -------
    list of str
        What to check first, most important first.

    Raises
    ------
    CallError
        One of the files is there already, or the folder cannot be written.
    ExportError
        The exports cannot be read.
    """
    folder = Path(folder)
    check_place(folder / FILES[0], remedy=_REMEDY)
    finish_placing(folder, remedy=_REMEDY)
    there = [name for name in FILES if (folder / name).exists()]
    if there:
        raise CallError(
            folder, f"{', '.join(there)} is there already", "Move it away, or name another folder with --out."
        )
    known = site or Site()
    try:
        found, undecided = survey(exports, known, say), None
    except UndecidedDates as error:
        found, undecided = survey(exports, replace(known, date_order="month-first"), say), error
    units = _units(found.points)
    terminals = infer_terminals(found)
    texts = {
        "points.csv": _point_list(found.points),
        "terminals.csv": _schedule(found, terminals, units),
        "site.toml": _site_file(known, site is not None, units, undecided),
    }
    _write(folder, texts)
    return _what_to_check(found, terminals, site is not None, undecided)


def _write(folder: Path, texts: dict[str, str]) -> None:
    """Write the files into a folder that is made with them, or, where it is there already, beside what it holds."""
    if folder.is_dir():
        placing = files_placed(folder, texts, remedy=_REMEDY)
    else:
        placing = folder_replaced(folder, remedy=_REMEDY)
    with placing as staging:
        for name, text in texts.items():
            (staging / name).write_text(text, encoding="utf-8", newline="")


def _units(points: list[Point]) -> str:
    """Tell whether the exports are rather in IP or in SI units."""
    spelled = [
        point.unit
        for point in points
        if point.mapped and point.unit and point.meaning.dimension in ("temperature", "flow")
    ]
    customary = [unit for unit in spelled if any(find_unit(unit, d) in _CUSTOMARY for d in ("temperature", "flow"))]
    return "ip" if len(customary) > 0.5 * len(spelled) else "si"


_CUSTOMARY = (find_unit("degF", "temperature"), find_unit("cfm", "flow"))


def _table(header: list[str], rows: list[list]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([as_text(str(cell)) for cell in row] for row in rows)
    return stream.getvalue()


def _point_list(points: list[Point]) -> str:
    """List every point; what was not recognised stands first, for there the user is needed."""
    rows = []
    tails = _tails([point.file for point in points])
    for point in sorted(points, key=lambda point: (_sureness(point), point.tag or "", point.quantity or "")):
        unit = point.unit if point.mapped and point.unit else ""
        sure = point.certainty if point.mapped else "left out" if point.rival else "not recognised"
        rows.append(
            [
                tails[point.file],
                point.column,
                point.tag or "",
                point.quantity or "",
                unit,
                "",
                "",
                sure,
                point.why or point.assumed,
            ]
        )
    return _table([*COLUMNS, *SHOWN], rows)


def _sureness(point: Point) -> int:
    if not point.mapped:
        return 0
    return {"guess": 1, "likely": 2}.get(point.certainty, 3)


def _tails(files: list[str]) -> dict[str, str]:
    """Shorten every file's path to the end by which no other file is meant."""
    parts = {file: file.replace("\\", "/").split("/") for file in dict.fromkeys(files)}
    tails, size = {}, 1
    while len(tails) < len(parts):
        ends = {file: "/".join(of_file[-size:]) for file, of_file in parts.items() if file not in tails}
        counts = Counter("/".join(of_file[-size:]) for of_file in parts.values())
        tails |= {file: end for file, end in ends.items() if counts[end] == 1 or size >= len(parts[file])}
        size += 1
    return tails


def _schedule(found: Survey, terminals: pd.DataFrame, units: str) -> str:
    """Write the schedule: what was inferred, blanks for the design, and what was observed beside them."""
    spell = _UNITS[units]
    design = [f"{name} [{spell[dimension]}]" for dimension, names in _DESIGN.items() for name in names] + ["people"]
    observed, told = _observed(found.trends.terminals, units)
    header = [
        "terminal",
        "kind",
        "distribution",
        "air_handler",
        "zone",
        "floor",
        "reheat",
        *design,
        *observed,
        "observed kind because",
    ]
    rows = [
        [
            tag,
            row["kind"],
            "",
            row["air_handler"],
            "",
            "",
            row["reheat"],
            *[""] * len(design),
            *told.get(tag, [""] * len(observed)),
            row["why"],
        ]
        for tag, row in terminals.iterrows()
    ]
    return _table(header, rows)


def _observed(trends: pd.DataFrame, units: str) -> tuple[list[str], dict[str, list[str]]]:
    """Return headings and, for each terminal, what its trends show where a design value is asked for."""
    flow = _UNITS[units]["flow"]
    asked = {
        f"observed primary flow, high [{flow}]": ("primary_flow", 0.995),
        f"observed primary flow, low [{flow}]": ("primary_flow", 0.05),
        f"observed flow setpoint, high [{flow}]": ("primary_flow_setpoint", 0.995),
        f"observed flow setpoint, low [{flow}]": ("primary_flow_setpoint", 0.05),
        f"observed discharge flow, usual while air moves [{flow}]": ("discharge_flow", 0.5),
        f"observed outdoor-air inlet, usual while air moves [{flow}]": ("outdoor_air_flow", 0.5),
    }
    # What is usual at rest is nothing, and says nothing of the design.
    moving = {name: trends[name].where(trends[name] >= AIR_MOVES) for name in ("discharge_flow", "outdoor_air_flow")}
    groups = trends.assign(**moving).groupby("terminal", observed=True)
    asked = {heading: figure for heading, figure in asked.items() if trends[figure[0]].notna().any()}
    figures = pd.DataFrame(
        {
            heading: to_shown(groups[name].quantile(share), TERMINAL[name].dimension, units)
            for heading, (name, share) in asked.items()
        },
        index=list(trends["terminal"].cat.categories),
    )
    told = {
        tag: ["" if np.isnan(v) else f"{v:.0f}" for v in row]
        for tag, row in zip(figures.index, figures.to_numpy(), strict=True)
    }
    return list(asked), told


def _site_file(site: Site, given: bool, units: str, undecided: UndecidedDates | None) -> str:
    zone = site.time_zone
    lines = [
        "# Drafted from the exports. Correct what is wrong and fill in what is missing.",
        "",
        "[site]",
        f'name = "{site.name if given else "Unnamed building"}"',
        f'time_zone = "{zone}"'
        + ("" if given else "    # the IANA zone of the stamps, such as America/Chicago: set it"),
        f'units = "{site.units if given else units}"',
        'terminals = "terminals.csv"',
        'points = "points.csv"',
    ]
    if undecided is not None:
        lines += [
            "# The exports cannot tell whether the month or the day comes first. Take the # off the right line:",
            '# date_order = "month-first"',
            '# date_order = "day-first"',
        ]
    elif site.date_order:
        lines.append(f'date_order = "{site.date_order}"')
    lines += [
        "",
        "# When the building is occupied; without it, verdicts on occupied hours rest on trended occupancy alone.",
        "# [hours]",
        '# occupied = { mon-fri = "07:00-18:00" }',
        "",
        "# Setpoints, where they are not trended.",
        "# [setpoints]",
        '# heating = "70 degF"',
        '# cooling = "75 degF"',
        "",
    ]
    return "\n".join(lines)


def _what_to_check(found: Survey, terminals: pd.DataFrame, given: bool, undecided: UndecidedDates | None) -> list[str]:
    points = found.points
    mapped = [point for point in points if point.mapped]
    lines = [f"{len(mapped)} of {len(points)} points were recognised, of {len(terminals)} terminals."]
    if undecided is not None:
        lines.append(f"site.toml: {undecided.found}. Take the # off the right date_order.")
    if not given:
        lines.append('site.toml: set time_zone; until then stamps without an offset are taken as "UTC".')
    rivals = [point.column for point in points if point.rival]
    unknown = [point.column for point in points if not (point.mapped or point.ignored or point.rival)]
    if unknown:
        lines.append(f"points.csv: not recognised, {len(unknown)} points, which stand first: {some(_once(unknown))}.")
    if rivals:
        lines.append(
            f"points.csv: left out, {len(rivals)} points, as a likelier one measures the same: {some(_once(rivals))}."
        )
    unsure = [point.column for point in mapped if _sureness(point) == 1]
    if unsure:
        lines.append(f"points.csv: guesses, {len(unsure)} points: {some(_once(unsure))}.")
    guessed = [point for point in mapped if point.unit_from == "assumption"]
    if guessed:
        lines.append(f"points.csv: the unit of {len(guessed)} points is a guess: {some(_guessed_units(guessed), 8)}.")
    alike = _perhaps_one(found, mapped)
    if alike:
        lines.append(
            "points.csv: tags with one number that have no quantity in common, and may be one terminal: "
            f"{some(alike)}. If so, give them one tag under 'terminal'."
        )
    fans = list(terminals.index[terminals["why"].str.contains("guess|neither")])
    if fans:
        lines.append(f"terminals.csv: series or parallel is not clear for {len(fans)} terminals: {some(fans)}.")
    learned = list(terminals.index[terminals["learned"]])
    if learned:
        lines.append(
            f"terminals.csv: no name tells the air handler of {len(learned)} terminals; it was inferred from their "
            f"trends, check it: {some(learned)}."
        )
    for column, what in (("air_handler", "the air handler"), ("reheat", "the sort of reheat")):
        blank = list(terminals.index[terminals[column] == ""])
        if blank:
            lines.append(f"terminals.csv: no name tells {what} of {len(blank)} terminals; fill it in: {some(blank)}.")
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


def _once(names: list[str]) -> list[str]:
    """Name a column of a tidy table once, however many terminals it has."""
    return list(dict.fromkeys(names))


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
