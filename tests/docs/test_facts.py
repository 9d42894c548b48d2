"""Figures and names that the hand-written documents quote are those of the code; links lead somewhere."""

import re
from pathlib import Path

import pytest

from analyzer.airside.air import SPECIFIC_HEAT
from analyzer.engine import air_tally, explained, limiting
from analyzer.findings import causes, shared
from analyzer.intake import limits
from analyzer.intake.files import find as files
from analyzer.intake.points.point_list import COLUMNS
from analyzer.ledger import REASONS
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals import (
    air_not_read,
    air_seen,
    air_signs,
    coil_off,
    damper_caught,
    damper_curve,
    drift_reference,
    effective,
    flow_by_heat,
    flow_by_mixing,
    flow_drift,
    flow_zero,
    full_damper_ratio,
    in_force,
    kinds,
    membership,
    mixing,
    setpoints,
    silent,
    standing,
    unlisted_holidays,
)
from analyzer.signals.scene import HOLD_INTERVALS

HOME = Path(__file__).parents[2]
WRITTEN = [HOME / "README.md", HOME / "DEVELOPERS.md", HOME / "CHANGELOG.md", *sorted((HOME / "docs").rglob("*.md"))]


def in_one_line(page: str) -> str:
    """Return a page with its lines joined: where a line breaks says nothing."""
    return " ".join((HOME / "docs" / page).read_text(encoding="utf-8").split())


EXPORTS, METHOD = in_one_line("exports.md"), in_one_line("method.md")


@pytest.mark.parametrize("name", [*TERMINAL, *AIR_HANDLER, *COLUMNS, "file"])
def test_exports_page_names_every_quantity_and_column(name):
    assert f"`{name}`" in EXPORTS


def test_exports_page_names_every_reason_of_the_ledger():
    assert ", ".join(REASONS) in EXPORTS


def test_exports_page_names_every_suffix():
    for group in (files.TEXT, files.PARQUET, files.WORKBOOK, {".gz", ".zip"}):
        assert all(re.search(rf"{re.escape(suffix)}\b", EXPORTS) for suffix in group)
    assert all(name in EXPORTS for name in files.OWN_NAMES)


def test_exports_page_tells_the_limits_as_they_are():
    assert f"| an archive or workbook, unpacked | {limits.LARGEST_UNPACKED // limits.MEBIBYTE:,} MiB |" in EXPORTS
    assert f"| files in one archive | {limits.MOST_ARCHIVE_MEMBERS:,} |" in EXPORTS
    assert f"| one line of text | {limits.LONGEST_LINE // limits.MEBIBYTE} MiB |" in EXPORTS
    assert f"| columns of one file | {limits.MOST_COLUMNS:,} |" in EXPORTS
    assert limits.HOLD_LIMIT_HOURS == 24 and "for at most 24 hours" in EXPORTS
    assert limits.EVENT_GRID_SECONDS == 300 and "one of 5 minutes" in EXPORTS


def percent(share: float) -> str:
    """Tell a share as the page writes it."""
    return f"{100 * share:g} %"


def test_method_page_quotes_the_figures_of_air_and_gaps():
    assert SPECIFIC_HEAT == 1006 and "cp = 1006" in METHOD
    assert HOLD_INTERVALS == 3 and "at most three intervals" in METHOD


def test_method_page_quotes_the_figures_of_flow_sensor_drift():
    for value, words in (
        (flow_zero.LEAKAGE, "10 % leakage"),
        (flow_zero.ZERO_SHARE, "3 % of the maximum; shut"),
        (damper_curve.SCATTER, "5 % scatter"),
        (damper_curve.STEADY_CURVES, "4 % of its reference"),
        (damper_curve.UNKNOWN_PRESSURE, "50 % (unknown)"),
        (air_not_read.UNCERTAINTY, "15 % | judgement, field"),
        (full_damper_ratio.REPEATS, "8 % and the reference's scatter"),
        (full_damper_ratio.OWN_PRESSURE, "10 % more where others do not show it"),
        (full_damper_ratio.MOST_DRIFT, "60 % it is lost air"),
    ):
        assert words.startswith(percent(value)) and words in METHOD
    assert flow_zero.AT_REST_FOR == 600 and "air handler off for 10 minutes" in METHOD
    assert flow_by_mixing.COIL_OFF_FOR == 1200 and "coil off 20 minutes" in METHOD
    assert flow_by_mixing.LEAST_SPREAD == 5 and flow_by_mixing.LEAST_SHARE == 0.15
    assert "less than 5 K apart, or a share under 15 %" in METHOD
    assert (flow_by_mixing.DUCT_GAIN, flow_by_mixing.DUCT_GAIN_DOUBT) == (1.25, 0.75) and "1.25 ± 0.75 K" in METHOD
    assert flow_by_heat.FACTOR == 4 and "a factor of 4: `3 r`" in METHOD
    assert flow_drift.LEAST_DAYS == 2 and flow_drift.LEAST_SHARE == 0.1
    assert "two days and a tenth of its days" in METHOD
    assert drift_reference.SHARE_OF_DAYS == 0.2 and drift_reference.LEAST_DAYS == 3
    assert "first fifth of the days that show anything, three at least" in METHOD


def test_method_page_quotes_the_figures_of_damper_positions():
    assert f"by {damper_caught.JUMP:g} points in a sample" in METHOD
    assert f"before and after within {percent(damper_caught.STEADY_FLOW)}" in METHOD
    assert f"by a factor of {damper_caught.PRESSURE_DOUBT}; of {damper_caught.PRESSURE_UNKNOWN:g} where" in METHOD
    assert f"for {damper_caught.HOURS_AT_STOP:g} h in all at {damper_caught.NEARLY_SHUT:g} % position" in METHOD
    assert f"by a factor of {damper_caught.FOLLOWS_AT_PRESSURE} ({damper_caught.FOLLOWS} where" in METHOD
    assert f"moved by {percent(damper_curve.CREEP)} (logarithm)" in METHOD
    assert damper_curve.CREEP_DAYS == 0.2 and "on a fifth of the days" in METHOD


def test_method_page_quotes_the_figures_of_setpoints():
    assert f"within {standing.SAME} K, `SAME`" in METHOD
    assert standing.STEADY == 0.75 and "75 % of that state's time (`STEADY`)" in METHOD
    assert effective.NEAR == 1 / 3 and "than a third of their gap (`NEAR`)" in METHOD
    assert "{} to {} K apart (`APART`)".format(*effective.APART) in METHOD
    assert f"{setpoints.ANOTHER:g} K (`ANOTHER`)" in METHOD and f"{percent(setpoints.NEITHER)} of the time" in METHOD
    assert f"heats more than {setpoints.HEATS_ABOVE:g} K above the site file's cooling setpoint" in METHOD
    assert (
        f"for {percent(setpoints.HEATS_OFTEN)} of its occupied time there, of which there are {setpoints.HEATS_FOR:g} h"
        in METHOD
    )
    assert setpoints.WORTH_TELLING == 12 and "From 12 h on, the report says" in METHOD


def test_method_page_quotes_the_figures_of_air_handlers():
    assert f"up to {air_signs.STILL:g} L/s (10 cfm), or {percent(air_signs.STILL_SHARE)} of its mean" in METHOD
    assert f"over {air_signs.MOVES:g} L/s and {percent(air_signs.MOVES_SHARE)} of that mean" in METHOD
    assert percent(air_signs.CHRONIC) == "90 %" and (air_signs.THERE, air_signs.CUT) == (0.7, 0.5)
    assert (air_seen.LEAST, air_seen.SHARE) == (3, 0.6) and "three terminals and 60 % of those" in METHOD
    assert (air_seen.LEAST_UNASSIGNED, air_seen.SHARE_UNASSIGNED) == (5, 0.15) and "five, and 15 % of all" in METHOD
    assert f"for more than {percent(air_signs.OWN_TROUBLE)} of the time in which it asks for air" in METHOD
    assert air_tally._NO_OWN_TROUBLE == 0.3 and "where 30 % of all are like that" in METHOD
    assert f"within {in_force.ALIKE} K of each other" in METHOD and f"more than {kinds.NO_AIR:g} L/s of it" in METHOD
    assert air_seen.NEARLY_ALL == 0.8 and air_seen.USUAL == 1 / 3
    assert f"`r >= max({membership.LEAST['temperature']}, {membership.SPREADS:g}/sqrt(n))`" in METHOD
    assert f"by `max({membership.MARGIN['temperature']}, {membership.SPREADS:g}/sqrt(n))`" in METHOD
    assert f"`r >= {membership.LEAST['pressure']}`, ahead by {membership.MARGIN['pressure']}" in METHOD


def test_method_page_quotes_the_figures_of_coils_and_grouping():
    assert f"{coil_off.MOST_SHARED} K at most" in METHOD
    assert coil_off.LEAST_TERMINALS == 4 and "four terminals at least" in METHOD
    assert coil_off.WARM_UP_OVER == 3600 and "from 1 h after occupancy began" in METHOD
    assert (
        mixing.HOLDS == 0.15 and mixing.STILL_AIR == 10 and "within 15 % of its setpoint or the position not" in METHOD
    )
    assert coil_off.WORKS_FOR == 1800 and "gives 8 K for half an hour" in METHOD
    assert mixing.SPEED_MOVES == 10 and mixing.PART_OF_TIME == 0.05
    assert causes.LEAST_OVERLAP == 0.5 and "where half of its time lies within" in METHOD
    assert explained.A_NIGHT == 14 * 3600 and "the nights between (14 h)" in METHOD
    assert causes.RECOVERY == 12 * 3600 and "12 h of recovery after it" in METHOD
    assert (causes.ITS_OWN, causes.ITS_OWN_SHARE) == (
        2 * 3600,
        0.2,
    ) and "Not where 2 h and 20 % of their time" in METHOD
    assert causes.NEARLY_ALL == 0.9 and "what lies within it for 90 %" in METHOD
    assert explained.NEARLY_ALL == 0.8 and "80 % of their starved time within it" in METHOD
    assert explained.NO_CHANCE == 0.6 and "more than 60 % of the period explains nothing there" in METHOD
    assert (shared.LEAST_LISTED, shared.NEARLY_ALL) == (2, 0.8) and "two will do where they are 80 %" in METHOD
    assert (shared.LEAST_OF_NOBODY, shared.SHARE_OF_NOBODY, shared.AT_ONCE) == (8, 0.25, 0.7)
    assert "where eight, and a quarter of those judged, have it, 70 % of them at one moment" in METHOD
    assert limiting.MOSTLY == 0.5 and "unknown in at least half of those hours" in METHOD


def test_method_page_quotes_the_figures_of_holidays_and_silence():
    off = unlisted_holidays
    assert f"up to {off.MOST_TERMINALS} terminals" in METHOD and off.LEAST_TERMINALS == 4
    assert f"{percent(off.MOST)} of the terminals that tell ({off.LEAST_HOURS:g} h of" in METHOD
    assert f"rest through {percent(off.RESTS)} of its occupied hours" in METHOD
    assert f"within {off.BEYOND_NIGHT:g} points of its place of the night" in METHOD
    assert f"less than {percent(off.FEW)} of the terminals in its last hour" in METHOD and off.EVENING == 1
    assert off.MOST_DAYS == 0.5 and "more than half of the working days look like that" in METHOD
    assert f"more than {silent.LONGEST / 3600:g} h and four times" in METHOD and silent.TIMES == silent.LEAST_DAYS == 4
    assert silent.LEAST_RESTLESS == 2 and "two of them at the least" in METHOD
    assert silent.MOST_SHARE == 0.5 and "more than half of a log is like that" in METHOD


@pytest.mark.parametrize("document", WRITTEN, ids=lambda file: file.name)
def test_every_link_leads_somewhere(document):
    for link in re.findall(r"\]\(([^)#]+)", document.read_text(encoding="utf-8")):
        if not link.startswith(("http:", "https:", "mailto:")):
            assert (document.parent / link).exists(), link


@pytest.mark.parametrize("page", sorted((HOME / "docs").glob("*.md")), ids=lambda file: file.name)
def test_every_page_is_in_the_index_and_the_index_in_the_readme(page):
    index = (HOME / "docs" / "README.md").read_text(encoding="utf-8")
    assert page.name == "README.md" or f"({page.name})" in index, f"docs/README.md does not lead to {page.name}"
    assert "(docs/README.md)" in (HOME / "README.md").read_text(encoding="utf-8")
