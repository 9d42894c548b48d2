"""The charts of a functional test: one terminal's trends over the window, its steps marked."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from analyzer.functional.table import Outcome
from analyzer.report.trend_box import JUDGED, TrendBox, trend_box
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.site.model import FunctionalTest
from analyzer.trends import Trends

MARGIN = pd.Timedelta("10min")  # drawn before and after the window
MARK = pd.Timedelta("1min")  # how wide a step is marked
PANELS = ("zone", "air", "position", "temperatures", "fan")


class TestCharts:
    """Draws the terminals of some trends, one after another.

    Parameters
    ----------
    trends : Trends
    site : Site
    period : tuple of Timestamp
        The first and the last moment of the review.
    """

    def __init__(self, trends: Trends, site: Site, period: tuple[pd.Timestamp, pd.Timestamp]):
        self._trends, self._site, self._period = trends, site, period
        scene = Scene(trends, replace(site, excluded=()))
        self._in_force = pd.DataFrame({name: scene.value(name) for name in JUDGED})
        self._schedule = site.schedule.to_dict("index")

    def of(self, test: FunctionalTest, terminal: str, found: list[Outcome]) -> TrendBox | None:
        """Return a terminal's charts over a test's window; None where it has no trends then."""
        row = self._schedule.get(terminal, {})
        handler = row.get("air_handler")
        steps = dict.fromkeys(own.time for own in found if own.time is not None)
        box = trend_box(
            self._trends,
            terminal,
            in_force=self._in_force,
            schedule=row,
            air_handler=handler if isinstance(handler, str) and handler else None,
            units=self._site.units,
            start=max(test.start - MARGIN, self._period[0]),
            end=min(test.end + MARGIN, self._period[1]),
            marked=[(step - MARK, step) for step in steps],
            only=PANELS,
        )
        return box and _without_still_fan(box)


def _without_still_fan(box: TrendBox) -> TrendBox:
    """Leave a fan out that did the same all the time."""
    names = [name for name in ("fan_status", "fan_command") if name in box.data["series"]]
    if any(len(set(box.ends(name))) > 1 for name in names):
        return box
    return TrendBox(box.data, [panel for panel in box.panels if panel.name != "fan"], box.units)
