"""JSON documents in which tables lie nested: what stands around each list of samples says whose they are."""

from __future__ import annotations

import json

import pytest

from analyzer.errors import ExportError
from tests.intake.folders import read, tags, values

STAMPS = [f"2026-01-26 {h:02d}:{m:02d}" for h in (6, 7) for m in (0, 15, 30, 45)]
TEMPS = {"VAV-1": [20 + n / 2 for n in range(8)], "VAV-2": [24 - n / 2 for n in range(8)]}
FLOWS = {"VAV-1": [100.0 + n for n in range(8)], "VAV-2": [200.0 - n for n in range(8)]}
FIGURES = [stamp.translate(str.maketrans("", "", "- :")) + "00" for stamp in STAMPS]
POINTS = [
    (tag, name, unit, numbers[tag])
    for tag in TEMPS
    for name, unit, numbers in (("zoneTemp", "degC", TEMPS), ("airflow", "L/s", FLOWS))
]


def each(make) -> list:
    return [make(tag) for tag in TEMPS]


def named_at_every_level(outer: str, inner: str, name: str = "name") -> dict:
    """A name for the site, for every terminal and for every point, told apart by the lists in which they lie."""
    return {
        name: "Invented House",
        outer: each(
            lambda tag: {
                name: tag,
                inner: [
                    {
                        name: point,
                        "unit": unit,
                        "samples": [{"t": t, "v": number} for t, number in zip(STAMPS, numbers, strict=True)],
                    }
                    for of, point, unit, numbers in POINTS
                    if of == tag
                ],
            }
        ),
    }


DOCUMENTS = {
    "names at every level": named_at_every_level("terminals", "points"),
    "names at every level, under boxes": named_at_every_level("boxes", "trends", "id"),
    "names at every level, under words that say nothing": named_at_every_level("nodes", "children"),
    "lists in objects with their units": {
        "building": "Invented House",
        "terminals": each(
            lambda tag: {
                "terminal": tag,
                "time": FIGURES,
                "points": {
                    "zoneTemp": {"unit": "degC", "values": TEMPS[tag]},
                    "airflow": {"unit": "L/s", "values": FLOWS[tag]},
                },
            }
        ),
    },
    "stamps that are numbers": each(
        lambda tag: {"box": tag, "stamps": list(map(int, FIGURES)), "zoneTemp": TEMPS[tag], "airflow": FLOWS[tag]}
    ),
    "points in a list": each(
        lambda tag: {
            "device": tag,
            "timestamps": STAMPS,
            "series": [
                {"name": "zoneTemp", "unit": "degC", "data": TEMPS[tag]},
                {"name": "airflow", "unit": "L/s", "data": FLOWS[tag]},
            ],
        }
    ),
    "tags that are names": {tag: {"time": STAMPS, "zoneTemp": TEMPS[tag], "airflow": FLOWS[tag]} for tag in TEMPS},
    "rows within": {
        "data": each(
            lambda tag: {
                "terminal": tag,
                "rows": [
                    {"time": t, "zoneTemp": a, "airflow": b}
                    for t, a, b in zip(STAMPS, TEMPS[tag], FLOWS[tag], strict=True)
                ],
            }
        )
    },
    "pairs under the points' names": {
        f"{tag} {name}": [list(pair) for pair in zip(STAMPS, numbers, strict=True)] for tag, name, _, numbers in POINTS
    },
    "pairs beside the point's name": {
        "trends": [
            {
                "point": f"{tag} {name}",
                "unit": unit,
                "samples": [list(pair) for pair in zip(STAMPS, numbers, strict=True)],
            }
            for tag, name, unit, numbers in POINTS
        ]
    },
    "samples under terminal and point": {
        tag: {
            name: [{"time": t, "value": number} for t, number in zip(STAMPS, numbers, strict=True)]
            for of, name, _, numbers in POINTS
            if of == tag
        }
        for tag in TEMPS
    },
    "rows under the names of their columns": each(
        lambda tag: {
            "terminal": tag,
            "columns": ["time", "zoneTemp", "airflow"],
            "rows": [list(row) for row in zip(STAMPS, TEMPS[tag], FLOWS[tag], strict=True)],
        }
    ),
}


@pytest.mark.parametrize("document", DOCUMENTS.values(), ids=DOCUMENTS)
def test_tables_that_lie_nested(tmp_path, document):
    trends = read(tmp_path, {"export.json": json.dumps(document)})
    assert tags(trends) == ["VAV-1", "VAV-2"]
    for tag in TEMPS:
        assert values(trends, tag, "zone_temp") == TEMPS[tag]
        assert values(trends, tag, "primary_flow") == FLOWS[tag]
    assert list(trends.terminals["time"].dt.strftime("%Y-%m-%d %H:%M")) == STAMPS * 2
    assert trends.ledger.set_aside == {}


def test_terminals_of_one_name_in_two_buildings(tmp_path):
    document = {
        "buildings": [
            {"name": building, **{k: v for k, v in named_at_every_level("terminals", "points").items() if k != "name"}}
            for building in ("North", "South")
        ]
    }
    for terminal in document["buildings"][1]["terminals"]:
        for point in terminal["points"]:
            for sample in point["samples"]:
                sample["v"] += 1
    trends = read(tmp_path, {"export.json": json.dumps(document)})
    assert tags(trends) == ["North VAV-1", "North VAV-2", "South VAV-1", "South VAV-2"]
    assert values(trends, "South VAV-1", "zone_temp") == [number + 1 for number in TEMPS["VAV-1"]]


def test_units_that_differ_from_terminal_to_terminal(tmp_path):
    document = [
        {"terminal": tag, "time": STAMPS, "points": {"zoneTemp": {"unit": unit, "values": numbers}}}
        for tag, unit, numbers in (("VAV-1", "degC", [21.0] * 8), ("VAV-2", "degF", [77.0] * 8))
    ]
    trends = read(tmp_path, {"export.json": json.dumps(document)})
    assert values(trends, "VAV-1", "zone_temp") == [21.0] * 8
    assert values(trends, "VAV-2", "zone_temp") == [25.0] * 8


@pytest.mark.parametrize(
    ("document", "told"),
    [
        (
            [{"terminal": "VAV-1", "time": STAMPS, "zoneTemp": TEMPS["VAV-1"][:-1]}],
            "'zoneTemp' has 7 entries, the stamps",
        ),
        ([{"terminal": "VAV-1", "zoneTemp": {"values": TEMPS["VAV-1"]}}], "no column of time stamps"),
        ({"points": {"zoneTemp": {"unit": "degC"}, "airflow": {"unit": "L/s"}}}, "no rows of names and values"),
    ],
)
def test_lists_that_nothing_dates_are_refused(tmp_path, document, told):
    with pytest.raises(ExportError, match=told):
        read(tmp_path, {"export.json": json.dumps(document)})
