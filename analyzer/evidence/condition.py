"""Whether a rule's condition held at a moment, on the trends that a review keeps."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from analyzer.engine import AIR_HANDLER, Rule, Truth, names_at
from analyzer.findings import StoredReview
from analyzer.signals import SIGNALS
from analyzer.signals.made_of import POINT, TREND, inputs_of, made_of

_WORD = np.array(["unknown", "false", "true"])


def points_of_rule(rule: Rule) -> tuple[set[str], set[str]]:
    """Return the trends of a terminal and the points of an air handler that a rule rests on."""
    names = rule.names | {*rule.needs}
    for measure in rule.measures.values():
        names |= measure.expression.names - set(rule.limits)
    parts = [part for name in names for part in inputs_of(made_of(name))]
    needed = {need for name in names if name in SIGNALS for need in SIGNALS[name].needs}
    own = {part.name for part in parts if part.sort == TREND} | needed
    return own, {part.name for part in parts if part.sort == POINT}


class Condition:
    """A rule's two conditions over the rows of one terminal; unknown everywhere for a rule that judges air handlers."""

    def __init__(self, review: StoredReview, rule: Rule, terminal: str):
        self._time = np.zeros(0, np.int64)
        if AIR_HANDLER in rule.applies_to or terminal not in review.terminals:
            return
        handler = review.air_handler(terminal)
        table = review.site.schedule
        beside = set(table.index[table["air_handler"] == handler]) if handler else set()
        trends = review.trends([terminal, *sorted((beside & set(review.terminals)) - {terminal})])
        scene = review.scene(trends)
        code = list(trends.terminals["terminal"].cat.categories).index(terminal)
        rows = np.flatnonzero(scene.code == code)
        look_up = names_at(scene, rule, rows)
        self._time = trends.terminals["time"].iloc[rows].to_numpy().astype("datetime64[us]").astype(np.int64)
        self._judged, self._fault = (
            _WORD[_three(condition.truth(look_up), len(rows))] for condition in (rule.judged_when, rule.fault_when)
        )

    def at(self, moments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return 'true', 'false' or 'unknown' of judged_when and fault_when at the rows nearest to moments [us, UTC].

        Empty where no condition is worked out.
        """
        if not len(self._time):
            blank = np.full(len(moments), "", object)
            return blank, blank
        after = np.clip(np.searchsorted(self._time, moments), 0, len(self._time) - 1)
        before = np.maximum(after - 1, 0)
        nearer = np.abs(self._time[before] - moments) < np.abs(self._time[after] - moments)
        row = np.where(nearer, before, after)
        return self._judged[row], self._fault[row]


def _three(truth: Truth, rows: int) -> np.ndarray:
    true, false = (np.broadcast_to(np.asarray(part), rows) for part in (truth.true, truth.false))
    return np.where(true, 2, np.where(false, 1, 0))


def window_of(finding: dict[str, Any]) -> list[tuple[int, int]]:
    """Return a finding's episodes as moments [us, UTC]."""
    return [
        (_micros(pd.Timestamp(episode["from"])), _micros(pd.Timestamp(episode["to"])))
        for episode in finding["episodes"]
    ]


def _micros(moment: pd.Timestamp) -> int:
    return int(moment.value) // 1000
