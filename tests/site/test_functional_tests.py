"""Functional tests in the site file: what is read, that they are left out of judging, and every mistake in one sentence."""

import pandas as pd
import pytest

from analyzer import UserError, read_site
from analyzer.site.excluded import left_out
from analyzer.site.stored import read_stored_site, site_json

SITE = '[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n'
TEST = (
    '[[functional_test]]\nfrom = "2026-01-28 09:00"\nto = "2026-01-28 12:00"\nname = "heating sequence"\n'
    'terminals = ["VAV-1-01"]\nsteps = ["heating", "flow setpoint"]\n'
)


@pytest.fixture
def written(tmp_path):
    """Writes a site file with the sections that are given, and returns its path."""

    def write(sections: str):
        (tmp_path / "terminals.csv").write_text("terminal,kind\nVAV-1-01,single-duct\nVAV-1-02,single-duct\n")
        (tmp_path / "site.toml").write_text(SITE + sections)
        return tmp_path / "site.toml"

    return write


def test_a_test_is_read_and_left_out_of_judging_without_being_stated_twice(written):
    other = '[[exclude]]\nfrom = "2026-01-29"\nto = "2026-01-30"\nwhy = "balancing"\n'
    site = read_site(written(TEST + other))
    (test,) = site.functional_tests
    assert test.start == pd.Timestamp("2026-01-28 15:00", tz="UTC") and test.terminals == ("VAV-1-01",)
    assert (test.name, test.steps) == ("heating sequence", ("heating", "flow setpoint"))
    assert left_out(site) == [
        "Left out of judging: 2026-01-29 00:00 to 2026-01-30 00:00, all terminals: balancing.",
        "Left out of judging: 2026-01-28 09:00 to 2026-01-28 12:00, VAV-1-01: functional test, heating sequence.",
    ]


def test_it_is_stored_with_the_review(written, tmp_path):
    site = read_site(written(TEST + '[response]\nairflow_within = "6 min"\n'))
    (tmp_path / "site.json").write_text(site_json(site))
    stored = read_stored_site(tmp_path / "site.json")
    assert stored.functional_tests == site.functional_tests and stored.excluded == site.excluded
    assert stored.response_changes == {"airflow_within": "6 min"}


@pytest.mark.parametrize(
    ("section", "told"),
    [
        (TEST.replace("12:00", "08:00"), r"functional_test.0: 'to' \(2026-01-28 08:00\) is not after 'from'"),
        (TEST.replace("1-01", "1-1"), r"functional_test.0.terminals: there is no terminal 'VAV-1-1' \(did you mean"),
        (TEST.replace("name", "why"), r"unknown key 'functional_test.0.why'.*known here are from, to, name, terminals, steps"),
        (TEST.replace("heating sequence", ""), r"functional_test.0.name: is blank: say what was tested"),
        (TEST.replace('"heating"', '"heat"'), r"functional_test.0.steps.0: input should be 'heating', 'cooling'"),
        (TEST.replace('"2026-01-28 09:00"', "9"), r"9 is no date and time, such as"),
        (TEST.replace("2026-01-28 09:00", "2025-11-02 01:30"), r"functional_test.0.from.*shown twice, by the clock"),
        ('[functional_test]\nname = "x"\n', r"functional_test: input should be a valid list"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_sentence(written, section, told):
    with pytest.raises(UserError, match=told) as refused:
        read_site(written(section))
    assert "\n" not in str(refused.value) and "site.toml" in str(refused.value)
