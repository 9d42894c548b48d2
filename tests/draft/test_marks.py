"""The dots before a word of how sure a name's reading is."""

from importlib.resources import files

import pytest

from analyzer.draft.names import SURENESS

SHEET = (files("analyzer.draft") / "assets" / "draft.css").read_text(encoding="utf-8")


@pytest.mark.parametrize("certainty", [name for name in SURENESS if name not in ("sure", "point list")])
def test_what_is_less_than_sure_has_dots_of_its_own(certainty):
    assert f".{certainty.replace(' ', '-')}" in SHEET
