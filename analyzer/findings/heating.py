"""What each terminal's heating gave, could give and was needed to give, for the panel of its page."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.engine import Rule
from analyzer.signals import Scene

# The rule whose limit says how far above the zone the discharge may be when the most heat is worked out.
RULE = "heating-capacity-short"
COLUMNS = ["delivered", "by_primary_alone", "with_fan", "needed", "hours"]
# Heating is called for where reheat is open by this much [%].
CALLED = 5.0
# Less than this much heating says nothing of a capability [h].
LEAST_HOURS = 1.0


def heating_capability(scene: Scene, rules: dict[str, Rule]) -> pd.DataFrame:
    """Sum up the heating of each terminal with reheat over the time in which it was called for.

    Parameters
    ----------
    scene : Scene
    rules : dict
        The rule book; without the rule on heating capacity nothing is worked out.

    Returns
    -------
    DataFrame
        Index terminal, ``COLUMNS``: heat delivered and needed in the hardest twentieth of that time, the most by
        primary air alone and with the fan in the middle of it [W], and how long it was [h]; NaN is unknown. Terminals
        with less than an hour of heating are left out.
    """
    if RULE not in rules:
        return pd.DataFrame(columns=COLUMNS)
    given = rules[RULE].values
    called = (scene.trend("reheat_position") > CALLED) & (scene.trend("zone_temp") < scene.value("cooling_setpoint"))
    rows = np.flatnonzero(called)
    names = ("heat_delivered", "heat_by_primary_alone", "heat_with_fan", "heat_needed")
    table = pd.DataFrame({column: scene.value(name, given)[rows] for column, name in zip(COLUMNS, names, strict=False)})
    by_terminal = table.groupby(scene.terminals[scene.code[rows]])
    capability = by_terminal.median()
    capability[["delivered", "needed"]] = by_terminal[["delivered", "needed"]].quantile(0.95)
    hours = pd.Series(scene.per_terminal(np.where(called, scene.hours, 0.0)), index=scene.terminals)
    capability["hours"] = hours.reindex(capability.index)
    return capability.loc[capability["hours"] >= LEAST_HOURS, COLUMNS]
