"""Schedules as PDF, ruled or not, made by a general-purpose library."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reportlab.lib import colors
from reportlab.lib.pagesizes import landscape, letter
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.platypus import Flowable, PageBreak, Paragraph, SimpleDocTemplate, Table, TableStyle

from tests.schedule.writing import blocks


class Turned(Flowable):
    """A text that runs up the page."""

    def __init__(self, text: str, size: float = 7.0):
        super().__init__()
        self.text, self.size = text, size

    def wrap(self, *_: Any) -> tuple[float, float]:
        """Return how much room it takes."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return self.size, max(stringWidth(line, "Helvetica", self.size) for line in self.text.split("\n")) + 2

    def draw(self) -> None:
        """Draw it."""
        canvas = self.canv
        canvas.saveState()
        canvas.rotate(90)
        canvas.setFont("Helvetica", self.size)
        for n, line in enumerate(self.text.split("\n")):
            canvas.drawString(1, -self.size * (n + 1) + 1, line)
        canvas.restoreState()


def write_pdf(path: Path, sheets: list[list[list[str]]], *, ruled: bool, turned: bool = False) -> None:
    """Write a page a sheet: lines above and below the table as text, the table with or without rules.

    A row of one filled cell before the first or after the last full row is a line of text.
    """
    body = getSampleStyleSheet()["BodyText"]
    story: list[Any] = []
    for number, rows in enumerate(sheets):
        if number:
            story.append(PageBreak())
        full = [n for n, row in enumerate(rows) if len(row) > 1]
        first, last = full[0], full[-1]
        story += [Paragraph(row[0], body) for row in rows[:first] if row[0]]
        story.append(_table(rows[first : last + 1], ruled, turned))
        story += [Paragraph(row[0], body) for row in rows[last + 1 :] if row[0]]
    SimpleDocTemplate(
        str(path), pagesize=landscape(letter), leftMargin=30, rightMargin=30, topMargin=30, bottomMargin=30
    ).build(story)


def _table(rows: list[list[str]], ruled: bool, turned: bool) -> Table:
    style: list[tuple] = [
        ("FONTSIZE", (0, 0), (-1, -1), 7),
        ("ALIGN", (0, 0), (-1, -1), "CENTER"),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ]
    if ruled:
        style.append(("GRID", (0, 0), (-1, -1), 0.5, colors.black))
    for top, left, bottom, right in blocks(rows):
        style.append(("SPAN", (left, top), (right, bottom)))
    width = max(map(len, rows))
    data: list[list[Any]] = [
        ["" if cell in (">", "^") else cell for cell in row] + [""] * (width - len(row)) for row in rows
    ]
    if turned:
        data[0] = [Turned(text) if text else "" for text in data[0]]
    return Table(data, style=TableStyle(style))
