"""One group of terminals judged, and the groups put together: what a review knows before anything is written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analyzer.engine import (
    NOT_ASSIGNED,
    Explained,
    FaultsAtOnce,
    Forms,
    Group,
    Rule,
    add_up,
    faults_at_once,
    joined_tables,
    judge_air_handlers,
    judge_terminals,
    laid_together,
    parts_of,
    with_those_by_themselves,
)
from analyzer.findings import (
    Completeness,
    Finding,
    Results,
    collect,
    findings_of_air_handlers,
    forms_by_terminal,
    heating_capability,
    of_owners,
    put_in_order,
)
from analyzer.memory import give_back
from analyzer.quantities import TERMINAL
from analyzer.request import trend_request
from analyzer.signals import Scene
from analyzer.signals.agreed import Agreed, RunningSum, shown_by
from analyzer.signals.kinds import kinds_told
from analyzer.signals.membership import learned_told, left_open_told
from analyzer.signals.tallies import named_told, tallies_told
from analyzer.site import Site
from analyzer.site.excluded import left_out
from analyzer.trends import Trends, TrendSource

# Memory is given back after so many groups: each takes a second, and giving back some hundredths.
_GROUPS_BETWEEN = 16


@dataclass(frozen=True)
class Task:
    """What is the same for all groups of a building."""

    source: TrendSource
    site: Site
    rules: dict[str, Rule]
    agreed: Agreed | None = None  # what terminals of an air handler agree on, where they are in several groups


@dataclass(frozen=True)
class JudgedGroup:
    """What one group of terminals came to; nothing in it grows with the rows, but for the moments of ``at_once``."""

    verdicts: pd.DataFrame
    gaps: pd.DataFrame
    findings: list[Finding]
    at_once: FaultsAtOnce | None  # none once it is added to those of other groups
    heating: pd.DataFrame
    completeness: Completeness
    period: tuple[pd.Timestamp, pd.Timestamp]
    notes: list[str]
    kinds_read: Counter[str]
    owners: dict[str, str]  # terminal to its air handler, empty where none is known
    tallies: Counter[Any]
    named: dict[str, set[str]]
    assigned: pd.Series  # the air handler of each terminal for which the schedule names none, where one was learned
    learned: Counter[Any]
    may_be: dict[str, Forms]  # terminal to the pairs of kind and reheat that it may be


def shown_in_group(task: Task, group: Group) -> Agreed:
    """Read one group of terminals, and tell what they show that is compared with others of their air handlers."""
    return shown_by(Scene(_trends_of(task, group), task.site))


def _trends_of(task: Task, group: Group) -> Trends:
    """Read a group's terminals and their air handlers: all of these where any terminal's is not known."""
    every = task.source.air_handler_tags if "" in group.owners else ()
    return task.source.of(group.terminals, {*group.air_handlers, *every})


def judge_group(task: Task, group: Group) -> JudgedGroup:
    """Read one group of terminals and judge it."""
    trends = _trends_of(task, group)
    scene = Scene(trends, task.site, agreed=task.agreed)
    judgement = judge_terminals(scene, task.rules)
    return JudgedGroup(
        verdicts=judgement.verdicts,
        gaps=judgement.gaps,
        findings=collect(scene, task.rules, judgement),
        at_once=faults_at_once(scene, judgement, task.rules),
        heating=heating_capability(scene, task.rules),
        completeness=completeness_of(trends, scene),
        period=trends.period,
        notes=scene.notes,
        kinds_read=scene.kinds_read,
        owners=dict(zip(scene.terminals, scene.words("air_handler"), strict=True)),
        tallies=scene.tallies,
        named=scene.named,
        assigned=_owners_learned(scene),
        learned=scene.learned,
        may_be=forms_by_terminal(scene),
    )


def _owners_learned(scene: Scene) -> pd.Series:
    words = pd.Series(scene.words("air_handler"), index=scene.terminals, dtype=object)
    return words[(words != "").to_numpy() & scene.schedule["air_handler"].isna().to_numpy()]


def counted_up(groups: Iterable[JudgedGroup]) -> tuple[list[JudgedGroup], FaultsAtOnce]:
    """Gather groups as they come, their counts of faults added up, so that not all of these are held side by side."""
    gathered: list[JudgedGroup] = []
    counts = RunningSum(add_up)
    for number, group in enumerate(groups, 1):
        gathered.append(replace(group, at_once=None))
        if group.at_once:
            counts.take(group.at_once)
        del group
        if number % _GROUPS_BETWEEN == 0:  # sums that were added up to larger ones leave much behind
            give_back()
    return gathered, counts.total()


def put_together(task: Task, groups: Sequence[JudgedGroup], at_once: FaultsAtOnce) -> Results:
    """Put the groups of a building together, and judge what their terminals have in common."""
    owners = {tag: owner for group in groups for tag, owner in group.owners.items()}
    may_be = {tag: forms for group in groups for tag, forms in group.may_be.items()}
    common = _judge_air_handlers(task, at_once, of_owners(owners, may_be))
    verdicts = joined_tables([group.verdicts for group in groups])
    gaps = joined_tables([*(group.gaps for group in groups), common.gaps])
    findings = [finding for group in groups for finding in group.findings] + common.findings
    notes = dict.fromkeys(note for group in groups for note in group.notes)
    return Results(
        site=_with_owners(task.site, pd.concat([group.assigned for group in groups])),
        trends=task.source,
        rules=task.rules,
        verdicts=joined_tables([
            verdicts.sort_values(["terminal", "rule"], kind="stable", ignore_index=True),
            common.verdicts,
        ]),
        findings=put_in_order(findings, task.rules, common.explained, verdicts, owners, may_be),
        may_be=may_be,
        requests=trend_request(gaps, task.rules, may_be),
        heating=pd.concat([group.heating for group in groups]).sort_index(),
        completeness=Completeness.joined([group.completeness for group in groups]),
        moments=(min(group.period[0] for group in groups), max(group.period[1] for group in groups)),
        assumptions=[
            *task.site.assumptions,
            *left_out(task.site),
            *task.source.ledger.assumptions,
            *notes,
            *tallies_told(sum((group.tallies for group in groups), Counter())),
            *named_told(group.named for group in groups),
            *kinds_told(sum((group.kinds_read for group in groups), Counter())),
            *learned_told(sum((group.learned for group in groups), Counter())),
            *left_open_told(owners, task.source.air_handler_tags),
        ],
    )  # fmt: skip


@dataclass(frozen=True)
class _AirHandlers:
    """What all air handlers came to."""

    verdicts: pd.DataFrame
    gaps: pd.DataFrame
    findings: list[Finding]
    explained: list[Explained]


def _judge_air_handlers(task: Task, at_once: FaultsAtOnce, may_be: Mapping[str, Forms]) -> _AirHandlers:
    """Judge some air handlers after another, so that never more than the points of a few are held."""
    verdicts, gaps, findings, explained = [], [], [], []
    source = task.source
    alone = [tag for tag in source.air_handler_tags if tag not in at_once.tags]
    at_once = with_those_by_themselves(at_once, (source.of((), [tag]).air_handlers for tag in alone))
    for part in parts_of(at_once):
        # What is true of the terminals of none that is known is asked of all air handlers.
        tags = task.source.air_handler_tags if NOT_ASSIGNED in part.tags else part.tags
        common = judge_air_handlers(task.site, task.rules, part, task.source.of((), tags).air_handlers)
        verdicts.append(common.judgement.verdicts)
        gaps.append(common.judgement.gaps)
        findings += findings_of_air_handlers(task.rules, common, may_be)
        explained += common.explained
    return _AirHandlers(joined_tables(verdicts), joined_tables(gaps), findings, laid_together(explained, task.rules))


def _with_owners(site: Site, learned: pd.Series) -> Site:
    """Return a site whose schedule names the air handlers that were learned: pages and tables go by it."""
    if not len(learned):
        return site
    schedule = site.schedule.reindex(site.schedule.index.union(learned.index, sort=False))
    schedule["air_handler"] = schedule["air_handler"].astype(object)
    schedule.loc[learned.index, "air_handler"] = learned
    return replace(site, schedule=schedule.rename_axis("terminal"))


def completeness_of(trends: Trends, scene: Scene) -> Completeness:
    """Count what there is of each terminal's trends."""
    counts = {name: _known(scene, name) for name in TERMINAL}
    return Completeness(
        pd.DataFrame(counts, index=trends.tags), trends.logging, pd.Series(scene.interval, index=trends.tags)
    )


def _known(scene: Scene, name: str) -> np.ndarray:
    """Count the rows at which each terminal's point is known."""
    if not scene.trended(name).any():
        return np.zeros(scene.count, dtype=np.int64)
    values = scene.column(name)
    return np.add.reduceat((values == values).view(np.uint8), scene.first[:-1], dtype=np.int64)
