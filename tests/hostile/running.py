"""Run commands within bounds: a hostile input may cost seconds and a stated amount of memory, and no more."""

from __future__ import annotations

from pathlib import Path

from tests.loaded.commands import Runner
from tests.reliability.commands import left_behind

MEMORY = 4 * 1024**3  # bytes of address space; the sound export beside it needs less than half
SECONDS = 60  # of processor time
SITE = '[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n'
TERMINALS = "terminal,kind,ventilation_min [cfm]\nTU-1,single-duct,100\n"


def furnish(room: Path) -> Path:
    """Lay a site file and a schedule into a folder of exports; return that folder."""
    exports = room / "exports"
    exports.mkdir()
    (exports / "site.toml").write_text(SITE)
    (exports / "terminals.csv").write_text(TERMINALS)
    return exports


def run(runner: Runner, room: Path, *call: str, memory: int = MEMORY) -> dict:
    """Run a command within the bounds; it must end by itself, and leave nothing hidden."""
    (ran,) = runner.run(call, cwd=room, quick=True, memory=memory, cpu=SECONDS)
    assert ran["status"] in (0, 1, 2), f"ended with {ran['status']}: {ran['err'][-500:]}"
    assert "Traceback" not in ran["err"] and "fault of trendwright" not in ran["err"], ran["err"]
    assert left_behind(room) == []
    return ran


def refused(ran: dict) -> str:
    """Return the one sentence with which a call was refused."""
    assert ran["status"] == 2, ran
    (sentence,) = ran["err"].strip().splitlines()
    assert sentence.startswith("trendwright: ") and sentence.isprintable() and len(sentence) < 1000
    return sentence
