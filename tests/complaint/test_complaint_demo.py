"""complaint, through the command, on the demo's weeks; and its page as a reader meets it."""

import re

import pandas as pd
import pytest


@pytest.fixture(scope="module")
def complain(two_weeks, trendwright):
    """Return a function that runs the command in the room of the two weeks, against the first week's review."""

    def run(*call, folder=None):
        return trendwright("complaint", folder or two_weeks.before, *call, cwd=two_weeks.room)

    return run


def likely(ran) -> list[str]:
    return re.findall(r"^likely \d: (.*)$", ran.out, re.MULTILINE)


@pytest.mark.parametrize(
    ("call", "first"),
    [
        # What truth.csv says was seeded there, against what the page names first.
        (
            ["--terminal", "FPT-2-08", "--at", "2026-01-29 16:00", "--feels", "warm"],
            "Too little cooling air to the zone",
        ),
        (["--terminal", "FPT-3-14", "--at", "2026-01-30 09:00"], "Terminal fan off in heating"),
        (["--terminal", "VAV-2-05", "--at", "2026-01-28 15:00"], "Reheat on in a warm zone"),
        (["--terminal", "FPT-3-06", "--at", "2026-01-29 15:00"], "Reheat on in a warm zone"),
        # The flow sensor reads nothing while its damper stands open: no lack of air.
        (
            ["--terminal", "VAV-2-03", "--at", "2026-01-28 14:30", "--feels", "cold"],
            "Airflow not under control: the flow sensor reads wrong",
        ),
    ],
)
def test_the_likeliest_cause_is_the_one_that_was_seeded(complain, two_weeks, call, first):
    ran = complain(*call, "--out", "seeded.html")
    assert ran.status == 0, ran.err
    assert likely(ran)[0] == first


def test_a_fan_that_does_not_help_is_named_for_a_cold_room(complain):
    """FPT-2-10's fan status is broken: heat is called for, and by the log the fan never runs."""
    ran = complain("--terminal", "FPT-2-10", "--at", "2026-01-27 06:00", "--feels", "cold", "--out", "cold.html")
    assert ran.status == 0, ran.err
    assert "Terminal fan off in heating" in likely(ran)


def test_the_page_says_what_it_has_to(complain, two_weeks):
    ran = complain("--room", "208", "--at", "29 Jan 4 pm", "--out", "room.html")
    assert ran.status == 0, ran.err
    assert ran.out.startswith("FPT-2-08: The zone was ")
    page = (two_weeks.room / "room.html").read_text("utf-8")
    for said in (
        "Likely causes", "Evidence for", "Evidence against", "What it did in these two days", "Comfort range", "ISO 7730:2005",
        "relative humidity", "clothing", "Estimated load", "±", "Active at that time",
        "Primary airflow well below its setpoint", "other terminals", "Supply air temp", "What to check on site", "Lock out and tag out",
        "What these trends cannot show", "Damper shaft and actuator",
    ):  # fmt: skip
        assert said in page, said
    assert "VAV-2-05" in page  # a neighbour on the same air handler
    assert "VAV-3-01" not in page  # which hangs on another


def test_without_a_name_the_page_is_named_by_terminal_and_time(complain, two_weeks):
    ran = complain("--terminal", "vav-2-05", "--at", "2026-01-28 14:30")
    assert "page: complaint-VAV-2-05-2026-01-28T1430.html" in ran.out
    assert (two_weeks.room / "complaint-VAV-2-05-2026-01-28T1430.html").exists()


def test_a_moment_without_neighbours_or_setpoints_still_has_a_page(trendwright, tmp_path):
    """A log without a site file: no schedule, no air handler, no setpoints."""
    hours = [
        f"2026-01-12 {hour:02}:{minute:02},120,{15 + hour / 4}" for hour in range(24) for minute in range(0, 60, 15)
    ]
    (tmp_path / "week.csv").write_text("Time,TU-1.PRI-FLOW (cfm),TU-1.ZN-T (degC)\n" + "\n".join(hours) + "\n")
    assert trendwright("review", "week.csv", "--out", "out", "-q", cwd=tmp_path).status == 0
    ran = trendwright("complaint", "out", "--terminal", "TU-1", "--at", "2026-01-12 08:00", cwd=tmp_path)
    assert ran.status == 0, ran.err
    page = next(tmp_path.glob("complaint-*.html")).read_text("utf-8")
    assert "The schedule gives no air handler" in page and "this requires discharge temperature" in page


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (["--terminal", "FPT-2-99", "--at", "2026-01-28 14:30"], "'FPT-2-99' is no terminal in before (did you mean 'FPT-2-09'?)"),
        (["--room", "Open office", "--at", "2026-01-28 14:30"], "'Open office' fits 6 terminals: VAV-1-02 (102 Open office west)"),
        (["--room", "The attic", "--at", "2026-01-28 14:30"], "no zone in the terminal schedule is named 'The attic'"),
        (["--terminal", "FPT-2-08", "--room", "101", "--at", "2026-01-28 14:30"], "FPT-2-08 does not serve '101'"),
        (["--at", "2026-01-28 14:30"], "Give --terminal TAG, or --room ROOM"),
        (["--terminal", "FPT-2-08", "--at", "2026-03-28 14:30"], "lies outside the trends"),
        (["--terminal", "FPT-2-08", "--at", "noon"], "'noon' names no day"),
        (["--terminal", "FPT-2-08", "--at", "2026-01-28 14:30", "--feels", "warn"], "did you mean 'warm'?"),
        (["--terminal", "FPT-2-08", "--at", "2026-01-28 14:30", "--out", "before"], "before: is a folder"),
        (["--terminal", "FPT-2-08", "--at", "2026-01-28 14:30", "--out", "before/verdicts.csv"], "no page of a complaint"),
        (["--terminal", "FPT-2-08"], "Missing option '--at'"),
    ],
)  # fmt: skip
def test_refused_in_one_sentence(complain, two_weeks, call, told):
    log = (two_weeks.room / "before" / "verdicts.csv").read_bytes()
    ran = complain(*call)
    assert ran.status == 2
    assert told in ran.err.strip().splitlines()[-1]
    assert (two_weeks.room / "before" / "verdicts.csv").read_bytes() == log


def test_a_folder_that_is_no_review_is_refused(complain):
    ran = complain("--terminal", "FPT-2-08", "--at", "2026-01-28 14:30", folder="retest-exports")
    assert ran.status == 2 and "is no review's folder" in ran.err


# In a browser ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def page_file(complain, two_weeks):
    ran = complain("--terminal", "FPT-2-08", "--at", "2026-01-29 16:00", "--out", "one.html")
    assert ran.status == 0, ran.err
    alone = two_weeks.room / "sent by mail"
    alone.mkdir(exist_ok=True)
    return (two_weeks.room / "one.html").rename(alone / "one.html")


@pytest.mark.browser
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_stands_alone_in_one_file(page_file, open_page, width):
    visit = open_page(width=width)
    visit.go(page_file)
    page = visit.page
    assert page.locator(".plots .canvas svg").count() >= 4
    # Charts that stay in view would lie over what follows them.
    assert page.evaluate("getComputedStyle(document.querySelector('#charts')).position") == "static"
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert "font-family" in page.content() and page.evaluate("getComputedStyle(document.body).margin") == "0px"
    assert [url for url in visit.requests if not url.startswith("data:")] in (
        ["about:blank", page_file.as_uri()], [page_file.as_uri()],
    )  # fmt: skip
    visit.assert_clean()


@pytest.mark.browser
def test_the_time_of_the_complaint_is_marked_and_values_are_read(page_file, open_page):
    visit = open_page()
    visit.go(page_file)
    page = visit.page
    page.focus(".plots")
    page.keyboard.press("ArrowRight")  # from the middle of the two days: the time of the complaint
    assert "Thu 29 Jan, 16:" in page.text_content(".reading-out")
    assert page.text_content(".plots [data-series=primary_flow] .value").endswith("cfm")
    visit.assert_clean()


@pytest.mark.browser
def test_the_page_is_open_to_everyone_and_prints(page_file, open_page):
    visit = open_page()
    visit.go(page_file)
    assert visit.page.pdf(format="A4").startswith(b"%PDF")
    visit.assert_clean()
    other = open_page(bypass_csp=True)  # so that the checker itself can be put into the page
    other.go(page_file)
    other.assert_accessible()


def test_hours_outside_the_setpoints_end_where_their_last_sample_ends(complain, two_weeks):
    """One spell is as long as what lies between the moments that are told; and the margin is named."""
    ran = complain("--terminal", "VAV-3-01", "--at", "2026-01-28 15:00", "--out", "span.html")
    assert ran.status == 0, ran.err
    page = (two_weeks.room / "span.html").read_text("utf-8")
    told = re.search(
        r"more than 0.5\s°F above its cooling setpoint for ([\d.]+)\sh, .* between (.*?) and ([^.]*)\.", page
    )
    hours, begin, end = float(told[1]), *(pd.Timestamp(part) for part in told.groups()[1:])
    assert hours == pytest.approx((end - begin) / pd.Timedelta(hours=1), abs=0.051)


@pytest.mark.parametrize(("terminal", "at"), [("VAV-2-07", "2026-01-30 13:35"), ("FPT-2-12", "2026-01-28 16:45")])
def test_air_for_cooling_is_not_blamed_as_too_much_for_heating(complain, terminal, at):
    """One was above its cooling setpoint with reheat held open, one just under it: their air was asked for by cooling."""
    ran = complain("--terminal", terminal, "--at", at, "--feels", "cold", "--out", "cooled.html")
    assert ran.status == 0, ran.err
    assert "Too much cold primary air in heating" not in likely(ran)


def test_the_air_handler_that_was_short_of_pressure_is_named_where_its_terminals_lacked_air(complain, two_weeks):
    ran = complain("--terminal", "FPT-3-16", "--at", "2026-01-28 15:00", "--out", "pressure.html")
    assert likely(ran) == ["Too little cooling air to the zone"]
    page = re.sub("<[^>]+>", "", (two_weeks.room / "pressure.html").read_text("utf-8"))
    assert "Found at the air handler at that time: AHU-2: Air handler short of duct pressure." in page
    assert "maximum with primary air" not in page.lower()  # heat is no matter of a warm zone
    complain("--terminal", "FPT-3-16", "--at", "2026-01-30 15:00", "--out", "later.html")
    assert "Found at the air handler" not in (two_weeks.room / "later.html").read_text("utf-8")


def test_a_flow_that_reads_wrong_is_marked_and_what_follows_from_it_says_so(complain, two_weeks):
    ran = complain("--terminal", "VAV-2-03", "--at", "2026-01-28 14:30", "--feels", "cold", "--out", "wrong.html")
    assert ran.status == 0, ran.err
    page = (two_weeks.room / "wrong.html").read_text("utf-8")
    for said in (
        "cfm, reads wrong", "Heat delivered and load are not known: the primary airflow sensor reads wrong",
        "Follows from: Primary airflow sensor reads wrong.", "Not known: primary airflow at the inlet sensor",
    ):  # fmt: skip
        assert said in page, said
    assert "No primary air at the terminal" not in likely(ran)
