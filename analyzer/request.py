"""The trends still missing: what a verdict lacked, gathered into what to ask the contractor for."""

from __future__ import annotations

import pandas as pd

from analyzer.engine.reasons import CONTEXT, INTERVAL, SAMPLES, SCHEDULE, TREND, describe
from analyzer.engine.rule import Rule
from analyzer.findings.results import REQUEST_COLUMNS
from analyzer.quantities import TERMINAL

LENGTH = "1 week"


def trend_request(gaps: pd.DataFrame, rules: dict[str, Rule]) -> pd.DataFrame:
    """Gather the gaps of all rules into a request, a row per terminal and thing to ask for.

    Parameters
    ----------
    gaps : DataFrame
        ``terminal, rule, what, point, interval`` as the judgement holds them.
    rules : dict
        The rule book, for the words of a context that never came.

    Returns
    -------
    DataFrame
        ``REQUEST_COLUMNS``: terminal, point, interval (the coarsest that serves every verdict), length, condition,
        settles (the rules that it would settle).
    """
    if gaps.empty:
        return pd.DataFrame(columns=REQUEST_COLUMNS)
    context = {rule.id: rule.text.context for rule in rules.values()}
    asked = gaps.assign(
        point=gaps["point"].map({name: _asked_for(name) for name in gaps["point"].unique()}),
        condition=gaps["what"].map(_CONDITION).where(gaps["what"] != CONTEXT, gaps["rule"].map(context).map(_until)),
    )
    asked["point"] = asked["point"].where(asked["what"] != SCHEDULE, asked["point"] + " (schedule)")
    grouped = asked.groupby(["terminal", "point", "condition"], sort=True)
    table = grouped.agg(interval=("interval", "min"), settles=("rule", lambda ids: " ".join(sorted(set(ids)))))
    table = table.reset_index()
    table["interval"] = [
        f"{seconds / 60:g} min or on change" if seconds == seconds else "" for seconds in table["interval"]
    ]
    table.loc[table["point"].str.endswith("(schedule)"), "interval"] = ""
    table["length"] = LENGTH
    table.loc[table["point"].str.endswith("(schedule)"), "length"] = ""
    return table[REQUEST_COLUMNS]


_CONDITION = {
    TREND: "",
    INTERVAL: "logged more often",
    SCHEDULE: "from the drawings or the balancing report",
    SAMPLES: "without gaps",
}


def _asked_for(name: str) -> str:
    """What to write into the sheet: a point by its name, anything else by what would settle it."""
    if name == "":
        return "the same points"
    return name if name in TERMINAL else describe(name).removesuffix(" in the terminal schedule")


def _until(sentence: str) -> str:
    return f"in a season or test in which this does not hold: {sentence}"
