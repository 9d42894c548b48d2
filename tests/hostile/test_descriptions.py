"""Hostile site files, schedules, point lists, rules and issue logs: refused in one sentence, within seconds."""

import os

import pytest

from analyzer.places import rule_book
from tests.hostile import exports as lay
from tests.hostile.running import SITE, furnish, refused, run

RULE = (rule_book() / "reheat-during-cooling.toml").read_text()
CONDITION = "reheat_position > reheat_open"


def with_site(text: str):
    return lay.text("site.toml", text)


def with_rule(old: str, new: str):
    """Return a function that gives the site a rule of its own, changed."""
    assert old in RULE

    def make(folder):
        (folder / "mine").mkdir()
        (folder / "mine" / "own.toml").write_text(RULE.replace(old, new, 1))
        (folder / "site.toml").write_text(SITE + 'rules = "mine"\n')

    return make


def instead(name: str, make):
    """Return a function that puts something else in the place of a file that the site names."""

    def put(folder):
        (folder / name).unlink(missing_ok=True)
        make(folder)
        if name == "points.csv":
            (folder / "site.toml").write_text(SITE + 'points = "points.csv"\n')

    return put


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (with_site(SITE + "a = " + "[" * 100_000), "site.toml: is not valid TOML: its tables are nested too deeply"),
        (with_site(SITE + "a." * 20_000 + "b = 1"), "site.toml: "),
        (with_site(SITE + "altitude = " + "9" * 100_000), "site.toml: is not valid TOML"),
        (with_site(SITE + "x = 1\n" * 1_000_000), "site.toml: cannot be read (it is larger than 1,024 KiB"),
        (with_site(SITE + "".join(f"x{n} = 1\n" for n in range(20_000))), "unknown key 'site.x0'"),
        (with_site(SITE.replace("terminals.csv", "../../../dev/zero")), "and there is no such file"),
        (with_site(SITE.replace("terminals.csv", "/dev/zero")), "/dev/zero: cannot be read (it is no file but"),
        (with_site(SITE + f"[rule.{'a-' * 10_000}b]\n"), "there is no such rule"),
        (instead("terminals.csv", lay.pipe("terminals.csv")), "terminals.csv: cannot be read (it is no file but a folder, a pipe"),
        (instead("points.csv", lay.pipe("points.csv")), "points.csv: cannot be opened (it is no file but a folder, a pipe"),
        (lay.text("terminals.csv", "terminal,kind\n" + "TU-1,single-duct\n" * 4_000_000), "it is larger than 65,536 KiB"),
        (lay.text("terminals.csv", "terminal,kind" + ",x" * 200_000), "has more than 500 columns"),
        (with_rule(CONDITION, "9**9**9**9 > 1"), "own.toml: fault_when: '9**9**9**9 > 1' is not allowed"),
        (with_rule(CONDITION, "__import__('os').system('touch harmed') > 1"), "own.toml: fault_when: "),
        (with_rule(CONDITION, "(" * 400 + "1" + ")" * 400), "own.toml: fault_when: "),
        (with_rule(CONDITION, " and ".join(["known(zone_temp)"] * 5000)), "the expression is longer than 1000 characters"),
        (with_rule(CONDITION, "zone_temp" + " + 1" * 110 + " > 1"), "the expression has more than 200 parts"),
        (with_rule(CONDITION, f"zone_temp > {'9' * 300}"), "is out of range"),
        (with_rule("{reheat}", "{reheat:>1000000000}"), "{reheat} has a format of its own"),
        (with_rule("{reheat}", "{reheat!r}"), "{reheat} has a format of its own"),
        (with_rule("{reheat}", "{reheat.__class__}"), "{reheat.__class__} is no measure or limit"),
        (with_rule("[text]", "".join(f'[measures.m{n}]\nexpression = "zone_temp"\ntake = "max"\nunit = "degC"\n' for n in range(2000)) + "[text]"), "measures: "),
        (with_rule('title = "', 'surprise = 1\ntitle = "'), "unknown key 'surprise'"),
    ],
    ids=range(23),
)  # fmt: skip
def test_refused_in_one_sentence(tmp_path, runner, make, told):
    exports = furnish(tmp_path)
    (exports / "week.csv").write_text(lay.SOUND)
    make(exports)
    assert told in refused(run(runner, tmp_path, "review", "exports", "--out", "out", "-q"))
    assert not (tmp_path / "out").exists() and not (tmp_path / "harmed").exists()


def test_a_site_file_that_is_a_pipe_is_refused(tmp_path, runner):
    exports = furnish(tmp_path)
    (exports / "week.csv").write_text(lay.SOUND)
    os.mkfifo(tmp_path / "pipe.toml")
    ran = run(runner, tmp_path, "review", "exports", "--site", "pipe.toml", "-q")
    assert "pipe.toml: cannot be read (it is no file but a folder, a pipe or a device)" in refused(ran)


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lay.workbook(lay.FAR_CELL), "week.xlsx: sheet 'Sheet': has more than 50,000,000 cells"),
        (lay.workbook(lay.LAUGHING), "week.xlsx: is not a readable workbook"),
        (lay.text("week.xlsx", b"0" * (80 * lay.MIB)), "week.xlsx: cannot be read (it is larger than 65,536 KiB"),
    ],
)
def test_an_issue_log_that_was_handed_back_is_no_trap(tmp_path, runner, make, told):
    exports = furnish(tmp_path)
    (exports / "week.csv").write_text(lay.SOUND)
    make(tmp_path)
    ran = run(runner, tmp_path, "review", "exports/week.csv", "--answers", "week.xlsx", "--out", "out", "-q")
    assert told in refused(ran)
