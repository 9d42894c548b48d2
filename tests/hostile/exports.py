"""Exports that were made to do harm, each a function of the folder that it is laid into."""

from __future__ import annotations

import gzip
import io
import os
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq

HEAD = "Time,TU-1 ZN-T (degF),TU-1 PRI FLOW (cfm)\n"
ROWS = "".join(f"2026-01-12 {n // 4:02}:{n % 4 * 15:02},70.{n % 10},{200 + n}\n" for n in range(96))
SOUND = HEAD + ROWS
MIB = 1024 * 1024


def text(name: str, content: str | bytes):
    """Return a function that writes a file."""

    def lay(folder: Path) -> None:
        (folder / name).write_bytes(content.encode() if isinstance(content, str) else content)

    return lay


def both(*layers):
    """Return a function that does one after another."""

    def lay(folder: Path) -> None:
        for one in layers:
            one(folder)

    return lay


def link(name: str, target: str):
    return lambda folder: os.symlink(target, folder / name)


def pipe(name: str):
    return lambda folder: os.mkfifo(folder / name)


# Archives ------------------------------------------------------------------------------------------------------------


def archive(name: str, members: dict[str, str | bytes]):
    def lay(folder: Path) -> None:
        with zipfile.ZipFile(folder / name, "w", zipfile.ZIP_DEFLATED) as packed:
            for member, content in members.items():
                packed.writestr(member, content)

    return lay


def doubled_members(folder: Path) -> None:
    """Two files of one name in one archive: which is meant cannot be told."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("week.csv", SOUND)
        packed.writestr("weex.csv", SOUND.replace("70.", "90."))
    (folder / "two.zip").write_bytes(stream.getvalue().replace(b"weex.csv", b"week.csv"))


def linked_member(folder: Path) -> None:
    """A member that says it is a link to a file of the system."""
    with zipfile.ZipFile(folder / "linked.zip", "w") as packed:
        member = zipfile.ZipInfo("secret.csv")
        member.create_system, member.external_attr = 3, 0o120777 << 16
        packed.writestr(member, "/etc/passwd")
        packed.writestr("week.csv", SOUND)


def locked_member(folder: Path) -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("week.csv", SOUND)
    data = bytearray(stream.getvalue())
    data[6] |= 1
    data[data.rindex(b"PK\x01\x02") + 8] |= 1
    (folder / "locked.zip").write_bytes(data)


def _zip(members: dict[str, str | bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return stream.getvalue()


def nested(folder: Path) -> None:
    """An archive two archives deep; one archive deep is read."""
    (folder / "outer.zip").write_bytes(_zip({"inner.zip": _zip({"inmost.zip": _zip({"week.csv": SOUND})})}))


def locked_inside(folder: Path) -> None:
    locked_member(folder)
    locked = (folder / "locked.zip").read_bytes()
    (folder / "locked.zip").unlink()
    (folder / "outer.zip").write_bytes(_zip({"inner.zip": locked}))


def damaged_inside(folder: Path) -> None:
    (folder / "outer.zip").write_bytes(_zip({"inner.zip": _zip({"week.csv": SOUND})[:-30], "week.csv": SOUND}))


def bomb_inside(folder: Path) -> None:
    """Twenty archives inside one that unpack to a quarter of a gibibyte each: more than is allowed in all."""
    quarter = _zip({"week.csv": b"0" * (256 * MIB)})
    (folder / "outer.zip").write_bytes(_zip({f"{n}.zip": quarter for n in range(20)}))


def nested_beside_an_export(folder: Path) -> None:
    nested(folder)
    with zipfile.ZipFile(folder / "outer.zip", "a") as packed:
        packed.writestr("week.csv", SOUND)


def gzip_bomb(folder: Path) -> None:
    """Sixty-four mebibytes of nothing in sixty-four kibibytes, five times over."""
    one = gzip.compress(b"0" * (64 * MIB), 6)
    (folder / "bomb.csv.gz").write_bytes(one * 5)


def zip_bomb(folder: Path) -> None:
    """A member that says it unpacks to a few bytes and would unpack to 128 MiB."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed, packed.open("week.csv", "w") as member:
        for _ in range(2):
            member.write(b"0" * (64 * MIB))
        member.write(b"0" * 12_345)  # a size whose bytes stand nowhere else in the archive
    honest = (128 * MIB + 12_345).to_bytes(4, "little")
    (folder / "bomb.zip").write_bytes(stream.getvalue().replace(honest, (1000).to_bytes(4, "little")))


# Workbooks -----------------------------------------------------------------------------------------------------------


def _workbook() -> dict[str, bytes]:
    book = openpyxl.Workbook()
    for line in SOUND.splitlines():
        book.active.append(line.split(","))
    stream = io.BytesIO()
    book.save(stream)
    with zipfile.ZipFile(stream) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def workbook(sheet: bytes, *, strings: bytes | None = None):
    """Return a function that writes a sound workbook with another sheet (or other strings) in it."""

    def lay(folder: Path) -> None:
        parts = _workbook() | {"xl/worksheets/sheet1.xml": sheet}
        if strings is not None:
            parts["xl/sharedStrings.xml"] = strings
        with zipfile.ZipFile(folder / "week.xlsx", "w", zipfile.ZIP_DEFLATED) as packed:
            for name, part in parts.items():
                packed.writestr(name, part)

    return lay


_SHEET = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
LAUGHS = b"".join(
    [b'<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY lol "lol">']
    + [b'<!ENTITY lol%d "%s">' % (n, (b"&lol%d;" % (n - 1) if n > 1 else b"&lol;") * 10) for n in range(1, 10)]
    + [b"]>"]
)
OUTSIDE = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY secret SYSTEM "file:///etc/passwd">]>'


def _cell(reference: bytes, content: bytes = b"1") -> bytes:
    return b'<c r="%s" t="inlineStr"><is><t>%s</t></is></c>' % (reference, content)


def sheet_of(cells: bytes, head: bytes = b"", dimension: bytes = b"") -> bytes:
    return head + _SHEET + dimension + b"<sheetData>" + cells + b"</sheetData></worksheet>"


LAUGHING = sheet_of(b'<row r="1">' + _cell(b"A1", b"&lol9;") + b"</row>", LAUGHS)
TELLING = sheet_of(b'<row r="1">' + _cell(b"A1", b"&secret;") + b"</row>", OUTSIDE)
FAR_CELL = sheet_of(b'<row r="1">' + _cell(b"A1") + b'</row><row r="1048576">' + _cell(b"XFD1048576") + b"</row>")
WIDE_ROWS = sheet_of(
    b"".join(b'<row r="%d">' % n + _cell(b"XFD%d" % n, b"2026-01-12 06:00") + b"</row>" for n in range(1, 4_001))
)
FALSE_SIZE = sheet_of(b'<row r="1">' + _cell(b"A1") + b"</row>", dimension=b'<dimension ref="A1:XFD1048576"/>')


# Parquet -------------------------------------------------------------------------------------------------------------


def parquet_of_one_long_text(folder: Path) -> None:
    """A text of a mebibyte, named a hundred thousand times."""
    rows = 100_000
    text = pa.DictionaryArray.from_arrays(pa.array(np.zeros(rows, np.int32)), pa.array(["7" * MIB]))
    stamps = pa.array(np.arange(rows).astype("datetime64[m]").astype("datetime64[us]"))
    table = pa.table({"time": stamps, "TU-1 ZN-T": text, "TU-1 FLOW (cfm)": pa.array(np.ones(rows))})
    pq.write_table(table, folder / "week.parquet", store_schema=False)


def parquet_that_lies(folder: Path) -> None:
    """A footer that says it is two gibibytes long."""
    stream = io.BytesIO()
    pq.write_table(pa.table({"time": [1, 2], "TU-1 ZN-T": [70.0, 71.0]}), stream)
    data = bytearray(stream.getvalue())
    data[-8:-4] = (2**31 - 1).to_bytes(4, "little")
    (folder / "week.parquet").write_bytes(data)
