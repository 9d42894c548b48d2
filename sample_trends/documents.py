"""The demo building's drawings and balancing report, as a designer and a balancer hand them over.

The schedule is a workbook with a sheet a type, the balancing report a PDF with a ruled table.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from pathlib import Path

import pandas as pd

_SHEETS = {
    "M-601": ("single-duct", "SINGLE DUCT VAV TERMINAL UNIT SCHEDULE"),
    "M-602": ("parallel", "PARALLEL FAN-POWERED TERMINAL UNIT SCHEDULE"),
    "M-603": ("series", "SERIES FAN-POWERED TERMINAL UNIT SCHEDULE"),
}
# The headings of three rows, and the column of the schedule under each.
_HEADINGS = (
    ("TAG", "", "", "terminal"),
    ("AHU", "", "", "air_handler"),
    ("AREA SERVED", "", "", "zone"),
    ("FLOOR", "", "", "floor"),
    ("AIR DISTRIBUTION", "", "", "distribution"),
    ("INLET\nDIA.\n(IN.)", "", "", "inlet_diameter [in]"),
    ("AIR QUANTITIES (CFM)", "PRIMARY AIR", "MAX.", "primary_max [cfm]"),
    ("AIR QUANTITIES (CFM)", "PRIMARY AIR", "MIN.", "primary_min [cfm]"),
    ("AIR QUANTITIES (CFM)", "PRIMARY AIR", "HTG.", "heating_primary [cfm]"),
    ("AIR QUANTITIES (CFM)", "VENT. MIN.", "", "ventilation_min [cfm]"),
    ("AIR QUANTITIES (CFM)", "ZONE O.A.", "", "outdoor_air_min [cfm]"),
    ("AIR QUANTITIES (CFM)", "DOAS INLET", "", "outdoor_air_inlet_min [cfm]"),
    ("AIR QUANTITIES (CFM)", "FAN", "", "fan_flow [cfm]"),
    ("REHEAT", "TYPE", "", "reheat"),
    ("REHEAT", "CAPACITY\n(KW)", "", "reheat_capacity [kW]"),
    ("ZONE", "AREA\n(SQ FT)", "", "area [ft2]"),
    ("ZONE", "NO. OF PEOPLE", "", "people"),
    ("ZONE", "VOLUME\n(CU FT)", "", "zone_volume [ft3]"),
    ("OPEN ZONE", "", "", "open_zone"),
    ("KEYED NOTES", "", "", None),
)
_WORDS = {"none": "-", "hot-water": "HW", "electric": "ELEC"}
_MADE = datetime.datetime(2026, 1, 5)
_ROOM = 3  # rows of headings


def write_schedule(table: pd.DataFrame, path: Path) -> Path:
    """Write the workbook of the drawings.

    Parameters
    ----------
    table : DataFrame
        The schedule in IP units, index ``terminal``.
    path : Path
    """
    import openpyxl
    from openpyxl.packaging.core import DocumentProperties

    book = openpyxl.Workbook()
    book.remove(book.active)
    book.properties = DocumentProperties(creator="", created=_MADE, modified=_MADE)
    for title, (kind, heading) in _SHEETS.items():
        _write_sheet(book.create_sheet(title), heading, table[table["kind"] == kind].reset_index())
    stream = io.BytesIO()
    book.save(stream)
    path.write_bytes(_without_clock(stream.getvalue()))
    return path


def _write_sheet(sheet, heading: str, rows: pd.DataFrame) -> None:
    from openpyxl.styles import Alignment, Font

    kept = [column for column in _HEADINGS if column[3] != "fan_flow [cfm]" or rows["fan_flow [cfm]"].ne("").any()]
    sheet.append([heading])
    sheet["A1"].font = Font(bold=True)
    sheet.merge_cells(start_row=1, end_row=1, start_column=1, end_column=len(kept))
    for level in range(_ROOM):
        for n, column in enumerate(kept, 1):
            cell = sheet.cell(level + 2, n, column[level] or None)
            cell.alignment = Alignment(wrap_text=True, horizontal="center", vertical="center")
            cell.font = Font(bold=True)
    _merge_headings(sheet, kept)
    for n, row in enumerate(rows.to_dict("records")):
        for c, (*_, name) in enumerate(kept, 1):
            sheet.cell(n + 2 + _ROOM, c, "1, 3" if name is None else _shown(row[name]))
    sheet.append([])
    for note in ("KEYED NOTES:", "1. PROVIDE DUCT LINING.", "3. COORDINATE ACCESS WITH THE CEILING."):
        sheet.append([note])


def _merge_headings(sheet, kept) -> None:
    """Merge a heading over the columns that share it, and down where nothing stands under it."""
    at = 0
    while at < len(kept):
        for level in range(_ROOM):
            text = kept[at][level]
            end = at
            while end + 1 < len(kept) and kept[end + 1][: level + 1] == kept[at][: level + 1]:
                end += 1
            depth = level
            while depth + 1 < _ROOM and not kept[at][depth + 1]:
                depth += 1
            first = at == 0 or kept[at - 1][: level + 1] != kept[at][: level + 1]
            if text and first and (end > at or depth > level):
                sheet.merge_cells(start_row=level + 2, end_row=depth + 2, start_column=at + 1, end_column=end + 1)
        at += 1


def _shown(value: object) -> object:
    if value == "" or value is None or value != value:
        return "-"
    return _WORDS.get(str(value), value if isinstance(value, int | float) else _number(str(value)))


def _number(text: str) -> object:
    try:
        return float(text) if "." in text else int(text)
    except ValueError:
        return text


def _without_clock(data: bytes) -> bytes:
    """Pack a workbook anew with the same stamp on every part, so that the same schedule is the same file."""
    source, stream = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            body = source.read(name)
            if name == "docProps/core.xml":
                import re

                body = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2026-01-05T00:00:00Z", body)
            target.writestr(zipfile.ZipInfo(name, (2026, 1, 5, 0, 0, 0)), body, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def write_balancing_report(table: pd.DataFrame, path: Path) -> Path:
    """Write the balancing report: design and final maximum, flow coefficient, static pressure at the inlet, date.

    Parameters
    ----------
    table : DataFrame
        The schedule in IP units, index ``terminal``.
    path : Path
    """
    from reportlab.lib import colors
    from reportlab.lib.pagesizes import letter
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table, TableStyle

    head = [
        [
            "TERMINAL",
            "AREA SERVED",
            "MAXIMUM PRIMARY AIR (CFM)",
            "",
            "FLOW\nCOEFFICIENT",
            "INLET SP\n(IN. W.G.)",
            "DATE",
            "REMARKS",
        ],
        ["", "", "DESIGN", "FINAL", "", "", "", ""],
    ]
    rows = []
    for n, (tag, row) in enumerate(table.iterrows()):
        day = 12 + n // 12
        most, final = row["primary_max [cfm]"], row["balanced_max [cfm]"]
        coefficient, pressure = row["flow_coefficient [cfm/sqrt(in.w.c.)]"], f"{0.80 + 0.05 * (n % 5):.2f}"
        rows.append([tag, row["zone"], most, final, coefficient, pressure, f"2026-01-{day}", "damper full open"])
    style = TableStyle([
        ("GRID", (0, 0), (-1, -1), 0.5, colors.black), ("FONTSIZE", (0, 0), (-1, -1), 7),
        ("SPAN", (2, 0), (3, 0)), *(("SPAN", (c, 0), (c, 1)) for c in (0, 1, 4, 5, 6, 7)),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("ALIGN", (2, 0), (-1, -1), "CENTER"),
    ])  # fmt: skip
    sheet = getSampleStyleSheet()
    title = Paragraph("Quillfeather House: test and balance report, air terminals", sheet["Heading2"])
    note = Paragraph("Flow coefficient in cfm at 1 in. w.g. of sensor pressure.", sheet["BodyText"])
    document = SimpleDocTemplate(str(path), pagesize=letter, invariant=1, title="Balancing report")
    document.build([title, note, Table([*head, *rows], style=style, repeatRows=2)])
    return path
