"""``python -m tests.schedule.pictures``: draw the three layouts that docs/schedule.md shows."""

from __future__ import annotations

import tempfile
from pathlib import Path

from analyzer.places import rule_book
from tests.schedule.pdf import write_pdf
from tests.schedule.writing import described

PICTURES = {
    "schedule-table": """
FAN-POWERED TERMINAL UNIT SCHEDULE | > | > | > | > | > | > | >
TAG | AREA SERVED | PRIMARY AIR (CFM) | > | FAN | > | ELECTRIC HEATER | >
^ | ^ | MAX. | MIN. | CFM | E.S.P. (IN. W.G.) | KW | STAGES
SERIES - LEVEL 1 | > | > | > | > | > | > | >
FPS-1-01 | 101 Lobby | 1,200 | 360 | 1,270 | 0.30 | 5.5 | 2
FPS-1-02 THRU 1-04 | 102-104 Studios | 620 | 315 | 660 | " | 2.0 | 1
PARALLEL - LEVEL 2 | > | > | > | > | > | > | >
FPP-2-01 (TYPICAL OF 3) | 201 Offices | 510 | 250 | 280 | 0.25 | 4.5 | 2
TOTAL | | 4,590 | 2,055 | 4,090 | | 25.0 |
""",
    "schedule-sideways": """
UNIT MARK | > | TU-1 | TU-2 | TU-3
SERVICE | > | Gym | Pool office | Store
AIRFLOW (CFM) | COOLING MAX | 1500 | 400 | 150
^ | COOLING MIN | 450 | 120 | 45
^ | HEATING MAX | 750 | 200 | -
HOT WATER COIL | MBH | 40 | 11 | -
^ | GPM | 4 | 1.1 | -
INLET DIA. (IN.) | > | 12 | 7 | 5
""",
    "schedule-form": """
AIR TERMINAL TEST SHEET | > | > | >
Unit: | VAV-1-02 | Serves: | Open office
Inlet size: | 8 in | Date: | 2026-01-12
 | DESIGN | INITIAL | FINAL
Max CFM | 630 | 640 | 588
Min CFM | 190 | 190 | 188
K factor | | 900 | 922
Static pressure (in. wc) | | | 0.62
Remarks: | Could not reach design | > | >
""",
}
_SCALE = 2.0
_MARGIN = 12


def draw(folder: Path) -> list[Path]:
    """Draw every picture into a folder."""
    return [_draw(described(text), folder / f"{name}.png") for name, text in PICTURES.items()]


def _draw(rows: list[list[str]], path: Path) -> Path:
    import pypdfium2
    from PIL import Image, ImageChops

    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "page.pdf"
        write_pdf(pdf, [rows], ruled=True)
        document = pypdfium2.PdfDocument(pdf)
        page = document[0].render(scale=_SCALE).to_pil().convert("L")
        document.close()
    box = ImageChops.difference(page, Image.new("L", page.size, 255)).getbbox()
    left, top, right, bottom = box
    page.crop((left - _MARGIN, top - _MARGIN, right + _MARGIN, bottom + _MARGIN)).quantize(16).save(path, optimize=True)
    return path


if __name__ == "__main__":
    for drawn in draw(rule_book().parent / "docs"):
        print(drawn)
