"""Tags that differ somewhere are as many terminals, or are refused by name; and one that can only be meant is found."""

from __future__ import annotations

import io

import pandas as pd
import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

import analyzer
from analyzer.errors import UserError
from tests.drawn import drawn

STAMPS = pd.date_range("2026-01-12", periods=8, freq="15min").strftime("%Y-%m-%d %H:%M")


def week(tags, quantity="ZN-T (degF)") -> str:
    """A wide export in which each tag has a temperature of its own."""
    table = pd.DataFrame({"Time": STAMPS})
    for number, tag in enumerate(tags):
        table[f"{tag}.{quantity}"] = [f"{68 + 0.01 * number + 0.001 * row:.3f}" for row in range(len(STAMPS))]
    stream = io.StringIO()
    table.to_csv(stream, index=False)
    return stream.getvalue()


def read(folder, tags, scheduled=None):
    folder.mkdir(exist_ok=True)
    (folder / "week.csv").write_text(week(tags), "utf-8")
    site = None
    if scheduled is not None:
        lines = "".join(f'"{tag}",single-duct\n' for tag in scheduled)
        (folder / "terminals.csv").write_text("terminal,kind\n" + lines, "utf-8")
        (folder / "site.toml").write_text('[site]\ntime_zone = "UTC"\nterminals = "terminals.csv"\n')
        site = analyzer.read_site(folder / "site.toml")
    return analyzer.read_trends(folder, site)


TOWER = [f"VAV-{floor}-{number}" for floor in range(1, 13) for number in range(1, 21)]


@pytest.mark.parametrize("scheduled", [None, TOWER], ids=["no schedule", "scheduled"])
def test_a_tower_of_twelve_storeys_has_as_many_terminals_as_tags(tmp_path, scheduled):
    assert sorted(read(tmp_path, TOWER, scheduled).tags) == sorted(TOWER)


@pytest.mark.parametrize(
    "tags",
    [("VAV-1-11", "VAV-11-1"), ("VAV-1-101", "VAV-11-01"), ("VAV-1a", "VAV-1A"), ("VAV-1-1", "VAV-1-01")],
    ids=" ".join,
)
@pytest.mark.parametrize("scheduled", [False, True], ids=["no schedule", "scheduled"])
def test_tags_that_were_once_taken_for_one(tmp_path, tags, scheduled):
    trends = read(tmp_path, tags, tags if scheduled else None)
    assert sorted(trends.tags) == sorted(tags)
    first = trends.terminals.groupby("terminal", observed=True)["zone_temp"].first()
    assert first[tags[0]] < first[tags[1]]  # each has its own values


@pytest.mark.parametrize(
    ("spelled", "scheduled"),
    [
        ("VAV-3-01", "VAV 3-1"), ("vav_3_1", "VAV 3-1"), ("VAV3-1", "VAV 3-1"), ("VAV-003-1", "VAV 3-1"),
        ("VAV-1-101", "1-101"), ("1-101", "VAV-1-101"), ("VAV304", "VAV-3-04"), ("VAV-3-04", "VAV304"),
    ],
)  # fmt: skip
def test_the_one_tag_that_can_be_meant_is_found(tmp_path, spelled, scheduled):
    assert read(tmp_path, [spelled], [scheduled, "VAV 9-9"]).tags == [scheduled]


@pytest.mark.parametrize(
    ("spelled", "scheduled"),
    [("VAV-11-1", ["VAV-1-11"]), ("VAV111", ["VAV-1-11", "VAV-11-1"]), ("VAV-3-1", ["VAV-03-1", "VAV-3-01"])],
)
def test_where_several_can_be_meant_or_another_is_none_is_taken(tmp_path, spelled, scheduled):
    assert read(tmp_path, [spelled], scheduled).tags == [spelled]


def test_an_exact_spelling_goes_before_another(tmp_path):
    assert read(tmp_path, ["VAV-3-01", "VAV-3-1"], ["VAV-3-1"]).tags == ["VAV-3-01", "VAV-3-1"]


def test_two_spellings_of_one_scheduled_tag_are_refused_with_both_names(tmp_path):
    with pytest.raises(UserError, match=r"'VAV-3-01' and 'VAV-03-1' may both be the schedule's 'VAV 3-1'\. Spell it"):
        read(tmp_path, ["VAV-3-01", "VAV-03-1"], ["VAV 3-1"])


def test_a_schedule_whose_tags_are_too_alike_is_refused_with_both_names(tmp_path):
    with pytest.raises(UserError, match=r"terminals\.csv: no name .* the terminals 'VAV-1-1' and 'VAV_1_1' apart"):
        read(tmp_path, ["VAV-1-1"], ["VAV-1-1", "VAV_1_1"])


def test_spellings_in_files_apart_are_one_terminal_where_their_values_agree(tmp_path):
    (tmp_path / "a.csv").write_text(week(["VAV-1-01"]))
    (tmp_path / "b.csv").write_text(week(["vav_1_01"]))
    trends = analyzer.read_trends(tmp_path)
    assert trends.tags == ["VAV-1-01"]
    (said,) = [note for note in trends.ledger.assumptions if "taken for one terminal" in note]
    assert "'VAV-1-01' and 'vav_1_01'" in said


number = st.integers(0, 120).map(str) | st.integers(0, 12).map(lambda n: f"{n:02}")
tag = st.builds(
    lambda word, gap, floor, between, unit, letter: f"{word}{gap}{floor}{between}{unit}{letter}",
    st.sampled_from(["VAV", "vav", "FPB", "TU"]), st.sampled_from(["-", " ", "_", ""]), number,
    st.sampled_from(["-", "_", " "]), number, st.sampled_from(["", "", "a", "A", "b"]),
)  # fmt: skip


@drawn(20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(tags=st.lists(tag, min_size=2, max_size=8, unique=True), scheduled=st.booleans())
def test_tags_that_differ_somewhere_are_as_many_terminals_or_refused(tmp_path, tags, scheduled):
    try:
        found = read(tmp_path, tags, tags if scheduled else None).tags
    except UserError as error:
        assert sum(repr(tag) in str(error) for tag in tags) >= 2, error
    else:
        assert len(found) == len(tags), found
    finally:
        for path in tmp_path.iterdir():
            path.unlink()
