"""Windows that are left out of judging: what the site file says of them, and every mistake in one sentence."""

import pandas as pd
import pytest

from analyzer import UserError, read_site
from analyzer.site.excluded import left_out
from analyzer.site.stored import read_stored_site, site_json

SITE = '[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n'
WINDOW = '[[exclude]]\nfrom = "2026-01-28 09:00"\nto = "2026-01-28 12:00"\nwhy = "functional test"\n'


@pytest.fixture
def written(tmp_path):
    """Writes a site file with the sections that are given, and returns its path."""

    def write(sections: str):
        (tmp_path / "terminals.csv").write_text("terminal,kind\nVAV-1-01,single-duct\nVAV-1-02,single-duct\n")
        (tmp_path / "site.toml").write_text(SITE + sections)
        return tmp_path / "site.toml"

    return write


def test_windows_are_in_the_sites_time_and_for_all_unless_terminals_are_named(written):
    more = '[[exclude]]\nterminals = ["VAV-1-02"]\nfrom = 2026-01-29\nto = "2026-01-30T00:00:00Z"\nwhy = "balancing"\n'
    first, second = read_site(written(WINDOW + more)).excluded
    assert first.start == pd.Timestamp("2026-01-28 15:00", tz="UTC") and first.terminals == ()
    assert first.end - first.start == pd.Timedelta("3h")
    assert second.start == pd.Timestamp("2026-01-29 06:00", tz="UTC") and second.terminals == ("VAV-1-02",)
    assert second.end == pd.Timestamp("2026-01-30", tz="UTC")


def test_they_are_told_and_stored_with_the_review(written, tmp_path):
    site = read_site(written(WINDOW))
    assert left_out(site) == [
        "Left out of judging: 2026-01-28 09:00 to 2026-01-28 12:00, all terminals: functional test."
    ]
    (tmp_path / "site.json").write_text(site_json(site))
    assert read_stored_site(tmp_path / "site.json").excluded == site.excluded


@pytest.mark.parametrize(
    ("section", "told"),
    [
        (WINDOW.replace("12:00", "08:00"), r"'to' \(2026-01-28 08:00\) is not after 'from' \(2026-01-28 09:00\)"),
        (WINDOW + 'terminals = ["VAV-1-1"]\n', r"there is no terminal 'VAV-1-1' \(did you mean 'VAV-1-01'\?\)"),
        (WINDOW + 'terminal = ["VAV-1-01"]\n', r"unknown key 'exclude.0.terminal' \(did you mean 'terminals'\?\)"),
        (WINDOW + "begin = 1\n", r"known here are from, to, why, terminals"),
        (WINDOW.replace("2026-01-28 09:00", "nine o'clock"), r"\"nine o'clock\" is no date and time, such as"),
        (WINDOW.replace('"2026-01-28 09:00"', "9"), r"9 is no date and time, such as"),
        (WINDOW.replace("functional test", " "), r"exclude.0.why: is blank"),
        ('[[exclude]]\nfrom = "2026-01-28"\nto = "2026-01-29"\n', r"the key 'exclude.0.why' is missing"),
        (WINDOW.replace("2026-01-28 09:00", "2025-11-02 01:30"), r"skipped, or shown twice, by the clock"),
        ('[exclude]\nfrom = "2026-01-28"\n', r"exclude: input should be a valid list"),
    ],
)
def test_a_mistake_is_one_sentence(written, section, told):
    with pytest.raises(UserError, match=told) as refused:
        read_site(written(section))
    assert "\n" not in str(refused.value) and "site.toml" in str(refused.value)
