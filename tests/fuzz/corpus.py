"""What is mutated: the export cases, the stores that hold no text, and a building with a rule of its own."""

from __future__ import annotations

import io
import re
import zipfile
from functools import cache
from pathlib import Path

from analyzer.places import rule_book
from tests.intake.test_damage import EXPORTS

CASES = Path(__file__).resolve().parents[1] / "intake" / "cases"
SITE = b'[site]\ntime_zone = "America/Chicago"\nunits = "ip"\ndate_order = "month-first"\n'
TOLD = b"""[hours]
occupied = { mon-fri = "07:00-18:00" }
[setpoints]
heating = "70 degF"
cooling = "74 degF"
[accuracy]
zone_temp = "0.5 K"
[tariff]
electricity = 0.14
[rule.fan-short-cycling]
starts_per_hour = "6"
"""
TERMINALS = b"""terminal,kind,reheat,primary_max [cfm],primary_min [cfm],ventilation_min [cfm],fan_flow [cfm],area [ft2],people
VAV-1-01,single-duct,hot-water,900,200,150,,800,4
FPB-2-11,parallel,electric,600,150,100,400,500,3
"""

Files = dict[str, bytes]


def undated(data: bytes) -> bytes:
    """Return an archive (a workbook is one) without the times at which it was made: inputs are to be the same again."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as packed, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as again:
        for name in packed.namelist():
            part = packed.read(name)
            if name == "docProps/core.xml":
                part = re.sub(rb"\d{4}-\d\d-\d\dT[\d:]+Z", b"2026-01-12T00:00:00Z", part)
            again.writestr(zipfile.ZipInfo(name), part)
    return stream.getvalue()


@cache
def corpus() -> tuple[tuple[str, Files], ...]:
    """Return each sample's name and files by path; what is an export lies under ``export/``."""
    samples = []
    for case in sorted(folder for folder in CASES.iterdir() if folder.is_dir()):
        kept = [path for path in sorted(case.rglob("*")) if path.is_file() and _is_input(path, case)]
        samples.append((case.name, {path.relative_to(case).as_posix(): path.read_bytes() for path in kept}))
    for name, files in sorted(EXPORTS.items()):
        described = {"site.toml": SITE + b'terminals = "terminals.csv"\n' + TOLD, "terminals.csv": TERMINALS}
        same = {file: undated(data) if file.endswith((".xlsx", ".zip")) else data for file, data in files}
        samples.append((name, {f"export/{file}": data for file, data in same.items()} | described))
    rules = {f"mine/own-{path.name}": path.read_bytes() for path in sorted(rule_book().glob("*.toml"))}
    wide = {f"export/{file}": data for file, data in EXPORTS["wide, text, utf-8"]}
    for name, rule in rules.items():
        site = SITE + b'rules = "mine"\nterminals = "terminals.csv"\n'
        samples.append((name, wide | {"site.toml": site, "terminals.csv": TERMINALS, name: rule}))
    return tuple(samples)


def _is_input(path: Path, case: Path) -> bool:
    inside = path.relative_to(case)
    return inside.parts[0] == "export" or inside.name in ("site.toml", "terminals.csv", "points.csv")
