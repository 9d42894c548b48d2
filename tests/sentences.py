"""Sentences of a review beside the raw columns' own figures: ``python -m tests.sentences REVIEW --number 50 --seed 1``.

Draws findings and reasons of a review's folder at random and prints each with what plain pandas makes of the columns of
``trends.parquet``: samples, first and last, mean, least and most, over the finding's episodes and over the rest of the
time. Nothing of the analyzer is used but its table of units. What can be held against the columns by itself is, and
printed as CONTRADICTED; the rest is for the reader's eye.
"""

from __future__ import annotations

import argparse
import json
import random
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL, shown_unit, to_shown

SECONDS = 3600.0
# Hours of episodes and of the finding may differ by this share: an episode bridges gaps of up to three samples.
HOURS_APART = 0.05
_SAMPLES = re.compile(r"(\w+) has ([\d,]+) samples of (\d[\d,]*\d|\d)(?:, the last on ([\d-]+ [\d:]+))?")
_MISSING = re.compile(r"missing: ([^;]*)")


@dataclass
class Folder:
    """A review's folder as plain tables."""

    findings: list[dict]
    verdicts: pd.DataFrame
    trends: pd.DataFrame
    handlers: pd.DataFrame
    site: dict

    @staticmethod
    def read(folder: Path) -> Folder:
        """Read what a review wrote."""
        handlers = folder / "air_handlers.parquet"
        return Folder(
            json.loads((folder / "findings.json").read_text("utf-8"))["findings"],
            pd.read_csv(folder / "verdicts.csv", keep_default_na=False),
            pd.read_parquet(folder / "trends.parquet").astype({"terminal": str}),
            pd.read_parquet(handlers) if handlers.exists() else pd.DataFrame(),
            json.loads((folder / "site.json").read_text("utf-8")),
        )

    def of(self, tag: str) -> pd.DataFrame:
        """The columns of a terminal, or of an air handler: those that hold anything, in the site's time."""
        table, key = self.trends, "terminal"
        if tag not in set(table["terminal"]) and len(self.handlers):
            table, key = self.handlers, "air_handler"
        own = table[table[key].astype(str) == tag].drop(columns=key)
        own = own.assign(time=own["time"].dt.tz_convert(self.site["time_zone"])).set_index("time")
        return own.dropna(axis="columns", how="all")


def finding_told(folder: Folder, finding: dict) -> str:
    """Say a finding, and what the columns hold over its episodes and beside them."""
    tag = (finding.get("terminals") or [finding["terminal"]])[0]
    rows = folder.of(tag)
    inside = np.zeros(len(rows), dtype=bool)
    for episode in finding["episodes"]:
        inside |= (rows.index >= pd.Timestamp(episode["from"])) & (rows.index < pd.Timestamp(episode["to"]))
    measures = ", ".join(f"{name} {m['value']:g} {m['unit']}" for name, m in finding["measures"].items())
    lines = [
        f"== {finding['id']} ({finding['severity']}, {finding['confidence']}; shown: {tag})",
        finding["summary"],
        f"measures: {measures}",
        f"fault {finding['fault_hours']:g} h of {finding['judged_hours']:g} h; {len(finding['episodes'])} episodes, "
        f"{_hours(rows[inside]):.1f} h of rows in them",
        _scheduled(folder, tag),
        _figures(rows[inside], folder.site["units"], "in its episodes"),
        _figures(rows[~inside], folder.site["units"], "at other times"),
        *_contradictions(finding, _hours(rows[inside])),
    ]
    return "\n".join(line for line in lines if line)


def reason_told(folder: Folder, verdict: dict) -> str:
    """Say why something was not judged (or what it lacked), and what the columns hold."""
    rows = folder.of(verdict["terminal"])
    lines = [
        f"== {verdict['terminal']}/{verdict['rule']}: {verdict['verdict']}",
        verdict["reason"],
        f"judged {verdict['judged_hours']} h",
        _scheduled(folder, verdict["terminal"]),
        _figures(rows, folder.site["units"], "in all"),
        *_untrue(verdict["reason"], rows),
    ]
    return "\n".join(line for line in lines if line)


def _hours(rows: pd.DataFrame) -> float:
    """The hours for which rows stand: to the next, or the usual step where the next is further than three of them."""
    if len(rows) < 2:
        return 0.0
    step = np.diff(rows.index.asi8 / 1e6 if rows.index.unit == "us" else rows.index.asi8 / 1e9)
    usual = float(np.median(step))
    return float(np.where(step <= 3 * usual, step, usual).sum() + usual) / SECONDS


def _figures(rows: pd.DataFrame, units: str, when: str) -> str:
    if rows.empty:
        return f"{when}: no rows"
    lines = [f"{when}: {len(rows):,} rows, {_hours(rows):,.1f} h"]
    for name in rows:
        known = rows[name].dropna()
        quantity = TERMINAL.get(name) or AIR_HANDLER[name]
        if known.empty:
            lines.append(f"    {name}: none")
            continue
        unit = shown_unit(quantity.dimension, units)
        mean, least, most = (
            float(to_shown(value, quantity.dimension, units)) for value in (known.mean(), known.min(), known.max())
        )
        lines.append(
            f"    {name}: {len(known):,} samples {known.index[0]:%m-%d %H:%M} .. {known.index[-1]:%m-%d %H:%M}, "
            f"mean {mean:.2f}, {least:.2f} to {most:.2f} {unit}"
        )
    return "\n".join(lines)


def _scheduled(folder: Folder, tag: str) -> str:
    row = folder.site["schedule"].get(tag)
    return f"schedule (SI): {', '.join(f'{name} {value}' for name, value in row.items())}" if row else "not scheduled"


def _contradictions(finding: dict, hours: float) -> list[str]:
    """What of a finding the rows contradict by themselves."""
    if finding.get("terminals"):
        return []
    if abs(hours - finding["fault_hours"]) > max(HOURS_APART * finding["fault_hours"], 1.0):
        return [f"CONTRADICTED: {finding['fault_hours']:g} h of fault, {hours:.1f} h of rows in its episodes"]
    return []


def _untrue(reason: str, rows: pd.DataFrame) -> list[str]:
    """What of a reason the columns contradict by themselves."""
    found = []
    for told in _MISSING.findall(reason):
        for name in re.findall(r"the trend (\w+)", told):
            if name in rows and rows[name].notna().any():
                found.append(f"CONTRADICTED: {name} is told to be missing and has {rows[name].notna().sum():,} samples")
    for name, samples, of, last in _SAMPLES.findall(reason):
        known = rows[name].dropna() if name in rows else rows.iloc[:0, 0]
        if (len(known), len(rows)) != (int(samples.replace(",", "")), int(of.replace(",", ""))):
            found.append(f"CONTRADICTED: {name} has {len(known):,} samples of {len(rows):,}")
        if last and f"{known.index[-1]:%Y-%m-%d %H:%M}" != last:
            found.append(f"CONTRADICTED: the last sample of {name} is of {known.index[-1]:%Y-%m-%d %H:%M}")
    return found


def draw(folder: Folder, number: int, seed: int) -> list[str]:
    """Return so many sentences, told: findings and reasons by halves, as far as there are any."""
    pick = random.Random(seed)
    reasons = folder.verdicts[folder.verdicts["verdict"] == "not-judged"].to_dict("records")
    of_findings = pick.sample(folder.findings, min(len(folder.findings), number - min(len(reasons), number // 2)))
    of_reasons = pick.sample(reasons, min(len(reasons), number - len(of_findings)))
    return [finding_told(folder, own) for own in of_findings] + [reason_told(folder, own) for own in of_reasons]


def main() -> None:
    """Print what was drawn, and how many sentences the columns contradict by themselves."""
    call = argparse.ArgumentParser(description=__doc__)
    call.add_argument("review", type=Path)
    call.add_argument("--number", type=int, default=50)
    call.add_argument("--seed", type=int, default=1)
    asked = call.parse_args()
    told = draw(Folder.read(asked.review), asked.number, asked.seed)
    print("\n\n".join(told))
    print(f"\n{len(told)} drawn, {sum('CONTRADICTED' in one for one in told)} contradicted by the columns themselves")


if __name__ == "__main__":
    main()
