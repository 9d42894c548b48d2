"""What the charts read out at a moment is what the table holds as in force then: on every page of the demo's report."""

import random
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analyzer.findings.stored import read_review
from analyzer.quantities import AIR_HANDLER, TERMINAL, to_shown
from analyzer.report import write_report
from analyzer.report.chart_data import HOLD_INTERVALS
from analyzer.report.series import SERIES
from analyzer.report.trend_box import JUDGED
from analyzer.signals import Scene
from tests.report.invented_building import invented_results

pytestmark = pytest.mark.browser

MOMENTS = 50
# Moves the pointer to shares of the chart's width and notes the moment and what every line's value then says.
READ = """shares => {
  const box = document.getElementById("plots"), left = box.getBoundingClientRect().left;
  const data = JSON.parse(document.getElementById("trend-data").textContent);
  const width = box.clientWidth - PADDING.left - PADDING.right;
  document.querySelector("button[data-act=all]").click();
  return shares.map((share) => {
    const clientX = left + PADDING.left + share * width;
    box.dispatchEvent(new PointerEvent("pointermove", { clientX, pointerType: "mouse" }));
    const told = [...box.querySelectorAll("[data-series]")].map((item) =>
      [item.dataset.series, item.querySelector(".value").textContent]);
    return { t: data.origin + share * data.length, told: Object.fromEntries(told) };
  });
}"""


@pytest.fixture(scope="module")
def demo(two_weeks):
    return read_review(two_weeks.room / two_weeks.before)


@pytest.fixture(scope="module")
def columns(demo) -> dict[str, dict]:
    """Each page's series: times [s], values SI, and the interval of the rows or of the point [s]."""
    trends = demo.trends()
    table, scene = trends.terminals.copy(), Scene(trends, replace(demo.site, excluded=()))
    for name in JUDGED:
        table[name] = scene.value(name)
    handlers = {tag: _series(own, AIR_HANDLER, {}) for tag, own in trends.air_handlers.groupby("air_handler")}
    told = {}
    for tag, own in table.groupby("terminal", observed=True):
        told[tag] = _series(own, TERMINAL, trends.logging.loc[tag].to_dict())
        handler = handlers.get(demo.air_handler(tag), {})
        told[tag] |= {"supply_temp": handler["supply_temp"]} if "supply_temp" in handler else {}
    return told | handlers


def _series(rows: pd.DataFrame, names, intervals: dict) -> dict:
    seconds = rows["time"].astype("int64").to_numpy() / 1e6
    grid = float(np.median(np.diff(seconds)))
    told = {}
    for name in names:
        values = rows[name].to_numpy(dtype=float)
        there = ~np.isnan(values)
        if name in SERIES and there.any():
            told[name] = (seconds[there], values[there], np.nanmax([grid, intervals.get(name, 0.0)]))
    return told


def _in_force(series: tuple, t: float) -> float | None:
    """The last sample at or before a moment, until the next; across a gap for one interval."""
    seconds, values, interval = series
    at = int(np.searchsorted(seconds, t, side="right")) - 1
    if at < 0:
        return None
    gap = at + 1 == len(seconds) or seconds[at + 1] - seconds[at] > HOLD_INTERVALS * interval + 1
    return None if gap and t - seconds[at] > interval else float(values[at])


def _says(text: str, value: float | None, name: str, units: str) -> bool:
    if value is None or text == "–":
        return value is None and text == "–"
    if SERIES[name].dimension == "state":
        return text == ("on" if value > 0.5 else "off")
    number = text.split()[0].replace(",", "")
    half = 0.5 * 10.0 ** -len(number.partition(".")[2])
    # Rounded twice: to what the page carries, and to what it shows.
    return abs(float(number) - float(to_shown(value, SERIES[name].dimension, units))) <= 2 * half + 1e-9


def test_fifty_moments_of_every_page_read_as_the_table_holds_them(demo, columns, open_page):
    visit, chance, wrong, read = open_page(), random.Random(16), [], 0
    pages = sorted((demo.folder / "terminals").glob("*.html"))
    for page in pages:
        visit.go(page)
        tag = visit.page.text_content("h1")
        if not visit.page.locator("#plots").count():
            continue
        for reading in visit.page.evaluate(READ, [chance.random() for _ in range(MOMENTS)]):
            for name, text in reading["told"].items():
                read += 1
                value = _in_force(columns[tag][name], reading["t"])
                if not _says(text, value, name, demo.site.units):
                    wrong.append((tag, name, reading["t"], text, value))
    visit.assert_clean()
    assert read > 100 * len(pages)
    assert wrong == [], f"{len(wrong)} of {read}"


def test_a_thinned_line_reads_as_the_range_that_it_is_known_by(open_page, tmp_path):
    results = invented_results(terminals=1, days=120, fault_free=True)
    write_report(results, tmp_path)
    visit = open_page()
    visit.go(tmp_path / "terminals" / "VAV-1-01.html")
    table = results.trends.terminals
    zone = _series(table, TERMINAL, results.trends.logging.loc["VAV-1-01"].to_dict())["zone_temp"]
    ranges = 0
    for reading in visit.page.evaluate(READ, [i / 97 for i in range(97)]):
        text, value = reading["told"]["zone_temp"], _in_force(zone, reading["t"])
        if value is None:
            assert text == "–"
            continue
        numbers = [float(part) for part in text.removesuffix(" °F").split(" to ")]
        ranges += len(numbers) == 2
        assert min(numbers) - 0.051 <= value * 1.8 + 32 <= max(numbers) + 0.051
        assert max(numbers) - min(numbers) < 6
    assert ranges > 50
