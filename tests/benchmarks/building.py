"""Synthetic buildings of any size: fifty simulated terminals, set side by side again and again, no two alike.

The simulator makes one building of fifty terminals once, with a fault of many a kind in it. A building of 5,000
terminals is a hundred tiles of it. In each tile every terminal is a little warmer or cooler and takes a little more or
less air than its model, as is its schedule, so that verdicts stay what they are and no two columns are the same.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
import pandas as pd

from sample_trends import Building, Climate, Fault, invented_building
from sample_trends.catalogue import CATALOGUE
from sample_trends.readings import STORED, stored_values
from sample_trends.simulation import record

TILE = 50  # terminals
SEED = 4242
START = "2026-03-30"  # a Monday after the clocks have changed
FIXED = "Etc/GMT+5"  # the clock of START's place on that day
CLIMATE = Climate(at_start=4.0, at_end=13.0, swing=5.5)
# What is wrong in each tile of fifty: the card rules' faults first, then others.
KINDS = (
    "minimum-entered-too-low", "damper-stuck-nearly-shut", "fan-band-too-narrow", "fan-runs-short", "heat-in-hand",
    "heat-without-air", "flow-zero-error", "flow-gain-low", "flow-gain-high", "valve-leaks-by", "fan-in-hand",
    "series-fan-off", "duct-blocked", "setpoints-too-close", "zone-sensor-flat", "warm-room",
)  # fmt: skip
LOST_SAMPLES = 0.0006  # of all, singly
TEMPERATURES = tuple(name for name, (unit, _) in STORED.items() if unit == "degF")
FLOWS = tuple(name for name, (unit, _) in STORED.items() if unit == "cfm")
SCHEDULED_FLOWS = (
    "primary_max", "balanced_max", "primary_min", "ventilation_min", "heating_primary", "fan_flow", "outdoor_air_min",
    "outdoor_air_inlet_min", "flow_coefficient",
)  # fmt: skip


@dataclass(frozen=True)
class Model:
    """What every tile is made from: readings in the units in which they are stored, NaN where not trended.

    Attributes
    ----------
    time : DatetimeIndex
        Local moments of the samples.
    terminals, air_handlers : dict of ndarray
        Quantity to readings, shape (times, terminals or air handlers).
    """

    building: Building
    time: pd.DatetimeIndex
    terminals: dict[str, np.ndarray]
    air_handlers: dict[str, np.ndarray]

    def every(self, minutes: int, days: float) -> Model:
        """Return the first ``days`` of it, sampled every so many minutes."""
        step = round(pd.Timedelta(minutes=minutes) / (self.time[1] - self.time[0]))
        kept = slice(0, round(days * 1440 / minutes) * step, step)
        return replace(
            self,
            time=self.time[kept],
            terminals={name: values[kept] for name, values in self.terminals.items()},
            air_handlers={name: values[kept] for name, values in self.air_handlers.items()},
        )

    def repeated(self, times: int) -> Model:
        """Return it so many times over, one after the other, by a clock that never changes.

        The same weeks again are as good as others for time and memory; a year simulated would take many minutes.
        """
        step = self.time[1] - self.time[0]
        time = pd.date_range(self.time[0].tz_convert(FIXED), periods=len(self.time) * times, freq=step)
        return replace(
            self,
            time=time,
            terminals={name: np.tile(values, (times, 1)) for name, values in self.terminals.items()},
            air_handlers={name: np.tile(values, (times, 1)) for name, values in self.air_handlers.items()},
        )


def faults(building: Building) -> tuple[Fault, ...]:
    """Put one fault of each of KINDS somewhere; the kinds that fewest terminals can have are placed first."""
    table, rng = building.terminals, np.random.default_rng([SEED, 11])
    free, placed = set(table.index), []
    for kind in sorted(KINDS, key=lambda kind: len(table.query(CATALOGUE[kind].where))):
        can = [tag for tag in table.query(CATALOGUE[kind].where).index if tag in free]
        at = str(rng.permutation(can)[0])
        free.discard(at)
        placed.append(Fault(kind, at))
    return tuple(placed)


def simulate_model(days: float) -> Model:
    """Simulate the fifty terminals, a sample a minute."""
    building = invented_building(TILE, SEED)
    recording = record(building, faults(building), seed=SEED, start=START, days=days, step_minutes=1, climate=CLIMATE)
    terminals, air_handlers = stored_values(recording)
    there = {name: values for name, values in terminals.items() if not np.isnan(values).all()}
    return Model(building, recording.time, there, air_handlers)


def model(days: int, folder: Path) -> Model:
    """Return the simulated terminals, from the cache folder where they lie there already."""
    path = folder / f"model-{days}-days.npz"
    if not path.exists():
        made = simulate_model(days)
        folder.mkdir(parents=True, exist_ok=True)
        arrays = {f"terminals {name}": values.astype("float32") for name, values in made.terminals.items()}
        arrays |= {f"air_handlers {name}": values.astype("float32") for name, values in made.air_handlers.items()}
        part = path.with_suffix(".part.npz")
        np.savez_compressed(part, **arrays)
        part.replace(path)
    building = invented_building(TILE, SEED)
    stored = np.load(path)
    kept: dict[str, dict[str, np.ndarray]] = {"terminals": {}, "air_handlers": {}}
    for key in stored.files:
        of, name = key.split(" ")
        # Single precision holds every stored reading to its last digit; rounding brings that digit back.
        kept[of][name] = np.round(stored[key].astype(float), _decimals(name))
    times = len(next(iter(kept["terminals"].values())))
    time = pd.date_range(START, periods=times, freq="min", tz=building.time_zone)
    return Model(building, time, **kept)


def _decimals(name: str) -> int:
    return max(0, round(-np.log10(STORED[name][1])))


@dataclass(frozen=True)
class Tile:
    """Fifty terminals (or the first ``terminals`` of them) of a large building, by its number."""

    of: Model
    number: int
    terminals: int = TILE

    @cached_property
    def tags(self) -> list[str]:
        return [f"T-{self.number * TILE + at + 1:05d}" for at in range(self.terminals)]

    @cached_property
    def handler_tags(self) -> list[str]:
        """The air handlers that its terminals hang on."""
        all_of_them, used = self.of.building.air_handlers.index, self.of.building.terminals["air_handler"]
        count = used.iloc[: self.terminals].nunique()
        return [f"AHU-{self.number * len(all_of_them) + at + 1:03d}" for at in range(count)]

    @cached_property
    def _share(self) -> np.ndarray:
        """How much more air than its model each terminal takes, and is scheduled to take."""
        rng = np.random.default_rng([SEED, 12, self.number])
        return 1.0 + 0.03 * rng.integers(-2, 3, TILE)[: self.terminals]

    @cached_property
    def _warmer(self) -> np.ndarray:
        """How much warmer than its model each terminal is, setpoints and all [delta degF]."""
        rng = np.random.default_rng([SEED, 13, self.number])
        return rng.integers(-5, 6, TILE)[: self.terminals] / 10

    def readings(self) -> dict[str, np.ndarray]:
        """Return quantity to readings (times, terminals) as stored, with the samples that got lost as NaN."""
        lost = np.random.default_rng([SEED, 14, self.number])
        made = {}
        for name, values in self.of.terminals.items():
            moved = values[:, : self.terminals]
            if name in TEMPERATURES:
                moved = moved + self._warmer
            elif name in FLOWS:
                moved = moved * self._share
            moved = np.round(moved, _decimals(name))
            moved[lost.random(moved.shape, dtype=np.float32) < LOST_SAMPLES] = np.nan
            made[name] = moved
        return made

    def schedule(self) -> pd.DataFrame:
        """Return the tile's rows of the terminal schedule, SI."""
        table = self.of.building.terminals.iloc[: self.terminals].copy()
        for name in SCHEDULED_FLOWS:
            table[name] = table[name] * self._share
        table["air_handler"] = table["air_handler"].map(
            dict(zip(self.of.building.air_handlers.index, self.handler_tags, strict=False))
        )
        table["open_zone"] = table["open_zone"] + f"-{self.number + 1}"
        table["zone"] = [f"Room {tag}" for tag in self.tags]
        table.index = pd.Index(self.tags, name="terminal")
        return table


def tiles(of: Model, terminals: int) -> list[Tile]:
    """Return the tiles of a building; the last may be smaller."""
    return [Tile(of, number, min(TILE, terminals - number * TILE)) for number in range(-(-terminals // TILE))]


def whole_schedule(of: Model, terminals: int) -> Building:
    """Return the building with the schedule of all its tiles."""
    table = pd.concat([tile.schedule() for tile in tiles(of, terminals)])
    return replace(of.building, name="Synthetic building", terminals=table)
