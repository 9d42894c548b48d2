"""Functional tests as data: one terminal whose trends a case writes as ``tests/rules/case_trends.py`` does."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from analyzer.functional.limits import response_limits
from analyzer.functional.table import Outcome, outcomes
from analyzer.site import Site
from analyzer.site.functional_tests import left_out_for
from analyzer.site.model import FunctionalTest
from analyzer.trends import Trends
from tests.rules.case_trends import START, Case, site_of, trends_of


def at(clock: str) -> pd.Timestamp:
    """A moment of the cases' first day."""
    hour, minute = map(int, clock.split(":"))
    return START + pd.Timedelta(hours=hour, minutes=minute)


def told_site(trends: dict, steps: tuple[str, ...] = (), **told) -> tuple[Trends, Site]:
    """Return the trends and the site of a test from 08:00 to 12:00; samples every minute unless told otherwise."""
    changes = told.pop("changes", {})
    case = Case("none", {"name": "a test", "interval": "1 min", **told, "trends": trends})
    test = FunctionalTest(at("08:00"), at("12:00"), "a test", ("TU-1",), steps)
    site = replace(site_of(case), functional_tests=(test,), excluded=left_out_for([test]), response_changes=changes)
    return trends_of(case), site


def judged(trends: dict, steps: tuple[str, ...] = (), **told) -> list[Outcome]:
    """Return what comes of such a test."""
    given, site = told_site(trends, steps, **told)
    return outcomes(given, site, site.functional_tests[0], response_limits(site))
