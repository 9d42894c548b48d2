"""What was measured in field mode, as figures: for the terminal and for the page."""

from __future__ import annotations

from tests.accuracy.field.measure import MeasuredField
from tests.accuracy.scoring import CONSEQUENCE, FALSE, RIGHT, SYMPTOM, WRONG

RULE_HEAD = [
    "rule", "seeded", "shown", "judged", "found", "told", "not judged", "false", "wrong cause", "consequence", "top-level",
    "right of top-level",
]  # fmt: skip


def of_rules(measured: MeasuredField) -> list[list]:
    """Return a row for each rule that was seeded or found; the columns are RULE_HEAD."""
    seeded, top = measured.seeded, measured.findings[measured.findings["top"]]
    rows = []
    for rule in sorted({*seeded["rule"], *top["rule"]}):
        own, told = seeded[seeded["rule"] == rule], top[top["rule"] == rule]
        shown = own[own["shown"]]
        silent = int(shown["verdict"].isin(["not-judged", "no rule"]).sum())
        counts = [int((told["judged_as"] == name).sum()) for name in (FALSE, WRONG, CONSEQUENCE)]
        right = int(told["judged_as"].isin([RIGHT, SYMPTOM]).sum())
        rows.append(
            [rule, len(own), len(shown), len(shown) - silent, int((shown["verdict"] == "fault").sum())]
            + [int(shown["told"].sum()), silent, *counts, len(told), f"{right / len(told):.0%}" if len(told) else ""]
        )
    return rows


def in_short(measured: MeasuredField) -> dict[str, str]:
    """Return the figures of the whole: name to text."""
    seeded, found, clear = measured.seeded, measured.findings, measured.clear
    shown, top = seeded[seeded["shown"]], found[found["top"]]
    counts = top["judged_as"].value_counts()
    right, symptoms, false = (int(counts.get(name, 0)) for name in (RIGHT, SYMPTOM, FALSE))
    terminals = sum(len(of.period.building.terminals) for of in measured.periods)
    sound = [of for of in measured.periods if of.period.sound_building]
    quiet = sum(int(of.findings["top"].sum()) for of in sound)
    bad = [of for of in measured.periods if not of.period.sound_building]
    in_bad = sum(int(of.findings["top"].sum()) for of in bad) / max(
        sum(len(of.period.building.terminals) for of in bad), 1
    )
    answers = clear["verdict"].value_counts()
    return {
        "buildings": f"{len(measured.periods)} ({len(sound)} sound), {terminals} terminals, {measured.terminal_weeks:.0f} terminal-weeks, {measured.sound_weeks:.0f} of them sound",
        "recall of shown faults (told)": f"{_share(int(shown['told'].sum()), len(shown))}",
        "shown faults that have a fault verdict": f"{_share(int((shown['verdict'] == 'fault').sum()), len(shown))}",
        "precision of top-level findings": f"{_share(right + symptoms, len(top))}",
        "the same, true symptoms without a told cause counted as wrong": f"{_share(right, len(top))}",
        "top-level: symptom, wrong cause, consequence, false": ", ".join(
            str(int(counts.get(name, 0))) for name in (SYMPTOM, WRONG, CONSEQUENCE, FALSE)
        ),
        "false per 100 sound terminal-weeks": f"{100 * false / max(measured.sound_weeks, 1e-9):.2f}",
        "top-level findings a terminal, faulty buildings": f"{in_bad:.2f}",
        "top-level findings a sound building": f"{quiet / max(len(sound), 1):.1f}",
        "asked for clear: clear, not judged, fault": ", ".join(
            str(int(answers.get(name, 0))) for name in ("clear", "not-judged", "fault")
        ),
    }


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole} ({part / whole:.1%})" if whole else "none"


def missed(measured: MeasuredField) -> list[list]:
    """Return the shown faults that were not told: rule, kind, seed, at, hours, verdict, reason."""
    seeded = measured.seeded
    rows = seeded[seeded["shown"] & ~seeded["told"]].sort_values(["rule", "kind", "seed", "at"])
    return [
        [
            row.rule,
            row.kind,
            row.seed,
            row.at,
            f"{row.hours:.0f}",
            "under a wrong cause" if row.verdict == "fault" else row.verdict,
            row.reason,
        ]
        for row in rows.itertuples()
    ]


def not_right(measured: MeasuredField) -> list[list]:
    """Return the top-level findings that are not right: how, rule, seed, terminal, what is wrong there, confidence."""
    found = measured.findings
    rows = found[found["top"] & (found["judged_as"] != RIGHT)].sort_values(["judged_as", "rule", "seed", "terminal"])
    return [
        [row.judged_as, row.rule, row.seed, row.terminal, row.kind, row.confidence, f"{row.fault_hours:.1f}"]
        for row in rows.itertuples()
    ]


def twins(measured: MeasuredField) -> list[list]:
    """Return a row for each scenario and rule: how many were asked for, clear, not judged, fault."""
    clear = measured.clear
    rows = []
    for (scenario, rule), own in clear.groupby(["scenario", "rule"]):
        counts = own["verdict"].value_counts()
        rows.append(
            [scenario, rule, len(own), *(int(counts.get(name, 0)) for name in ("clear", "not-judged", "fault"))]
        )
    return rows


def compact(measured: MeasuredField, details: bool = True) -> str:
    """Return all of it as text for a terminal."""
    parts = [_text([[name, value] for name, value in in_short(measured).items()])]
    parts.append(_text(of_rules(measured), RULE_HEAD))
    parts.append(_text(twins(measured), ["sound twin", "rule", "asked", "clear", "not judged", "fault"]))
    if details:
        parts.append(_text(missed(measured), ["not told: rule", "kind", "seed", "at", "hours", "verdict", "reason"]))
        parts.append(
            _text(
                not_right(measured), ["not right", "rule", "seed", "at", "what is wrong there", "confidence", "hours"]
            )
        )
    return "\n\n".join(parts)


def _text(rows: list[list], head: list[str] | None = None) -> str:
    table = [*([head] if head else []), *rows]
    if not table:
        return ""
    widths = [max(len(str(row[at])) for row in table) for at in range(len(table[0]))]
    return "\n".join(
        "  ".join(str(cell).ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in table
    )
