"""The demo with its schedule and balancing report as they come: what its trends allow is judged."""

from __future__ import annotations

import re

import pandas as pd
import pytest

# How a reason tells what kept a check from a verdict, the first that fits; docs/method.md says what the trends allow.
TREND, INTERVAL, DARK, NO_STATE, DESIGN = "trend", "interval", "in the dark", "the state did not come", "design value"
_TOLD = (
    (DESIGN, r"in the terminal schedule"),
    (NO_STATE, r": [\d.]+ h of the [\d.]+ h required(?!.*samples are missing)|^fewer than three steps"),
    (INTERVAL, r"^logging interval too long to show it: "),
    (TREND, r"^missing: "),
    (DARK, r"only [\d.,]+ h of [\d.,]+ h could be judged"),
)


def why_not(reason: str) -> str:
    """Return what kept a check from a verdict; a ``ValueError`` where its reason is of none of these."""
    for why, pattern in _TOLD:
        if re.search(pattern, reason):
            return why
    raise ValueError(reason)


@pytest.fixture(scope="module")
def with_documents(trendwright, tmp_path_factory):
    """The verdicts of the demo, its schedule drafted from the drawings' workbook and the balancing report's PDF."""
    room = tmp_path_factory.mktemp("documents")
    documents = ["demo/documents/terminal_schedule.xlsx", "demo/documents/balancing_report.pdf"]
    for call in (
        ["demo", "demo"],
        ["draft", "demo", "--schedule", *documents, "--out", "draft", "-q"],
        ["review", "demo", "--site", "draft/site.toml", "--out", "review", "-q"],
    ):
        ran = trendwright(*call, cwd=room)
        assert ran.status == 0, ran.err
    return pd.read_csv(room / "review" / "verdicts.csv", keep_default_na=False)


def test_of_what_the_trends_allow_at_least_95_per_cent_is_judged(with_documents):
    judged = with_documents["verdict"] != "not-judged"
    left = with_documents.loc[~judged, "reason"].map(why_not)
    counted_against = left.isin([DARK, DESIGN]).sum()
    assert judged.sum() > 1000
    assert judged.sum() / (judged.sum() + counted_against) >= 0.95, left.value_counts()


def test_no_check_waits_for_a_design_value(with_documents):
    left = with_documents.loc[with_documents["verdict"] == "not-judged", "reason"]
    assert left[left.map(why_not) == DESIGN].tolist() == []


@pytest.mark.parametrize(
    ("reason", "why"),
    [
        ("missing: the trend discharge_flow, or plenum_temp; only 0.0 h of 37.1 h could be judged", TREND),
        ("missing: primary_max in the terminal schedule", DESIGN),
        ("not enough cooling demand: 0.1 h of the 1.0 h required; 3.0 h were left out of judging", NO_STATE),
        ("not enough cooling demand: 0.0 h of the 1.0 h required; also samples are missing or too far apart: zone_temp "
         "has 1,727 samples of 2,016; only 0.0 h of 12.5 h could be judged", DARK),
        ("logging interval too long to show it: primary_flow; 2 min or less is needed, or a log on every change", INTERVAL),
        ("not enough time with the fan at full speed: only 0.0 h of 67.9 h could be judged", DARK),
    ],
)  # fmt: skip
def test_a_reason_is_told_for_what_it_is(reason, why):
    assert why_not(reason) == why


def test_a_reason_of_no_known_kind_is_no_excuse():
    with pytest.raises(ValueError, match="for no reason"):
        why_not("for no reason")
