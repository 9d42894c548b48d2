"""What the terminals of one air handler have in common: faults that many of them have at the same time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.engine.episodes import Episodes
from analyzer.engine.rule import AIR_HANDLER
from analyzer.signals import Scene
from analyzer.site.model import empty_schedule
from analyzer.trends import TERMINAL_COLUMNS, Trends, in_form, no_air_handlers, observed_logging


@dataclass
class Together:
    """The air handlers as a scene of their own, and how many of its terminals share which fault at each row.

    ``sharing`` is rule id to the number of terminals at fault, one per row of ``scene``; ``judged`` rule id to the
    number of terminals with a verdict, one per air handler.
    """

    scene: Scene
    sharing: dict[str, np.ndarray]
    judged: dict[str, np.ndarray]


def lay_together(scene: Scene, verdicts: pd.DataFrame, episodes: dict[str, Episodes]) -> Together | None:
    """Lay the terminals' faults over the air handlers, or return None where the schedule names no air handler.

    Parameters
    ----------
    scene : Scene
        The terminals.
    verdicts : DataFrame
        Their verdicts.
    episodes : dict
        Rule id to the episodes of its faults.
    """
    owner = scene.words("air_handler")
    tags = np.array(sorted({tag for tag in owner if tag}), dtype=object)
    if not len(tags):
        return None
    of_terminal = pd.Index(tags).get_indexer(owner)
    rows = np.flatnonzero(scene.per_row(of_terminal) >= 0)
    moment, moments = pd.factorize(scene.seconds, sort=True)
    key = scene.per_row(of_terminal)[rows] * len(moments) + moment[rows]
    places, place = np.unique(key, return_inverse=True)
    where = np.full(scene.size, -1)
    where[rows] = place
    together = _scene(scene, tags, places // len(moments), moments[places % len(moments)])
    sharing, judged = {}, {}
    decided = verdicts[verdicts["verdict"] != "not-judged"]
    for rule, found in episodes.items():
        at = where[found.row]
        sharing[rule] = np.bincount(at[at >= 0], minlength=len(places)).astype(float)
        terminals = pd.Index(scene.terminals).get_indexer(decided.loc[decided["rule"] == rule, "terminal"])
        mine = of_terminal[terminals]
        judged[rule] = np.bincount(mine[mine >= 0], minlength=len(tags))
    _give_the_most_shared(together, sharing, judged)
    return Together(together, sharing, judged)


def _scene(scene: Scene, tags: np.ndarray, owner: np.ndarray, seconds: np.ndarray) -> Scene:
    moments = pd.DatetimeIndex((seconds * 1e6).astype("int64").view("datetime64[us]"), tz="UTC")
    table = pd.DataFrame({"terminal": tags[owner], "time": moments}).reindex(columns=TERMINAL_COLUMNS)
    table = in_form(table)
    schedule = empty_schedule().reindex(tags)
    schedule["kind"] = AIR_HANDLER
    schedule["air_handler"] = tags
    trends = Trends(table, no_air_handlers(), observed_logging(table), scene.trends.time_zone)
    return Scene(trends, scene.site, schedule=schedule)


def _give_the_most_shared(together: Scene, sharing, judged) -> None:
    """Give the scene, row by row, the count and the share of the fault that most terminals have at once."""
    count, share = np.full(together.size, np.nan), np.full(together.size, np.nan)
    for rule, terminals in sharing.items():
        of = together.per_row(judged[rule].astype(float))
        own = np.divide(terminals, of, out=np.full(together.size, np.nan), where=of > 0)
        count = np.where((own > share) | np.isnan(share), np.where(of > 0, terminals, count), count)
        share = np.fmax(share, own)
    together.given.update(terminals_at_fault=count, share_at_fault=share)


def sharers(
    together: Together, scene: Scene, episodes: dict[str, Episodes], common: Episodes, least_share: float
) -> dict:
    """Name who shares what: (air handler, rule) to the terminals whose faults make up the air handler's.

    A rule belongs to an air handler's common cause where its share reaches the least for half an hour or more of the
    common episodes; its terminals are those at fault within them.
    """
    found: dict[tuple[str, str], list[str]] = {}
    owner = scene.words("air_handler")
    for rule, terminals in together.sharing.items():
        of = together.scene.per_row(together.judged[rule].astype(float))
        high = np.divide(terminals, of, out=np.zeros(len(of)), where=of > 0) >= least_share
        rows = common.row[high[common.row]]
        hours = np.bincount(
            together.scene.code[rows], weights=together.scene.hours[rows], minlength=together.scene.count
        )
        for number in np.flatnonzero(hours >= 0.5):
            tag = together.scene.terminals[number]
            mine = np.unique(episodes[rule].terminal)
            found[tag, rule] = [scene.terminals[at] for at in mine if owner[at] == tag]
    return found
