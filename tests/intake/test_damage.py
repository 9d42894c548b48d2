"""Damaged files: a balanced ledger or one clear sentence, never anything else."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
from hypothesis import HealthCheck, example, given
from hypothesis import strategies as st

from analyzer.errors import UserError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.drawn import drawn
from tests.intake.counting import counted_cells
from tests.intake.test_round_trip import PHASES
from tests.intake.writing import LAYOUTS, SPELLING, Building, Dialect, write


def a_day() -> Building:
    """Two terminals over six hours at 15 minutes, with every quantity and a few empty cells."""
    building = Building(pd.date_range("2026-01-14 06:00", periods=24, freq="15min", tz="UTC"), "America/Chicago")
    random = np.random.default_rng(5)
    for tag in ("VAV-1-01", "FPB-2-11"):
        for name, (_, _, decimals) in SPELLING.items():
            number = np.round(random.uniform(62, 80, 24), decimals)
            building.numbers[tag, name] = (number > 70).astype(float) if name == "fan_status" else number
            building.numbers[tag, name][random.random(24) < 0.1] = np.nan
    return building


def exports() -> dict[str, list[tuple[str, bytes]]]:
    """Return the files of every layout, and of the stores that are no text."""
    found = {}
    cases = [(layout, "text", Dialect(preamble=2, footer=True)) for layout in LAYOUTS]
    cases += [("wide", store, Dialect()) for store in ("gzip", "zip", "xlsx", "parquet")]
    cases += [("long", "text", Dialect(delimiter=";", decimal=",", encoding="utf-16"))]
    for layout, store, dialect in cases:
        with tempfile.TemporaryDirectory() as folder:
            write(a_day(), layout, store, dialect, Path(folder))
            files = [(path.name, path.read_bytes()) for path in sorted(Path(folder).iterdir())]
            found[f"{layout}, {store}, {dialect.encoding}"] = files[:3]
    return found


EXPORTS = exports()
DAMAGES = ("cut", "flip", "double", "drop lines", "swap lines", "empty a line", "insert", "quote", "long cell", "zero")


def damage(data: bytes, kind: str, at: float, size: int, letter: int) -> bytes:
    """Damage a file at a share of its length."""
    place = int(at * len(data))
    lines = data.split(b"\n")
    row = int(at * len(lines))
    if kind == "cut":
        return data[:place]
    if kind == "flip":
        return data[:place] + bytes(b ^ letter for b in data[place : place + size]) + data[place + size :]
    if kind == "double":
        return data + data[place:]
    if kind == "drop lines":
        return b"\n".join(lines[:row] + lines[row + size :])
    if kind == "swap lines":
        return b"\n".join(lines[row:] + lines[:row])
    if kind == "empty a line":
        return b"\n".join([*lines[:row], b"", *lines[row + 1 :]])
    if kind == "insert":
        return data[:place] + bytes([letter]) * size + data[place:]
    if kind == "quote":
        return data[:place] + b'"' + data[place:]
    if kind == "long cell":
        return data[:place] + b"9" * (size * 200) + data[place:]
    return data[:place] + b"\x00" * size + data[place + size :]


@drawn(50, phases=PHASES, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.sampled_from(sorted(EXPORTS)),
    st.lists(
        st.tuples(st.sampled_from(DAMAGES), st.floats(0, 0.999), st.integers(1, 40), st.integers(1, 255)),
        min_size=1,
        max_size=3,
    ),
    st.integers(0, 2),
)
@example(
    "tidy, text, utf-8",
    [
        ("drop lines", 0.5288983104461622, 1, 123),
        ("insert", 0.637817727971616, 10, 152),
        ("flip", 0.5288983104461622, 1, 42),
    ],
    0,
)
def test_a_damaged_file_is_read_or_refused(export, damages, which):
    files = EXPORTS[export]
    with tempfile.TemporaryDirectory() as folder:
        for number, (name, data) in enumerate(files):
            for kind, at, size, letter in damages if number == which % len(files) else ():
                data = damage(data, kind, at, size, letter)
            (Path(folder) / name).write_bytes(data)
        try:
            with counted_cells() as cells:
                told = read_exports([folder], Site(time_zone="America/Chicago", date_order="month-first")).ledger
        except UserError as refusal:
            assert folder in str(refusal) or refusal.where is not None
            assert "\n" not in str(refusal)
            assert len(str(refusal)) < 1000
        else:
            assert told.cells_read == sum(cells)
