"""The demo's two weeks: what is wrong in Quillfeather House, and since when."""

from __future__ import annotations

from dataclasses import dataclass

from sample_trends.faults import Fault
from sample_trends.weather import Climate

# A water valve overridden stays open by night, too, with no air over its coil; electric heat waits for air.
DAY_AND_NIGHT = ("reheat-during-cooling", "reheat-without-airflow")

# Of a functional test at VAV-2-06: damper and heat overridden. The site file names it: no rule judges it.
FUNCTIONAL_TEST = ("2026-01-29 09:00", "2026-01-29 12:00")


@dataclass(frozen=True)
class Week:
    """A demo week: its name in the truth list, its first day, its faults, and what its exports lack.

    ``outages``: (terminal, quantity, from, to) local, in which a sensor gave nothing. ``not_trended``: (terminal,
    quantity) that were not logged at all. ``seed_shift`` keeps two weeks of one seed apart.
    """

    name: str
    start: str
    faults: tuple[Fault, ...]
    climate: Climate
    seed_shift: int
    outages: tuple[tuple[str, str, str, str], ...] = ()
    not_trended: tuple[tuple[str, str], ...] = ()
    days: int = 7


FIRST = Week(
    name="first",
    start="2026-01-26",
    climate=Climate(at_start=-10.0, at_end=12.0, swing=4.5),
    seed_shift=0,
    faults=(
        # Ventilation
        Fault("minimum-entered-too-low", "VAV-1-03"),
        Fault("damper-stuck-nearly-shut", "FPT-2-08", start="2026-01-28 10:00"),
        Fault("outdoor-inlet-tripped", "FPT-3-08", start="2026-01-29 09:30"),
        # Fan cycling
        Fault("fan-band-too-narrow", "FPT-1-08"),
        Fault("fan-band-too-narrow", "FPT-2-09", start="2026-01-28 06:00"),
        Fault("fan-runs-short", "FPT-3-12"),
        # Reheat against cooling
        Fault("heat-in-hand", "VAV-2-05", shows=DAY_AND_NIGHT),
        Fault("heat-in-hand", "FPT-3-06", start="2026-01-28 12:00", turns={"heat_hand": 0.3}),
        Fault("heat-in-hand", "VAV-2-07", turns={"heat_hand": 0.3}, shows=DAY_AND_NIGHT),
        # Flow sensors: a drift shows by mixing, by air that is not read, by the zero with the air handler off
        Fault("sensor-tube-off", "VAV-2-03", start="2026-01-27 10:00"),
        Fault("flow-gain-high", "FPT-2-13"),
        Fault("flow-zero-error", "FPT-1-09"),
        # Others
        Fault("valve-leaks-by", "VAV-1-06"),
        Fault("fan-in-hand", "FPT-1-10"),
        Fault("zone-sensor-flat", "VAV-2-02", start="2026-01-28 11:20"),
        Fault("fan-status-broken", "FPT-2-10"),
        Fault("series-fan-off", "FPT-3-14", start="2026-01-29 13:00"),
        Fault("duct-blocked", "FPT-3-16"),
        Fault("duct-blocked", "VAV-2-04", turns={"inlet_path": 0.72}, note="flexible duct crushed before the inlet"),
        Fault("unit-short-of-pressure", "AHU-2", start="2026-01-28 12:30", end="2026-01-28 17:00"),
        # Near misses: sound terminals that look a little unsound
        Fault("flow-gain-a-little-low", "VAV-2-01"),
        Fault("functional-test", "VAV-2-06", start=FUNCTIONAL_TEST[0], end=FUNCTIONAL_TEST[1]),
        Fault("controller-restarts", "FPT-2-11", start="2026-01-28 10:03", end="2026-01-28 10:06"),
        Fault("fan-two-starts-an-hour", "FPT-3-10"),
    ),
    outages=(("VAV-1-05", "zone_temp", "2026-01-29 08:00", "2026-01-30 08:00"),),
)  # fmt: skip

RETEST = Week(
    name="retest",
    start="2026-02-23",
    climate=Climate(at_start=-6.0, at_end=12.0, swing=5.0),
    seed_shift=1000,
    faults=(
        # Corrected since: VAV-1-03, FPT-3-08, FPT-1-08, VAV-2-05, FPT-3-06, VAV-2-04, FPT-2-13, VAV-1-06, VAV-2-02,
        # FPT-2-10, FPT-3-14; and AHU-2 holds its pressure.
        Fault(
            "damper-stuck-nearly-shut",
            "FPT-2-08",
            turns={"damper_held": 0.08},
            shows=("primary-below-ventilation-minimum", "primary-below-setpoint", "zone-too-warm"),
            note="primary damper stuck almost shut",
        ),
        Fault("fan-band-too-narrow", "FPT-2-09"),
        Fault("fan-runs-short", "FPT-3-12", shows=()),  # as before, but its fan is not trended any more
        Fault("heat-in-hand", "VAV-2-07", turns={"heat_hand": 0.3}, shows=DAY_AND_NIGHT),
        Fault("sensor-tube-off", "VAV-2-03"),
        Fault("flow-zero-error", "FPT-1-09"),
        Fault("fan-in-hand", "FPT-1-10"),
        Fault("duct-blocked", "FPT-3-16"),
        # New
        Fault("minimum-entered-too-low", "VAV-1-01", turns={"minimum": 0.55}),
        Fault("flow-gain-a-little-low", "VAV-2-01"),
        Fault("fan-two-starts-an-hour", "FPT-3-10"),
    ),
    # Its fan cannot be judged any more.
    not_trended=(("FPT-3-12", "fan_status"), ("FPT-3-12", "fan_command")),
)
WEEKS = (FIRST, RETEST)
