"""Terminals' and air handlers' exports together, without a schedule: used as far as they tell, never worse with one."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

import analyzer
from analyzer.draft import draft
from analyzer.places import demo_exports
from analyzer.site import read_site

SITE = '[site]\nname = "Quillfeather House"\ntime_zone = "America/Chicago"\nunits = "ip"\ndate_order = "month-first"\n'
ASKED = "The air handler of "


def reviewed(folder: Path, schedule: pd.DataFrame | None = None):
    """Review the demo's first week with nothing but a site file, and a schedule where one is given."""
    folder.mkdir(exist_ok=True)
    text = SITE
    if schedule is not None:
        schedule.to_csv(folder / "terminals.csv", index=False)
        text += 'terminals = "terminals.csv"\n'
    (folder / "site.toml").write_text(text, encoding="utf-8")
    site = read_site(folder / "site.toml")
    return analyzer.review(analyzer.read_trends(demo_exports() / "wide", site), site)


@pytest.fixture(scope="module")
def reviews(tmp_path_factory):
    """The demo without a schedule; with the kinds that were drafted; and with the air handlers named as well."""
    folder = tmp_path_factory.mktemp("without")
    bare = reviewed(folder / "bare")
    (folder / "drafted").mkdir()
    draft([demo_exports() / "wide"], read_site(folder / "bare" / "site.toml"), folder / "drafted", lambda line: None)
    drafted = pd.read_csv(folder / "drafted" / "terminals.csv", dtype=str)[
        ["terminal", "kind", "air_handler", "reheat"]
    ]
    known = pd.read_csv(demo_exports() / "terminals.csv", dtype=str).set_index("terminal")["air_handler"]
    kinds = reviewed(folder / "kinds", drafted.assign(air_handler=""))
    named = reviewed(folder / "named", drafted.assign(air_handler=drafted["terminal"].map(known)))
    return bare, kinds, named, folder


def faults(review) -> set[tuple[str, str]]:
    found = review.verdicts[review.verdicts["verdict"] == "fault"]
    return set(zip(found["terminal"], found["rule"], strict=True))


def judged(review) -> int:
    return int(review.verdicts["verdict"].isin(["fault", "clear"]).sum())


def seeded() -> set[tuple[str, str]]:
    known = pd.read_csv(demo_exports() / "truth.csv")
    known = known[known["week"] == "first"]
    return set(zip(known["terminal"], known["rule"], strict=True))


def test_air_handlers_are_read_kept_and_used(reviews):
    bare = reviews[0]
    assert {"AHU-1", "AHU-2"} <= set(bare.results.trends.air_handler_tags)
    owners = bare.results.site.schedule["air_handler"].dropna()
    known = pd.read_csv(demo_exports() / "terminals.csv", dtype=str).set_index("terminal")["air_handler"]
    assert len(owners) >= 20
    assert (owners == known.reindex(owners.index)).all()


def test_the_user_is_told_what_a_schedule_would_add(reviews):
    bare, _, named, _ = reviews
    (told,) = [sentence for sentence in bare.results.assumptions if sentence.startswith(ASKED)]
    assert "would add it" in told
    assert not any(sentence.startswith(ASKED) for sentence in named.results.assumptions)


def test_a_schedule_that_names_the_air_handlers_makes_nothing_worse(reviews):
    bare, kinds, named, _ = reviews
    for without in (bare, kinds):
        assert faults(without) & seeded() <= faults(named)
        assert len(faults(named) - seeded()) <= len(faults(without) - seeded())
        assert judged(named) >= judged(without)


def test_the_drafted_files_are_reviewed_as_they_are(reviews):
    bare, _, _, folder = reviews
    site = read_site(folder / "drafted")
    drafted = analyzer.review(analyzer.read_trends(demo_exports() / "wide", site), site)
    assert faults(bare) & seeded() <= faults(drafted)
    assert judged(drafted) >= judged(bare)
