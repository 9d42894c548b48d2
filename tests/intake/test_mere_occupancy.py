"""An occupancy of what is plainly no terminal makes no terminal."""

from __future__ import annotations

import pytest

from analyzer.intake import read_exports
from analyzer.site import Site


def exported(tmp_path, people: int, rows: str = ""):
    """One terminal with a temperature, and so many people with an occupancy alone."""
    names = ["VAV-1 ZN-T (degF)", *(f"occ{n:02}_gender" for n in range(people))]
    lines = [f"2026-01-26 {hour:02}:00,{70 + hour % 3}" + f",{hour % 2}" * people for hour in range(24)]
    (tmp_path / "week.csv").write_text(",".join(["Time", *names]) + "\n" + "\n".join(lines) + "\n")
    site = Site()
    if rows:
        (tmp_path / "points.csv").write_text(rows)
        site = Site(points_file=tmp_path / "points.csv")
    return read_exports([tmp_path / "week.csv"], site)


@pytest.mark.parametrize(("people", "terminals"), [(4, 5), (5, 1)])
def test_tags_with_an_occupancy_alone_are_left_out_where_they_outnumber_the_terminals(tmp_path, people, terminals):
    trends = exported(tmp_path, people)
    assert len(trends.tags) == terminals
    said = [sentence for sentence in trends.ledger.assumptions if "no terminals" in sentence]
    assert len(said) == (terminals == 1)
    if said:
        assert "of 5 tags" in said[0] and "occ00_gender" in said[0]
        assert trends.ledger.set_aside == {"unmapped column": 5 * 24}


def test_the_point_list_can_say_otherwise(tmp_path):
    trends = exported(tmp_path, 5, "column,quantity\nocc*_gender,occupied\n")
    assert len(trends.tags) == 6
