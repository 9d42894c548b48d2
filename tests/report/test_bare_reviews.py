"""Reviews that lack much: no fault, no schedule, no trends, a single sample."""

import numpy as np
import pandas as pd

from analyzer.report import write_report
from analyzer.site.model import Site
from tests.report.invented_building import invented_results
from tests.report.told import text_of


def test_a_review_without_a_fault(tmp_path):
    write_report(invented_results(terminals=4, days=2, fault_free=True), tmp_path)
    assert "No fault found in what could be judged." in text_of(tmp_path / "index.html")
    assert "No fault found" in text_of(tmp_path / "terminals" / "VAV-1-01.html")


def test_a_page_does_not_deny_the_fault_in_its_table_of_verdicts(tmp_path):
    """What an air handler's terminals share is told by their findings: it has a fault verdict and no finding."""
    results = invented_results(terminals=4, days=2, fault_free=True)
    row = results.verdicts.iloc[[0]].assign(
        terminal="VAV-1-01", rule="zone-too-cold", verdict="fault", confidence="firm"
    )
    told = (results.verdicts["terminal"] == "VAV-1-01") & (results.verdicts["rule"] == "zone-too-cold")
    results.verdicts = pd.concat([results.verdicts[~told], row], ignore_index=True)
    write_report(results, tmp_path)
    text = text_of(tmp_path / "terminals" / "VAV-1-01.html")
    assert "No finding of its own" in text
    assert "No fault found" not in text and "No fault:" not in text


def test_a_review_without_a_schedule_setpoints_or_hours(tmp_path):
    results = invented_results(terminals=3, days=1, fault_free=True)
    results.site = Site()
    results.trends.time_zone = "UTC"
    keep = ["terminal", "time", "zone_temp", "primary_flow", "reheat_position", "fan_status", "fan_starts"]
    table = results.trends.terminals
    table.loc[:, [name for name in table.columns if name not in keep]] = np.nan
    write_report(results, tmp_path)
    text = text_of(tmp_path / "terminals" / "VAV-1-01.html")
    assert "Terminal type not scheduled." in text
    assert "Not trended: cooling setpoint" in text or "Not trended: heating setpoint" in text
    assert "damper position" in text
    assert "air handler not assigned" in text_of(tmp_path / "index.html")


def test_a_terminal_that_was_judged_without_a_trend_still_has_its_page(tmp_path):
    results = invented_results(terminals=2, days=1, fault_free=True)
    row = results.verdicts.iloc[[0]].assign(terminal="VAV-9-99", verdict="not-judged", reason="no trend at all")
    results.verdicts = pd.concat([results.verdicts, row], ignore_index=True)
    results.site.schedule.loc["VAV-9-99"] = results.site.schedule.iloc[0]
    write_report(results, tmp_path)
    assert "The exports hold no trends of it." in text_of(tmp_path / "terminals" / "VAV-9-99.html")
    assert "Scheduled, but not in the exports: VAV-9-99" in text_of(tmp_path / "index.html")


def test_a_single_sample(tmp_path):
    write_report(invented_results(terminals=1, days=1, minutes=1440, fault_free=True), tmp_path)
    assert (tmp_path / "terminals" / "VAV-1-01.html").exists()
