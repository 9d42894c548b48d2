"""A campus whose trends come week by week, with faults that come, go and come back; and what its history makes of them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from sample_trends import Fault, invented_building
from sample_trends.catalogue import CATALOGUE
from sample_trends.readings import stored_values
from sample_trends.simulation import record
from tests.benchmarks.building import CLIMATE, KINDS, SEED, START, TILE, Model, faults
from tests.benchmarks.exports import write_exports

# When a fault is there: of twelve weeks, one letter each, F where it is. Any number of weeks is cut from these.
PATTERNS = (
    "FFFFFFFFFFFF",  # never corrected
    "FFFFF.......",  # corrected
    "....FFFFFFFF",  # comes later
    "FFF...FFF...",  # comes back, and is corrected again
    "FF....FFFFFF",  # comes back
    "..F.........",  # a week alone
    "...........F",  # new in the last
)


@dataclass(frozen=True)
class Seeded:
    """A fault of a tile's terminal, what shows it, and the weeks in which it is there."""

    place: int
    kind: str
    weeks: str

    @property
    def rules(self) -> tuple[str, ...]:
        return CATALOGUE[self.kind].shows

    def id_in(self, tile: int, rule: str) -> str:
        """The id of its finding in a tile."""
        return f"T-{tile * TILE + self.place + 1:05d}/{rule}"


def seeded(weeks: int) -> list[Seeded]:
    """Give every fault of the synthetic building its weeks."""
    building = invented_building(TILE, SEED)
    places = {tag: place for place, tag in enumerate(building.terminals.index)}
    shown = [fault for fault in faults(building) if CATALOGUE[fault.kind].shows]
    placed = sorted(shown, key=lambda fault: KINDS.index(fault.kind))
    return [
        Seeded(places[fault.at], fault.kind, PATTERNS[number % len(PATTERNS)][:weeks])
        for number, fault in enumerate(placed)
    ]


def write_week(week: int, terminals: int, story: list[Seeded], folder: Path) -> None:
    """Simulate a week and write its exports, site file and schedule: CSV, a column for each point."""
    building = invented_building(TILE, SEED)
    tags = list(building.terminals.index)
    there = [Fault(one.kind, tags[one.place]) for one in story if one.weeks[week] == "F"]
    start = (pd.Timestamp(START) + pd.DateOffset(weeks=week)).strftime("%Y-%m-%d")
    recording = record(building, there, seed=SEED + week, start=start, days=7, step_minutes=5, climate=CLIMATE)
    of_terminals, of_handlers = stored_values(recording)
    trended = {name: values for name, values in of_terminals.items() if not np.isnan(values).all()}
    write_exports(Model(building, recording.time, trended, of_handlers), terminals, "wide", "csv", folder)


def as_found(review: Path) -> list[dict]:
    """Return what every review of a folder left, the first first."""
    return [
        json.loads(path.read_text("utf-8"))
        for path in (*sorted((review / "rounds").glob("*.json")), review / "findings.json")
    ]


def marks_of(told: list[dict]) -> dict[str, str]:
    """Return of every finding one letter a review: F found, N not judged, '.' neither."""
    ids = {finding["id"] for one in told for finding in one["findings"]}
    held = [({finding["id"] for finding in one["findings"]}, set(one["not_judged"])) for one in told]
    return {
        name: "".join("F" if name in found else "N" if name in unjudged else "." for found, unjudged in held)
        for name in ids
    }


def wrong_rows(marks: dict[str, str], told: list[dict], rounds: pd.DataFrame) -> list[str]:
    """Return the findings of which ``rounds.csv`` does not say what the reviews themselves say, one by one."""
    begins = [one["period"]["from"] for one in told]
    table = rounds.set_index("id")
    wrong = sorted({*marks} ^ {*table.index})
    for name, letters in marks.items():
        since, corrected, returns, row = None, "", 0, 0
        for number, mark in enumerate(letters):
            if mark == "F":
                returns += bool(corrected)
                since, row = (since, row + 1) if row else (begins[number], 1)
                corrected = ""
            elif mark == "." and row:
                row, corrected = 0, begins[number]
        said = table.loc[name]
        if (said["since"], said["corrected"], said["came_back"]) != (since, corrected, returns):
            wrong.append(name)
    return wrong


def stories_told(story: list[Seeded], marks: dict[str, str], terminals: int) -> tuple[int, int, list[str]]:
    """Hold the seeded faults' weeks against the weeks in which the reviews found them.

    Returns
    -------
    int, int, list of str
        The faults told by a rule that shows them in exactly their weeks (a week not judged fits any); all of them; and
        the others, with both.
    """
    right, every, others = 0, 0, []
    for tile in range(-(-terminals // TILE)):
        for one in story:
            if tile * TILE + one.place >= terminals:
                continue
            every += 1
            told = [marks.get(one.id_in(tile, rule), "." * len(one.weeks)) for rule in one.rules]
            if any(all(mark in ("N", week) for mark, week in zip(seen, one.weeks, strict=True)) for seen in told):
                right += 1
            else:
                others.append(f"{one.id_in(tile, one.rules[0])} {one.kind}: {one.weeks} told {' '.join(told)}")
    return right, every, others
