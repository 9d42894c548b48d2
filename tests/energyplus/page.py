"""The page of what was measured with the engine: Markdown, every figure from the measurement."""

from __future__ import annotations

from datetime import date
from itertools import product
from pathlib import Path

import pandas as pd

from tests.accuracy.markdown import markdown_table, share_with_interval
from tests.energyplus.building import ROOMS
from tests.energyplus.export import Sensors
from tests.energyplus.injections import HOT_SUPPLY, INJECTIONS
from tests.energyplus.measure import AT, Measured
from tests.energyplus.plan import WEEKS
from tests.energyplus.truth import COMMON_CAUSE, LEAST_HOURS, OTHERWISE

REMARKS = Path(__file__).with_name("remarks.md")
COUNTS = ["injected", "shown", "judged", "found", "not judged"]


def page(measured: Measured, made: date, engine: str) -> str:
    """Return ``docs/accuracy-engine.md``."""
    intervals = sorted(measured.injected["interval"].unique())
    parts = [_opening(measured, made, engine), _in_short(measured, intervals), _how(), _physics(measured)]
    parts += [REMARKS.read_text("utf-8").strip()]
    parts += [_of_rules(measured, minutes) for minutes in intervals]
    parts += [_missed(measured), _false(measured), _others(measured), _injections(measured)]
    return "\n\n".join(part for part in parts if part) + "\n"


def _opening(measured: Measured, made: date, engine: str) -> str:
    seconds = " and ".join(f"{value / 60:.0f} min for {name}" for name, value in measured.seconds.items())
    return f"""# The rule book beside an independent engine

Made by `python -m tests.energyplus` on {made.isoformat()} with EnergyPlus {engine}, a general-purpose building
simulation engine that knows nothing of this tool: {measured.terminal_weeks} terminal-weeks ({len(measured.weeks)} weeks of
{len(ROOMS)} terminals, simulated minute by minute); processor time {seconds}. Nothing on this page is written by hand but the remarks.
[accuracy.md](accuracy.md) has the larger measurement with this project's own simulator; here the physics, the zone
loads and the terminals' control are another's."""


def _in_short(measured: Measured, intervals: list[int]) -> str:
    single = measured.injected[~_with_the_air_handler(measured.injected)]
    rows = []
    for minutes, trended in product(intervals, (True, False)):
        injected, shown, judged, found, not_judged = _counts(_at(single, minutes, trended))
        false = _in_sound(measured, minutes, trended)
        untrue = int(_untrue(false).sum())
        rows.append(
            [
                f"{minutes} min{'' if trended else ', without'}",
                injected,
                shown,
                judged,
                found,
                not_judged,
                share_with_interval(found, judged),
                len(false),
                untrue,
            ]
            + [f"{100 * untrue / measured.sound_weeks:.1f}" if measured.sound_weeks else ""]
            + [int(_misnamed(_at(measured.findings, minutes, trended)).sum())]
        )
    head = ["interval", *COUNTS, "found of judged", "verdicts in sound terminals", "of them false", "false per 100"]
    head += ["wrong causes"]
    return f"""## In short

{markdown_table(head, rows)}

A fault counts once for each rule that is its own and each week. The rooms that suffer with their air handler are left
out of these sums, so that one fault does not count fifteen times; the tables by rule have them. *Shown*: the engine's own figures show it for
{LEAST_HOURS:g} hours of the week or more ({", ".join(f"{hours:g} h for {rule}" for rule, hours in OTHERWISE.items())}); so a starved
terminal in a week that never calls for air, or a small coil in July, is injected and not shown. *Sound*: nothing was
injected in the terminal, {measured.sound_weeks} terminal-weeks in all. A fault verdict there is *false* unless the
engine's own figures show for an hour or more just what it says (`tests/energyplus/truth.py`: plain comparisons that share
nothing with the rules). *Without*: the flow setpoint is not in the export; the tables below are with it. *Wrong causes*:
verdicts at a faulty terminal of a rule that is neither the fault's own nor one that it may bring along, and that the
engine does not show for an hour: a drifted sensor at a starved terminal is one. The share has its 95 % interval (Wilson's)."""


def _with_the_air_handler(injected: pd.DataFrame) -> pd.Series:
    return (injected["kind"] == HOT_SUPPLY) & (injected["rule"] != COMMON_CAUSE)


def _how() -> str:
    sensors = Sensors()
    return f"""## What was simulated

Quillfeather Annex, invented: fifteen rooms of one storey under a return plenum, one air handler with an economizer, five
series and five parallel fan-powered and five single-duct terminals, hot-water, electric and no reheat
(`tests/energyplus/building.py`). Weather: weeks from {", ".join(f"{day:%d %B} ({name})" for name, day in WEEKS.items())} of a
typical year of a northern inland city that comes with the engine. Faults are injected in the engine: in its objects,
its schedules, or by its energy management system, and the building lives with them. What is laid into the readings
afterwards, because no engine models it (`readings.py`, `export.py`):

- flow readings as a velocity pressure sensor gives them whose coefficient holds for standard air;
- duct sensors in still air near the plenum's temperature;
- the signal of a hot-water valve from its water flow, by an equal-percentage curve;
- a starved terminal's setpoint: the scheduled maximum while its damper stands open and the room is above its setpoint;
- a sensor that reads wrong, where that is the fault (its controller's flow limits are changed in the engine);
- errors of sound sensors: a constant each (standard deviation {sensors.offset} K, {sensors.flow_gain:.0%} of flow) and noise
  ({sensors.noise} K, {sensors.flow_noise:.0%}); rounding to 0.1 degF, 1 cfm, 0.1 %.

Parallel fans have a differential, added by the engine's energy management system, since its own control switches them
every minute if need be. The north row is handed over without plenum and primary temperatures. The export is one wide CSV file in
IP units, read back by `analyzer.read_trends` and judged by `analyzer.review`."""


def _physics(measured: Measured) -> str:
    if measured.physics.empty:
        return ""
    units = {"coil_off_temp": "K", "coil_heat": "W", "heat_delivered": "W"}
    rows = []
    for row in measured.physics.sort_values(["quantity", "kind", "trended"], kind="stable").itertuples():
        heat = row.quantity != "coil_off_temp"
        unit, digits = units[row.quantity], 0 if heat else 2
        rows.append(
            [
                row.quantity,
                row.kind,
                row.source,
                row.trended if row.source != "formula" else "the engine's own",
                row.samples,
            ]
            + [f"{row.mean:+.{digits}f} {unit}", f"{row.rms:.{digits}f} {unit}"]
            + [f"{row.engine_rms:.0f} W" if heat else "", f"{row.rms / row.engine_rms:.1%}" if heat else ""]
        )
    head = [
        "signal",
        "terminals",
        "source",
        "temperatures",
        "samples",
        "mean deviation",
        "RMS deviation",
        "RMS of the engine's",
    ]
    return f"""## Mixing and heat against the engine's own

The three sound weeks, every {AT} minutes, wherever air moves. `coil_off_temp` (primary and plenum air mixed, fan heat)
stands beside the temperature of the engine's node before the coil, `coil_heat` beside its coil, `heat_delivered` beside
its terminal's sensible rate. *Formula*: the formulas of `analyzer/airside` fed with the engine's flows, temperatures
and fan power, so that only their simplifications are left. *Export*: the signals as a review has them, from the
schedule and from trends without and with sensor errors; the fan's heat is then the usual one, not this fan's.

{markdown_table([*head, "RMS share"], rows)}"""


def _at(table: pd.DataFrame, minutes: int, trended: bool = True) -> pd.DataFrame:
    return table[(table["interval"] == minutes) & (table["trended"] == trended)]


def _misnamed(found: pd.DataFrame) -> pd.Series:
    """Tell which verdicts at faulty terminals name what is neither the fault's, nor there at all."""
    return ~found["sound"] & (found["kind"] != "") & ~found["expected"] & _untrue(found)


def _counts(injected: pd.DataFrame) -> tuple[int, int, int, int, int]:
    verdict = injected.loc[injected["shown"], "verdict"]
    not_judged = int((verdict == "not-judged").sum())
    return len(injected), len(verdict), len(verdict) - not_judged, int((verdict == "fault").sum()), not_judged


def _in_sound(measured: Measured, minutes: int, trended: bool = True) -> pd.DataFrame:
    return _at(measured.findings[measured.findings["sound"]], minutes, trended)


def _untrue(found: pd.DataFrame) -> pd.Series:
    return ~(found["engine_hours"] >= 1.0)


def _of_rules(measured: Measured, minutes: int) -> str:
    injected, sound = _at(measured.injected, minutes), _in_sound(measured, minutes)
    rules = sorted({*injected["rule"], *sound["rule"]})
    rows = []
    for rule in rules:
        own = injected[injected["rule"] == rule]
        counts = _counts(own)
        beyond = int((~own["shown"] & (own["verdict"] == "fault")).sum())
        false = int(_untrue(sound[sound["rule"] == rule]).sum())
        share = f"{counts[3] / counts[2]:.0%}" if counts[2] else ""
        rows.append([rule, *counts, share, beyond, false])
    head = ["rule", *COUNTS, "found of judged", "beyond", "false"]
    plural = "s" if minutes > 1 else ""
    return f"""## Every {minutes} minute{plural}

{markdown_table(head, rows)}"""


def _when(row) -> str:
    return f"{row.interval} min{'' if row.trended else ', without'}"


def _missed(measured: Measured) -> str:
    missed = measured.injected[measured.injected["shown"] & (measured.injected["verdict"] != "fault")]
    rows = [
        [
            _when(row),
            row.rule,
            row.kind,
            row.terminal,
            row.weather,
            row.verdict,
            row.reason,
            f"{row.hours:.1f}",
        ]
        for row in missed.sort_values(["rule", "terminal", "weather", "interval"]).itertuples()
    ]
    head = ["interval", "rule", "fault", "terminal", "weather", "verdict", "reason", "hours shown"]
    return f"## Shown and not found\n\n{markdown_table(head, rows)}"


def _false(measured: Measured) -> str:
    found = measured.findings[measured.findings["sound"]].sort_values(["rule", "terminal", "weather", "interval"])
    rows = [
        [_when(row), row.rule, row.case, row.weather, row.terminal, row.confidence, f"{row.fault_hours:.1f}"]
        + ["" if pd.isna(row.engine_hours) else f"{row.engine_hours:.1f}"]
        for row in found.itertuples()
    ]
    head = ["interval", "rule", "case", "weather", "terminal", "confidence", "fault hours", "hours in the engine"]
    return f"""## Fault verdicts in sound terminals

*Hours in the engine*: in which the engine's own figures show the same; blank where there is no such figure.

{markdown_table(head, rows)}"""


def _others(measured: Measured) -> str:
    findings = measured.findings[measured.findings["trended"]]
    others = findings[~findings["sound"] & ~findings["expected"] & (findings["kind"] != "")]
    grouped = others.groupby(["kind", "rule"])
    rows = [
        [kind, rule, *[int((group["interval"] == minutes).sum()) for minutes in sorted(findings["interval"].unique())]]
        + [f"{group['engine_hours'].max():.1f}" if group["engine_hours"].notna().any() else ""]
        for (kind, rule), group in grouped
    ]
    head = ["fault", "rule", *[f"at {minutes} min" for minutes in sorted(findings["interval"].unique())]]
    return f"""## Further verdicts in terminals with a fault

Rules that the fault is not known to show in: consequences that nobody wrote down, or a wrong cause named.

{markdown_table([*head, "most hours in the engine"], rows)}"""


def _injections(measured: Measured) -> str:
    stood = measured.injected.drop_duplicates(["case", "weather", "terminal", "kind"]).groupby("kind")["terminal"]
    terminals = stood.apply(lambda tags: ", ".join(sorted(set(tags)))).to_dict()
    rows = [
        [kind, injection.note, ", ".join(injection.shows), terminals.get(kind, "")]
        for kind, injection in INJECTIONS.items()
        if kind in terminals
    ]
    if HOT_SUPPLY in terminals:
        rows.append(
            [HOT_SUPPLY, "setpoint of the supply air 6.5 K too high", "zone-too-warm, air-handler-common-cause", "all"]
        )
    return f"## What was injected\n\n{markdown_table(['fault', 'how', 'rules that are its own', 'terminals'], rows)}"
