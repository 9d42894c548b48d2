"""Several rows of headers: quantities, units and terminals in rows of their own, in any order."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values

QUANTITIES = "Quantity;Space temperature;;Primary airflow;;Fan running;"
UNITS = "Unit;°F;;cfm;;yes/no;"
TERMINALS = "Terminal;VAV-1;VAV-2;VAV-1;VAV-2;VAV-1;VAV-2"
ROWS = "".join(f"2026-01-26 08:{n:02d};{68 + n};{69 + n};100;200;no;yes\n" for n in range(6))


@pytest.mark.parametrize(
    "head",
    [
        (QUANTITIES, UNITS, TERMINALS),
        (QUANTITIES, TERMINALS, UNITS),
        (QUANTITIES, "Unit;°F;°F;cfm;cfm;yes/no;yes/no", TERMINALS),
        (UNITS, QUANTITIES, TERMINALS),
        ("Building of the annex", QUANTITIES, UNITS, TERMINALS),
    ],
)
def test_a_unit_over_a_quantity_is_that_of_all_its_terminals(tmp_path, head):
    trends = read(tmp_path, {"annex.txt": "\n".join(head) + "\n" + ROWS})
    assert tags(trends) == ["VAV-1", "VAV-2"]
    assert values(trends, "VAV-2", "zone_temp")[0] == pytest.approx(20.556)
    assert values(trends, "VAV-2", "primary_flow") == [pytest.approx(94.389, abs=0.001)] * 6
    assert values(trends, "VAV-2", "fan_status") == [1] * 6
    assert trends.ledger.not_data_lines["units row"] == 1
    assert "was read in" not in said(trends)


def test_a_unit_among_several_quantities_is_that_of_its_column_alone(tmp_path):
    head = "Terminal;VAV-1;;VAV-2;\nTime;Space temp;Airflow;Space temp;Airflow\n;°F;;°F;\n"
    rows = "".join(f"2026-01-26 08:{n:02d};{68 + n};100;{69 + n};200\n" for n in range(6))
    trends = read(tmp_path, {"annex.txt": head + rows})
    assert values(trends, "VAV-2", "zone_temp")[0] == pytest.approx(20.556)
    assert "Primary airflow at the inlet sensor was read in cfm" in said(trends)
