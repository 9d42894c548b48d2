"""Tags of schedules: lists and runs; matched with those of exports, and never in silence."""

from __future__ import annotations

import pytest

from analyzer.schedule.match import match
from analyzer.schedule.tags import looks_like_tag, read_tags


@pytest.mark.parametrize(
    ("text", "tags"),
    [
        ("VAV-2-01", ["VAV-2-01"]),
        ("VAV-2-01 THRU 2-04", ["VAV-2-01", "VAV-2-02", "VAV-2-03", "VAV-2-04"]),
        ("VAV-2-09 thru VAV-2-11", ["VAV-2-09", "VAV-2-10", "VAV-2-11"]),
        ("VAV-2-01 – 03", ["VAV-2-01", "VAV-2-02", "VAV-2-03"]),
        ("VAV-2-01, 03 & 07", ["VAV-2-01", "VAV-2-03", "VAV-2-07"]),
        ("VAV-2-01, VAV-3-01", ["VAV-2-01", "VAV-3-01"]),
        ("TU 7 AND 8", ["TU 7", "TU 8"]),
        ("VAV-2-01*", ["VAV-2-01"]),
        ("△1 VAV-2-01", ["VAV-2-01"]),
        ("FPB-3-01\nFPB-3-02", ["FPB-3-01", "FPB-3-02"]),
    ],
)
def test_a_cell_names_its_terminals(text, tags):
    assert list(read_tags(text).tags) == tags


def test_a_run_that_is_none_is_told():
    assert "no run of tags" in read_tags("VAV-2-09 THRU FPB-1-02").problem
    assert "names 2 terminals and says 3" in read_tags("VAV-1 & 2 (TYP OF 3)").problem


@pytest.mark.parametrize(
    ("text", "is_one"), [("VAV-1", True), ("101", True), ("NOTES", False), ("", False), ("CFM", False)]
)
def test_what_looks_like_a_tag(text, is_one):
    assert looks_like_tag(text) is is_one


def test_tags_are_matched_exactly_then_spelled_alike_and_else_only_proposed():
    found = match(
        ["VAV-1-01", "VAV_1_2", "TU-1-03", "VAV-1-11", "VAV-9-09"],
        ["VAV-1-01", "vav-1-02", "FPB-1-03", "VAV-11-1", "X"],
    )
    assert found.spelled == {"VAV-1-01": "VAV-1-01", "VAV_1_2": "vav-1-02"}
    assert found.proposed == (("TU-1-03", "FPB-1-03"), ("VAV-1-11", "VAV-11-1"))
    assert found.only_scheduled == ("TU-1-03", "VAV-1-11", "VAV-9-09")
    assert found.only_exported == ("FPB-1-03", "VAV-11-1", "X")


def test_what_two_could_be_is_neither():
    found = match(["A-01", "A-1"], ["a-01", "A-001"])
    assert found.spelled == {"A-01": "a-01"}


def test_the_word_of_a_building_in_front_of_all_tags_is_no_part_of_them():
    found = match(["B-TU-001", "B-TU-002", "B-TU-003"], ["TU-1", "TU-002", "TU-003"])
    assert found.spelled == {"B-TU-001": "TU-1", "B-TU-002": "TU-002", "B-TU-003": "TU-003"}
    two = match(["A-TU-001", "B-TU-002", "B-TU-003"], ["TU-001", "TU-002", "TU-003"])
    assert two.spelled == {}
    bare = match(["VAV-1-01", "VAV-1-02", "VAV-1-03"], ["1-01", "1-02", "1-03"])
    assert bare.spelled == {} and len(bare.proposed) == 3


@pytest.mark.parametrize("size", ["24x24", "24 x 12", '12"x8"'])
def test_a_size_is_no_tag(size):
    assert not looks_like_tag(size)
