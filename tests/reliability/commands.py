"""Every command that writes, on a small building: what it is called with, and what a whole outcome is."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

from analyzer.places import demo_exports

CHECKOUT = Path(__file__).resolve().parents[2]
MARK = "TRENDWRIGHT_TEST_MARK"
LINES = 2 * 288 + 1  # two days of the demo at five minutes


@dataclass(frozen=True)
class Command:
    """A command that writes.

    Attributes
    ----------
    call : tuple of str
        How it is called, in the room of :func:`furnish`.
    writes : tuple of str
        What it writes there.
    replaces : bool
        Whether it may be called again where its outcome stands.
    """

    call: tuple[str, ...]
    writes: tuple[str, ...]
    replaces: bool = True


COMMANDS = {
    "review": Command(("review", "exports", "--out", "review", "-q"), ("review",)),
    "normalize": Command(
        ("normalize", "exports", "--out", "table/trends.parquet", "-q"),
        ("table/trends.parquet", "table/air_handlers.parquet", "table/ledger.json"),
    ),
    "draft": Command(("draft", "exports", "--out", "draft", "-q"), ("draft",), replaces=False),
    "draft beside others": Command(
        ("draft", "exports", "--out", "notes", "-q"),
        ("notes/site.toml", "notes/terminals.csv", "notes/points.csv"),
        replaces=False,
    ),
    "compare": Command(("compare", "before", "after", "--out", "comparison", "-q"), ("comparison",)),
    "complaint": Command(
        ("complaint", "after", "--terminal", "VAV-1-01", "--at", "2026-01-27 12:00", "--out", "complaint.html"),
        ("complaint.html",),
    ),
    "demo": Command(("demo", "demo", "--shape", "wide"), ("demo",), replaces=False),
}


class Runner:
    """The process of ``tests.reliability.forked``, and the mark by which its descendants are known."""

    def __init__(self):
        self.mark = os.urandom(8).hex()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.reliability.forked"],
            cwd=CHECKOUT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            env={"PATH": os.environ["PATH"], "PYTHONPATH": str(CHECKOUT), MARK: self.mark},
        )  # fmt: skip

    def run(self, *calls, cwd: Path, **order) -> list[dict]:
        """Run calls at once; see ``tests.reliability.forked``."""
        told = json.dumps({"calls": [list(call) for call in calls], "cwd": str(cwd), **order})
        self._process.stdin.write(told + "\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def descendants(self) -> list[str]:
        """The command lines of the processes that these commands left running."""
        return [line for pid, line in marked(self.mark) if pid != self._process.pid]

    def close(self) -> None:
        self._process.stdin.close()
        self._process.wait()
        self._process.stdout.close()


def marked(mark: str) -> list[tuple[int, str]]:
    """Find the living processes that carry a mark in their environment."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            environment = (folder / "environ").read_bytes()
            line = (folder / "cmdline").read_bytes().replace(b"\0", b" ").decode("utf-8", "replace").strip()
        except OSError:
            continue  # gone meanwhile, or another's
        if line and f"{MARK}={mark}".encode() in environment.split(b"\0"):
            found.append((int(folder.name), line))
    return found


def furnish(room: Path, runner: Runner) -> None:
    """Lay exports and two reviews into a room, and a folder with a file of someone else's."""
    demo = demo_exports()
    exports = room / "exports"
    exports.mkdir(parents=True)
    with (demo / "wide" / "AHU-1.csv").open() as lines:
        (exports / "AHU-1.csv").write_text("".join(line for _, line in zip(range(LINES), lines, strict=False)))
    for name in ("site.toml", "terminals.csv"):
        shutil.copy(demo / name, exports / name)
    for out in ("before", "after"):
        (ran,) = runner.run(("review", "exports", "--out", out, "-q"), cwd=room)
        assert ran["status"] == 0, ran["err"]
    (room / "notes").mkdir()
    (room / "notes" / "minutes.txt").write_text("bring the ladder")
    (room / "table").mkdir()


def rename_site(room: Path, name: str) -> None:
    """Give the building another name, so that the next outcome differs from the last."""
    path = room / "exports" / "site.toml"
    lines = path.read_text().splitlines()
    path.write_text("\n".join(f'name = "{name}"' if line.startswith("name =") else line for line in lines) + "\n")


def outcome(room: Path, command: Command) -> dict[str, str]:
    """Return what a command wrote: each file's path and a digest of what it says."""
    told = {}
    for name in command.writes:
        whole = room / name
        for path in sorted(whole.rglob("*")) if whole.is_dir() else [whole]:
            shown = path.relative_to(room)
            if path.is_file() and "rounds" not in shown.parts:
                told[str(shown)] = _digest(path)
    return told


def _digest(path: Path) -> str:
    """Digest a file; of a workbook only its cells, for the library dates it."""
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            data = b"".join(book.read(name) for name in sorted(book.namelist()) if name.startswith("xl/"))
    else:
        data = path.read_bytes()
    return hashlib.sha256(data).hexdigest()


def left_behind(room: Path) -> list[str]:
    """Return what stands in the room that no command should leave: its hidden files."""
    return sorted(str(path.relative_to(room)) for path in room.rglob(".*"))
