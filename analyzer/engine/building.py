"""The whole building judged: its terminals one by one, then what they show together at their air handlers."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from analyzer.engine.common_cause import Together, lay_together, sharers
from analyzer.engine.judge import Judgement, judge
from analyzer.engine.rule import AIR_HANDLER, Rule
from analyzer.signals import Scene


@dataclass
class BuildingJudgement:
    """What the engine came to for a building.

    ``shared`` is (air handler, id of the shared rule) to the terminals whose faults make up its common cause, for each
    rule that judges air handlers.
    """

    terminals: Judgement
    air_handlers: Judgement | None = None
    together: Together | None = None
    shared: dict[str, dict[tuple[str, str], list[str]]] = field(default_factory=dict)

    @property
    def verdicts(self) -> pd.DataFrame:
        """Verdicts of the terminals, then of the air handlers."""
        return self._all("verdicts")

    @property
    def gaps(self) -> pd.DataFrame:
        """What the verdicts lacked."""
        return self._all("gaps")

    def _all(self, name: str) -> pd.DataFrame:
        parts = [getattr(part, name) for part in (self.terminals, self.air_handlers) if part is not None]
        parts = [part for part in parts if len(part)] or parts[:1]
        return pd.concat(parts, ignore_index=True)


def judge_building(scene: Scene, rules: dict[str, Rule], progress=None) -> BuildingJudgement:
    """Judge every terminal by its rules, and every air handler by what its terminals have in common."""
    of_air_handlers = {rule.id: rule for rule in rules.values() if AIR_HANDLER in rule.applies_to}
    of_terminals = {name: rule for name, rule in rules.items() if name not in of_air_handlers}
    terminals = judge(scene, of_terminals, progress)
    together = lay_together(scene, terminals.verdicts, terminals.episodes) if of_air_handlers else None
    if together is None:
        return BuildingJudgement(terminals)
    air_handlers = judge(together.scene, of_air_handlers, progress)
    shared = {
        name: sharers(together, scene, terminals.episodes, found, rules[name].values["least_share"])
        for name, found in air_handlers.episodes.items()
    }
    return BuildingJudgement(terminals, air_handlers, together, shared)
