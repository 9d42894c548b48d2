"""Memory is bounded by the group, whatever the layout of a stored table, and however many findings there are."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analyzer.engine.common_cause import parts_of
from analyzer.findings.results import Episode, Episodes
from analyzer.findings.tables import findings_told, write_findings
from analyzer.reviews import review
from analyzer.signals import unlisted_holidays
from tests.scale.buildings import demo_site, demo_trends, reviewed, told
from tests.scale.years import faulty_week, write_year

# Reads two terminals of a table after one, so that what is loaded on first use is there; tells by how much the most
# memory that the process ever held grew [MB].
GROWTH = """
import sys
from analyzer.dataset import open_dataset
from tests.benchmarks.clock import highest_resident
dataset = open_dataset(sys.argv[1])
dataset.of(dataset.tags[:1])
before = highest_resident()
rows = len(dataset.of(dataset.tags[1:3]).terminals)
print(rows, (highest_resident() - before) / 1e6)
"""


@pytest.mark.parametrize("layout", ["by-time", "weekly"])
def test_of_row_groups_that_hold_many_terminals_only_those_wanted_stay_in_memory(tmp_path, layout):
    weeks = 12
    write_year(faulty_week(), 50, weeks, layout, tmp_path)
    told = subprocess.run(
        [sys.executable, "-c", GROWTH, tmp_path / "dataset"], capture_output=True, text=True, check=True
    ).stdout
    rows, grown = map(float, told.split())
    assert rows == 2 * weeks * 2016
    assert grown < 60  # all rows together take 210, and as much again to be put together


class Watched:
    """Trends that keep how many rows were asked for at a time."""

    def __init__(self, trends):
        self.trends, self.asked = trends, []

    def __getattr__(self, name: str):
        return getattr(self.trends, name)

    def of(self, tags, air_handlers=()):
        found = self.trends.of(tags, air_handlers)
        self.asked.append(len(found.terminals))
        return found


def test_days_of_rest_are_looked_for_a_few_terminals_at_a_time(monkeypatch):
    trends, most = Watched(demo_trends()), 5_000
    whole = unlisted_holidays.unlisted_holidays(trends, demo_site())
    assert max(trends.asked) > most
    trends.asked.clear()
    monkeypatch.setattr(unlisted_holidays, "ROWS_AT_A_TIME", most)
    assert unlisted_holidays.unlisted_holidays(trends, demo_site()) == whole
    assert max(trends.asked) <= most


def test_episodes_are_held_as_numbers_and_read_as_moments():
    start = pd.Timestamp("2026-01-12 07:00", tz="UTC")
    told = tuple(Episode(start + pd.Timedelta(hours=n), start + pd.Timedelta(hours=n, minutes=30)) for n in range(9))
    held = Episodes.of(told)
    assert held == told and held[2] == told[2] and held[-1] == told[-1] and held[3:5] == told[3:5] and len(held) == 9
    assert held.edges.nbytes == 9 * 16
    assert np.array_equal(held.seconds[:, 0], [episode.start.timestamp() for episode in told])
    assert Episodes.of(()) == () and not Episodes.of(())


@pytest.mark.parametrize("most", [None, 1, 0])
def test_findings_are_written_one_after_another_as_one_text(tmp_path, most):
    results = reviewed(demo_trends()).results
    results = replace(results, findings=results.findings[:most])
    write_findings(results, tmp_path / "findings.json")
    told = json.dumps(findings_told(results), indent=1, ensure_ascii=False)
    assert (tmp_path / "findings.json").read_text("utf-8") == told


class Handlers(Watched):
    """Trends that keep how many air handlers' points were asked for at a time by themselves."""

    def of(self, tags, air_handlers=()):
        if not list(tags):
            self.asked.append(len({*air_handlers}))
        return self.trends.of(tags, air_handlers)


@pytest.mark.parametrize("known", [True, False], ids=["all known", "of some terminals not known"])
def test_air_handlers_are_judged_a_few_at_a_time_and_come_to_the_same(monkeypatch, known):
    trends, site = Handlers(demo_trends()), demo_site()
    if not known:
        site.schedule.loc[site.schedule.index[::3], "air_handler"] = None
    whole = told(review(trends, site))
    asked = max(trends.asked)
    trends.asked.clear()
    monkeypatch.setattr(parts_of, "__defaults__", (1_000,))
    assert told(review(trends, site)) == whole
    assert asked == len(trends.air_handler_tags) == 2
    assert (max(trends.asked) == 1) is known
