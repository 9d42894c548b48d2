"""File names of terminal pages: readable where they can be, safe always, and one each."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.report import page_name
from analyzer.report.names import natural_key


@pytest.mark.parametrize("tag", ["VAV-1-01", "FPB_12", "3.07", "A"])
def test_a_plain_tag_is_its_own_name(tag):
    assert page_name(tag) == f"{tag}.html"


@pytest.mark.parametrize(
    "tag",
    [
        "../../etc/passwd",
        "..",
        ".",
        "",
        "CON",
        "LPT1.X",
        "a/b",
        "a\\b",
        "VAV 1",
        "<b>",
        "a\x00b",
        "A..B",
        "A.",
        "-A",
        "Ä" * 300,
        "A" * 300,
    ],
)
def test_no_name_leaves_its_folder_or_takes_a_device(tag):
    name = page_name(tag)
    assert re.fullmatch(r"[A-Za-z0-9_-][A-Za-z0-9._~-]*\.html", name)
    assert ".." not in name
    assert "~" in name
    assert len(name) <= 80


def test_tags_that_differ_in_case_alone_get_names_that_differ_otherwise():
    names = {page_name(tag).casefold() for tag in ("VAV-1", "vav-1", "Vav-1", "vAV-1")}
    assert len(names) == 4


@given(st.text(max_size=80), st.text(max_size=80))
def test_two_tags_never_share_a_page(one, other):
    assert (page_name(one).casefold() == page_name(other).casefold()) == (one == other)


def test_names_are_the_same_in_every_run():
    assert page_name("Büro Ost/3") == "Buro-Ost-3~" + page_name("Büro Ost/3")[11:]
    assert page_name("../etc/passwd") == "etc-passwd~7fef78f5.html"


def test_numbers_sort_as_numbers():
    assert sorted(["VAV-10", "VAV-2", "vav-1", "VAV-²"], key=natural_key) == ["vav-1", "VAV-2", "VAV-10", "VAV-²"]
