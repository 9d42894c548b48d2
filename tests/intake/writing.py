"""Write a known building as an export, in any layout and dialect: the other half of the round trip."""

from __future__ import annotations

import csv
import gzip
import io
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL, find_unit

# How an invented contractor spells each quantity, and the unit and decimals in which it comes.
SPELLING = {
    "zone_temp": ("ZN-T", "degF", 1),
    "cooling_setpoint": ("CLG-SP", "degF", 1),
    "primary_flow": ("PRI FLOW", "cfm", 0),
    "damper_position": ("DMPR POS", "%", 1),
    "reheat_position": ("RHT VLV", "%", 0),
    "discharge_temp": ("DA-T", "degC", 2),
    "fan_status": ("FAN STS", "", 0),
    "co2": ("CO2", "ppm", 0),
}
LAYOUTS = (
    "wide",
    "wide with units row",
    "long",
    "long with unit column",
    "tidy",
    "file per terminal",
    "file per point",
)
STORES = ("text", "gzip", "zip", "xlsx", "parquet")


@dataclass(frozen=True)
class Dialect:
    """How the text is spelled."""

    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    stamp: str = "%Y-%m-%d %H:%M:%S"
    missing: str = ""
    quoting: int = csv.QUOTE_MINIMAL
    line_end: str = "\n"
    words: tuple[str, str] = ("Off", "On")
    preamble: int = 0
    footer: bool = False
    blank_every: int = 0
    header_every: int = 0
    trailing: bool = False
    thousands: bool = False


@dataclass
class Building:
    """A known building: numbers as the file spells them, and what they are in SI."""

    times: pd.DatetimeIndex  # UTC
    zone: str
    numbers: dict[tuple[str, str], np.ndarray] = field(default_factory=dict)

    @property
    def terminals(self) -> list[str]:
        return sorted({terminal for terminal, _ in self.numbers})

    @property
    def quantities(self) -> list[str]:
        return [name for name in SPELLING if any(quantity == name for _, quantity in self.numbers)]

    def expected(self) -> pd.DataFrame:
        """Return the normalized table without the rows that hold nothing."""
        parts = []
        for terminal in self.terminals:
            table = pd.DataFrame({"terminal": terminal, "time": self.times})
            for quantity in TERMINAL:
                number = self.numbers.get((terminal, quantity), np.full(len(self.times), np.nan))
                unit = SPELLING.get(quantity, ("", "", 0))[1]
                table[quantity] = find_unit(unit, TERMINAL[quantity].dimension).to_si(number) if unit else number
            parts.append(table)
        return pd.concat(parts, ignore_index=True)


def write(building: Building, layout: str, store: str, dialect: Dialect, folder: Path) -> None:
    """Write the building into a folder that holds nothing else."""
    for name, rows, units, first in _tables(building, layout, dialect, plain=store in ("xlsx", "parquet")):
        _store(name, rows, units, first, store, dialect, folder)


def _tables(building: Building, layout: str, dialect: Dialect, plain: bool):
    """Yield name, rows (header first), units row and the index of the first column of values of every file."""
    local = building.times.tz_convert(building.zone)
    stamps = list(local.tz_localize(None).to_pydatetime()) if plain else [_stamp(t, dialect) for t in local]
    cells = {
        (terminal, quantity): _cells(number, quantity, dialect, plain)
        for (terminal, quantity), number in building.numbers.items()
    }
    if layout.startswith("wide"):
        row = layout == "wide with units row"
        names = [_header(*key, unit=not row) for key in cells]
        units = ["", *(SPELLING[quantity][1] for _, quantity in cells)] if row else None
        yield "trend export", [["Timestamp", *names], *map(list, zip(stamps, *cells.values(), strict=True))], units, 1
    elif layout.startswith("long"):
        told = layout == "long with unit column"
        rows = [["Time", "Point Name", "Value", *(["Unit"] if told else [])]]
        for n, stamp in enumerate(stamps):
            for key, values in cells.items():
                rows.append([stamp, _header(*key, unit=not told), values[n], *([SPELLING[key[1]][1]] if told else [])])
        yield "samples", rows, None, 2
    elif layout == "tidy":
        names = building.quantities
        rows = [["Terminal", "Date/Time", *(_header(None, name) for name in names)]]
        for terminal in building.terminals:
            there = [cells.get((terminal, name)) for name in names]
            for n, stamp in enumerate(stamps):
                rows.append([terminal, stamp, *(_nothing(dialect, plain) if c is None else c[n] for c in there)])
        yield "by terminal", rows, None, 2
    elif layout == "file per terminal":
        for terminal in building.terminals:
            mine = {quantity: values for (tag, quantity), values in cells.items() if tag == terminal}
            rows = [
                ["time", *(_header(None, name) for name in mine)],
                *map(list, zip(stamps, *mine.values(), strict=True)),
            ]
            yield terminal, rows, None, 1
    else:
        for (terminal, quantity), values in cells.items():
            unit = SPELLING[quantity][1]
            header = f"Value ({unit})" if unit else "Value"
            yield (
                f"{terminal} {SPELLING[quantity][0]}",
                [["time", header], *map(list, zip(stamps, values, strict=True))],
                None,
                1,
            )


def _header(terminal: str | None, quantity: str, *, unit: bool = True) -> str:
    name, spelling, _ = SPELLING[quantity]
    return (f"{terminal}.{name}" if terminal else name) + (f" ({spelling})" if unit and spelling else "")


def _stamp(moment: pd.Timestamp, dialect: Dialect) -> str:
    if dialect.stamp == "unix":
        return str(int(moment.timestamp()))
    if dialect.stamp == "iso":
        return moment.isoformat()
    return moment.strftime(dialect.stamp)


def _nothing(dialect: Dialect, plain: bool):
    return None if plain else dialect.missing


def _cells(number: np.ndarray, quantity: str, dialect: Dialect, plain: bool) -> list:
    if quantity == "fan_status":
        return [_nothing(dialect, plain) if np.isnan(v) else dialect.words[int(v)] for v in number]
    if plain:
        return [None if np.isnan(v) else float(v) for v in number]
    decimals = SPELLING[quantity][2]
    return [dialect.missing if np.isnan(v) else _spelled(v, decimals, dialect) for v in number]


def _spelled(value: float, decimals: int, dialect: Dialect) -> str:
    text = f"{value:,.{decimals}f}" if dialect.thousands else f"{value:.{decimals}f}"
    return text if dialect.decimal == "." else text.replace(",", " ").replace(".", ",").replace(" ", ".")


def _store(
    name: str, rows: list[list], units: list | None, first: int, store: str, dialect: Dialect, folder: Path
) -> None:
    if store == "parquet":
        if len({type(row[first]) for row in rows[1:]} - {type(None)}) > 1:  # a stored column has one type
            rows = [
                rows[0],
                *(
                    [*row[:first], None if row[first] is None else str(row[first]), *row[first + 1 :]]
                    for row in rows[1:]
                ),
            ]
        header = [
            cell if not units or not unit else f"{cell} ({unit})"
            for cell, unit in zip(rows[0], units or rows[0], strict=True)
        ]
        pd.DataFrame(rows[1:], columns=header if units else rows[0]).to_parquet(folder / f"{name}.parquet")
        return
    if store == "xlsx":
        import openpyxl

        book = openpyxl.Workbook()
        for row in [rows[0], *([units] if units else []), *rows[1:]]:
            book.active.append(row)
        book.save(folder / f"{name}.xlsx")
        return
    data = _text(rows, units, dialect).encode(dialect.encoding)
    if store == "gzip":
        (folder / f"{name}.csv.gz").write_bytes(gzip.compress(data, mtime=0))
    elif store == "zip":
        with zipfile.ZipFile(folder / "export.zip", "a") as archive:
            archive.writestr(f"site/{name}.csv", data)
    else:
        (folder / f"{name}.csv").write_bytes(data)


def _text(rows: list[list], units: list | None, dialect: Dialect) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=dialect.delimiter, quoting=dialect.quoting, lineterminator=dialect.line_end)
    more = [""] if dialect.trailing else []
    for n in range(dialect.preamble):
        stream.write(("Trend report", "Printed by: operator", "")[n % 3] + dialect.line_end)
    writer.writerow([*rows[0], *more])
    if units:
        writer.writerow([*units, *more])
    for n, row in enumerate(rows[1:], 1):
        writer.writerow([*row, *more])
        if dialect.blank_every and n % dialect.blank_every == 0:
            stream.write(dialect.line_end)
        if dialect.header_every and n % dialect.header_every == 0 and n < len(rows) - 1:
            writer.writerow([*rows[0], *more])
    if dialect.footer:
        stream.write(f"End of report{dialect.line_end}")
    return stream.getvalue()
