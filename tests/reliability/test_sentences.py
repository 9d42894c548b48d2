"""What a user's files, names and permissions bring about is told in a sentence, and nothing is left out in silence."""

from __future__ import annotations

import os
import shutil

import pytest

from analyzer.report.names import natural_key

DIGITS = "7" * 5000
NOBODY = 65534
CALLS = {
    "review": ("review", "exports", "-q", "--out"),
    "draft": ("draft", "exports", "-q", "--out"),
    "normalize": ("normalize", "exports", "-q", "--out"),
    "compare": ("compare", "before", "after", "-q", "--out"),
    "complaint": ("complaint", "after", "--terminal", "VAV-1-01", "--at", "2026-01-27 12:00", "--out"),
    "demo": ("demo",),
    "rules": ("rules", "zone-too-humid", "--start"),
}


def told(ran) -> str:
    (line,) = ran["err"].strip().splitlines()
    assert ran["status"] == 2 and len(line) < 1000, ran
    assert "fault of trendwright" not in line and "Traceback" not in line
    return line


@pytest.mark.parametrize(
    ("place", "reason"),
    [
        ("loop", "Too many levels of symbolic links"),
        ("loop/within", "Too many levels of symbolic links"),
        ("x" * 300, "File name too long"),
        ("notes/" + "x" * 300, "File name too long"),
        ("y/" * 2100 + "z", "File name too long"),
        (os.fsdecode(b"caf\xe9"), "the name is no UTF-8"),
    ],
    ids=["loop", "in a loop", "long name", "long name in a folder", "long path", "no UTF-8"],
)
@pytest.mark.parametrize("command", CALLS)
def test_a_place_whose_name_cannot_be_written_to(room, runner, command, place, reason):
    if not (room / "loop").is_symlink():
        (room / "loop").symlink_to("loop")
    before = sorted(room.rglob("*"))
    (ran,) = runner.run((*CALLS[command], place), cwd=room, quick=True)
    assert f"cannot be written ({reason})" in told(ran) or "…" in told(ran), ran
    assert sorted(room.rglob("*")) == before
    (room / "loop").unlink()


@pytest.mark.parametrize(
    "call",
    [
        ("review", "loop", "--out", "new", "-q"),
        ("normalize", "loop", "--out", "new.parquet", "-q"),
        ("draft", "loop", "--out", "new", "-q"),
        ("review", "exports", "--site", "loop", "--out", "new", "-q"),
        ("compare", "loop", "after", "--out", "new", "-q"),
    ],
    ids=" ".join,
)
def test_an_input_that_is_a_link_to_itself(room, runner, call):
    (room / "loop").symlink_to("loop")
    (ran,) = runner.run(call, cwd=room, quick=True)
    (room / "loop").unlink()
    assert "loop" in told(ran)


ONE_STAMP = {
    "one row": "Time,TU-1.PRI-FLOW (cfm)\n2026-01-12 00:00,120\n",
    "alike": "Time,TU-1.PRI-FLOW (cfm)\n" + 90 * "2026-01-12 00:00,120\n",
    "at odds": "Time,TU-1.PRI-FLOW (cfm),TU-2.PRI-FLOW (cfm)\n"
    + "".join(f"2026-01-12 00:00,{n},5\n" for n in range(90)),
    "long": "Time,Point,Value\n" + "".join(f"2026-01-12 00:00,TU-1.PRI-FLOW,{n}\n" for n in range(90)),
}


@pytest.mark.parametrize("shape", ONE_STAMP)
@pytest.mark.parametrize("command", ["review", "draft", "normalize"])
def test_one_stamp_throughout(tmp_path, runner, shape, command):
    (tmp_path / "week.csv").write_text(ONE_STAMP[shape])
    out = "out.parquet" if command == "normalize" else "out"
    (ran,) = runner.run((command, "week.csv", "--out", out, "-q"), cwd=tmp_path, quick=True)
    if ran["status"]:
        several = "week.csv: holds several values of one point at one moment"
        assert any(sentence in told(ran) for sentence in ("the exports hold no value of a terminal", several))
    else:
        assert ran["err"] == ""


@pytest.mark.parametrize("column", ["terminal", "floor", "zone"])
def test_thousands_of_digits_in_the_schedule(room, runner, tmp_path, column):
    shutil.copytree(room / "exports", tmp_path / "exports")
    cells = {"terminal": "VAV-1-01", "kind": "single-duct", "floor": "1", "zone": "1-101"} | {column: DIGITS}
    (tmp_path / "exports" / "site.toml").write_text('[site]\ntime_zone = "UTC"\nterminals = "terminals.csv"\n')
    (tmp_path / "exports" / "terminals.csv").write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n")
    (ran,) = runner.run(("review", "exports", "--out", "out", "-q"), cwd=tmp_path, quick=True)
    assert ran["status"] == 0, ran["err"][:300]


def test_numbers_in_names_are_ordered_whatever_their_length():
    names = ["VAV-10", "VAV-2", f"VAV-{DIGITS}", "VAV-007", f"VAV-1{DIGITS}", "VAV-0"]
    ordered = ["VAV-0", "VAV-2", "VAV-007", "VAV-10", f"VAV-{DIGITS}", f"VAV-1{DIGITS}"]
    assert sorted(names, key=natural_key) == ordered


def as_nobody(room, runner, *call):
    """Run the command as a user without rights."""
    for above in (room, *room.parents[:4]):
        if above.owner() == room.owner():
            above.chmod(above.stat().st_mode | 0o055)
    (ran,) = runner.run(call, cwd=room, quick=True, user=NOBODY)
    return ran


@pytest.fixture
def place(room, tmp_path):
    """Exports of one's own, in a folder that anybody may write to; whatever was closed is opened again."""
    place = tmp_path / "place"
    place.mkdir(mode=0o777)
    place.chmod(0o777)
    shutil.copytree(room / "exports", place / "exports")
    yield place
    for folder in [place, *place.rglob("*")]:
        if folder.is_dir():
            folder.chmod(0o755)


@pytest.mark.parametrize("command", ["review", "draft", "normalize"])
@pytest.mark.parametrize("closed", ["exports", "exports/floor-2", "exports/floor-2/deep"])
def test_a_folder_of_exports_that_cannot_be_read_is_named(place, runner, closed, command):
    (place / "exports" / "floor-2" / "deep").mkdir(parents=True)
    for folder in ("floor-2", "floor-2/deep"):
        shutil.copy(place / "exports" / "AHU-1.csv", place / "exports" / folder / "AHU-2.csv")
    (place / closed).chmod(0)
    line = told(as_nobody(place, runner, *CALLS[command], "out"))
    assert line.startswith(f"trendwright: {closed}") and "(Permission denied)" in line, line
    assert not (place / "out").exists()


def test_a_folder_of_rules_that_cannot_be_read_is_named(place, runner):
    (place / "exports" / "mine").mkdir(mode=0)
    site = place / "exports" / "site.toml"
    site.write_text(site.read_text().replace("[site]", '[site]\nrules = "mine"', 1))
    shutil.move(place / "exports" / "mine", place / "mine")
    site.write_text(site.read_text().replace('"mine"', '"../mine"', 1))
    line = told(as_nobody(place, runner, *CALLS["review"], "out"))
    assert "mine" in line and "cannot be read (Permission denied)" in line, line
