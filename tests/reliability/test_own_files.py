"""A folder is taken over only where a review wrote it, and whatever others laid into it is there afterwards."""

from __future__ import annotations

import json
import os
import shutil

import openpyxl
import pytest

REVIEW = ("review", "exports", "--out", "mine", "-q")
RESPONSE, STATUS = 11, 13  # columns of the issue log that a contractor fills


def of(room):
    """Every file below a folder, with what it says."""
    return {str(path.relative_to(room)): path.read_bytes() for path in room.rglob("*") if path.is_file()}


def laid(folder, *names):
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(f"mine: {name}")


@pytest.fixture
def mine(room):
    """A folder that is gone again afterwards."""
    yield room / "mine"
    shutil.rmtree(room / "mine", ignore_errors=True)


@pytest.fixture
def reviewed(mine, room, runner):
    """A folder that a review wrote."""
    shutil.copytree(room / "after", mine)
    return mine


def ran(room, runner, *call):
    return runner.run(call or REVIEW, cwd=room, quick=True)[0]


@pytest.mark.parametrize(
    "names",
    [
        ("index.html", "assets/style.css"),
        ("terminals/VAV-1.html",),
        ("findings.csv",),
        ("issue_log.xlsx",),
        ("ledger.json", "verdicts.csv"),
        ("trends.parquet",),
        ("notes.txt",),
        (".hidden",),
        ("findings.json",),
    ],
    ids=" ".join,
)
@pytest.mark.parametrize("command", ["review", "compare"])
def test_a_folder_that_the_command_did_not_write_is_refused_untouched(room, runner, mine, names, command):
    laid(mine, *names)
    before = of(mine)
    call = REVIEW if command == "review" else ("compare", "before", "after", "--out", "mine", "-q")
    end = ran(room, runner, *call)
    assert end["status"] == 2, end
    (line,) = end["err"].strip().splitlines()
    assert line.startswith("trendwright: mine") and "--out" in line
    assert of(mine) == before


def test_from_python_too_a_folder_that_no_review_wrote_is_refused(tmp_path):
    from analyzer.errors import CallError
    from analyzer.handover import check_folder, write

    laid(tmp_path / "mine", "index.html")
    for refused in (lambda: check_folder(tmp_path / "mine", []), lambda: write(None, tmp_path / "mine")):
        with pytest.raises(CallError, match=r"mine: holds files and no review\. Give the review a folder of its own"):
            refused()
    assert of(tmp_path) == {"mine/index.html": b"mine: index.html"}


@pytest.mark.parametrize("how", ["as it is", "of an earlier release"])
def test_what_others_laid_into_a_review_is_kept_at_every_depth(room, runner, reviewed, how):
    others = ["notes.txt", "terminals/photo.jpg", "assets/logo.png", "assets/vendor/deep/own.js", "rounds/minutes.md"]
    laid(reviewed, *others)
    (reviewed / "empty").mkdir()
    (reviewed / "link").symlink_to("nowhere")
    (reviewed / "terminals" / "long-gone.html").write_text("a page of an earlier round")
    if how == "of an earlier release":
        (reviewed / "written.json").unlink()
    end = ran(room, runner)
    assert end["status"] == 0, end
    told = of(reviewed)
    assert {name: told.get(name) for name in others} == {name: f"mine: {name}".encode() for name in others}
    assert (reviewed / "empty").is_dir() and os.readlink(reviewed / "link") == "nowhere"
    # Without a list of what was written, a page among the pages is taken for one of them.
    assert (reviewed / "terminals" / "long-gone.html").exists() == (how == "as it is")


def test_a_page_that_is_no_longer_written_goes(room, runner, reviewed):
    mark = json.loads((reviewed / "written.json").read_text())
    mark["files"]["terminals/long-gone.html"] = ""
    (reviewed / "written.json").write_text(json.dumps(mark))
    (reviewed / "terminals" / "long-gone.html").write_text("of a terminal that is gone")
    assert ran(room, runner)["status"] == 0
    assert not (reviewed / "terminals" / "long-gone.html").exists()
    assert set(of(reviewed)) == {*of(room / "after"), "history.html", "rounds.csv"} | {
        f"rounds/{n.name}" for n in (reviewed / "rounds").iterdir()
    }


def answered(log, said="valve replaced"):
    book = openpyxl.load_workbook(log)
    sheet = book["Issue log"]
    sheet.cell(2, RESPONSE).value, sheet.cell(2, STATUS).value = said, "corrected"
    sheet.cell(1, 20).value = "a column of our own"
    book.save(log)


@pytest.mark.parametrize("how", ["as it is", "of an earlier release"])
def test_an_answered_issue_log_is_kept_as_it_was_handed_back(room, runner, reviewed, how):
    if how == "of an earlier release":
        (reviewed / "written.json").unlink()
    answered(reviewed / "issue_log.xlsx")
    handed_back = (reviewed / "issue_log.xlsx").read_bytes()
    end = ran(room, runner)
    assert end["status"] == 0, end
    (copy,) = reviewed.glob("rounds/*/issue_log.xlsx")
    assert copy.read_bytes() == handed_back
    assert f"kept: {copy.relative_to(reviewed)}" in end["out"]
    assert openpyxl.load_workbook(reviewed / "issue_log.xlsx")["Issue log"].cell(2, RESPONSE).value == "valve replaced"
    assert ran(room, runner)["status"] == 0  # the new log is as it was written: no second copy
    assert len(list(reviewed.glob("rounds/*/issue_log.xlsx"))) == 1


def test_two_logs_handed_back_within_a_second_are_both_kept(room, runner, reviewed):
    for said in ("first", "second"):
        answered(reviewed / "issue_log.xlsx", said)
        os.utime(reviewed / "issue_log.xlsx", (1.8e9, 1.8e9))
        assert ran(room, runner)["status"] == 0
    kept = [openpyxl.load_workbook(path)["Issue log"].cell(2, RESPONSE).value for path in reviewed.rglob("*Z*/*.xlsx")]
    assert sorted(kept) == ["first", "second"]


def test_a_table_that_was_written_into_is_kept(room, runner, reviewed):
    with (reviewed / "findings.csv").open("a") as file:
        file.write("a remark of ours\n")
    assert ran(room, runner)["status"] == 0
    (copy,) = reviewed.glob("rounds/*/findings.csv")
    assert copy.read_text().endswith("a remark of ours\n")


def test_someone_elses_file_where_a_page_is_written_is_kept(room, runner, reviewed):
    mark = json.loads((reviewed / "written.json").read_text())
    page = next(name for name in mark["files"] if name.startswith("terminals/"))
    del mark["files"][page]
    (reviewed / "written.json").write_text(json.dumps(mark))
    laid(reviewed, page)
    end = ran(room, runner)
    assert end["status"] == 0, end
    (copy,) = reviewed.glob(f"rounds/*/{page}")
    assert copy.read_text() == f"mine: {page}"


@pytest.mark.parametrize("spoiled", ["findings.json", "written.json"])
def test_a_review_whose_own_record_is_damaged_is_not_written_over(room, runner, reviewed, spoiled):
    (reviewed / spoiled).write_text('{"format": ')
    before = of(reviewed)
    end = ran(room, runner)
    assert end["status"] == 2
    assert end["err"].startswith(f"trendwright: mine/{spoiled}: cannot be read"), end
    assert of(reviewed) == before


def test_what_others_laid_into_a_comparison_is_kept(room, runner, mine):
    call = ("compare", "before", "after", "--out", "mine", "-q")
    assert ran(room, runner, *call)["status"] == 0
    laid(mine, "findings/photo.jpg", "assets/logo.png", "minutes.txt")
    (mine / "comparison.csv").write_text("with our remarks")
    end = ran(room, runner, *call)
    assert end["status"] == 0, end
    told = of(mine)
    for name in ("findings/photo.jpg", "assets/logo.png", "minutes.txt"):
        assert told[name] == f"mine: {name}".encode()
    (copy,) = mine.glob("kept/*/comparison.csv")
    assert copy.read_text() == "with our remarks"
    assert f"kept: {copy.relative_to(mine)}" in end["out"]
