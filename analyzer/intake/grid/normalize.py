"""Series to the two normalized tables."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from analyzer.intake.grid.clocks import Clock, moved, set_clocks
from analyzer.intake.grid.filling import count_events, count_starts, fill_held, fill_regular
from analyzer.intake.grid.in_force import stand
from analyzer.intake.grid.lanes import lay_lanes
from analyzer.intake.grid.logs import Logs, classify
from analyzer.intake.grid.moments import Samples, Series, flatten, join
from analyzer.intake.grid.rows import Grid, Spans, lay_rows
from analyzer.intake.limits import EVENT_GRID_SECONDS, HOLD_LIMIT_HOURS, SILENCE_LIMIT_HOURS
from analyzer.intake.values.account import Account
from analyzer.intake.words.wording import some
from analyzer.ledger import Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site import Site
from analyzer.trends import Trends, in_form, no_air_handlers

_STATES = {name for glossary in (TERMINAL, AIR_HANDLER) for name, quantity in glossary.items() if quantity.state}


def normalize(every: list[Series], account: Account, site: Site, ledger: Ledger) -> Trends:
    """Put settled series on the rows of the two tables.

    Parameters
    ----------
    every : list of Series
        Settled: one log per target, in order of time.
    account : Account
        What each target is.
    """
    terminals, logging = _table(every, account, False, ledger)
    air_handlers, _ = _table(every, account, True, ledger)
    return Trends(terminals, air_handlers, logging, site.time_zone, ledger)


def _table(
    every: list[Series], account: Account, air_handler: bool, ledger: Ledger
) -> tuple[pd.DataFrame, pd.DataFrame]:
    glossary = list(AIR_HANDLER if air_handler else TERMINAL)
    targets = account.targets
    place = {name: n for n, name in enumerate(glossary)}
    column_of = np.array([place[name] if kind == air_handler else 0 for kind, _, name in targets])
    state_of = np.array([name in _STATES for _, _, name in targets])
    tags = sorted({tag for kind, tag, _ in targets if kind == air_handler})
    owner_of = _owners(targets, air_handler, tags)
    logs = classify(every, owner_of, state_of)
    tags = [tags[n] for n in np.unique(logs.owner).tolist()]  # of the others no value was used
    if not tags:
        return _nothing(air_handler), pd.DataFrame(index=pd.Index([], dtype=object), columns=glossary, dtype=float)
    owner_of = _owners(targets, air_handler, tags)
    logs = replace(logs, owner=owner_of[logs.target])
    owner, time, values, silent, far = _lay(every, logs, owner_of, column_of, len(tags), glossary)
    _say(logs, tags, air_handler, ledger)
    _say_moved({" ".join(targets[logs.target[n]][1:]): far[n] for n in np.flatnonzero(far).tolist()}, ledger)
    _say_silent([tags[n] for n in silent.tolist()], ledger)
    key = "air_handler" if air_handler else "terminal"
    return _frame(key, tags, owner, time, values, glossary), _logging(logs, tags, column_of, glossary)


def _owners(targets: list[tuple[bool, str, str]], air_handler: bool, tags: list[str]) -> np.ndarray:
    number = {tag: n for n, tag in enumerate(tags)}
    return np.array([number.get(tag, -1) if kind == air_handler else -1 for kind, tag, _ in targets])


def _lay(
    every: list[Series], logs: Logs, owner_of: np.ndarray, column_of: np.ndarray, owners: int, glossary: list[str]
):
    """Lay the rows and fill them.

    Returns
    -------
    ndarray, ndarray, dict, ndarray, ndarray
        The rows' owners and moments, the values of each quantity that is there, the owners that were silent, and how
        far [s] the stamps of each log are from its rows.
    """
    clock = set_clocks(every, logs, owners)
    regular = {n: logs.take((logs.series == n) & (logs.interval > 0)) for n in np.unique(logs.series).tolist()}
    regular = {n: mine for n, mine in regular.items() if len(mine.owner)}
    lanes = {n: lay_lanes(every[n], mine, clock) for n, mine in regular.items()}
    change = _flat(every, logs.take(logs.interval == 0))
    changed = owner_of[change.target]
    end = max(int(series.time.max()) for series in every if len(series.time)) if len(changed) else 0
    first, until, silences = stand(change, changed, clock, list(lanes.values()), end)
    grid = lay_rows(clock, list(lanes.values()), Spans(changed, first, until), silences)
    there, line = np.unique(column_of[logs.target], return_inverse=True)
    line_of = np.zeros(len(owner_of), np.int64)
    line_of[logs.target] = line
    table = np.full((len(there), len(grid.time)), np.nan)
    for n, mine in regular.items():
        fill_regular(table, grid, every[n], mine, lanes[n], line_of)
    if len(changed):
        fill_held(table, grid, change, changed, first, clock.moment(until, changed), line_of)
    values = {glossary[n]: table[at] for at, n in enumerate(there.tolist())}
    if "fan_status" in values and "fan_starts" in glossary:
        fan = logs.take(column_of[logs.target] == glossary.index("fan_status"))
        starts = _fan_starts(every, grid, fan, clock, values["fan_status"], owner_of)
        given = values.get("fan_starts")
        values["fan_starts"] = starts if given is None else np.where(np.isnan(given), starts, given)
    return grid.owner, grid.time, values, np.unique(silences.owner), moved(every, logs, clock)


def _fan_starts(every: list[Series], grid: Grid, fan: Logs, clock: Clock, status: np.ndarray, owner_of: np.ndarray):
    """Count the fan starts of every row: from the rows where the status is an interval log, else from its events."""
    on_change = np.zeros(len(clock.step), bool)
    on_change[fan.owner[fan.interval == 0]] = True
    regular = np.zeros(len(clock.step), bool)
    regular[fan.owner] = True
    starts = count_starts(grid, status, regular & ~on_change)
    if on_change.any():
        fan = fan.take(on_change[fan.owner])
        samples = _flat(every, fan)
        steady = np.zeros(len(owner_of), bool)
        steady[fan.target[fan.interval > 0]] = True
        count_events(starts, grid, samples, owner_of[samples.target], steady[samples.target], clock)
    return starts


def _flat(every: list[Series], logs: Logs) -> Samples:
    """Lay logs flat, target by target, without their empty cells."""
    parts = []
    for n in np.unique(logs.series).tolist():
        mine = logs.series == n
        wanted = np.zeros(every[n].target.shape, bool)
        wanted[logs.column[mine], logs.run[mine]] = True
        parts.append(flatten(every[n], wanted))
    samples = join(parts)
    samples = samples.take(~np.isnan(samples.value))
    if len(logs.target) > len(np.unique(logs.target)) or len(parts) > 1:  # one target's logs of several files
        samples = samples.take(np.lexsort((samples.time, samples.target)))
    return samples


def _nothing(air_handler: bool) -> pd.DataFrame:
    if air_handler:
        return no_air_handlers()
    columns = ["terminal", "time", *TERMINAL]
    return in_form(pd.DataFrame({name: pd.Series(dtype=object if name == "terminal" else float) for name in columns}))


def _frame(key: str, tags: list[str], owner: np.ndarray, time: np.ndarray, values: dict, glossary: list[str]):
    """Build a table in the form that ``Trends`` describes, without copying the values.

    The quantities that no log has share one array that cannot be written to: most buildings trend a few of them, and
    five thousand terminals have many rows.
    """
    nothing = np.full(len(time), np.nan)
    nothing.flags.writeable = False
    front = {
        key: pd.Categorical.from_codes(owner, categories=pd.Index(tags, dtype=object)),
        "time": pd.DatetimeIndex(time.view("datetime64[us]"), dtype=pd.DatetimeTZDtype("us", "UTC")),
    }
    return pd.DataFrame(front | {name: values.get(name, nothing) for name in glossary}, copy=False)


def _logging(logs: Logs, tags: list[str], column_of: np.ndarray, glossary: list[str]) -> pd.DataFrame:
    table = np.full((len(tags), len(glossary)), np.nan)
    finest_last = np.argsort(-logs.interval, kind="stable")
    table[logs.owner[finest_last], column_of[logs.target[finest_last]]] = logs.interval[finest_last]
    logging = pd.DataFrame(table, index=tags, columns=glossary)
    if "fan_starts" in glossary:
        logging["fan_starts"] = logging["fan_status"].fillna(logging["fan_starts"])
    return logging


def _say(logs: Logs, tags: list[str], air_handler: bool, ledger: Ledger) -> None:
    """State how change-of-value logs were put on the grid."""
    change = logs.interval == 0
    if not change.any():
        return
    ledger.assume(
        f"Change-of-value points hold their value until the next change, for up to {HOLD_LIMIT_HOURS:g} h; "
        "after that they count as missing."
    )
    alone = [tags[n] for n in np.setdiff1d(logs.owner[change], logs.owner[~change]).tolist()]
    if alone:
        what = "Air handlers" if air_handler else "Terminals"
        minutes = EVENT_GRID_SECONDS // 60
        ledger.assume(f"{what} logged on change only are evaluated every {minutes} minutes: {some(alone)}.")


def _say_moved(far: dict[str, float], ledger: Ledger) -> None:
    """State which points stand on rows that are not at their moments."""
    if far:
        ledger.assume(
            "Points that are logged between the rows of their terminal, which has those of its finest log, stand on "
            f"the nearest row, up to {max(far.values()) / 60:.3g} min away: {some(list(far))}."
        )


def _say_silent(tags: list[str], ledger: Ledger) -> None:
    """State where change-of-value logs were not held on."""
    if tags:
        ledger.assume(
            f"Where nothing was recorded of a terminal for more than {SILENCE_LIMIT_HOURS:g} h while its interval logs "
            f"ran, its change-of-value logs were taken to be missing meanwhile: {some(tags)}."
        )
