"""A draft that nobody edits reads as the exports did without one: the same table, whatever the shape."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from analyzer.draft import draft
from analyzer.errors import UserError
from analyzer.intake import read_exports
from analyzer.places import demo_exports
from analyzer.site import Site, read_site
from analyzer.trends import Trends
from tests.drawn import drawn
from tests.intake.test_round_trip import ORDERS, PHASES, buildings, dialects, same_table
from tests.intake.writing import LAYOUTS, STORES, write

CASES = Path(__file__).parent / "cases"


def held_together(exports: Path, known: Site, out: Path) -> None:
    """Read exports as they are, and with what was drafted of them, and hold the two together."""
    bare = read_exports([exports], known)
    draft([exports], known, out, lambda line: None)
    drafted = read_exports([exports], read_site(out))
    same_table(drafted.terminals, bare.terminals)
    pd.testing.assert_frame_equal(_plain(drafted), _plain(bare))
    assert drafted.ledger.set_aside == bare.ledger.set_aside
    assert drafted.ledger.cells_used == bare.ledger.cells_used


def _plain(trends: Trends) -> pd.DataFrame:
    return trends.air_handlers.astype({"air_handler": object}).sort_values(["air_handler", "time"], ignore_index=True)


def cases() -> list[str]:
    return sorted(path.parent.name for path in CASES.glob("*/export"))


@pytest.mark.parametrize("case", cases())
def test_the_draft_of_a_case_reads_as_the_case_does(case, tmp_path):
    try:
        read_exports([CASES / case / "export"], Site())
    except UserError as error:
        pytest.skip(f"refused without its description: {error}")
    held_together(CASES / case / "export", Site(), tmp_path / "out")


@pytest.mark.parametrize("shape", ["wide", "long", "parquet"])
def test_the_draft_of_the_demo_reads_as_the_demo_does(shape, tmp_path):
    held_together(demo_exports() / shape, Site(), tmp_path / "out")


@drawn(20, phases=PHASES, suppress_health_check=[HealthCheck.too_slow])
@given(buildings(), st.sampled_from(LAYOUTS), st.sampled_from(STORES), dialects())
def test_the_draft_of_a_building_reads_as_the_building_does(building, layout, store, dialect):
    with tempfile.TemporaryDirectory() as folder:
        exports = Path(folder, "exports")
        exports.mkdir()
        write(building, layout, store, dialect, exports)
        held_together(exports, Site(date_order=ORDERS.get(dialect.stamp)), Path(folder, "out"))
