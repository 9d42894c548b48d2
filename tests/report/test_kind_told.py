"""What type of terminal it is reads the same on the index, on its page and on the checklist."""

import re
from dataclasses import replace

import pytest

from analyzer.checklist.page import CHECKLIST, write_checklist
from analyzer.engine.wording import KINDS, forms
from analyzer.report import words, write_report
from analyzer.report.names import page_name
from tests.report.invented_building import invented_results


@pytest.mark.parametrize("may_be", ["single-duct", "parallel", ""])
def test_an_inferred_type_is_told_the_same_everywhere(tmp_path, may_be):
    results = invented_results(terminals=3)
    schedule = results.site.schedule.copy()
    schedule["kind"] = None
    results.site = replace(results.site, schedule=schedule)
    tag = results.findings[0].terminal
    results.may_be = {own: forms([may_be] if may_be else KINDS) for own in schedule.index}
    write_report(results, tmp_path)
    write_checklist(results, tmp_path)
    named = f"{words.KINDS[may_be]} (inferred)" if may_be else "type not scheduled"
    inferred = f" (inferred: {words.KINDS[may_be]})" if may_be else ""
    assert f"Terminal type not scheduled{inferred}." in _text(tmp_path / "terminals" / page_name(tag))
    for page in ("index.html", CHECKLIST):
        assert f" · {named}" in _text(tmp_path / page), page


def test_a_scheduled_type_is_told_without_a_doubt(tmp_path):
    results = invented_results(terminals=3)
    results.may_be = {}
    tag = results.findings[0].terminal
    kind = words.KINDS[results.site.schedule.loc[tag, "kind"]]
    write_report(results, tmp_path)
    write_checklist(results, tmp_path)
    assert f"{kind.capitalize()} terminal." in _text(tmp_path / "terminals" / page_name(tag))
    for page in ("index.html", CHECKLIST):
        assert f" · {kind}" in _text(tmp_path / page)
        assert "inferred" not in _text(tmp_path / page)


def _text(path) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", path.read_text("utf-8")))
