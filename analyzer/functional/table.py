"""The outcome of functional tests as a table: a row for each step and each quantity that has to follow it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import numpy as np
import pandas as pd

from analyzer.engine import Limit
from analyzer.findings import plain_name
from analyzer.functional.events import Events, Window, events_in
from analyzer.functional.responses import NOT_JUDGED, NOTHING_EXPECTED, Answer, answers, judged, span
from analyzer.report import natural_key
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.site.model import FunctionalTest
from analyzer.trends import Trends

FUNCTIONAL_TESTS = "functional_tests.csv"
COLUMNS = [
    "test", "from", "to", "terminal", "time", "kind", "step", "quantity", "expected", "limit_min", "least_min",
    "most_min", "overshoot_percent", "result", "reason",
]  # fmt: skip
NO_STEP = "no such step in the trends of the window"


@dataclass(frozen=True)
class Outcome:
    """How one quantity followed one step of one terminal.

    Attributes
    ----------
    time : Timestamp or None
        The first sample that shows the step; None where an expected step is not there.
    kind, step, quantity, expected : str
    limit, least, most : float
        The limit and between what the time to follow lies [s]; NaN where there is none.
    overshoot : float
        Percent of the step; NaN where there is none to speak of.
    result, reason : str
    """

    terminal: str
    time: pd.Timestamp | None
    kind: str
    step: str
    quantity: str = ""
    expected: str = ""
    limit: float = np.nan
    least: float = np.nan
    most: float = np.nan
    overshoot: float = np.nan
    result: str = NOT_JUDGED
    reason: str = ""

    @property
    def took(self) -> str:
        """The time to follow, in words."""
        return span(self.least, self.most) if self.least == self.least else ""


def outcomes(trends: Trends, site: Site, test: FunctionalTest, limits: dict[str, Limit]) -> list[Outcome]:
    """Judge one functional test at some of its terminals.

    Parameters
    ----------
    trends : Trends
        Of these terminals and their air handlers, over the whole period.
    site : Site
    test : FunctionalTest
    limits : dict of Limit
        As ``response_limits`` returns them.

    Returns
    -------
    list of Outcome
        By terminal in natural order, then by time.
    """
    window = Window(Scene(trends, replace(site, excluded=())), test, limits)
    events = events_in(window)
    found = [own for answer in answers(window, events) for own in _of_answer(window, answer)]
    found += _followed_by_nothing(window, events, found)
    found += _not_made(window, found)
    return sorted(found, key=lambda own: (natural_key(own.terminal), own.time or test.end, own.kind, own.quantity))


def _of_answer(window: Window, answer: Answer) -> list[Outcome]:
    results, followed = judged(window, answer), answer.followed
    return [
        Outcome(
            *_place(window, answer.events, at),
            quantity=plain_name(answer.quantity),
            expected=answer.expected[at],
            limit=answer.within.value,
            least=float(followed.least[at]) if _timed(answer, at) else np.nan,
            most=float(followed.most[at]) if _timed(answer, at) else np.nan,
            overshoot=100 * float(answer.overshoot[at]) if _timed(answer, at) else np.nan,
            result=result,
            reason=reason,
        )
        for at, (result, reason) in enumerate(results)
    ]


def _timed(answer: Answer, at: int) -> bool:
    """Whether the time is one: not where it was there before, or never moved."""
    return not (answer.unjudged[at] or answer.amiss[at]) and bool(answer.followed.samples[at])


def _place(window: Window, events: Events, at: int) -> tuple[str, pd.Timestamp, str, str]:
    row = events.steps.row[at]
    moment = pd.Timestamp(window.scene.seconds[row], unit="s", tz="UTC").tz_convert(window.scene.time_zone)
    return window.scene.terminals[window.scene.code[row]], moment, events.kind[at], events.told[at]


def _followed_by_nothing(window: Window, events: Events, found: list[Outcome]) -> list[Outcome]:
    """The steps after which nothing has to move."""
    told = {(own.terminal, own.time, own.kind) for own in found}
    every = [_place(window, events, at) for at in range(len(events.steps))]
    return [
        Outcome(*own, result=NOTHING_EXPECTED, reason="nothing has to move after this step")
        for own in every
        if own[:3] not in told
    ]


def _not_made(window: Window, found: list[Outcome]) -> list[Outcome]:
    """The steps that the site file expects at a terminal, and the trends do not show."""
    made = {(own.terminal, own.kind) for own in found}
    own = window.scene.terminals if not window.test.terminals else window.test.terminals
    here = [tag for tag in window.scene.terminals if tag in set(own)]
    return [
        Outcome(tag, None, kind, f"expected step: {kind}", reason=NO_STEP)
        for tag in here
        for kind in window.test.steps
        if (tag, kind) not in made
    ]


def without_trends(test: FunctionalTest, tags: list[str]) -> list[Outcome]:
    """The terminals of a test of which there are no trends."""
    return [
        Outcome(tag, None, "", "", reason="the exports hold no trends of this terminal")
        for tag in sorted(set(test.terminals) - set(tags), key=natural_key)
    ]


def frame(tests: list[tuple[FunctionalTest, list[Outcome]]]) -> pd.DataFrame:
    """Return the outcome of all tests as ``functional_tests.csv`` holds it."""
    rows = [_row(test, own) for test, found in tests for own in found]
    return pd.DataFrame(rows, columns=COLUMNS)


def _row(test: FunctionalTest, own: Outcome) -> list[Any]:
    figures = [own.limit / 60, own.least / 60, own.most / 60, own.overshoot]
    return [
        test.name, test.start.isoformat(), test.end.isoformat(), own.terminal,
        own.time.isoformat() if own.time is not None else "", own.kind, own.step, own.quantity, own.expected,
        *(round(figure, 2) if np.isfinite(figure) else None for figure in figures), own.result, own.reason,
    ]  # fmt: skip


def counts(found: list[Outcome]) -> Counter[Any]:
    """Count the results."""
    return Counter(own.result for own in found)


def by_terminal(found: list[Outcome]) -> list[tuple[str, list[Outcome]]]:
    """Gather the outcomes of each terminal, which lie together."""
    return [(tag, list(own)) for tag, own in groupby(found, key=lambda own: own.terminal)]
