"""JSON, zstd, headers of hundreds of kilobytes."""

from __future__ import annotations

import json
import zipfile

import pyarrow as pa
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import read, said, tags, values

ROWS = [
    {"time": f"2026-01-26T08:{m:02d}:00Z", "VAV-1 Zone Temp": 20 + m % 5, "VAV-1 Fan Status": m % 2 == 0}
    for m in range(10)
]
LINES = "".join(f"{json.dumps(row)}\n" for row in ROWS)
TEMPS = [20 + m % 5 for m in range(10)]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("log.jsonl", LINES),
        ("log.ndjson", LINES.replace("\n", "\r\n\r\n")),
        ("log.json", json.dumps(ROWS)),
        ("log.json", json.dumps({"name": "trend", "data": ROWS})),
        ("log.json", json.dumps({name: [row[name] for row in ROWS] for name in ROWS[0]})),
        ("log.jsonl", "".join(f'{json.dumps({"time": row["time"], "VAV-1": {"Zone Temp": row["VAV-1 Zone Temp"], "Fan Status": row["VAV-1 Fan Status"]}})}\n' for row in ROWS)),
        ("log.jsonl", "".join(f'{json.dumps({"time": row["time"], "point": name, "value": row[name]})}\n' for row in ROWS for name in list(row)[1:])),
    ],
)  # fmt: skip
def test_json(tmp_path, name, text):
    trends = read(tmp_path, {name: text})
    assert values(trends, "VAV-1", "zone_temp") == TEMPS
    assert values(trends, "VAV-1", "fan_status") == [1, 0] * 5


def test_a_last_line_of_json_that_breaks_off(tmp_path):
    trends = read(tmp_path, {"log.jsonl": LINES[:-30]})
    assert values(trends, "VAV-1", "zone_temp") == TEMPS[:-1]
    assert "the last line breaks off" in said(trends)


def test_a_line_that_is_no_json_is_named(tmp_path):
    path = tmp_path / "log.jsonl"
    path.write_text(LINES + "?\n" + LINES)
    with pytest.raises(ExportError, match="line 11: is no JSON"):
        read_exports([path], Site())


def test_json_that_is_no_export_is_passed_over_and_named(tmp_path):
    trends = read(tmp_path, {"log.jsonl": LINES, "settings.json": '{"colour": "blue"}'})
    assert "settings.json: holds no rows of names and values; the file was passed over" in said(trends)


CSV = "Time,VAV-1 Zone Temp\n" + "".join(f"2026-01-26 08:{m:02d},{temp}\n" for m, temp in enumerate(TEMPS))


@pytest.mark.parametrize("suffix", [".zst", ".zstd"])
@pytest.mark.parametrize("zipped", [False, True])
def test_zstd(tmp_path, suffix, zipped):
    packed = pa.Codec("zstd").compress(CSV.encode(), asbytes=True)
    if zipped:
        with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
            archive.writestr(f"log.csv{suffix}", packed)
    else:
        (tmp_path / f"log.csv{suffix}").write_bytes(packed)
    assert values(read_exports([tmp_path], Site()), "VAV-1", "zone_temp") == TEMPS
    (tmp_path / f"bad.csv{suffix}").write_bytes(b"no zstd at all")
    with pytest.raises(ExportError, match="cannot be unpacked"):
        read_exports([tmp_path], Site())


@pytest.mark.parametrize("columns", [12_000])
def test_a_header_of_hundreds_of_kilobytes(tmp_path, columns):
    names = [f"Building North Level {n // 100:03d} VAV-{n:05d} Zone Temp" for n in range(columns)]
    lines = [f"2026-01-26 08:{m:02d}," + ",".join([f"2{m % 5}.5"] * columns) for m in range(8)]
    trends = read(tmp_path, {"wide.csv": "Time," + ",".join(names) + "\n" + "\n".join(lines) + "\n"})
    assert trends.terminals["terminal"].nunique() == columns
    assert values(trends, f"VAV-{columns - 1:05d}", "zone_temp") == [20.5 + m % 5 for m in range(8)]


def test_headings_of_tags_in_camel_case(tmp_path):
    rows = "".join(
        f'{{"ts": {1768172400000 + n * 900000}, "unitId": "L2-VAV-0{tag}", "point": "ZoneTemperature", "value": 2{tag}, '
        f'"uom": "°C"}}\n'
        for n in range(4)
        for tag in (1, 2)
    )
    trends = read(tmp_path, {"stream.jsonl": rows})
    assert tags(trends) == ["L2-VAV-01", "L2-VAV-02"]
    assert values(trends, "L2-VAV-02", "zone_temp") == [22] * 4
