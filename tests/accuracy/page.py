"""The page of what was measured: Markdown, every figure from the measurement."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd

from tests.accuracy.field.measure import MeasuredField
from tests.accuracy.field.page import details_of_field, of_field
from tests.accuracy.markdown import markdown_table, share_with_interval
from tests.accuracy.measure import INTERVALS, Measured
from tests.accuracy.plan import OF_AIR_HANDLERS, WEATHERS
from tests.accuracy.scoring import CONSEQUENCE, FALSE, RIGHT, WRONG
from tests.accuracy.truth import LEAST_HOURS, OTHERWISE, SHARE, SHARED, SHARING

REMARKS = Path(__file__).with_name("remarks.md")
COUNTS = ["shown", "judged", "found", "not judged"]


def page(measured: Measured, made: date, field: MeasuredField | None = None) -> str:
    """Return ``docs/accuracy.md``: the plain weeks, and field mode where it was measured, too."""
    parts = [_opening(measured, made), _in_short(measured)]
    parts += [of_field(field)] if field else []
    parts += [_truth(), REMARKS.read_text("utf-8").strip()]
    parts += [_of_rules(measured, minutes) for minutes in INTERVALS]
    parts += [_missed(measured), _false(measured), _others(measured), _weeks(measured)]
    parts += [details_of_field(field)] if field else []
    return "\n\n".join(parts) + "\n"


def _opening(measured: Measured, made: date) -> str:
    seeds = [week.seed for week in measured.weeks]
    return f"""# How often the rule book is right

Made by `python -m tests.accuracy --seed {min(seeds)}` on {made.isoformat()}: {measured.terminal_weeks} terminal-weeks
of invented buildings (`sample_trends`) with {_faults(measured)} seeded faults, the same weeks sampled every 1, 5 and 15
minutes and judged by the whole rule book. Nothing on this page is written by hand but the remarks. A simulator is not a building: these figures say how well the rules do what they
are meant to do, and are no promise for trends whose points are mapped wrongly or whose schedule is out of date.
[accuracy-engine.md](accuracy-engine.md) sets the rules and the physics beside an independent engine, in small."""


def _faults(measured: Measured) -> int:
    return sum(bool(fault.rules) for week in measured.weeks for fault in week.faults)


def _in_short(measured: Measured) -> str:
    single = measured.seeded[~_with_their_air_handler(measured.seeded)]
    rows, told = [], []
    for minutes in INTERVALS:
        of_interval = single[single["interval"] == minutes]
        shown, judged, found, not_judged = _counts(of_interval)
        false = _in_sound(measured, minutes)
        own = int(false["under"].isna().sum())
        rows.append(
            [f"{minutes} min", len(of_interval), shown, judged, found, not_judged, share_with_interval(found, judged)]
            + [f"{own} ({_per_100(own, measured)})", len(false)]
        )
        told.append([f"{minutes} min", *_top_level(measured, minutes)])
    head = ["interval", "seeded", *COUNTS, "found of judged", "false findings (per 100)", "false verdicts"]
    second = [
        "interval",
        "top-level findings",
        "a terminal",
        "right",
        "wrong cause",
        "consequence",
        "false",
        "precision",
    ]
    return f"""## In short

{markdown_table(head, rows)}

A fault counts once for each rule whose readings it shows in. The terminals that suffer with their air handler are left
out of these sums, so that a few air handlers do not outweigh everything; the tables by rule have them. The share is
given with its 95 % interval (Wilson's). False findings are those in {measured.sound_weeks} sound terminal-weeks that
are told for themselves; false verdicts are all fault verdicts there, with those that are told under another finding.

{markdown_table(second, told)}

Top-level findings are those that are told for themselves. *Right*: the rule names the fault, or what may be named as
well. *Wrong cause*: a verdict of another rule at a faulty terminal, such as a drifted sensor where the air is short: a
misdiagnosis, and as false as one at a sound terminal. *Consequence*: true, but told beside its cause and not under it.
*False*: at a sound terminal, or at a neighbour of a faulty one. Precision is the share of the right ones."""


def _top_level(measured: Measured, minutes: int) -> list:
    top = measured.findings[measured.findings["top"] & (measured.findings["interval"] == minutes)]
    counts = {name: int((top["judged_as"] == name).sum()) for name in (RIGHT, WRONG, CONSEQUENCE, FALSE)}
    return [
        len(top),
        f"{len(top) / measured.terminal_weeks:.2f}",
        *counts.values(),
        share_with_interval(counts[RIGHT], len(top)),
    ]


def _with_their_air_handler(seeded: pd.DataFrame) -> pd.Series:
    return seeded["kind"].isin(OF_AIR_HANDLERS) & (seeded["rule"] != SHARED)


def _truth() -> str:
    otherwise = ", ".join(f"{hours:g} h for {rule}" for rule, hours in OTHERWISE.items())
    return f"""## What counts as true

A fault is seeded by turning a knob of the simulator in one terminal (or air handler). Whether the week's readings show
it is worked out from the one-minute readings and the schedule with plain arithmetic
(`tests/sample_trends/evidence.py`), which shares nothing with the rules: {LEAST_HOURS:g} hours of the week at least;
{otherwise}.
An air handler's fault is shared where {SHARING} of its terminals and {SHARE:.0%} of them show it. So a maximum that was entered too high and never called past, a blocked duct whose terminal never called for air in occupied
hours, or heat that fails in a warm week is seeded and not shown: no log could tell, and a rule is right to say nothing.

- *seeded*: faults put in, for this rule; *shown*: those that the readings show.
- *judged*, *found*, *not judged*: of the shown ones. Not judged is an answer of its own: it names what would settle it.
- *beyond*: faults found that the plain arithmetic does not count as shown. They are no false findings (the fault is
  there), and are in none of the sums.
- *sound*: a terminal without a fault of its own, of its air handler, or of a neighbour in its open zone. Near misses
  (a sensor 3 % low, a controller that restarts, a fan that starts twice an hour, a warm room) are sound.
- A fan's starts are those that the samples show, as in a log that has no events."""


def _of_rules(measured: Measured, minutes: int) -> str:
    seeded = measured.seeded[measured.seeded["interval"] == minutes]
    false = _in_sound(measured, minutes)
    top = measured.findings[measured.findings["top"] & (measured.findings["interval"] == minutes)]
    rows = []
    for rule in measured.rules:
        own = seeded[seeded["rule"] == rule]
        shown, judged, found, not_judged = _counts(own)
        beyond = int((~own["shown"] & (own["verdict"] == "fault")).sum())
        wrong = int(((false["rule"] == rule) & false["under"].isna()).sum())
        share = f"{found / judged:.0%}" if judged else ""
        told = top[top["rule"] == rule]["judged_as"]
        right, misnamed = int((told == RIGHT).sum()), int((told == WRONG).sum())
        precision = f"{right / len(told):.0%}" if len(told) else ""
        rows.append(
            [rule, len(own), shown, judged, found, not_judged, share, beyond, wrong, misnamed, len(told), precision]
        )
    head = ["rule", "seeded", *COUNTS, "found of judged", "beyond", "false", "wrong cause", "top-level", "precision"]
    return f"## Every {minutes} minute{'s' * (minutes > 1)}\n\n{markdown_table(head, rows)}"


def _counts(seeded: pd.DataFrame) -> tuple[int, int, int, int]:
    verdict = seeded.loc[seeded["shown"], "verdict"]
    not_judged = int((verdict == "not-judged").sum())
    return len(verdict), len(verdict) - not_judged, int((verdict == "fault").sum()), not_judged


def _missed(measured: Measured) -> str:
    seeded = measured.seeded[measured.seeded["shown"] & (measured.seeded["verdict"] != "fault")]
    grouped = seeded.assign(why=seeded["reason"].str.replace(r"[\d.]+ h", "… h", regex=True)).groupby(
        ["rule", "kind", "verdict", "why"], as_index=False
    )
    told = grouped.agg(
        intervals=(
            "interval",
            lambda at: ", ".join(f"{minutes} min: {(at == minutes).sum()}" for minutes in sorted(set(at))),
        ),
        least=("hours", "min"),
        most=("hours", "max"),
    )
    rows = [
        [row.rule, row.kind, row.verdict, row.why, row.intervals, f"{row.least:.1f} to {row.most:.1f}"]
        for row in told.itertuples()
    ]
    head = ["rule", "fault", "verdict", "reason", "how many", "hours shown"]
    return f"## Shown and not found\n\n{markdown_table(head, rows)}"


def _false(measured: Measured) -> str:
    found = measured.findings[measured.findings["sound"]].sort_values(["interval", "rule", "seed", "terminal"])
    rows = [
        [f"{row.interval} min", row.rule, row.weather, row.seed, row.terminal, row.confidence, f"{row.fault_hours:.1f}"]
        + ["" if pd.isna(row.under) else row.under]
        for row in found.itertuples()
    ]
    head = ["interval", "rule", "weather", "seed", "terminal", "confidence", "fault hours", "under"]
    return f"## Findings in sound terminals\n\n{markdown_table(head, rows)}"


def _others(measured: Measured) -> str:
    findings = measured.findings
    others = findings[(findings["judged_as"] != RIGHT) & (findings["kind"] != "")]
    told = others.assign(own=others["under"].isna()).groupby(["kind", "rule"], as_index=False)
    counts = told.agg(
        **{
            f"at {minutes}": ("interval", lambda at, minutes=minutes: int((at == minutes).sum()))
            for minutes in INTERVALS
        },
        own=("own", "sum"),
    )
    rows = [[*row[:-1], row[-1]] for row in counts.itertuples(index=False)]
    head = ["fault", "rule", *(f"{minutes} min" for minutes in INTERVALS), "told for themselves"]
    return f"""## Further findings in terminals with a fault

Rules that the fault does not show in and that were not told under its finding (`sample_trends/catalogue.py`):
consequences told for themselves, those that nobody wrote down, or a wrong cause named.

{markdown_table(head, rows)}"""


def _weeks(measured: Measured) -> str:
    rows = []
    for week in measured.weeks:
        start, climate = WEATHERS[week.weather]
        of = "air handlers" if week.air_handlers_fail else "terminals"
        outdoor = f"{climate.at_start:g} to {climate.at_end:g} degC"
        rows.append(
            [week.weather, start, outdoor, week.seed, week.terminals, f"{len(week.faults)} of {of}", len(week.sound)]
        )
    head = ["weather", "from", "outdoor mean", "seed", "terminals", "faults and near misses", "sound"]
    return f"## The weeks\n\n{markdown_table(head, rows)}"


def _in_sound(measured: Measured, minutes: int) -> pd.DataFrame:
    findings = measured.findings
    return findings[findings["sound"] & (findings["interval"] == minutes)]


def _per_100(count: int, measured: Measured) -> str:
    return f"{100 * count / measured.sound_weeks:.2f}" if measured.sound_weeks else "no sound terminal"
