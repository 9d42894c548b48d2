"""SPT stands for a space temperature or for a setpoint: the values tell."""

import pytest

from analyzer.intake import read_exports
from analyzer.site import Site


@pytest.mark.parametrize(
    ("values", "beside", "quantity"),
    [
        ([70.1 + n % 7 / 10 for n in range(48)], "", "zone_temp"),
        ([70.0 if n < 30 else 72.0 for n in range(48)], "", "effective_setpoint"),
        ([70.1 + n % 7 / 10 for n in range(48)], "ZN-T", "effective_setpoint"),
    ],
    ids=["changes all the time", "its twin changes once", "its twin stands beside a zone temperature"],
)
def test_spt_is_what_its_values_say(tmp_path, values, beside, quantity):
    heads = ["Time", "VAV-1 SPT (degF)", "VAV-1 FLOW (cfm)", *([f"VAV-1 {beside} (degF)"] if beside else [])]
    rows = [
        ",".join([f"2026-01-26 {n // 2:02}:{n % 2 * 30:02}", f"{value:.1f}", "300", *(["71.2"] if beside else [])])
        for n, value in enumerate(values)
    ]
    (tmp_path / "trend.csv").write_text("\n".join([",".join(heads), *rows]), "utf-8")
    trends = read_exports([tmp_path / "trend.csv"], Site())
    there = [name for name in ("zone_temp", "effective_setpoint") if trends.terminals[name].notna().any()]
    assert there == (["zone_temp", "effective_setpoint"] if beside else [quantity])
    if not beside:
        said = [sentence for sentence in trends.ledger.assumptions if "SPT" in sentence]
        assert len(said) == 1
