"""Days on which the whole building rests like at night, though the site file calls them occupied: unlisted holidays.

They are found before anything is judged, and stand in the site's holidays from then on, so that rules, pages, complaint
and stored reviews go by the same; the review says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import date

import numpy as np
import pandas as pd

from analyzer.crew import Alone, Crew
from analyzer.dataset.writing import stretches
from analyzer.signals.air_signs import CALLED, MOVES, SHUT, STILL, STILL_SHARE
from analyzer.signals.axes import QUARTER, day_numbers, local_time
from analyzer.signals.excluded import moments_excluded
from analyzer.signals.in_force import week_of
from analyzer.signals.unit_state import state_by_quarter
from analyzer.site import Site
from analyzer.site.hours import occupied
from analyzer.trends import TrendSource

# So many terminals of a building, spread over all of them, tell how its days were; with fewer than the least nothing is
# told. Judgement.
MOST_TERMINALS, LEAST_TERMINALS = 64, 4
# So many rows of terminals, and so many air handlers, are read at a time.
ROWS_AT_A_TIME, AT_A_TIME = 220_000, 4
# A terminal rests where it does so in this share of a day's occupied hours, of which so many are logged [h]; the
# building where so many of its terminals do. Judgement: a night cycle or two may fall into the day.
RESTS, LEAST_HOURS, MOST = 0.8, 2.0, 0.8
# Where more of the working days look like that it is how the building is run, or logged. Judgement.
MOST_DAYS = 0.5
# A damper that stands this far beyond its place of the night asks for air [points]. Judgement: counted positions.
BEYOND_NIGHT = 5.0
# A day without air after one that ended so, at all but this share, is an outage that goes on: the evening [h].
EVENING, FEW = 1.0, 0.2


@dataclass(frozen=True)
class Rested:
    """How the days of some terminals were, in the hours that the clock calls occupied.

    Attributes
    ----------
    seen, rested : DataFrame
        Index terminal, a column a local day: hours that tell something, and those of rest.
    told, moved : DataFrame
        In the same form: the last moment that tells something, and the last at which air moved [s]; NaN where none.
    """

    seen: pd.DataFrame
    rested: pd.DataFrame
    told: pd.DataFrame
    moved: pd.DataFrame

    @staticmethod
    def joined(parts: list[Rested]) -> Rested:
        """Put terminals together; a day of which one has nothing is one without hours."""
        seen, rested, told, moved = (
            pd.concat([getattr(part, field.name) for part in parts]).sort_index(axis=1) for field in fields(Rested)
        )
        return Rested(seen.fillna(0.0), rested.fillna(0.0), told, moved)


def with_unlisted_holidays(source: TrendSource, site: Site, crew: Crew | None = None) -> Site:
    """Return the site with the days that look like holidays added to its own, and that said among its assumptions.

    A few terminals at a time are read, by ``crew``, or by this process where none is given.
    """
    days = unlisted_holidays(source, site, crew)
    if not days:
        return site
    named, one = ", ".join(f"{day:%a} {day.isoformat()}" for day in days), len(days) == 1
    said = (
        f"Nearly all terminals stayed as they are at night through the occupied hours, with no airflow demand: {named} "
        f"{'was' if one else 'were'} taken as unoccupied, where no occupancy is trended. List "
        f"{'it' if one else 'them'} under holidays in the site file, or look into why the building did not start."
    )
    return replace(site, holidays=tuple(sorted({*site.holidays, *days})), assumptions=(*site.assumptions, said))


def unlisted_holidays(source: TrendSource, site: Site, crew: Crew | None = None) -> list[date]:
    """Name the days that the clock calls occupied and on which nearly all terminals rest, and ask for no air.

    Not those on which all air handlers' points stand frozen and say that they run, nor those that follow an evening
    without air: that is an outage.
    """
    tags, rows = _spread(source.tags, source.rows)
    if len(tags) < LEAST_TERMINALS:
        return []
    workers = crew or Alone()
    of = Rested.joined(list(workers.each(_how_rested, (source, site), stretches(tags, rows, ROWS_AT_A_TIME))))
    tells = of.seen >= LEAST_HOURS
    telling = tells.sum(axis=0).to_numpy()
    resting = (tells & (of.rested >= RESTS * of.seen)).sum(axis=0).to_numpy()
    working = telling >= LEAST_TERMINALS
    off = working & (resting >= MOST * telling)
    if not off.any():
        return []
    some = [source.air_handler_tags[at : at + AT_A_TIME] for at in range(0, len(source.air_handler_tags), AT_A_TIME)]
    off &= ~_all_claim_to_run(list(workers.each(_claims_to_run, (source, site), some)), of.seen.columns)
    off &= ~_follows_no_air(of, off)
    if off.sum() > MOST_DAYS * working.sum():
        return []
    return [moment.date() for moment in of.seen.columns[off]]


def _spread(tags: Sequence[str], rows: np.ndarray) -> tuple[list[str], np.ndarray]:
    """Return terminals spread over all of them, and how many rows each has."""
    if len(tags) <= MOST_TERMINALS:
        return list(tags), rows
    numbers = np.linspace(0, len(tags) - 1, MOST_TERMINALS).astype(int)
    return [tags[at] for at in numbers], rows[numbers]


def _how_rested(told: tuple[TrendSource, Site], tags: list[str]) -> Rested:
    """Read some terminals, and tell how their days were."""
    source, site = told
    table = source.of(tags).terminals
    seconds = table["time"].astype("int64").to_numpy() / 1e6
    local = local_time(seconds, site.time_zone)
    day, days = day_numbers(local)
    in_hours = occupied(local, week_of(site), site.holidays) & ~moments_excluded(site.excluded, seconds)
    flow, telling, rests = _rests(table, in_hours)
    terminal, names = table["terminal"].cat.codes.to_numpy(np.int64), table["terminal"].cat.categories
    hours, counted = _hours(seconds, terminal), telling & in_hours
    place, shape = terminal * len(days) + day, (len(names), len(days))

    def total(rows: np.ndarray) -> pd.DataFrame:
        summed = np.bincount(place[rows], hours[rows], shape[0] * shape[1])
        return pd.DataFrame(summed.reshape(shape), names, days)

    def last(rows: np.ndarray) -> pd.DataFrame:
        moments = np.full(shape[0] * shape[1], np.nan)
        moments[place[rows]] = seconds[rows]  # in the order of time: the last one stays
        return pd.DataFrame(moments.reshape(shape), names, days)

    return Rested(total(counted), total(counted & rests), last(counted), last(counted & flow))


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


def _claims_to_run(told: tuple[TrendSource, Site], tags: list[str]) -> pd.DataFrame:
    """By air handler and local day: whether its points stand frozen through most of its hours, and say that it runs.

    Only the days of which they tell.
    """
    source, site = told
    table = source.of((), tags).air_handlers
    state = state_by_quarter(table, np.array(tags, dtype=object)).dropna()
    quarter = state.index.get_level_values("quarter").to_numpy(np.int64)
    local = local_time(quarter * QUARTER, site.time_zone)
    owners = state.index.get_level_values("owner").to_numpy(np.int64)
    own = pd.DataFrame({
        "owner": np.array(tags, dtype=object)[owners],
        "day": local.tz_localize(None).normalize(),
        "claims": ((state["runs"] == 1) & (state["live"] == 0)).to_numpy(),
    })  # fmt: skip
    own = own[occupied(local, week_of(site), site.holidays)]
    return (own.groupby(["owner", "day"])["claims"].mean() >= RESTS).reset_index()


def _all_claim_to_run(parts: list[pd.DataFrame], days: pd.Index) -> np.ndarray:
    """On each day, whether all air handlers that tell of it claim to run."""
    if not parts:
        return np.zeros(len(days), dtype=bool)
    return pd.concat(parts).groupby("day")["claims"].all().reindex(days, fill_value=False).to_numpy(dtype=bool)


def _follows_no_air(of: Rested, off: np.ndarray) -> np.ndarray:
    """Whether the working day before ended without air at nearly all terminals that tell."""
    follows, last = np.zeros(len(off), dtype=bool), of.told.max(axis=0).to_numpy()
    for number in np.flatnonzero(off):
        earlier = np.flatnonzero(~np.isnan(last[:number]))
        if not len(earlier):
            continue
        before = earlier[-1]
        if off[before]:
            follows[number] = follows[before]
            continue
        evening = last[before] - EVENING * 3600.0
        told = int((of.told.iloc[:, before] > evening).sum())
        moved = int((of.moved.iloc[:, before] > evening).sum())
        follows[number] = told > 0 and moved < FEW * told
    return follows
