"""Days on which the whole building rests like at night, though the site file calls them occupied: unlisted holidays.

They are found before anything is judged, and stand in the site's holidays from then on, so that rules, pages, complaint
and stored reviews go by the same; the review says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from analyzer.signals.air_signs import CALLED, MOVES, SHUT, STILL, STILL_SHARE
from analyzer.signals.axes import QUARTER, day_numbers, local_time
from analyzer.signals.in_force import week_of
from analyzer.signals.unit_state import state_by_quarter
from analyzer.site import Site
from analyzer.site.hours import occupied
from analyzer.trends import Trends, TrendSource

# So many terminals of a building, spread over all of them, tell how its days were; with fewer than the least nothing is
# told. Judgement.
MOST_TERMINALS, LEAST_TERMINALS = 64, 4
# A terminal rests where it does so in this share of a day's occupied hours, of which so many are logged [h]; the
# building where so many of its terminals do. Judgement: a night cycle or two may fall into the day.
RESTS, LEAST_HOURS, MOST = 0.8, 2.0, 0.8
# Where more of the working days look like that it is how the building is run, or logged. Judgement.
MOST_DAYS = 0.5
# A damper that stands this far beyond its place of the night asks for air [points]. Judgement: counted positions.
BEYOND_NIGHT = 5.0
# A day without air after one that ended so, at all but this share, is an outage that goes on: the evening [h].
EVENING, FEW = 1.0, 0.2


def with_unlisted_holidays(source: TrendSource, site: Site) -> Site:
    """Return the site with the days that look like holidays added to its own, and that said among its assumptions."""
    tags = _spread(source.tags)
    trends = source.of(tags, set(source.air_handler_tags))
    days = unlisted_holidays(trends, site)
    if not days:
        return site
    named, one = ", ".join(f"{day:%a} {day.isoformat()}" for day in days), len(days) == 1
    said = (
        f"Nearly all terminals rested through the occupied hours as they do at night, and asked for no air: {named} "
        f"{'was' if one else 'were'} taken as unoccupied. List {'it' if one else 'them'} under holidays in the site "
        "file, or look into why the building did not start."
    )
    return replace(site, holidays=tuple(sorted({*site.holidays, *days})), assumptions=(*site.assumptions, said))


def _spread(tags: Sequence[str]) -> list[str]:
    if len(tags) <= MOST_TERMINALS:
        return list(tags)
    return [tags[at] for at in np.linspace(0, len(tags) - 1, MOST_TERMINALS).astype(int)]


def unlisted_holidays(trends: Trends, site: Site) -> list[date]:
    """Name the days that the clock calls occupied and on which nearly all terminals rest, and ask for no air.

    Not those on which all air handlers' points stand frozen and say that they run, nor those that follow an evening
    without air: that is an outage.
    """
    table = trends.terminals
    if not len(table) or table["terminal"].cat.categories.size < LEAST_TERMINALS:
        return []
    seconds = table["time"].astype("int64").to_numpy() / 1e6
    local = local_time(seconds, site.time_zone)
    day, days = day_numbers(local)
    in_hours = occupied(local, week_of(site), site.holidays)
    flow, told, rests = _rests(table, in_hours)
    terminal = table["terminal"].cat.codes.to_numpy(np.int64)
    hours = _hours(seconds, terminal)
    shape = (int(terminal.max()) + 1, len(days))
    place = terminal * len(days) + day

    def total(rows: np.ndarray) -> np.ndarray:
        return np.bincount(place[rows], hours[rows], shape[0] * shape[1]).reshape(shape)

    seen, rested = total(told & in_hours), total(rests & told & in_hours)
    tells = seen >= LEAST_HOURS
    telling, resting = tells.sum(axis=0), (tells & (rested >= RESTS * seen)).sum(axis=0)
    working = telling >= LEAST_TERMINALS
    off = working & (resting >= MOST * telling)
    off &= ~_claims_to_run(trends, site, days)
    off &= ~_follows_no_air(flow, told & in_hours, terminal, day, seconds, off, shape)
    if off.sum() > MOST_DAYS * working.sum():
        return []
    return [moment.date() for moment in days[off]]


def _rests(table: pd.DataFrame, in_hours: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """At each row: whether air moves, whether the terminal tells what it asks for, and whether it rests."""
    flow, asked, damper = (
        table[name].to_numpy(dtype=float) for name in ("primary_flow", "primary_flow_setpoint", "damper_position")
    )
    terminal = table["terminal"].cat.codes.to_numpy(np.int64)
    count = int(terminal.max()) + 1
    some = flow > STILL
    mean = np.bincount(terminal[some], flow[some], count) / np.maximum(np.bincount(terminal[some], minlength=count), 1)
    still = flow <= np.maximum(STILL, STILL_SHARE * mean)[terminal]
    night = pd.Series(np.where(in_hours, np.nan, damper)).groupby(terminal).median().reindex(range(count)).to_numpy()
    shut = damper <= np.fmax(SHUT, night + BEYOND_NIGHT)[terminal]
    idle = np.where(np.isnan(asked), shut, asked < CALLED)
    told = ~np.isnan(flow) & ~(np.isnan(asked) & np.isnan(damper))
    return flow > np.maximum(MOVES, STILL), told, still & idle


def _hours(seconds: np.ndarray, terminal: np.ndarray) -> np.ndarray:
    """How long each row stands [h]: to the next of its terminal, an hour at the most."""
    step = np.append(np.diff(seconds), 0.0)
    step[:-1][np.diff(terminal) != 0] = 0.0
    return np.clip(step, 0.0, 3600.0) / 3600.0


def _claims_to_run(trends: Trends, site: Site, days: pd.DatetimeIndex) -> np.ndarray:
    """Whether all air handlers' points stand frozen through most of the day's occupied hours, and say that they run."""
    table = trends.air_handlers
    found = np.zeros(len(days), dtype=bool)
    if not len(table):
        return found
    state = state_by_quarter(table, table["air_handler"].cat.categories.astype(str).to_numpy()).dropna()
    if not len(state):
        return found
    quarter = state.index.get_level_values("quarter").to_numpy(np.int64)
    local = local_time(quarter * QUARTER, site.time_zone)
    at = days.get_indexer(local.tz_localize(None).normalize())
    claims = ((state["runs"] == 1) & (state["live"] == 0)).to_numpy()
    own = pd.DataFrame({"owner": state.index.get_level_values("owner"), "day": at, "claims": claims})
    own = own[occupied(local, week_of(site), site.holidays) & (at >= 0)]
    claim = own.groupby(["owner", "day"])["claims"].mean() >= RESTS
    all_of_them = claim.groupby("day").all()
    found[all_of_them.index[all_of_them]] = True
    return found


def _follows_no_air(flows, counted, terminal, day, seconds, off, shape) -> np.ndarray:
    """Whether the working day before ended without air at nearly all terminals that tell."""
    follows = np.zeros(shape[1], dtype=bool)
    for number in np.flatnonzero(off):
        before = day[counted & (day < number)]
        if not len(before) or off[before.max()]:
            follows[number] = bool(len(before)) and follows[before.max()]
            continue
        rows = np.flatnonzero(counted & (day == before.max()))
        rows = rows[seconds[rows] > seconds[rows].max() - EVENING * 3600.0]
        moved = np.bincount(terminal[rows], flows[rows], shape[0]) > 0
        told = np.bincount(terminal[rows], minlength=shape[0]) > 0
        follows[number] = told.any() and moved.sum() < FEW * told.sum()
    return follows
