"""Findings and verdicts as files: ``findings.json``, ``findings.csv``, ``verdicts.csv``, the issue log."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd

from analyzer.findings.results import VERDICT_COLUMNS, Finding, Results

FORMAT = "trendwright-findings/1"
# A spreadsheet takes a text that begins with one of these for a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
# Who acts on a finding, proposed by its impact; the reader corrects it.
_ACTS = {
    "safety": "controls and mechanical",
    "ventilation": "controls, then balancing",
    "comfort": "controls",
    "energy": "controls",
    "equipment": "controls",
    "data": "balancing",
}
STATUSES = ("open", "answered", "mended", "accepted as is", "not agreed")


def findings_json(results: Results) -> str:
    """Return the text of ``findings.json``; times are ISO 8601 with the site's offset."""
    zone = results.site.time_zone
    first, last = results.period
    told = {
        "format": FORMAT,
        "site": results.site.name,
        "period": {"from": first.isoformat(), "to": last.isoformat()},
        "findings": [_told(finding, zone) for finding in results.findings],
    }
    return json.dumps(told, indent=1, ensure_ascii=False)


def _told(finding: Finding, zone: str) -> dict:
    return {
        "id": finding.id,
        "terminal": finding.terminal,
        "air_handler": finding.air_handler,
        "rule": finding.rule,
        "title": finding.title,
        "severity": finding.severity,
        "impact": finding.impact,
        "confidence": finding.confidence,
        "from": _iso(finding.start, zone),
        "to": _iso(finding.end, zone),
        "fault_hours": finding.fault_hours,
        "judged_hours": finding.judged_hours,
        "episodes": [{"from": _iso(e.start, zone), "to": _iso(e.end, zone)} for e in finding.episodes],
        "measures": {name: {"value": round(m.value, 4), "unit": m.unit} for name, m in finding.measures.items()},
        "summary": finding.summary,
        "why_it_matters": finding.why_it_matters,
        "likely_causes": list(finding.likely_causes),
        "next_steps": list(finding.next_steps),
        "retest": finding.retest,
        "caution": finding.caution,
    }


def findings_table(results: Results) -> pd.DataFrame:
    """Return the findings as a table, ranked, with empty columns for the contractor's answer."""
    zone, schedule = results.site.time_zone, results.site.schedule
    rows = [
        {
            "id": finding.id,
            "terminal": finding.terminal,
            "air_handler": finding.air_handler or "",
            "floor": _scheduled(schedule, finding.terminal, "floor"),
            "zone": _scheduled(schedule, finding.terminal, "zone"),
            "rule": finding.rule,
            "finding": finding.title,
            "summary": finding.summary,
            "severity": finding.severity,
            "impact": finding.impact,
            "confidence": finding.confidence,
            "from": _iso(finding.start, zone),
            "to": _iso(finding.end, zone),
            "fault_hours": finding.fault_hours,
            "judged_hours": finding.judged_hours,
            "likely_causes": "; ".join(finding.likely_causes),
            "action": "; ".join(finding.next_steps),
            "retest": finding.retest,
            "caution": finding.caution or "",
            "who_acts": _ACTS[finding.impact],
            "response": "",
            "date": "",
            "status": "open",
        }
        for finding in results.findings
    ]
    return pd.DataFrame(rows, columns=FINDING_COLUMNS)


FINDING_COLUMNS = [
    "id", "terminal", "air_handler", "floor", "zone", "rule", "finding", "summary", "severity", "impact",
    "confidence", "from", "to", "fault_hours", "judged_hours", "likely_causes", "action", "retest", "caution",
    "who_acts", "response", "date", "status",
]  # fmt: skip


def verdicts_table(results: Results) -> pd.DataFrame:
    """Return the verdicts with times as ISO 8601 text in the site's zone."""
    zone = results.site.time_zone
    table = results.verdicts[VERDICT_COLUMNS].copy()
    for name in ("first_seen", "last_seen"):
        moments = table[name].dropna()
        table[name] = (
            moments.map({moment: _iso(moment, zone) for moment in moments.unique()}).reindex(table.index).fillna("")
        )
    return table


def neutralised(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which no text can be taken for a formula by a spreadsheet: such a text gets an apostrophe."""
    table = table.copy()
    for name in table.columns[[not pd.api.types.is_numeric_dtype(kind) for kind in table.dtypes]]:
        text = table[name].astype(object)
        risky = text.map(lambda value: isinstance(value, str) and value.startswith(_FORMULA))
        table[name] = text.where(~risky, "'" + text.astype(str))
    return table


def write_tables(results: Results, folder: Path) -> None:
    """Write the tables of a review into a folder."""
    (folder / "findings.json").write_text(findings_json(results), "utf-8")
    findings = neutralised(findings_table(results))
    findings.to_csv(folder / "findings.csv", index=False)
    neutralised(verdicts_table(results)).to_csv(folder / "verdicts.csv", index=False)
    neutralised(results.requests).to_csv(folder / "trend_request.csv", index=False)
    (folder / "ledger.json").write_text(
        json.dumps(results.trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8"
    )
    _write_issue_log(findings, folder / "issue_log.xlsx")


def _write_issue_log(findings: pd.DataFrame, path: Path) -> None:
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.worksheet.datavalidation import DataValidation

    book = Workbook()
    sheet = book.active
    sheet.title = "Issue log"
    sheet.append([name.replace("_", " ") for name in findings.columns])
    for row in findings.itertuples(index=False):
        sheet.append(list(row))
    for column in sheet.columns:
        name = column[0].value
        sheet.column_dimensions[column[0].column_letter].width = _WIDTH.get(name, 14)
        for cell in column:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            cell.data_type = "s" if isinstance(cell.value, str) else cell.data_type
        column[0].font = Font(bold=True)
    sheet.freeze_panes = "C2"
    sheet.auto_filter.ref = sheet.dimensions
    sheet.page_setup.orientation, sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = "landscape", 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"
    allowed = DataValidation(type="list", formula1=f'"{",".join(STATUSES)}"', allow_blank=True)
    sheet.add_data_validation(allowed)
    status = sheet.cell(1, list(findings.columns).index("status") + 1).column_letter
    allowed.add(f"{status}2:{status}{max(2, len(findings) + 1)}")
    book.save(path)


_WIDTH = {"summary": 60, "likely causes": 50, "action": 50, "retest": 40, "caution": 30, "finding": 30, "response": 30}


def _scheduled(schedule: pd.DataFrame, terminal: str, name: str) -> str:
    value = schedule[name].get(terminal)
    return value if isinstance(value, str) else ""


def _iso(moment: pd.Timestamp, zone: str) -> str:
    return moment.tz_convert(zone).isoformat(timespec="seconds")
