"""The whole building judged: its terminals one by one, then what they show together at their air handlers.

A building may be judged in groups of terminals, one after another or in several processes, and comes to the same:
``judge_terminals`` and ``faults_at_once`` take one group's scene, ``add_up`` the small counts of all groups, and
``judge_air_handlers`` those, beside the air handlers' own points.

The terminals of one open zone have to stay in one group, with all rows of its air handlers: the signal
``neighbour_cools`` looks at the others at the same moment. What the terminals of one air handler agree on by day, and
what their air tells by quarter hours, is given to the scene where they stand in several groups
(``analyzer.signals.agreed``). Nothing else looks across terminals.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analyzer.engine.air_tally import COUNTED_BY, NOT_ASSIGNED
from analyzer.engine.common_cause import FaultsAtOnce, faults_at_once, lay_together, with_those_by_themselves
from analyzer.engine.explained import Explained, explained_by, in_common, put_under
from analyzer.engine.judge import Judgement, judge
from analyzer.engine.rule import AIR_HANDLER, Rule
from analyzer.signals import Scene
from analyzer.site import Site


@dataclass
class CommonCauses:
    """What the engine came to for the air handlers.

    Attributes
    ----------
    scene : Scene
        The air handlers in the place of terminals.
    judgement : Judgement
        Of them.
    explained : list of Explained
        What each fault of an air handler explains at its terminals: one entry a fault, and of a common cause one for
        each rule whose faults are shared.
    """

    scene: Scene
    judgement: Judgement
    explained: list[Explained]

    @property
    def shared(self) -> dict[str, dict[tuple[str, str], list[str]]]:
        """Id of the rule of a common cause to {(air handler, id of the shared rule): the terminals that share it}."""
        found: dict[str, dict[tuple[str, str], list[str]]] = {}
        for own in self.explained:
            if own.fault:
                found.setdefault(own.rule, {})[own.air_handler, own.fault] = list(own.terminals)
        return found


@dataclass
class BuildingJudgement:
    """What the engine came to for a building; ``common`` is None where no rule judges air handlers."""

    terminals: Judgement
    common: CommonCauses | None = None

    @property
    def shared(self) -> dict[str, dict[tuple[str, str], list[str]]]:
        """As ``CommonCauses`` holds it."""
        return {} if self.common is None else self.common.shared

    @property
    def verdicts(self) -> pd.DataFrame:
        """Verdicts of the terminals, then of the air handlers."""
        return joined_tables([part.verdicts for part in self._parts()])

    @property
    def gaps(self) -> pd.DataFrame:
        """What the verdicts lacked."""
        return joined_tables([part.gaps for part in self._parts()])

    def _parts(self) -> list[Judgement]:
        return [self.terminals] if self.common is None else [self.terminals, self.common.judgement]


def judge_building(scene: Scene, rules: dict[str, Rule], progress=None) -> BuildingJudgement:
    """Judge every terminal by its rules, and every air handler by what its terminals have in common."""
    terminals = judge_terminals(scene, rules, progress)
    if not _of_air_handlers(rules):
        return BuildingJudgement(terminals)
    at_once = with_those_by_themselves(faults_at_once(scene, terminals, rules), [scene.trends.air_handlers])
    return BuildingJudgement(
        terminals, judge_air_handlers(scene.site, rules, at_once, scene.trends.air_handlers, progress)
    )


def judge_terminals(scene: Scene, rules: dict[str, Rule], progress=None) -> Judgement:
    """Judge the terminals of a scene, all of a building or a group, by the rules that judge terminals."""
    of_air_handlers = _of_air_handlers(rules)
    return judge(scene, {name: rule for name, rule in rules.items() if name not in of_air_handlers}, progress)


def judge_air_handlers(
    site: Site, rules: dict[str, Rule], at_once: FaultsAtOnce, air_handlers: pd.DataFrame | None = None, progress=None
) -> CommonCauses:
    """Judge every air handler by its own points, and by what its terminals show at once.

    Parameters
    ----------
    site : Site
    rules : dict
        The rule book.
    at_once : FaultsAtOnce
        Of all terminals, or of those of some air handlers (``parts_of``): what explains what is then said anew of all
        of them (``laid_together``).
    air_handlers : DataFrame, optional
        As ``Trends.air_handlers``.
    """
    # Of two faults that equally many terminals share the one counts that stands first in the rule book.
    at_once = replace(at_once, rules={name: at_once.rules[name] for name in rules if name in at_once.rules})
    own = _of_air_handlers(rules)
    least = [rule.values.get("least_terminals", 1.0) for rule in own.values() if rule.looks_for_common_faults]
    scene = lay_together(at_once, site, air_handlers, min(least, default=1.0))
    judgement = judge(scene, own, progress)
    # Nobody can trend the points of an air handler that is not known: which it is has to be said first.
    judgement = replace(judgement, gaps=judgement.gaps[judgement.gaps["terminal"] != NOT_ASSIGNED])
    explained = [
        told
        for name, found in judgement.episodes.items()
        for told in (
            in_common(at_once, scene, found, rules[name])
            if rules[name].looks_for_common_faults
            else explained_by(at_once.air, at_once.period, scene, found, rules[name])
        )
    ]
    return CommonCauses(scene, _with_all_that_hang(scene, judgement, explained, rules), put_under(explained, rules))


def _with_all_that_hang(
    scene: Scene, judgement: Judgement, explained: Iterable[Explained], rules: dict[str, Rule]
) -> Judgement:
    """Count in what a fault measures the terminals of no known air handler that show it, too: they are listed there."""
    figures = dict(judgement.figures)
    for own in explained:
        if own.fault or np.isnan(own.most):
            continue
        at = int(np.flatnonzero(scene.terminals == own.air_handler)[0])
        counted = COUNTED_BY.get(rules[own.rule].terminals_by or "")
        for name, measure in rules[own.rule].measures.items():
            if measure.take == "max" and measure.expression.text == counted:
                told = figures[own.rule][name].copy()
                told[at] = np.fmax(told[at], own.most)
                figures[own.rule] = figures[own.rule] | {name: told}
    return replace(judgement, figures=figures)


def laid_together(parts: Iterable[Explained], rules: dict[str, Rule]) -> list[Explained]:
    """Put what was explained of some air handlers after another in the order in which it is for all at once."""
    place = {name: number for number, name in enumerate(rules)}
    return put_under(sorted(parts, key=lambda own: (place[own.rule], place.get(own.fault or "", -1))), rules)


def joined_tables(tables: list[pd.DataFrame]) -> pd.DataFrame:
    """Put tables of one form under each other; those without a row are left out where any has one."""
    return pd.concat([table for table in tables if len(table)] or tables[:1], ignore_index=True)


def _of_air_handlers(rules: dict[str, Rule]) -> dict[str, Rule]:
    return {name: rule for name, rule in rules.items() if AIR_HANDLER in rule.applies_to}
