"""The page of what was measured: Markdown, every figure from the measurement."""

from __future__ import annotations

import os
import platform
import subprocess
from datetime import date
from importlib.metadata import version
from pathlib import Path

from tests.benchmarks.measuring import CORES, Measured, to_verdicts
from tests.benchmarks.reach import aims, intake_times_bare, quickest, times_bare
from tests.benchmarks.running import TOP

LONGEST = 15  # lines of a table of where the time goes
LIBRARIES = ("numpy", "pandas", "pyarrow", "polars")


def page(measured: Measured, made: date, clock: str, call: str, load: float) -> str:
    """Return ``docs/performance.md``."""
    parts = [
        f"# How fast, and in how much memory\n\nMade by `{call}` on {made.isoformat()}, at commit {_commit()}. Nothing "
        "on this page is written by hand.",
        _machine(load),
        _reach(measured, clock),
        _table(measured, clock),
        _left_out(measured),
        _rivals(measured),
        _shares(measured),
        _how(clock),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _machine(load: float) -> str:
    libraries = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    busy = (
        " **Other work ran on the machine meanwhile: seconds on the wall are too long, CPU seconds a little; ratios hold "
        "best by CPU seconds.**"
        if load > 0.5
        else ""
    )
    return (
        f"The machine: {_processor()}, {os.cpu_count()} cores, {_memory()} of memory, {platform.system()} "
        f"{platform.release()}; Python {platform.python_version()}, {libraries}. Load before the run: {load:.1f}.{busy}"
    )


def _reach(measured: Measured, clock: str) -> str:
    words = {True: "met", False: "**not met**", None: "not measured"}
    rows = [[aim.what, aim.figure, words[aim.met]] for aim in aims(measured, clock)]
    skipped = "".join(f"\n\n{sentence}" for sentence in measured.skipped)
    return f"## What was aimed at\n\n{_rows(['aim', 'measured', ''], rows)}{skipped}"


def _table(measured: Measured, clock: str) -> str:
    if not measured.lines:
        return ""
    head = [
        "terminals", "span", "shape", "rows", "read s", "judge s", "verdicts s", f"on {CORES} cores s", "CPU s",
        "rows a second", "bare read s", "x bare: intake", "x bare: verdicts", "peak MB", f"on {CORES} cores MB",
    ]  # fmt: skip
    rows = []
    for line in measured.lines:
        cell, spent = line.cell, line.ours.spent
        rows.append([
            f"{cell.terminals:,}", cell.span.told, cell.shape.told, f"{cell.rows:,}", _s(spent["read"].wall),
            _s(spent["judge"].wall), _s(line.to_verdicts.wall), _s(line.by_crew.wall) if line.crew else "",
            _s(line.to_verdicts.cpu), f"{cell.rows / quickest(line, clock):,.0f}", _s(line.bare.spent["read"].wall),
            _both(intake_times_bare, line), _both(times_bare, line), f"{line.ours.peak / 1e6:,.0f}",
            f"{line.crew.peak / 1e6:,.0f}" if line.crew else "",
        ])  # fmt: skip
    return f"""## The table

{_rows(head, rows)}

*Rows* are terminals times moments: rows of the normalized table. *Read*: exports to the normalized table; a table that
was normalized before is only looked into and read while it is judged. *Judge*: the table to verdicts and findings by
the whole rule book. *Verdicts*: both, by one process; *on {CORES} cores*: by as many processes, started before. *CPU s*:
the work of one process to verdicts. *Rows a second*: by whichever is faster. *x bare*: reading alone, and reading to verdicts
(whichever is faster), over `pandas.read_csv` or `pyarrow.parquet.read_table` of the same files, by the wall and, in
brackets, by CPU seconds. *Peak*: all processes together. The data contract is checked in a process of its own,
beside the writing; it is not in this table, and is in the command's time and in the memory above."""


def _both(ratio, line) -> str:
    return f"{ratio(line, 'wall'):.1f} ({ratio(line, 'cpu'):.1f})"


def _left_out(measured: Measured) -> str:
    if not measured.left_out:
        return ""
    reasons: dict[tuple, list[str]] = {}
    for cell, reason in measured.left_out:
        reasons.setdefault((cell.terminals, cell.span.told, reason), []).append(cell.shape.told)
    rows = [[f"{count:,}", span, ", ".join(shapes), why] for (count, span, why), shapes in reasons.items()]
    return f"## Left out\n\n{_rows(['terminals', 'span', 'shapes', 'why'], rows)}"


def _rivals(measured: Measured) -> str:
    if not measured.rivals:
        return ""
    rows = []
    for rival in measured.rivals:
        ours = [None if one is None else to_verdicts(one) for one in (rival.ours, rival.crew)]
        others = [None if one is None else one.spent["judge"] for one in (rival.pandas, rival.polars)]
        rows.append(
            [f"{rival.cell.terminals:,}", rival.cell.span.told]
            + ["" if one is None else f"{_s(one.wall)} ({_s(one.cpu)})" for one in (*ours, *others)]
        )
    head = [
        "terminals",
        "span",
        "trendwright, all rules, one process",
        f"on {CORES} cores",
        "pandas, four rules",
        "polars, four rules",
    ]
    return f"""## Beside what one could write instead

{_rows(head, rows)}

Seconds by the wall, CPU seconds in brackets, from the normalized Parquet to verdicts (ours with findings). The four are ventilation air
below its minimum, a fan that starts too often, reheat while cooling, and a drifted flow sensor (all four ways of seeing
it); `tests/benchmarks/in_pandas.py` is an engineer's notebook with a groupby per terminal,
`tests/benchmarks/in_polars.py` an expert's whole columns. A test holds that both come to the verdicts that trendwright
comes to. They give verdict and hours only: no reasons, no firmness, no figures, no evidence. The notebook is left out
where it would take many minutes."""


def _shares(measured: Measured) -> str:
    if measured.shares is None:
        return ""
    cell, outcome = measured.shares
    parts = [
        f"## Where the time goes\n\n{cell.terminals:,} terminals, {cell.span.told}, {cell.shape.told}, from exports to "
        "the written report. The main thread is looked at every few milliseconds; what a library does counts as the "
        "room's that called it. What runs in other threads and processes is not seen."
    ]
    whole = sum(seconds for _, seconds in outcome.told["rooms"])
    for name, head in (("rooms", "room"), ("files", "file"), ("signals", "signal"), ("rules", "rule, in engine")):
        counted = outcome.told[name][:LONGEST]
        rows = [[what, f"{seconds:.2f}", f"{seconds / whole:.1%}"] for what, seconds in counted]
        parts.append(_rows([head, "s", "share"], rows))
    return "\n\n".join(parts)


def _how(clock: str) -> str:
    counts = {"wall": "the clock on the wall", "cpu": "CPU seconds, all threads and processes together"}[clock]
    return f"""## How it is measured

Fifty simulated terminals (`sample_trends`) with a fault of sixteen kinds among them are set side by side until the
building is large enough, each a little warmer and with a little more air than its model; a file for each fifty. Each
measurement is a fresh process, one at a time. The same work is done once before on a small building, so that imports
are apart, and other processes that take part have started. The bare read is
measured in a process just before; both take turns, and the best of each counts (rounds as called; one above five
million rows). Files are in the machine's file cache. Aims are judged by {counts}. Peak memory is the largest sum of
what the process and all that it started held, sampled every 50 ms."""


def _s(seconds: float) -> str:
    return f"{seconds:.2f}" if seconds < 100 else f"{seconds:.0f}"


def _rows(head: list[str], rows: list[list[str]]) -> str:
    return "\n".join("| " + " | ".join(line) + " |" for line in [head, ["---"] * len(head), *rows])


def _processor() -> str:
    for line in Path("/proc/cpuinfo").read_text().splitlines():
        if line.startswith("model name"):
            return line.partition(":")[2].strip()
    return platform.machine()


def _memory() -> str:
    return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 1024**3:.0f} GiB"


def _commit() -> str:
    told = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=TOP, capture_output=True, text=True)
    return told.stdout.strip() or "unknown"
