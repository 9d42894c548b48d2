"""Every command that writes, on a small building: what it is called with, and what a whole outcome is."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from analyzer.dataset.manifest import MANIFEST, delivery_folder
from analyzer.own_files import MARK as MARK_OF_OWN
from analyzer.places import demo_exports
from tests.loaded.commands import Runner

LINES = 2 * 288 + 1  # two days of the demo at five minutes
COLUMNS = 30  # its first three terminals or so
READY = ".*.trendwright-ready"


@dataclass(frozen=True)
class Command:
    """A command that writes.

    Attributes
    ----------
    call : tuple of str
        How it is called, in the room of :func:`furnish`.
    writes : tuple of str
        What it writes there.
    earlier : tuple of str or None
        A call that has written something else in the same place before; None where nothing may stand there.
    """

    call: tuple[str, ...]
    writes: tuple[str, ...]
    earlier: tuple[str, ...] | None = None


def _commands() -> dict[str, Command]:
    table = ("table/trends.parquet", "table/air_handlers.parquet", "table/ledger.json")
    notes = ("notes/site.toml", "notes/terminals.csv", "notes/points.csv", "notes/index.html")
    complaint = ("complaint", "after", "--terminal", "VAV-1-01", "--out", "complaint.html", "--at")
    return {
        "review": Command(
            ("review", "exports", "--out", "review", "-q"),
            ("review",),
            ("review", "elsewhere", "--out", "review", "-q"),
        ),
        "review by two processes": Command(
            ("review", "exports", "--out", "review", "-q", "--workers", "2"),
            ("review",),
            ("review", "elsewhere", "--out", "review", "-q"),
        ),
        "normalize": Command(
            ("normalize", "exports", "--out", table[0], "-q"),
            table,
            ("normalize", "elsewhere", "--out", table[0], "-q"),
        ),
        "normalize into a store": Command(
            ("normalize", "exports", "--into", "store", "-q"),
            ("store",),
            ("normalize", "first-day", "--into", "store", "-q"),
        ),
        "draft": Command(("draft", "exports", "--out", "draft", "-q"), ("draft",)),
        "draft beside other files": Command(("draft", "exports", "--out", "notes", "-q"), notes),
        "compare": Command(
            ("compare", "before", "after", "--out", "comparison", "-q"),
            ("comparison",),
            ("compare", "after", "before", "--out", "comparison", "-q"),
        ),
        "complaint": Command((*complaint, "2026-01-27 12:00"), ("complaint.html",), (*complaint, "2026-01-27 15:00")),
        "demo": Command(("demo", "demo", "--shape", "wide"), ("demo",)),
    }


COMMANDS = _commands()


def furnish(room: Path, runner: Runner) -> None:
    """Lay exports of two buildings and two reviews into a room, and a folder with a file of someone else's."""
    demo = demo_exports()
    for name, zone in (("exports", "America/Chicago"), ("elsewhere", "America/Denver")):
        exports = room / name
        exports.mkdir(parents=True)
        with (demo / "wide" / "AHU-1.csv").open() as lines:
            kept = (line.split(",")[:COLUMNS] for _, line in zip(range(LINES), lines, strict=False))
            (exports / "AHU-1.csv").write_text("".join(",".join(cells).rstrip("\n") + "\n" for cells in kept))
        (exports / "site.toml").write_text((demo / "site.toml").read_text().replace("America/Chicago", zone))
        shutil.copy(demo / "terminals.csv", exports / "terminals.csv")
    shutil.copytree(room / "exports", room / "first-day")
    with (room / "exports" / "AHU-1.csv").open() as lines:
        (room / "first-day" / "AHU-1.csv").write_text(
            "".join(line for _, line in zip(range(LINES // 2), lines, strict=False))
        )
    for out in ("before", "after"):
        (ran,) = runner.run(("review", "exports", "--out", out, "-q"), cwd=room)
        assert ran["status"] == 0, ran["err"]
    (room / "notes").mkdir()
    (room / "notes" / "minutes.txt").write_text("bring the ladder")
    (room / "table").mkdir()


class Stage:
    """A command in its room, with what stood there before and what it writes when nothing goes wrong."""

    def __init__(self, room: Path, runner: Runner, command: Command):
        self.room, self.runner, self.command = room, runner, command
        self._saved = room.with_name(f"{room.name} saved")
        self._saved.mkdir(exist_ok=True)
        if command.earlier:
            self._through(command.earlier)
            self._keep()
        self.before = outcome(room, command)
        self.seconds = self._through(command.call)
        self.after = outcome(room, command)
        assert self.after and self.after != self.before

    def _through(self, call) -> float:
        (ran,) = self.runner.run(call, cwd=self.room, quick=True)
        assert ran["status"] == 0, ran["err"]
        assert left_behind(self.room) == []
        return ran["seconds"]

    def _keep(self) -> None:
        for name in self.command.writes:
            _remove(self._saved / name)
            _copy(self.room / name, self._saved / name)

    def reset(self) -> None:
        """Put back what stood there before, and nothing else."""
        for path in self.room.rglob(".*"):
            _remove(path)
        for name in self.command.writes:
            _remove(self.room / name)
            if self.command.earlier:
                _copy(self._saved / name, self.room / name)

    def run(self, **order) -> dict:
        """Run the command from what stood there before."""
        self.reset()
        return self.again(**order)

    def again(self, **order) -> dict:
        """Run the command as things are."""
        (ran,) = self.runner.run(self.command.call, cwd=self.room, **{"quick": True, **order})
        return ran

    def stands(self) -> str:
        """Say what stands there now: ``before``, ``after``, or what is wrong with it.

        Several files side by side cannot be put in place in one step: where that was cut off, the new ones stand ready,
        all of them, where every command of ours looks first.
        """
        now = outcome(self.room, self.command)
        if now == self.before:
            return "before"
        ready = {name: digest for folder in self.room.rglob(READY) for name, digest in _files_of(folder).items()}
        if now == self.after or ready == {Path(name).name: digest for name, digest in self.after.items()}:
            return "after"
        missing = sorted(set(self.after) - set(now))
        return f"neither: {len(now)} files, missing {missing[:5]}"


def _copy(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_dir():
        shutil.copytree(source, target)
    else:
        shutil.copy2(source, target)


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def outcome(room: Path, command: Command) -> dict[str, str]:
    """Return what a command wrote: each file's path and a digest of what it says."""
    told = {}
    for name in command.writes:
        whole = room / name
        counts = _counts_in(whole)
        for path in sorted(whole.rglob("*")) if whole.is_dir() else [whole]:
            shown = path.relative_to(room)
            if path.is_file() and "rounds" not in shown.parts and counts(path):
                told[str(shown)] = _digest(path)
    return told


def _counts_in(folder: Path) -> Callable[[Path], bool]:
    """Return what tells of a file whether it counts: in a store those that its list names, in other places all."""
    if not (folder / MANIFEST).is_file():
        return lambda path: True
    listed = json.loads((folder / MANIFEST).read_text())
    deliveries = {delivery_folder(told["number"]) for told in listed["deliveries"]}
    own = {folder / MANIFEST, *(folder / file for file in listed["files"])}
    return lambda path: path in own or path.parent.relative_to(folder).as_posix() in deliveries


def _files_of(folder: Path) -> dict[str, str]:
    return {path.name: _digest(path) for path in folder.iterdir()}


def _digest(path: Path) -> str:
    """Digest a file; of a workbook only its cells, for the library dates it, and nothing of that in the list of files.

    Nor of when a delivery was made.
    """
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as book:
            data = b"".join(book.read(name) for name in sorted(book.namelist()) if name.startswith("xl/"))
    elif path.name == MARK_OF_OWN:
        data = re.sub(rb'(?<=\.xlsx": )"\w*"', b"", path.read_bytes())
    elif path.name == MANIFEST:
        data = re.sub(rb'(?<="delivered": )"[^"]*"', b"", path.read_bytes())
    else:
        data = path.read_bytes()
    return hashlib.sha256(data).hexdigest()


def left_behind(room: Path) -> list[str]:
    """Return what stands in the room that no command should leave: its hidden files."""
    return sorted(str(path.relative_to(room)) for path in room.rglob(".*"))
