"""A value out of range in a stored table: the review stands, and says in the command and the report which row it is."""

from __future__ import annotations

import json
import shutil

import pyarrow as pa
import pyarrow.parquet as pq

from tests.reliability.test_earlier_releases import EARLIER


def test_a_value_out_of_range_is_named_with_its_row(trendwright, tmp_path):
    stored = pq.read_table(EARLIER / "review" / "trends.parquet")
    temperatures = stored["zone_temp"].to_pylist()
    temperatures[700] = 999.0
    at = stored.schema.get_field_index("zone_temp")
    spoiled = stored.set_column(at, "zone_temp", pa.array(temperatures, pa.float64()))
    pq.write_table(spoiled.replace_schema_metadata(stored.schema.metadata), tmp_path / "trends.parquet")
    shutil.copytree(EARLIER / "exports", tmp_path / "exports")
    ran = trendwright("review", "trends.parquet", "--site", "exports/site.toml", "-q", cwd=tmp_path)
    assert ran.status == 0, ran.err
    row = {column: stored[column][700].as_py() for column in ("terminal", "time")}
    place = f"{row['terminal']} {row['time']:%Y-%m-%d %H:%M}"
    assert "data check failed: zone_temp is expected at -20 to 60 degC; 1 rows are not" in ran.out
    assert place in ran.out and "(999.0)" in ran.out
    contract = json.loads((tmp_path / "review" / "ledger.json").read_text("utf-8"))["contract"]
    assert contract["rows"] == len(stored) and not contract["success"]
    checks = contract["expectations"]
    assert f"{checks - 1} of {checks} passed" in (tmp_path / "review" / "index.html").read_text("utf-8")
