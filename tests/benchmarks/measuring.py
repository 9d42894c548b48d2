"""Measure what the call asks for, part by part, one process at a time."""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.clock import Spent, available
from tests.benchmarks.plan import SHAPES, SPANS, TRENDS, WIDE, YEAR, Cell, Store
from tests.benchmarks.running import DidNotFinish, Outcome, Watched, run, watch

PARTS = ("table", "yardsticks", "command", "report", "shares", "memory")
COMMAND_RUNS = 3
CORES = os.cpu_count() or 1
# From so many rows on the command starts a process for each core.
ROWS_WORTH_A_CREW = 300_000
# The buildings whose memory is watched.
# One that holds more than this is stopped, before the machine has to. [bytes]
STOP_AT = 8e9
BOUNDED = ((5000, SPANS["week"]), (500, YEAR))


@dataclass
class Line:
    """One line of the table, the best of its rounds: by one process, and by one for each core where there are many rows."""

    cell: Cell
    ours: Outcome
    crew: Outcome | None
    bare: Outcome

    @property
    def to_verdicts(self) -> Spent:
        return to_verdicts(self.ours)

    @property
    def by_crew(self) -> Spent | None:
        return None if self.crew is None else to_verdicts(self.crew)


@dataclass
class Rival:
    """The four card rules by a yardstick, on the normalized table of a cell, beside ours in the same round."""

    cell: Cell
    ours: Outcome
    crew: Outcome | None
    pandas: Outcome | None
    polars: Outcome


@dataclass
class Bounded:
    """A review by the command from a stored table, watched: what it took, and the most memory of all its processes."""

    cell: Cell
    watched: Watched


def to_verdicts(outcome: Outcome) -> Spent:
    """Return the time from exports to verdicts and findings."""
    return outcome.spent["read"] + outcome.spent["judge"]


@dataclass
class Measured:
    """All that was measured; what was not is empty, and ``left_out`` says why a line of the table is missing."""

    lines: list[Line] = field(default_factory=list)
    left_out: list[tuple[Cell, str]] = field(default_factory=list)
    rivals: list[Rival] = field(default_factory=list)
    command: Spent | None = None
    report: tuple[Cell, Outcome] | None = None
    shares: tuple[Cell, Outcome] | None = None
    bounded: list[Bounded] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)


class Measuring:
    """The measurements of one call.

    Parameters
    ----------
    store : Store
    cells : list of Cell
        Lines of the table that were asked for.
    rounds : int
        How often each is measured, its yardstick before it each time; the best counts.
    everything : bool
        Measure lines that are left out for the time that they take.
    say : callable
    """

    def __init__(self, store: Store, cells: list[Cell], rounds: int, everything: bool, say):
        self.store, self.cells, self.rounds, self.everything, self.say = store, cells, rounds, everything, say
        self.measured = Measured()

    def part(self, name: str) -> None:
        """Measure a part."""
        getattr(self, name)()

    # The table ------------------------------------------------------------------------------------------------------

    def table(self) -> None:
        for number, cell in enumerate(self.cells, 1):
            self.say(f"[{number} of {len(self.cells)}] {_told(cell)}")
            reason = cell.left_out(self.everything) or _too_large(cell)
            try:
                if reason is None:
                    self.measured.lines.append(self._line(cell))
            except DidNotFinish as stopped:
                reason = f"It did not finish: {stopped}"
            if reason is not None:
                self.measured.left_out.append((cell, reason))
                self.say(f"    left out: {reason}")

    def _line(self, cell: Cell) -> Line:
        folder, bare, ours, crew = self.store.of(cell.terminals, cell.span, cell.shape), None, None, None
        for _ in range(self._rounds(cell)):
            bare = _better(bare, run("bare", files=_files(folder), repeats=_repeats(cell)))
            ours = _better(ours, self._ours(cell, folder, 1))
            if cell.rows >= ROWS_WORTH_A_CREW:
                crew = _better(crew, self._ours(cell, folder, CORES))
        self.say(
            f"    read {ours.spent['read'].wall:.2f} s, judge {ours.spent['judge'].wall:.2f} s, "
            f"bare read {bare.spent['read'].wall:.2f} s, at most {ours.peak / 1e6:.0f} MB"
        )
        return Line(cell, ours, crew, bare)

    def _ours(self, cell: Cell, folder: Path, workers: int) -> Outcome:
        outcome = run("review", folder=str(folder), warm=self._warm(cell), repeats=_repeats(cell), workers=workers)
        if outcome.told["rows"] != cell.rows:
            raise DidNotFinish(f"{outcome.told['rows']} rows were read and {cell.rows} written")
        return outcome

    def _rounds(self, cell: Cell) -> int:
        return self.rounds if cell.rows < 5e6 else 1

    def _warm(self, cell: Cell) -> str:
        return str(self.store.warm(cell.shape))

    # What else a user could write -----------------------------------------------------------------------------------

    def yardsticks(self) -> None:
        for cell in self._of_shape(TRENDS):
            if cell.left_out(self.everything) or _too_large(cell):
                continue
            self.say(f"the four card rules: {_told(cell)}")
            self.measured.rivals.append(self._rival(cell))

    def _rival(self, cell: Cell) -> Rival:
        folder, ours, crew = self.store.of(cell.terminals, cell.span, TRENDS), None, None
        polars, pandas = None, None
        of = {"folder": str(folder), "warm": self._warm(cell), "repeats": _repeats(cell)}
        for _ in range(self._rounds(cell)):
            polars = _better(polars, run("polars", **of))
            ours = _better(ours, self._ours(cell, folder, 1))
            if cell.rows >= ROWS_WORTH_A_CREW:
                crew = _better(crew, self._ours(cell, folder, CORES))
        if cell.rows < 5e6:
            pandas = run("pandas", **(of | {"repeats": 1}))
        return Rival(cell, ours, crew, pandas, polars)

    # The rest -------------------------------------------------------------------------------------------------------

    def command(self) -> None:
        """Time ``trendwright review`` on a tiny export, from start to end, all imports included."""
        self.say("the command on a tiny export")
        folder, runs = self.store.tiny(), []
        for _ in range(COMMAND_RUNS):
            runs.append(_review_by_command(folder, every=0.5).spent)
        self.measured.command = Spent(min(one.wall for one in runs), min(one.cpu for one in runs))

    def report(self) -> None:
        """Time the writing of a report."""
        cell = self._about(500, WIDE)
        self.say(f"the report: {_told(cell)}")
        self.measured.report = cell, run("report", **self._whole(cell))

    def shares(self) -> None:
        """Find out where the time goes."""
        cell = self._about(500, WIDE)
        self.say(f"where the time goes: {_told(cell)}")
        self.measured.shares = cell, run("shares", **self._whole(cell))

    def memory(self) -> None:
        """Watch the memory of the command while it reviews large buildings from a stored table, report and all."""
        for terminals, span in BOUNDED:
            cell = Cell(terminals, span, TRENDS)
            if terminals > max(cell.terminals for cell in self.cells):
                continue
            self.say(f"memory: {_told(cell)}")
            folder = self.store.of(terminals, span, TRENDS)
            try:
                self.measured.bounded.append(Bounded(cell, self._watched(folder)))
            except DidNotFinish as stopped:
                self.measured.skipped.append(f"Memory of {_told(cell)}: it did not finish: {stopped}")

    @staticmethod
    def _watched(folder: Path) -> Watched:
        return _review_by_command(folder, shared_once=True, every=0.2, most=min(STOP_AT, 0.7 * available()))

    def _whole(self, cell: Cell) -> dict:
        folder = self.store.of(cell.terminals, cell.span, cell.shape)
        return {"folder": str(folder), "warm": self._warm(cell), "repeats": 1}

    def _about(self, terminals: int, shape) -> Cell:
        """Return a week of so many terminals, or of as many as this call goes up to."""
        largest = max(cell.terminals for cell in self.cells)
        return Cell(min(terminals, largest), SPANS["week"], shape)

    def _of_shape(self, shape) -> list[Cell]:
        found = [(cell.terminals, cell.span.name) for cell in self.cells]
        return [Cell(terminals, SPANS[span], shape) for terminals, span in dict.fromkeys(found)]


def _review_by_command(folder: Path, **how) -> Watched:
    with tempfile.TemporaryDirectory() as out:
        call = [sys.executable, "-m", "analyzer", "review", str(folder), "--out", f"{out}/review", "--quiet"]
        return watch(call, **how)


def cells(terminals, spans, shapes) -> list[Cell]:
    """Return the lines of the table."""
    return [Cell(count, SPANS[span], SHAPES[shape]) for span in spans for count in terminals for shape in shapes]


def _told(cell: Cell) -> str:
    return f"{cell.terminals:,} terminals, {cell.span.told}, {cell.shape.told}"


def _too_large(cell: Cell) -> str | None:
    free = available()
    if cell.memory > free:
        return (
            f"A review of it in one piece takes about {cell.memory / 1e9:.0f} GB, and the machine had "
            f"{free / 1e9:.0f} GB free."
        )
    return None


def _repeats(cell: Cell) -> int:
    return 3 if cell.rows < 3e5 else 1


def _better(before: Outcome | None, now: Outcome) -> Outcome:
    return now if before is None else before.better(now)


def _files(folder: Path) -> list[str]:
    exports = folder / "exports"
    if exports.exists():
        return sorted(str(path) for path in exports.iterdir())
    return [str(folder / "trends.parquet"), str(folder / "air_handlers.parquet")]
