"""Every case folder: an export, how the site describes it, and the table and ledger that reading it must give.

A case holds ``export/``; ``case.toml`` with its title, the ledger's counts, fragments of what the reader says, or
fragments of the refusal; where needed ``site.toml``, ``points.csv`` and ``terminals.csv``; and ``expected.csv``
(``expected_air_handlers.csv``) with the rows and the quantities that are there, UTC and SI.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pandas as pd
import pytest

from analyzer.errors import UserError
from analyzer.intake import read_exports
from analyzer.site import Site, read_site
from analyzer.trends import AIR_HANDLER_COLUMNS, TERMINAL_COLUMNS, Trends
from tests.intake.counting import counted_cells

CASES = sorted(folder for folder in (Path(__file__).parent / "cases").iterdir() if folder.is_dir())
# Expected values are written with three decimals.
ROUNDED = 0.0006


def read_case(folder: Path) -> Trends:
    site = read_site(folder / "site.toml") if (folder / "site.toml").exists() else Site()
    return read_exports([folder / "export"], site)


@pytest.mark.parametrize("folder", CASES, ids=lambda folder: folder.name)
def test_case(folder):
    told = tomllib.loads((folder / "case.toml").read_text(encoding="utf-8"))
    assert told["title"]
    if "refused" in told:
        with pytest.raises(UserError) as refusal:
            read_case(folder)
        for words in told["refused"]:
            assert words in str(refusal.value)
        return
    with counted_cells() as cells:
        trends = read_case(folder)
    as_expected(trends.terminals, folder / "expected.csv", TERMINAL_COLUMNS)
    as_expected(trends.air_handlers, folder / "expected_air_handlers.csv", AIR_HANDLER_COLUMNS)
    ledger = trends.ledger
    assert ledger.cells_used == told["ledger"]["cells_used"]
    assert ledger.set_aside == told["ledger"]["set_aside"]
    assert ledger.not_data_lines == told["ledger"]["not_data_lines"]
    assert ledger.cells_read == sum(cells)
    unmapped = [column.column for file in ledger.files for column in file.columns if column.quantity is None]
    assert unmapped == told.get("unmapped", [])
    for words in told.get("says", []):
        assert any(words in sentence for sentence in ledger.assumptions), ledger.assumptions
    if "says" not in told:
        assert ledger.assumptions == []


def as_expected(found: pd.DataFrame, file: Path, columns: list[str]) -> None:
    """Compare a table with the file that tells it; a failure shows what was read, as such a file."""
    try:
        _compare(found, file, columns)
    except AssertionError as differs:
        moments = found["time"].dt.strftime("%Y-%m-%dT%H:%M:%SZ")
        read = found.assign(time=moments).dropna(axis=1, how="all").round(3).to_csv(index=False)
        raise AssertionError(f"{differs}\n{file} does not say what was read (work it out anew):\n{read}") from None


def _compare(found: pd.DataFrame, file: Path, columns: list[str]) -> None:
    """Compare the two; quantities that the file does not name must be empty."""
    assert list(found.columns) == columns
    if not file.exists():
        assert len(found) == 0
        return
    expected = pd.read_csv(file)
    key = columns[0]
    assert list(found[key].astype(object)) == list(expected[key])
    assert list(found["time"]) == list(pd.to_datetime(expected["time"], utc=True))
    for name in columns[2:]:
        want = expected[name] if name in expected else pd.Series(float("nan"), index=expected.index)
        pd.testing.assert_series_equal(
            found[name], want.astype(float), check_names=False, check_index=False, rtol=0, atol=ROUNDED, obj=name
        )
