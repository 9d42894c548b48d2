"""Samples to the normalized tables."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.intake.account import Account
from analyzer.intake.convert import USED
from analyzer.intake.grid import count_starts, fill, lay
from analyzer.intake.limits import EVENT_GRID_SECONDS, HOLD_LIMIT_HOURS
from analyzer.intake.logs import Logs, classify
from analyzer.intake.moments import Samples
from analyzer.ledger import Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site import Site
from analyzer.trends import Trends, no_air_handlers


def normalize(samples: Samples, account: Account, site: Site, ledger: Ledger) -> Trends:
    """Put samples on the rows of the two tables.

    Parameters
    ----------
    samples : Samples
        In order, duplicates marked.
    account : Account
        What each target is.
    """
    tables = []
    for air_handler in (False, True):
        glossary = list(AIR_HANDLER if air_handler else TERMINAL)
        mine = np.array([target[0] == air_handler for target in account.targets], bool)
        here = samples if mine.all() else samples.take(mine[samples.target])
        tables.append(_table(here, account, glossary, mine, air_handler, ledger))
    (terminals, logging), (air_handlers, _) = tables
    return Trends(terminals, air_handlers, logging, site.time_zone, ledger)


def _table(
    samples: Samples, account: Account, glossary: list[str], mine: np.ndarray, air_handler: bool, ledger: Ledger
):
    used = samples.take((samples.reason == USED) & ~np.isnan(samples.value))
    tags = sorted({account.targets[n][1] for n in np.unique(used.target).tolist()})
    number = {tag: n for n, tag in enumerate(tags)}
    owner_of = np.array(
        [number.get(tag, -1) if kind == air_handler else -1 for kind, tag, _ in account.targets], np.int64
    )
    column_of = np.array(
        [glossary.index(name) if kind == air_handler else 0 for kind, _, name in account.targets], np.int64
    )
    if not tags:
        empty = no_air_handlers() if air_handler else _frame("terminal", [], *_nothing(len(glossary)), glossary)
        return empty, pd.DataFrame(index=pd.Index([], dtype=object), columns=glossary, dtype=float)
    state = np.array([name in _STATES for _, _, name in account.targets])
    tabled = np.zeros(len(account.targets), bool)
    tabled[samples.target] = np.array(account.tabled)[samples.source]
    logs = classify(used, tabled, state, owner_of)
    stamped = samples.take((samples.reason != USED) & (owner_of[samples.target] >= 0))
    last = np.full(len(tags), samples.time.max())
    grid = lay(used, stamped, logs, owner_of, len(tags), last)
    values = fill(grid, used, logs, owner_of, column_of, len(glossary))
    if not air_handler:
        status = np.array([name == "fan_status" and not kind for kind, _, name in account.targets])
        counted = np.array([name == "fan_starts" for _, _, name in account.targets])
        starts = count_starts(grid, used, logs, owner_of, status)
        given = counted[logs.target].any()
        at = glossary.index("fan_starts")
        values[at] = np.where(np.isnan(values[at]), starts, values[at]) if given else starts
    logging = _logging(logs, tags, owner_of, column_of, glossary)
    _say(logs, tags, owner_of, air_handler, ledger)
    key = "air_handler" if air_handler else "terminal"
    return _frame(key, tags, grid.owner, grid.time, values, glossary), logging


_STATES = {name for glossary in (TERMINAL, AIR_HANDLER) for name, quantity in glossary.items() if quantity.state}


def _nothing(columns: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros((columns, 0))


def _frame(
    key: str, tags: list[str], owner: np.ndarray, time: np.ndarray, values: np.ndarray, glossary: list[str]
) -> pd.DataFrame:
    """Build a table in the form that ``Trends`` describes."""
    categories = pd.Index(tags, dtype=object)
    moments = pd.DatetimeIndex(time.astype("datetime64[us]")).tz_localize("UTC")
    front = pd.DataFrame({key: pd.Categorical.from_codes(owner, categories=categories), "time": moments})
    body = pd.DataFrame(values.T, columns=glossary, copy=False)
    return pd.concat([front, body], axis=1)


def _logging(
    logs: Logs, tags: list[str], owner_of: np.ndarray, column_of: np.ndarray, glossary: list[str]
) -> pd.DataFrame:
    table = np.full((len(tags), len(glossary)), np.nan)
    table[owner_of[logs.target], column_of[logs.target]] = logs.interval
    logging = pd.DataFrame(table, index=tags, columns=glossary)
    if "fan_starts" in glossary:
        logging["fan_starts"] = logging["fan_status"].fillna(logging["fan_starts"])
    return logging


def _say(logs: Logs, tags: list[str], owner_of: np.ndarray, air_handler: bool, ledger: Ledger) -> None:
    """State how change-of-value logs were put on the grid."""
    change = logs.interval == 0
    if not change.any():
        return
    ledger.assume(
        f"A change-of-value log was taken to stand until its next change, for up to {HOLD_LIMIT_HOURS:g} h; after that it is missing."
    )
    owner = owner_of[logs.target]
    alone = [tags[n] for n in np.setdiff1d(owner[change], owner[~change]).tolist()]
    if alone:
        more = f" and {len(alone) - 5} more" if len(alone) > 5 else ""
        what = "air handlers" if air_handler else "terminals"
        ledger.assume(
            f"{what.capitalize()} with change-of-value logs only got a grid of {EVENT_GRID_SECONDS // 60} minutes: "
            f"{', '.join(alone[:5])}{more}."
        )
