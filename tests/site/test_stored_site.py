"""The site as a review keeps it: everything that later pages need comes back as it was."""

import dataclasses
import json

import pandas as pd
import pytest

from analyzer.errors import SiteError
from analyzer.places import demo_exports
from analyzer.site import Site, read_site
from analyzer.site.stored import read_stored_site, site_json

FILES = {
    "file",
    "terminals_file",
    "points_file",
    "rules_folder",
    "assumptions",
    "documents",
}  # where it came from is not kept


def stored(site: Site, folder) -> Site:
    (folder / "site.json").write_text(site_json(site), "utf-8")
    return read_stored_site(folder / "site.json")


def test_the_demo_site_comes_back_as_it_was(tmp_path):
    site = read_site(next(demo_exports().rglob("site.toml")))
    again = stored(site, tmp_path)
    blank_as_none = site.schedule.astype(object).where(site.schedule.notna(), None)
    pd.testing.assert_frame_equal(
        again.schedule.astype(object).where(again.schedule.notna(), None), blank_as_none, check_like=True
    )
    for field in dataclasses.fields(Site):
        if field.name not in FILES | {"schedule"}:
            assert getattr(again, field.name) == getattr(site, field.name), field.name


def test_a_site_without_a_schedule_or_hours_comes_back_too(tmp_path):
    again = stored(Site(name="Unnamed"), tmp_path)
    assert again.schedule.empty and list(again.schedule.columns) == list(Site().schedule.columns)
    assert again.occupied_hours is None and again.holidays == ()


@pytest.mark.parametrize(
    ("text", "told"), [("{", "cannot be read"), ("[]", "cannot be read"), ('{"format": "other"}', "'other'")]
)
def test_what_is_no_stored_site_is_refused(tmp_path, text, told):
    (tmp_path / "site.json").write_text(text)
    with pytest.raises(SiteError, match=told):
        read_stored_site(tmp_path / "site.json")
    whole = json.loads(site_json(Site()))
    del whole["tariff"]
    (tmp_path / "site.json").write_text(json.dumps(whole))
    with pytest.raises(SiteError, match="is damaged"):
        read_stored_site(tmp_path / "site.json")
