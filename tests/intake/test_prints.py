"""Tables as query tools and report writers print them: rules under headings, pages, a count of rows at the end."""

from __future__ import annotations

import pytest

from analyzer.errors import ExportError
from tests.intake.folders import read, tags, values

ROWS = [(f"2026-01-26 08:{m:02d}", f"VAV-{n}", 68 + m % 3, 300 + m + n) for m in range(12) for n in (1, 2)]
TEMPS = [round((68 + m % 3 - 32) / 1.8, 3) for m in range(12)]


def bars(rule: str, *, around: str = "", edges: bool = True, count: str = "24 records", every: int = 0) -> str:
    """Return a printed query; ``around`` is the line above and below the table."""
    heading = "logged_at        | unit_tag | room_temp_f | flow_cfm"
    rows = [f"{t} | {tag:<8} | {temp:>11} | {flow:>8}" for t, tag, temp, flow in ROWS]
    if every:
        rows = [
            line for n, row in enumerate(rows) for line in ([heading, rule, row] if n and n % every == 0 else [row])
        ]
    lines = [heading, rule, *rows]
    lines = [line if line == rule else f"| {line} |" if edges else f" {line}" for line in lines]
    return "\n".join([*filter(None, [around]), *lines, *filter(None, [around]), "", count]) + "\n"


@pytest.mark.parametrize(
    "text",
    [
        bars("|==================|==========|=============|==========|"),
        bars(
            "+------------------+----------+-------------+----------+", around="+------------------+----------+---+---+"
        ),
        bars("------------------+----------+-------------+----------", edges=False, count="(24 rows)"),
        bars("|:---|:---:|---:|---:|", count="24 rows in set (0.01 sec)"),
        bars("|==================|==========|=============|==========|", every=5),
    ],
)
def test_a_printed_query(tmp_path, text):
    trends = read(tmp_path, {"query.txt": text})
    assert tags(trends) == ["VAV-1", "VAV-2"]
    assert values(trends, "VAV-1", "zone_temp") == values(trends, "VAV-2", "zone_temp") == TEMPS
    assert "unreadable timestamp" not in trends.ledger.set_aside or not trends.ledger.set_aside["unreadable timestamp"]


def test_two_printed_queries_one_below_another(tmp_path):
    rule = "|------|------|"
    first = "\n".join(["| time | VAV-1 Zone Temp (F) |", rule, *(f"| 2026-01-26 08:{m:02d} | 70 |" for m in range(9))])
    second = "\n".join(["| time | VAV-2 Flow (L/s) |", rule, *(f"| 2026-01-26 08:{m:02d} | 200 |" for m in range(9))])
    trends = read(tmp_path, {"query.txt": f"{first}\n\n{second}\n"})
    assert values(trends, "VAV-1", "zone_temp") == [21.111] * 9
    assert values(trends, "VAV-2", "primary_flow") == [200] * 9


def test_a_rule_with_commas_and_values_of_dashes(tmp_path):
    rows = [f"2026-01-26 08:{m:02d},{'---' if m % 2 else 70}" for m in range(8)]
    trends = read(tmp_path, {"t.csv": "\n".join(["Time,VAV-1 Zone Temp (F)", "---,---", *rows]) + "\n"})
    assert values(trends, "VAV-1", "zone_temp") == [21.111] * 4


HEADING = "DATE        TIME   ZONE TEMP     AIRFLOW\n                       DEG F         CFM\n"


def pages(titles: list[str], *, again: str = HEADING) -> str:
    """Return a report of a few rows a page."""
    out = []
    for n, title in enumerate(titles):
        rows = [f"03/23/2026  {8 + n:02d}:{m:02d}       {68 + m % 3}.0  {300 + m:>10}" for m in range(12)]
        out.append(f"{title}\n\n{again if n else HEADING}" + "\n".join(rows) + "\n")
    return "\n".join(out)


@pytest.mark.parametrize("suffix", [".prn", ".rpt", ".lst", ".asc", ".txt"])
def test_a_print_with_its_heading_on_every_page(tmp_path, suffix):
    text = pages([f"TREND REPORT    UNIT VAV-1    PAGE {n} OF 3" for n in (1, 2, 3)])
    trends = read(tmp_path, {f"VAV-1{suffix}": text})
    assert tags(trends) == ["VAV-1"]
    assert values(trends, "VAV-1", "zone_temp") == TEMPS * 3
    assert values(trends, "VAV-1", "primary_flow") == [round((300 + m) * 0.471947, 3) for m in range(12)] * 3


@pytest.mark.parametrize("name", ["report.prn", "VAV-1.prn"])
def test_a_page_of_another_terminal_is_not_the_first_ones(tmp_path, name):
    text = pages([f"TREND REPORT    UNIT VAV-{n}    PAGE {n} OF 2" for n in (1, 2)])
    with pytest.raises(ExportError):
        read(tmp_path, {name: text})
