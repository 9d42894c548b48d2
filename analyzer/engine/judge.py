"""Every terminal judged by every rule that applies to it: fault, clear, or not judged and why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.episodes import Episodes, find_episodes
from analyzer.engine.evidence import evidence, figures
from analyzer.engine.expressions import Truth
from analyzer.engine.firmness import firm
from analyzer.engine.reasons import Reasons
from analyzer.engine.rule import AIR_HANDLER, KINDS, Rule
from analyzer.signals import HOLD_INTERVALS, Scene

# A terminal is clear only where at least this share of the rule's context could be judged. Judgement.
LEAST_KNOWN = 0.5
COLUMNS = [
    "terminal", "rule", "verdict", "confidence", "reason", "judged_hours", "fault_hours", "first_seen", "last_seen",
]  # fmt: skip


@dataclass
class Judgement:
    """What the engine came to.

    Attributes
    ----------
    verdicts : DataFrame
        ``COLUMNS``: a row for each terminal and rule that applies.
    episodes : dict
        Rule id to its episodes.
    figures : dict
        Rule id to a DataFrame: index terminal number (of the scene), a column per measure (SI).
    evidence : dict
        Rule id to a DataFrame: index terminal number, a column of bool per evidence sentence, and ``"milder"``
        where the rule has a milder severity.
    gaps : DataFrame
        ``terminal, rule, what, point, interval``: what a verdict lacked, for the trend request.
    """

    verdicts: pd.DataFrame
    episodes: dict[str, Episodes]
    figures: dict[str, pd.DataFrame]
    evidence: dict[str, pd.DataFrame]
    gaps: pd.DataFrame


def judge(scene: Scene, rules: dict[str, Rule], progress=None) -> Judgement:
    """Judge every terminal of the scene by every rule that applies to it."""
    judged = []
    for rule in rules.values():
        applies = applicable(scene, rule)
        if applies.any():
            if progress:
                progress(f"judging {rule.id}")
            judged.append(_RuleAtWork(scene, rule, applies).outcome())
    verdicts = [outcome.verdicts for outcome in judged]
    gaps = [outcome.gaps for outcome in judged if len(outcome.gaps)]
    table = pd.concat(verdicts, ignore_index=True) if verdicts else pd.DataFrame(columns=COLUMNS)
    return Judgement(
        table.sort_values(["terminal", "rule"], kind="stable", ignore_index=True),
        {outcome.rule: outcome.episodes for outcome in judged},
        {outcome.rule: outcome.figures for outcome in judged},
        {outcome.rule: outcome.evidence for outcome in judged},
        pd.concat(gaps, ignore_index=True) if gaps else Reasons.no_gaps(),
    )


def applicable(scene: Scene, rule: Rule) -> np.ndarray:
    """Tell for each terminal whether the rule applies to what it is."""
    applies = np.ones(scene.count, dtype=bool)
    if "all" not in rule.applies_to:
        applies &= np.isin(scene.kinds, [kind for kind in (*KINDS, AIR_HANDLER) if kind in rule.applies_to])
    if "reheat" in rule.only_with:
        applies &= scene.has_reheat
    if "outdoor-air-inlet" in rule.only_with:
        applies &= scene.has_outdoor_air_inlet
    if "open-zone" in rule.only_with:
        applies &= scene.words("open_zone") != ""
    return applies


@dataclass
class _Outcome:
    rule: str
    verdicts: pd.DataFrame
    episodes: Episodes
    figures: pd.DataFrame
    evidence: pd.DataFrame
    gaps: pd.DataFrame


class _RuleAtWork:
    """One rule over the whole building."""

    def __init__(self, scene: Scene, rule: Rule, applies: np.ndarray):
        self.scene, self.rule, self.applies = scene, rule, applies
        self.reasons = Reasons(scene, rule, applies)

    def outcome(self) -> _Outcome:
        rule, scene = self.rule, self.scene
        judged, fault = self._conditions(self._look_up)
        looked_at = scene.per_row(self.applies & self.reasons.can_be_judged)
        is_fault = judged.true & fault.true & looked_at
        is_clear = (judged.false | (judged.true & fault.false)) & looked_at
        in_context = scene.per_terminal(np.where(judged.true & looked_at, scene.hours, 0.0))
        judged_hours = scene.per_terminal(np.where(judged.true & fault.known & looked_at, scene.hours, 0.0))
        episodes = self._episodes(is_fault, is_clear)
        fault_hours = np.bincount(scene.code[episodes.row], weights=scene.hours[episodes.row], minlength=scene.count)
        enough = judged_hours >= max(rule.judged_hours_at_least, 1e-9)
        # A fault that was seen stands, however much was not; a clear verdict needs most of the context to be known.
        clear = enough & (judged_hours >= LEAST_KNOWN * in_context)
        faulty = enough & (fault_hours >= max(rule.fault_hours_at_least, 1e-9)) & self.applies
        enough = faulty | clear
        self.reasons.weigh(enough, in_context)
        verdicts = self._verdicts(enough, faulty, firm(scene, rule, faulty), judged_hours, fault_hours, episodes)
        kept = _of_terminals(episodes, faulty, scene)
        return _Outcome(
            rule.id,
            verdicts,
            kept,
            figures(scene, rule, kept.row, faulty),
            evidence(scene, rule, kept.row, faulty),
            self.reasons.gaps(),
        )

    def _look_up(self, name: str):
        limit = self.rule.limits.get(name)
        return self.scene.value(name, self.rule.values) if limit is None else limit.value

    def _conditions(self, look_up) -> tuple[Truth, Truth]:
        return self._rows(self.rule.judged_when.truth(look_up)), self._rows(self.rule.fault_when.truth(look_up))

    def _rows(self, truth: Truth) -> Truth:
        """Spread a condition without a name over the rows, so that every condition has the same shape."""
        size = self.scene.size
        return Truth(np.broadcast_to(truth.true, size), np.broadcast_to(truth.false, size))

    def _episodes(self, is_fault, is_clear) -> Episodes:
        scene = self.scene
        longest_gap = HOLD_INTERVALS * np.nan_to_num(scene.interval)
        return find_episodes(is_fault, is_clear, scene.code, scene.seconds, scene.hours, longest_gap, self.rule.lasting)

    # Outcome ------------------------------------------------------------------------------------------------------

    def _verdicts(self, enough, faulty, stands, judged_hours, fault_hours, episodes) -> pd.DataFrame:
        scene = self.scene
        at = np.flatnonzero(self.applies)
        first, last = _span(episodes, faulty, scene.count)
        verdict = np.select([faulty, enough], ["fault", "clear"], "not-judged")
        confidence = np.where(faulty, np.where(stands, "firm", "marginal"), "")
        return pd.DataFrame(
            {
                "terminal": scene.terminals[at],
                "rule": self.rule.id,
                "verdict": verdict[at],
                "confidence": confidence[at],
                "reason": self.reasons.sentences(faulty, enough, judged_hours, fault_hours)[at],
                "judged_hours": np.round(judged_hours[at], 3),
                "fault_hours": np.round(np.where(faulty, fault_hours, 0.0)[at], 3),
                "first_seen": _moments(first[at]),
                "last_seen": _moments(last[at]),
            }
        )


def _of_terminals(episodes: Episodes, faulty: np.ndarray, scene: Scene) -> Episodes:
    kept = faulty[episodes.terminal] if len(episodes.terminal) else np.empty(0, dtype=bool)
    row = episodes.row[faulty[scene.code[episodes.row]]]
    return Episodes(
        episodes.terminal[kept], episodes.first_row[kept], episodes.last_row[kept], episodes.start[kept],
        episodes.end[kept], row,
    )  # fmt: skip


def _span(episodes: Episodes, faulty: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """First and last moment of each faulty terminal's episodes [s]; NaN elsewhere. Episodes stand in time order."""
    first, last = np.full(count, np.nan), np.full(count, np.nan)
    last[episodes.terminal] = episodes.end
    first[episodes.terminal[::-1]] = episodes.start[::-1]
    return np.where(faulty, first, np.nan), np.where(faulty, last, np.nan)


def _moments(seconds: np.ndarray) -> pd.DatetimeIndex:
    micro = np.where(np.isnan(seconds), np.iinfo(np.int64).min, np.nan_to_num(seconds) * 1e6).astype("int64")
    return pd.DatetimeIndex(micro.view("datetime64[us]")).tz_localize("UTC")
