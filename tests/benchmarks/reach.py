"""What was aimed at, and whether it is met: each aim with the figure that was measured."""

from __future__ import annotations

from dataclasses import dataclass

from tests.benchmarks.measuring import CORES, Line, Measured, Rival, to_verdicts
from tests.benchmarks.plan import SHAPES

TIMES_BARE_READ = 4.0
TIMES_BARE_READ_INTAKE = 2.5
ROWS_A_SECOND = 2e6
TIMES_PANDAS, TIMES_POLARS = 1.0, 2.0
REPORT, COMMAND = 10.0, 2.5  # s
FLAT = 0.20
MEMORY = 2e9  # bytes
MILLION_ROWS = 5e5, 3e6  # the lines at which ratios are judged: fixed costs are a small part, and a laptop holds them


@dataclass(frozen=True)
class Aim:
    """An aim, the figure, and whether it is met: None where it was not measured."""

    what: str
    figure: str
    met: bool | None


def aims(measured: Measured, clock: str) -> list[Aim]:
    """Hold what was measured against what was aimed at, by the wall clock or by CPU seconds."""
    return [
        *_csv(measured.lines, clock),
        *_intake(measured.lines, clock),
        _parquet(measured.lines, clock),
        *_yardsticks(measured.rivals, clock),
        _report(measured, clock),
        _command(measured, clock),
        *_linear(measured.lines, clock),
        *_bounded(measured),
    ]


def of(spent, clock: str) -> float:
    """Return seconds by the clock that counts."""
    return getattr(spent, clock)


def times_bare(line: Line, clock: str) -> float:
    """Return how often the bare read fits into reading and judging, by one process or several, whichever is faster."""
    return quickest(line, clock) / of(line.bare.spent["read"], clock)


def quickest(measured: Line | Rival, clock: str) -> float:
    """Return the seconds to verdicts by one process or by one for each core, whichever are fewer."""
    by = [to_verdicts(outcome) for outcome in (measured.ours, measured.crew) if outcome is not None]
    return min(of(spent, clock) for spent in by)


def intake_times_bare(line: Line, clock: str) -> float:
    """Return how often the bare read fits into reading and normalizing."""
    return of(line.ours.spent["read"], clock) / of(line.bare.spent["read"], clock)


def _about_a_million(lines: list[Line], kind: str) -> list[Line]:
    low, high = MILLION_ROWS
    return [line for line in lines if line.cell.shape.kind == kind and low <= line.cell.rows <= high]


def _at(line: Line) -> str:
    cell = line.cell
    return f"{cell.shape.told}, {cell.terminals:,} terminals, {cell.span.told}"


def _csv(lines: list[Line], clock: str) -> list[Aim]:
    what = f"CSV to verdicts, the whole rule book, within {TIMES_BARE_READ:g} x the bare read"
    found = [(line, times_bare(line, clock)) for line in _about_a_million(lines, "csv")]
    if not found:
        return [Aim(what, "no line of about a million rows", None)]
    return [Aim(what, f"{times:.1f} x: {_at(line)}", times <= TIMES_BARE_READ) for line, times in found]


def _intake(lines: list[Line], clock: str) -> list[Aim]:
    what = f"CSV read and normalized within {TIMES_BARE_READ_INTAKE:g} x the bare read"
    found = [(line, intake_times_bare(line, clock)) for line in _about_a_million(lines, "csv")]
    return [Aim(what, f"{times:.1f} x: {_at(line)}", times <= TIMES_BARE_READ_INTAKE) for line, times in found]


def _parquet(lines: list[Line], clock: str) -> Aim:
    what = f"Normalized Parquet to verdicts at {ROWS_A_SECOND / 1e6:g} million terminal-rows a second, two cores"
    stored = [line for line in lines if line.cell.shape is SHAPES["trends"]]
    if not stored:
        return Aim(what, "", None)
    best, line = max(((_rows_a_second(line, clock), line) for line in stored), key=lambda one: one[0])
    assumed = " if the work of both cores goes on side by side" if clock == "cpu" else ""
    return Aim(what, f"{best / 1e6:.2f} million a second{assumed}: {_at(line)}", best >= ROWS_A_SECOND)


def _rows_a_second(line: Line, clock: str) -> float:
    if clock == "wall" or line.crew is None:
        return line.cell.rows / quickest(line, clock)
    return line.cell.rows / (to_verdicts(line.crew).cpu / min(2, CORES))


def _yardsticks(rivals: list[Rival], clock: str) -> list[Aim]:
    told = []
    for rival in rivals:
        ours = quickest(rival, clock)
        at = f"{rival.cell.terminals:,} terminals, {rival.cell.span.told}"
        for name, other, most in (
            ("pandas notebook's", rival.pandas, TIMES_PANDAS),
            ("polars", rival.polars, TIMES_POLARS),
        ):
            if other is not None:
                times = ours / of(other.spent["judge"], clock)
                bound = "faster than" if most == 1.0 else f"within {most:g} x of"
                what = f"The whole rule book {bound} the {name} four"
                told.append(Aim(what, f"{times:.2f} x: {at}", times <= most))
    return told


def _report(measured: Measured, clock: str) -> Aim:
    what = f"Report of 500 terminals within {REPORT:g} s"
    if measured.report is None:
        return Aim(what, "", None)
    cell, outcome = measured.report
    seconds = of(outcome.spent["report"], clock)
    return Aim(
        what, f"{seconds:.1f} s: {cell.terminals} terminals", seconds <= REPORT if cell.terminals >= 500 else None
    )


def _command(measured: Measured, clock: str) -> Aim:
    what = f"The review command on a tiny export, all imports included, under {COMMAND:g} s"
    if measured.command is None:
        return Aim(what, "", None)
    spent = measured.command
    # Two processes import side by side: what counts is when the command ends, never the work of both together.
    figure = f"{spent.wall:.2f} s ({spent.cpu:.2f} s of work on two cores)"
    return Aim(what, figure, spent.wall < COMMAND)


def _linear(lines: list[Line], clock: str) -> list[Aim]:
    told = []
    for shape in ("csv-wide", "trends"):
        own = [line for line in lines if line.cell.shape.name == shape and line.cell.span.name == "week"]
        if len(own) < 2:
            continue
        cost = {line.cell.terminals: 1e6 * of(line.to_verdicts, clock) / line.cell.rows for line in own}
        off = max(cost.values()) / min(cost.values()) - 1.0
        figures = ", ".join(f"{micro:.2f} µs at {count:,}" for count, micro in cost.items())
        what = f"Cost a row flat within {FLAT:.0%}, {SHAPES[shape].told} to verdicts"
        told.append(Aim(what, f"{off:.0%} ({figures})", off <= FLAT))
    return told or [Aim(f"Cost a row flat within {FLAT:.0%}", "", None)]


def _bounded(measured: Measured) -> list[Aim]:
    what = f"A review of a stored table, report and all, in under {MEMORY / 1e9:g} GB"
    if not measured.bounded:
        return [Aim(what, "", None)]
    return [
        Aim(
            what,
            f"{one.watched.peak / 1e9:.2f} GB, {one.watched.spent.wall:.0f} s ({one.watched.spent.cpu:.0f} s of work): "
            f"{one.cell.terminals:,} terminals, {one.cell.span.told}, {one.cell.rows / 1e6:.1f} million rows",
            one.watched.peak < MEMORY,
        )
        for one in measured.bounded
    ]
