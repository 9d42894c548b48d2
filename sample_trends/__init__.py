"""An independent model of a building with VAV terminal units: it makes trends whose faults are known.

>>> from sample_trends import simulate, quillfeather_house
>>> house = quillfeather_house()
>>> week = simulate(house, seed=5, start="2026-01-26", days=0.25, step_minutes=15)
>>> list(week.terminals.columns[:3])
['terminal', 'time', 'zone_temp']
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from sample_trends.building import Building
from sample_trends.catalogue import CATALOGUE
from sample_trends.faults import Fault, truth
from sample_trends.invented import invented_building
from sample_trends.knobs import KNOBS
from sample_trends.quillfeather import quillfeather_house
from sample_trends.readings import normalized
from sample_trends.simulation import Recording, record
from sample_trends.weather import Climate

__all__ = [
    "CATALOGUE",
    "KNOBS",
    "Building",
    "Climate",
    "Fault",
    "Simulated",
    "invented_building",
    "quillfeather_house",
    "simulate",
]


@dataclass(frozen=True)
class Simulated:
    """Trends of a building whose faults are known.

    Attributes
    ----------
    terminals, air_handlers : DataFrame
        The columns of the normalized tables, SI (temperatures degC, flows L/s, pressure Pa, positions %), ``time`` in
        UTC, readings rounded as the building automation system rounds them; NaN where a point is not trended.
        ``analyzer.trends.in_form`` brings them into the form that the rules read.
    truth : DataFrame
        ``week, terminal, rule, from, to, note``: what is wrong.
    recording : Recording
        The readings before rounding, and the true primary flow.
    """

    terminals: pd.DataFrame
    air_handlers: pd.DataFrame
    truth: pd.DataFrame
    recording: Recording


def simulate(
    building: Building,
    faults=(),
    *,
    seed: int,
    start,
    days: float = 7,
    step_minutes: float = 5,
    climate: Climate | None = None,
) -> Simulated:
    """Simulate a building with faults.

    Parameters
    ----------
    building : Building
        ``quillfeather_house()``, or ``invented_building(terminals, seed)`` for as many terminals as wanted.
    faults : sequence of Fault
        What is wrong; empty: a sound week.
    seed : int
        Of weather, people and noise. The same seed gives the same week; a fault in one terminal reaches others only
        through the air handler's pressure, as in a real building.
    start : str or Timestamp
        Local midnight at which the recording starts; two days before it are simulated but not recorded.
    days : float
        How long.
    step_minutes : float
        Interval of the recording, whole minutes. The simulation's own step is a minute always.
    climate : Climate, optional
        Cold to mild within the week where left out.

    Returns
    -------
    Simulated

    Raises
    ------
    ValueError
        An interval that is not of whole minutes, or a fault that cannot happen where it is put.

    Notes
    -----
    Vectorised over terminals: a week of 200 terminals takes some ten seconds on one core.
    """
    recording = record(
        building, faults, seed=seed, start=start, days=days, step_minutes=step_minutes, climate=climate or Climate()
    )
    terminals, air_handlers = normalized(recording)
    return Simulated(terminals, air_handlers, truth(building, faults, start, days), recording)
