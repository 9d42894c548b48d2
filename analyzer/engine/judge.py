"""Every terminal judged by every rule that applies to it: fault, clear, or not judged and why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.episodes import Episodes, fault_episodes
from analyzer.engine.evidence import evidence, figures
from analyzer.engine.firmness import firm
from analyzer.engine.log_end import logged_until
from analyzer.engine.reasons import Reasons, gap_table
from analyzer.engine.rows import FEW, hours_of, names_at
from analyzer.engine.rule import AIR_HANDLER, Rule
from analyzer.engine.verdicts import Outcome, verdict_table
from analyzer.engine.wording import KINDS
from analyzer.signals import Scene

# A terminal is clear only where at least this share of the rule's context could be judged. Judgement.
LEAST_KNOWN = 0.5


@dataclass
class Judgement:
    """What the engine came to.

    Attributes
    ----------
    verdicts : DataFrame
        ``COLUMNS`` of ``verdicts``: a row for each terminal and rule that applies.
    decided : dict
        Rule id to one bool per terminal of the scene: whether it came to a verdict.
    episodes : dict
        Rule id to the episodes of its faults.
    figures : dict
        Rule id to its measures by name: one figure (SI) per terminal of the scene; nothing where there is no fault.
    evidence : dict
        Rule id to its pieces of evidence by number, those of ``Rule.grades`` by name, and what the trends say of its
        likely causes (``analyzer.engine.evidence``): one bool per terminal; nothing where there is no fault.
    logged_until : dict
        Rule id to the moment at which the first of its trends ends [s], one per terminal of the scene; NaN where there
        is no fault. A log that ends is no correction.
    gaps : DataFrame
        ``terminal, rule, what, point, interval``: what a verdict lacked, for the trend request.
    """

    verdicts: pd.DataFrame
    decided: dict[str, np.ndarray]
    episodes: dict[str, Episodes]
    figures: dict[str, dict[str, np.ndarray]]
    evidence: dict[str, dict[int | str, np.ndarray]]
    logged_until: dict[str, np.ndarray]
    gaps: pd.DataFrame


def judge(scene: Scene, rules: dict[str, Rule], progress=None) -> Judgement:
    """Judge every terminal of the scene by every rule that applies to it."""
    outcomes = []
    for rule in rules.values():
        applies = applicable(scene, rule)
        if applies.any():
            if progress:
                progress(f"judging {rule.id}")
            outcomes.append(_outcome(scene, rule, applies))
    faults = {outcome.rule: outcome.episodes.row for outcome in outcomes}
    return Judgement(
        verdict_table(scene, outcomes),
        {outcome.rule: outcome.enough for outcome in outcomes},
        {outcome.rule: outcome.episodes for outcome in outcomes},
        {name: figures(scene, rules[name], rows) for name, rows in faults.items()},
        {name: evidence(scene, rules[name], rows) for name, rows in faults.items()},
        {own.rule: logged_until(scene, rules[own.rule], own.faulty) for own in outcomes if own.faulty.any()},
        gap_table(scene, [outcome.reasons for outcome in outcomes]),
    )


def applicable(scene: Scene, rule: Rule) -> np.ndarray:
    """Tell for each terminal whether the rule applies to what it is."""
    applies = np.ones(scene.count, dtype=bool)
    if "all" not in rule.applies_to:
        applies = np.logical_or.reduce(
            [scene.kinds == kind for kind in (*KINDS, AIR_HANDLER) if kind in rule.applies_to]
        )
    if "reheat" in rule.only_with:
        applies = applies & scene.has_reheat
    if "electric-heat" in rule.only_with:  # or reheat of a kind that nobody says
        applies = applies & scene.has_reheat & (scene.words("reheat") != "hot-water")
    if "fan" in rule.only_with:  # of either kind, or of one that is not known
        applies = applies & (scene.kinds != "single-duct") & (scene.kinds != AIR_HANDLER)
    if "outdoor-air-inlet" in rule.only_with:
        applies = applies & scene.has_outdoor_air_inlet
    if "open-zone" in rule.only_with:
        applies = applies & (scene.words("open_zone") != "")
    if "open-zone-of-three" in rule.only_with:  # by the schedule: a terminal whose trends are missing may be logged
        sizes = scene.site.schedule["open_zone"].value_counts()
        applies = applies & (pd.Series(scene.words("open_zone")).map(sizes).to_numpy(dtype=float) > 2)
    if "known-air-handler" in rule.only_with:
        applies = applies & (scene.words("air_handler") != "")
    return applies


def _outcome(scene: Scene, rule: Rule, applies: np.ndarray) -> Outcome:
    """Judge the terminals to which a rule applies."""
    reasons = Reasons(scene, rule, applies)
    rows = _rows_in_context(scene, rule, applies & reasons.can_be_judged)
    fault, unknown = _told_apart(scene, rule, rows)
    in_context = hours_of(scene, rows)
    judged_hours = hours_of(scene, np.delete(rows, unknown)) if len(unknown) else in_context
    enough = judged_hours >= rule.least_judged_hours
    # Only where all rows of fault together would do can those that make up episodes do.
    at_fault = rows[fault]
    least = rule.least_fault_of(judged_hours)
    suspect = enough & (hours_of(scene, at_fault) >= least)
    episodes = fault_episodes(scene, rule, at_fault[suspect[scene.code[at_fault]]])
    fault_hours = hours_of(scene, episodes.row)
    faulty = suspect & (fault_hours >= least)
    # A fault that was seen stands, however much was not; a clear verdict needs most of the context to be known.
    enough = faulty | (enough & (judged_hours >= LEAST_KNOWN * in_context))
    reasons.weigh(enough, judged_hours)
    return Outcome(
        rule.id, applies, enough, faulty, firm(scene, rule, faulty, least), judged_hours, fault_hours,
        episodes.of(faulty, scene.code), reasons,
    )  # fmt: skip


def _rows_in_context(scene: Scene, rule: Rule, looked_at: np.ndarray) -> np.ndarray:
    """Return the rows of the terminals looked at where the rule's context is known to be there.

    What has to hold together is worked out one condition after another; from when few rows are left, on them alone.
    """
    here, rows = scene.per_row(looked_at), None
    if scene.excluded is not None:
        here &= ~scene.excluded
    for condition in rule.judged_when.conditions():
        if rows is None and np.count_nonzero(here) <= FEW * scene.size:
            rows = np.flatnonzero(here)
        if rows is None:
            here = here & condition(names_at(scene, rule)).true
        elif len(rows):
            rows = rows[np.broadcast_to(condition(names_at(scene, rule, rows)).true, len(rows))]
    return np.flatnonzero(here) if rows is None else rows


def _told_apart(scene: Scene, rule: Rule, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Tell at which of the rows the rule's fault is known to be there, and at which it is not known: their positions.

    Nearly all rows are clear; whether it is there is asked on the others alone.
    """
    if not len(rows):
        return rows, rows
    if len(rows) <= FEW * scene.size:
        clear = np.broadcast_to(rule.fault_when.truth(names_at(scene, rule, rows)).false, len(rows))
    else:
        clear = np.broadcast_to(rule.fault_when.truth(names_at(scene, rule)).false, scene.size)[rows]
    rest = np.flatnonzero(~clear)
    fault = np.broadcast_to(rule.fault_when.truth(names_at(scene, rule, rows[rest])).true, len(rest))
    return rest[fault], rest[~fault]
