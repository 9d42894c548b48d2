"""A review in a notebook: a table to work with, a summary, and the charts of a terminal's page."""

import json
import re

import pandas as pd
import pytest

import analyzer
from analyzer.errors import CallError
from analyzer.report import write_report
from analyzer.report.sequence import pack
from analyzer.reviews import Review
from tests.report.expanding import expand
from tests.report.invented_building import A_PAGE, AWKWARD, invented_results

TAG = A_PAGE.removesuffix(".html")


@pytest.fixture(scope="module")
def results():
    return invented_results(terminals=14, awkward=True)


def test_times_are_times_and_measures_are_columns(results):
    findings = Review(results).findings
    assert len(findings) == len(results.findings)
    assert str(findings["from"].dt.tz) == results.site.time_zone
    assert [*findings["to"]] == [found.end for found in results.findings]
    assert (findings["to"] - findings["from"]).max() > pd.Timedelta(0)
    assert findings["lowest_flow [cfm]"].tolist() == [152.0] * len(findings)
    assert findings["most_starts_in_an_hour"].dtype == float


def test_the_summary_says_what_the_index_says_and_keeps_markup_as_text(results):
    told = Review(results)._repr_html_()
    assert f"{len(results.findings)} findings" in told and results.findings[0].title in told
    assert AWKWARD[0] not in told
    assert told.count("<tr>") == 1 + min(20, len(results.findings))


def embedded(folder) -> dict:
    page = (folder / "terminals" / A_PAGE).read_text("utf-8")
    return json.loads(re.search(r'<script type="application/json" id="trend-data">(.*?)</script>', page, re.DOTALL)[1])


def test_the_chart_draws_what_the_page_draws(results, tmp_path):
    write_report(results, tmp_path)
    data, told = embedded(tmp_path), Review(results).chart(TAG).to_dict()
    titles = [panel["title"]["text"] for panel in told["vconcat"]]
    assert titles[0].startswith("Findings: 1 ") and "Zone temperature (°F)" in titles and "Airflow (cfm)" in titles
    for name, packed in data["series"].items():
        values = [row["v"] for row in told["datasets"][name] if row["v"] is not None]
        assert values == pytest.approx((expand(packed["values"]) / packed["scale"]).tolist()), name
    assert len(told["datasets"]["fault"]) == len(data["findings"][0]["episodes"])
    first = pd.Timestamp(told["datasets"]["zone_temp"][0]["t"], unit="ms")
    assert first == results.period[0].tz_localize(None).floor("s")
    text = json.dumps(told)
    assert "var(--" not in text and '"expr": "span"' not in text and '"expr": "reach"' not in text


def test_the_chart_can_be_rendered(results):
    vl_convert = pytest.importorskip("vl_convert")
    drawn = vl_convert.vegalite_to_svg(Review(results).chart(TAG).to_dict())
    assert "Zone temperature" in drawn and drawn.count("mark-line") >= 4


def test_a_terminal_that_is_not_there_is_told_in_a_sentence(results):
    with pytest.raises(CallError, match=f"did you mean '{TAG}'"):
        Review(results).chart(TAG + "x")
    assert issubclass(CallError, analyzer.UserError)


def test_a_line_breaks_where_the_page_breaks_it():
    import numpy as np

    from analyzer.report.notebook import _Page

    packed = {
        "values": pack(np.array([10, 20, 30])),
        "times": pack(np.array([0, 60, 7200])),
        "breaks": [2],
        "scale": 10,
    }
    data = {"origin": 0, "length": 7200, "clock": [[0, 3600]], "findings": [], "occupied": [], "excluded": [],
            "limits": [], "inlet_limits": [], "starts": [], "reach": {}, "series": {"zone_temp": packed}}  # fmt: skip
    rows = _Page(data, []).datasets["zone_temp"]
    assert [row["v"] for row in rows] == [1.0, 2.0, None, 3.0]
    assert rows[0]["t"] == 3_600_000
