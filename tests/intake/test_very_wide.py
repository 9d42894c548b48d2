"""Tables of thousands of columns: what their first rows do not show is read all the same."""

from __future__ import annotations

import pytest

from tests.intake.folders import read


@pytest.mark.parametrize("width", [5_000, 5_001])
@pytest.mark.parametrize("late", ["---", "#N/A", "fault"])
def test_a_spelling_of_a_missing_value_that_turns_up_late(tmp_path, width, late):
    width -= 1  # beside the stamps
    names = [f"VAV-{n // 50 + 1}-{n % 50 + 1} ZN-T (degC)" for n in range(width)]
    rows = [[f"2026-01-26 {n // 4:02d}:{n % 4 * 15:02d}", *["20.5"] * width] for n in range(60)]
    rows[1][3], rows[55][7] = "", late
    trends = read(tmp_path, {"wide.csv": "\n".join(map(",".join, [["Time", *names], *rows])) + "\n"})
    flagged = late == "fault"
    assert trends.ledger.set_aside == {"missing value": 2 - flagged} | ({"flagged by the source": 1} if flagged else {})
    assert trends.ledger.cells_used == 60 * width - 2
