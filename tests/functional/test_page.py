"""The page of a functional test, its table, and the links to it: only where the site file names a window."""

from dataclasses import replace

import pandas as pd
import pytest

import analyzer
from analyzer.site import Site
from tests.functional.tests_told import told_site

TRENDS = {
    "primary_flow_setpoint": {"00:00": 100, "09:00": 200}, "primary_flow": {"00:00": 100, "09:20": 200},
    "damper_position": {"00:00": 20, "09:20": 40}, "zone_temp": 21,
}  # fmt: skip


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A review of one terminal with a test in which the airflow followed late, and of the same without a test."""
    trends, site = told_site(TRENDS, ("flow setpoint", "heating"), alike=1)
    folder = tmp_path_factory.mktemp("functional")
    analyzer.review(trends, site).write(folder / "with")
    analyzer.review(trends, Site(time_zone=site.time_zone, schedule=site.schedule)).write(folder / "without")
    return folder


def test_the_table_has_a_row_for_each_step_and_what_had_to_follow(written):
    table = pd.read_csv(written / "with" / "functional_tests.csv")
    assert table["terminal"].unique().tolist() == ["TU-1"]
    late = table[table["kind"] == "flow setpoint"].iloc[0]
    assert (late["result"], late["limit_min"], late["least_min"], late["most_min"]) == ("fail", 5, 19, 21)
    assert late["time"] == "2026-01-12T09:00:00-06:00" and late["from"] == "2026-01-12T08:00:00-06:00"
    assert table[table["kind"] == "heating"]["result"].tolist() == ["not judged"]


def test_the_page_shows_steps_results_a_chart_and_a_block_to_sign(written):
    page = (written / "with" / "functional_test_1.html").read_text("utf-8")
    for part in (
        "airflow setpoint 100 to 200", "took longer than 5\u202fmin", "19\u202fmin to 21\u202fmin", 'data-box="plots-1"',
        "Sign-off", "Decision", "Initials", "no such step", "airflow_within", "2 responses: 0 pass, 1 fail, 1 not judged",
    ):  # fmt: skip
        assert part in page, part


def test_index_and_terminal_lead_to_it(written):
    index = (written / "with" / "index.html").read_text("utf-8")
    assert 'href="functional_test_1.html">a test</a>' in index and "functional_tests.csv" in index
    own = (written / "with" / "terminals" / "TU-1.html").read_text("utf-8")
    assert 'href="../functional_test_1.html#terminal-TU-1"' in own
    assert "functional_test_1" not in (written / "with" / "terminals" / "TU-2.html").read_text("utf-8")


def test_where_no_window_is_named_there_is_no_page(written):
    assert not list((written / "without").glob("functional_test*"))
    assert "unctional test" not in (written / "without" / "index.html").read_text("utf-8")


def test_a_terminal_without_trends_is_told_on_the_page(tmp_path):
    trends, site = told_site(TRENDS)
    test = replace(site.functional_tests[0], terminals=("TU-1", "TU-9"))
    schedule = pd.concat([site.schedule, site.schedule.rename(index={"TU-1": "TU-9"})])
    site = replace(site, schedule=schedule, functional_tests=(test,))
    analyzer.review(trends, site).write(tmp_path / "out")
    table = pd.read_csv(tmp_path / "out" / "functional_tests.csv")
    assert table[table["terminal"] == "TU-9"]["reason"].tolist() == ["the exports hold no trends of this terminal"]


def test_a_test_of_a_terminal_that_nobody_knows_is_refused():
    trends, site = told_site(TRENDS)
    test = replace(site.functional_tests[0], terminals=("TU-9",))
    bare = Site(time_zone=site.time_zone, functional_tests=(test,))
    with pytest.raises(analyzer.UserError, match=r"functional_test.0.terminals: there is no terminal 'TU-9'"):
        analyzer.review(trends, bare)


@pytest.mark.browser
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_draws_prints_and_is_open_to_everyone(written, open_page, width):
    visit = open_page(width=width)
    visit.go(written / "with" / "functional_test_1.html")
    assert visit.page.locator(".plots .canvas svg").count() >= 3
    visit.assert_scrolls_down_only()
    assert visit.page.pdf(format="Letter").startswith(b"%PDF")
    visit.assert_clean()
    other = open_page(width=width, bypass_csp=True)  # so that the checker itself can be put into the page
    other.go(written / "with" / "functional_test_1.html")
    other.assert_accessible()
