"""``[[exclude]]`` through the command: told among the assumptions, shaded on the charts, stored, and refused if wrong."""

import json
import re
import shutil

import pandas as pd
import pytest

from analyzer.places import demo_exports

WINDOW = '\n[[exclude]]\nterminals = ["VAV-1-01"]\nfrom = "2026-01-28 09:00"\nto = "2026-01-28 15:00"\nwhy = "functional test"\n'


@pytest.fixture(scope="module")
def reviewed(trendwright, tmp_path_factory):
    """The demo's wide exports with one window left out at one terminal; and without."""
    room = tmp_path_factory.mktemp("excluded")
    for name, more in (("with", WINDOW), ("without", "")):
        shutil.copytree(
            demo_exports(), room / name, ignore=shutil.ignore_patterns("long", "parquet", "retest", "documents")
        )
        site = room / name / "site.toml"
        site.write_text(site.read_text() + more)
        ran = trendwright("review", name, "--out", f"out-{name}", cwd=room)
        assert ran.status == 0, ran.err
    return room


def hours(folder) -> pd.Series:
    table = pd.read_csv(folder / "verdicts.csv", keep_default_na=False)
    return table.set_index(["terminal", "rule"])["judged_hours"]


def test_fewer_hours_are_judged_there_and_nowhere_else(reviewed):
    before, after = hours(reviewed / "out-without"), hours(reviewed / "out-with")
    fewer = (before - after)[lambda lost: lost.abs() > 0.001]
    assert fewer["VAV-1-01", "primary-below-ventilation-minimum"] == pytest.approx(6.9, abs=1.0)
    assert {terminal for terminal, _ in fewer.index} - {"AHU-1"} == {"VAV-1-01"}


def test_it_is_told_stored_and_shaded(reviewed):
    out = reviewed / "out-with"
    told = "Left out of judging: 2026-01-28 09:00 to 2026-01-28 15:00, VAV-1-01: functional test."
    assert told in (out / "index.html").read_text()
    assert [own["why"] for own in json.loads((out / "site.json").read_text())["excluded"]] == [
        "functional test", "functional test, heating sequence",
    ]  # fmt: skip
    page = (out / "terminals" / "VAV-1-01.html").read_text()
    (data,) = re.findall(r'<script type="application/json" id="trend-data">(.*?)</script>', page)
    start = pd.Timestamp("2026-01-28 09:00", tz="America/Chicago").timestamp()
    data = json.loads(data)
    assert data["excluded"] == [
        [start - data["origin"], start - data["origin"] + 6 * 3600, "left out: functional test"]
    ]
    assert "left out of judging (functional test)" in page
    assert "left out of judging" not in (out / "terminals" / "VAV-1-02.html").read_text()


def test_without_the_demos_window_its_functional_test_is_blamed(trendwright, reviewed):
    """Damper and heat were overridden at VAV-2-06 on Thursday morning: the site file leaves it out of judging."""

    def found(folder) -> set[str]:
        told = json.loads((folder / "findings.json").read_text())["findings"]
        return {finding["rule"] for finding in told if finding["terminal"] == "VAV-2-06"}

    shutil.copytree(reviewed / "without", reviewed / "no-window")
    site = reviewed / "no-window" / "site.toml"
    site.write_text(re.sub(r"\[\[functional_test\]\]\n(.+\n)+", "", site.read_text()))
    assert trendwright("review", "no-window", "--out", "out-no-window", cwd=reviewed).status == 0
    assert found(reviewed / "out-without") == set()
    assert "reheat-during-cooling" in found(reviewed / "out-no-window")


def test_a_tag_that_no_terminal_has_is_refused(trendwright, reviewed):
    site = reviewed / "with" / "site.toml"
    whole = site.read_text()
    site.write_text(whole.replace('["VAV-1-01"]', '["VAV-1-1"]'))
    ran = trendwright("review", "with", "--out", "out-refused", cwd=reviewed)
    site.write_text(whole)
    assert ran.status == 2 and "there is no terminal 'VAV-1-1' (did you mean 'VAV-1-01'?)" in ran.err
    assert not (reviewed / "out-refused").exists()
