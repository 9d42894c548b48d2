"""Places that cannot be written, disks that are full, and streams that are closed."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from analyzer.errors import CallError
from analyzer.staging import check_place
from tests.reliability.commands import COMMANDS, Stage, left_behind, outcome

ROOT = os.geteuid() == 0


def mounted(place: Path, *options: str) -> bool:
    """Mount a small file system in memory, where this machine lets us."""
    place.mkdir(exist_ok=True)
    call = ["mount", "-t", "tmpfs", *(["-o", ",".join(options)] if options else []), "tmpfs", str(place)]
    try:
        return subprocess.run(call, capture_output=True).returncode == 0
    except FileNotFoundError:
        return False


@pytest.mark.parametrize("below", ["/proc", "/sys", "exports/site.toml", "/dev/null"])
@pytest.mark.parametrize("name", ["review", "normalize", "draft", "compare", "complaint", "demo"])
def test_a_place_that_cannot_be_written(room, runner, name, below):
    before = sorted(room.rglob("*"))
    call = list(COMMANDS[name].call)
    at = call.index("--out") + 1 if "--out" in call else 1
    call[at] = f"{below}/made/{Path(call[at]).name}"
    (ran,) = runner.run(call, cwd=room, quick=True)
    assert ran["status"] == 2, ran
    (line,) = ran["err"].strip().splitlines()
    assert line.startswith(f"trendwright: {below}/made") and "cannot be written (" in line
    assert sorted(room.rglob("*")) == before


def test_a_folder_without_the_right_to_write(tmp_path):
    """Root may write anywhere: where the tests run as root, they step down for the attempt."""
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o555)
    for above in (tmp_path, *tmp_path.parents[:3]):  # so many are pytest's own where processes share the tests
        above.chmod(above.stat().st_mode | 0o055)
    if ROOT:
        os.seteuid(65534)
    try:
        with pytest.raises(CallError, match=r"review: cannot be written \(Permission denied\)\. Name another folder"):
            check_place(locked / "review", remedy="Name another folder with --out.")
    finally:
        if ROOT:
            os.seteuid(0)


@pytest.mark.parametrize("size", ["64k", "512k", "1m", "2m"])
@pytest.mark.parametrize("name", ["review", "normalize", "draft", "compare", "complaint", "demo"])
def test_a_disk_that_fills_up(room, runner, tmp_path, name, size):
    """A small disk where one may be mounted; elsewhere a limit on a file's size, which ends a write in the same way."""
    command, disk = COMMANDS[name], tmp_path / "disk"
    call = list(command.call)
    at = call.index("--out") + 1 if "--out" in call else 1
    target = disk / Path(call[at]).name
    call[at] = str(target)
    small = mounted(disk, f"size={size}", "nr_inodes=200")
    order = {} if small else {"largest_file": 300}
    try:
        (ran,) = runner.run(call, cwd=room, quick=True, **order)
        there = sorted(path.name for path in disk.iterdir())
    finally:
        if small:
            subprocess.run(["umount", str(disk)], check=True)
    if ran["status"] == 0:
        assert target.name in there and not any(name.startswith(".") for name in there)
    else:
        assert ran["status"] == 2 and there == [], (ran, there)
        (line,) = ran["err"].strip().splitlines()
        assert "cannot be written (" in line and "Traceback" not in line


def run_closed(room, redirections: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        ["bash", "-c", f"exec {sys.executable} -m analyzer rules {redirections}"],
        cwd=room, capture_output=True, text=True, env={"PYTHONPATH": str(Path(__file__).resolve().parents[2])},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("redirections", "status", "said"),
    [
        (">&-", 0, ""),
        (">&- 2>&- <&-", 0, ""),
        ("> /dev/full", 2, "trendwright: standard output cannot be written (No space left on device)."),
        ("no-such-rule 2>&-", 2, ""),
        ("> >(head -c 10 > /dev/null)", 0, ""),
    ],
)
def test_closed_streams(tmp_path, redirections, status, said):
    ran = run_closed(tmp_path, redirections)
    assert ran.returncode == status
    assert said in ran.stderr and "Traceback" not in ran.stderr and "Exception ignored" not in ran.stderr


def test_two_reviews_into_one_folder_at_once(room, runner):
    stage = Stage(room, runner, COMMANDS["review"])
    stage.reset()
    both = runner.run(stage.command.call, stage.command.earlier, cwd=room, quick=True)
    assert [ran["status"] for ran in both] == [0, 0], both
    assert left_behind(room) == []
    told = outcome(room, stage.command)
    assert set(told) == set(stage.after)
    # Whichever came second kept the findings of the first, and of what stood there before.
    assert len(list((room / "review" / "rounds").iterdir())) >= 1
    stage.reset()
