"""Two weeks of the annex, kept beside the tests: a few terminals' export, and what the engine knew of them.

``python -m tests.energyplus --store`` makes them anew; ``test_stored.py`` reads them without the engine.
"""

from __future__ import annotations

import shutil
import tempfile
import zipfile
from pathlib import Path

import pandas as pd

from tests.energyplus import truth
from tests.energyplus.engine import engine_version
from tests.energyplus.export import Sensors, write
from tests.energyplus.injections import faults_of
from tests.energyplus.plan import Week
from tests.energyplus.readings import Readings, readings

STORED = Path(__file__).with_name("stored")
MINUTES = 5
KEPT = {
    Week("second", "cold"): ("SFB-101", "SFB-104", "VAV-103", "VAV-203", "PFB-205", "SFB-204", "VAV-206"),
    Week("first", "mild"): ("PFB-102", "VAV-103", "SFB-104", "PFB-105", "SFB-204", "SFB-301", "VAV-206"),
}
# What the engine knew, and to how many digits it is kept.
DIGITS = {"entering_temp": 2, "coil_heat": 0, "delivered_heat": 0, "discharge_flow": 1}


def folder_of(week: Week) -> Path:
    """Return where a week is kept."""
    return STORED / f"{week.case}-{week.weather}"


def store(outputs_of=Week.run) -> None:
    """Run the kept weeks and write their exports, faults and engine figures."""
    shutil.rmtree(STORED, ignore_errors=True)
    for week, tags in KEPT.items():
        _store(week, _only(readings(outputs_of(week), faults_of(week.case)), tags))
    (STORED / "README.md").write_text(
        f"Made by `python -m tests.energyplus --store` with EnergyPlus {engine_version()}: weeks of the invented "
        "Quillfeather Annex as a\ncontractor's export (`trends.zip`), what was injected (`faults.csv`), and the "
        "engine's own figures (`engine.parquet`).\n",
        encoding="utf-8",
    )


def _only(read: Readings, tags: tuple[str, ...]) -> Readings:
    terminals, real = (table[table["terminal"].isin(tags)] for table in (read.terminals, read.truth))
    return Readings(terminals.reset_index(drop=True), read.air_handler, real.reset_index(drop=True))


def _store(week: Week, read: Readings) -> None:
    place = folder_of(week)
    place.mkdir(parents=True)
    with tempfile.TemporaryDirectory() as scratch:
        write(read, Path(scratch), minutes=MINUTES, sensors=Sensors(), seed=week.seed)
        with zipfile.ZipFile(place / "trends.zip", "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
            archive.write(Path(scratch) / "trends.csv", "trends.csv")
        for name in ("site.toml", "terminals.csv"):
            shutil.copy(Path(scratch) / name, place / name)
    _faults(week, read).to_csv(place / "faults.csv", index=False)
    kept = read.truth[read.truth["time"].dt.minute % MINUTES == 0]
    kept = kept[["terminal", "time", *DIGITS]].round(DIGITS).astype(dict.fromkeys(DIGITS, "float32"))
    kept.to_parquet(place / "engine.parquet", compression="zstd", index=False)


def _faults(week: Week, read: Readings) -> pd.DataFrame:
    tags = read.terminals["terminal"].unique()
    rows = []
    for tag in tags:
        fault = faults_of(week.case).get(tag)
        for rule in fault.shows if fault else ():
            hours = truth.hours_of(rule, read, [tag])[tag]
            rows.append((tag, fault.kind, rule, round(hours, 1), truth.shown(rule, hours), " ".join(fault.also)))
        if fault is None:
            rows.append((tag, "", "", None, None, ""))
    return pd.DataFrame(rows, columns=["terminal", "kind", "rule", "hours", "shown", "also"])
