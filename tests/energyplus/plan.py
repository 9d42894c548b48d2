"""Which weeks of the annex are run: cases of faults in weeks of weather."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from tests.energyplus.building import OF_TAG, ROOMS
from tests.energyplus.control import with_differential
from tests.energyplus.engine import run_week
from tests.energyplus.injections import CASES, HOT_SUPPLY, SOUND, changes_of, faults_of

# Mondays: the calendar is 2026's, the weather that of these days in the engine's weather year.
WEEKS = {"cold": date(2026, 1, 12), "mild": date(2026, 4, 13), "warm": date(2026, 7, 13)}
INTERVALS = (1, 5, 15)  # min


@dataclass(frozen=True)
class Week:
    """A case in a week of weather."""

    case: str
    weather: str

    @property
    def seed(self) -> int:
        """Of the sensors' errors: another in every week."""
        return 100 * list(CASES).index(self.case) + list(WEEKS).index(self.weather) + 9000

    @property
    def sound(self) -> list[str]:
        """The terminals in which nothing was injected."""
        return [] if self.case == HOT_SUPPLY else [room.tag for room in ROOMS if room.tag not in CASES[self.case]]

    def run(self, days: int = 7) -> pd.DataFrame:
        """Run the week; return the engine's outputs."""
        faults = faults_of(self.case)
        steady = [room for room in ROOMS if faults.get(room.tag, SOUND).steady_fan]
        thermostats = {OF_TAG[tag].name: injection.thermostat for tag, injection in faults.items()}
        return run_week(
            WEEKS[self.weather],
            days=days,
            thermostats=thermostats,
            changes=[lambda whole: with_differential(whole, steady), *changes_of(self.case)],
        )


def whole_plan() -> list[Week]:
    """Return the sound annex in every weather, its faults in the cold and the mild week, hot supply air in the warm one.

    A mild week calls for cooling in the afternoons: what a warm one shows of the faults, it shows as well.
    """
    faulty = [case for case in CASES if case not in ("sound", HOT_SUPPLY)]
    weeks = [Week("sound", weather) for weather in WEEKS]
    weeks += [Week(case, weather) for case in faulty for weather in ("cold", "mild")]
    return [*weeks, Week(HOT_SUPPLY, "warm")]


def kept_run(week: Week, folder: Path) -> pd.DataFrame:
    """Return the engine's outputs for a week from a folder; run it and keep them there where they are not."""
    file = folder / f"{week.case}-{week.weather}.parquet"
    if file.exists():
        return pd.read_parquet(file)
    outputs = week.run()
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = file.with_suffix(".unfinished")
    outputs.astype("float32").to_parquet(unfinished)
    unfinished.replace(file)
    return outputs
