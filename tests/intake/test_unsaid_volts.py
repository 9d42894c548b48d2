"""Positions without a unit that are volts: what tells them, just below and just above each bound."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from tests.intake.folders import read, said

TOLD = "as no damper or valve of the exports passes 10 while airflow varies widely"


def trend(
    *,
    lowest: float = 0.0,
    highest: float = 10.0,
    samples: int = 500,
    most: float = 600.0,
    unit: str = "",
    more: str = "",
) -> str:
    """Write a terminal's trend: two signals over so many rows, and airflow from 200 cfm to ``most``, at times none."""
    turn = np.linspace(0, 1, 11)[np.arange(samples) % 11]
    damper = lowest + turn * (highest - lowest)
    flow = np.where(np.arange(samples) % 11 == 5, 0, np.where(turn < 0.5, 200.0, most))
    stamps = pd.date_range("2026-01-26", periods=samples, freq="5min")
    rows = zip(stamps, damper, np.minimum(turn * 3, highest), flow, strict=True)
    head = f"Time,VAV-1 Damper{unit},VAV-1 Reheat Valve,VAV-1 Airflow (cfm)"
    body = "".join(f"{stamp:%Y-%m-%d %H:%M},{a:.2f},{b:.2f},{c:.1f}{more}\n" for stamp, a, b, c in rows)
    return f"{head}{',VAV-2 Damper' * bool(more)}\n{body}"


@pytest.mark.parametrize(
    ("changed", "span"),
    [
        ({}, "0-10 V"),
        ({"samples": 499}, None),
        ({"highest": 9.91}, "0-10 V"),
        ({"highest": 9.89}, None),
        ({"highest": 10.09}, "0-10 V"),
        ({"highest": 10.11}, None),
        ({"most": 401}, "0-10 V"),
        ({"most": 399}, None),
        ({"lowest": -0.09}, "0-10 V"),
        ({"lowest": -0.11}, None),
        ({"lowest": 1.89}, "0-10 V"),
        ({"lowest": 1.91}, "2-10 V"),
        ({"lowest": 2.09}, "2-10 V"),
        ({"lowest": 2.11}, "0-10 V"),
        ({"unit": " (%)"}, None),
        ({"unit": " (V)"}, None),  # told, and not for these values to say
        ({"more": ",9.5"}, "0-10 V"),
        ({"more": ",11"}, None),
        ({"more": ",255"}, "0-10 V"),  # a code
    ],
)
def test_what_tells_volts(tmp_path, changed, span):
    trends = read(tmp_path, {"log.csv": trend(**changed)})
    assert (TOLD in said(trends)) is (span is not None)
    if span:
        sentence = next(each for each in trends.ledger.assumptions if TOLD in each and "VAV-1 Damper" in each)
        assert f" read in {span}" in sentence
        damper = trends.terminals.query("terminal == 'VAV-1'")["damper_position"].dropna()
        assert damper.max() == pytest.approx(100, abs=1.3)
        assert trends.terminals["reheat_position"].max() == pytest.approx(30)  # its namesakes' span is its own


def test_valves_that_barely_open_are_no_volts(tmp_path):
    text = trend().replace("Damper", "Reheat Output")
    assert TOLD not in said(read(tmp_path, {"log.csv": text}))
