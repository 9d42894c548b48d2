"""Mutations: of bytes, of lines, and of what the bytes mean (cells, columns, delimiters, keys, stored tables)."""

from __future__ import annotations

import gzip
import io
import random
import zipfile
import zlib
from pathlib import PurePath

from tests.fuzz.corpus import Files, corpus, undated

# Texts that have broken readers of tables before; common practice, no source.
NASTY = (
    "", " ", "0", "-0", "1e308", "1e400", "-1e-400", "nan", "inf", "-inf", "null", "None", "TRUE", "9" * 400, "1,234.5",
    "1.234,5", "1'000", "٣٫٥", "½", "−5", "0x1F", "1_000", "=1+1", "+1", "@x", "-", "--", "#REF!", "#N/A", "***", "{down}",
    "12:00", "24:00", "23:59:60", "00:00 AM", "13/13/2026", "29/02/2025", "0000-00-00", "9999-12-31 23:59", "1970-01-01",
    "1601-01-01 00:00", "2026-03-08 02:30", "2026-11-01 01:30", "1767225600", "1767225600000", "46000.5", "-46000",
    "2026-01-12T06:00:00Z", "2026-01-12T06:00:00+99:99", "degF", "cfm", "%", "[", "(", "(((((", "VAV-1-01", "Time", "Date",
    "Value", "AHU-1", "../../x", "/etc/passwd", "CON", "\x00", "\x1b[31m", "\u202e", "\ufeff", "\ud7ff", "é", "a\u0301",
    "<script>alert(1)</script>", "{{7*7}}", "{0}", "%s", "'", '"', '""', "\\", "\n", "\r", "\t", ";", ",", "|", "sep=;",
    "known(", "9**9**9", "zone_temp", "not", "min()", "15 min", "-1 h", "true", "[[", "]]", "x.y.z", "mon-fri", "25:00",
)  # fmt: skip
DELIMITERS = (b",", b";", b"\t", b"|")


def mutated(seed: int, number: int) -> tuple[str, Files]:
    """Return the sample that an input was made of, and its files; the same for the same seed and number."""
    draw = random.Random(f"{seed}/{number}")
    name, files = draw.choice(corpus())
    files = dict(files)
    for _ in range(draw.choice((1, 1, 2, 3))):
        path = draw.choice(sorted(files))
        files = _mutate(draw, files, path)
    return name, files


def _mutate(draw: random.Random, files: Files, path: str) -> Files:
    suffix = PurePath(path).suffix.lower()
    change = draw.random()
    if change < 0.04:
        return _of_files(draw, files, path)
    data = files[path]
    if suffix == ".parquet" and change < 0.6:
        data = _parquet(draw, data)
    elif suffix == ".xlsx" and change < 0.6:
        data = _workbook(draw, data)
    elif suffix == ".gz" and change < 0.6:
        data = gzip.compress(_text(draw, _gunzip(data)), 1, mtime=0)
    elif suffix == ".zip" and change < 0.6:
        data = _archive(draw, data)
    elif suffix in (".parquet", ".xlsx", ".gz", ".zip") or change < 0.25:
        data = _bytes(draw, data)
    else:
        data = _text(draw, data)
    return files | {path: data}


# Files ---------------------------------------------------------------------------------------------------------------


def _of_files(draw: random.Random, files: Files, path: str) -> Files:
    """Take a file away, give it another suffix or name, or put another sample's in its place."""
    kind = draw.randrange(4)
    if kind == 0 and len(files) > 1:
        return {name: data for name, data in files.items() if name != path}
    if kind == 1:
        suffix = draw.choice((".csv", ".txt", ".xlsx", ".parquet", ".zip", ".gz", ".toml", ""))
        return files | {str(PurePath(path).with_suffix(suffix)): files[path]}
    if kind == 2:
        name = (
            "".join(sign for sign in draw.choice(NASTY) if sign not in "/\0")[:60].encode("utf-8", "replace").decode()
        )
        return files | {f"export/{name}.csv": files[path]}
    return files | {path: draw.choice(sorted(draw.choice(corpus())[1].items()))[1]}


# Bytes ---------------------------------------------------------------------------------------------------------------


def _bytes(draw: random.Random, data: bytes) -> bytes:
    at, size = int(draw.random() * (len(data) + 1)), int(2 ** draw.uniform(0, 10))
    match draw.randrange(7):
        case 0:
            return data[:at]
        case 1:
            return data[at:]
        case 2:
            return (
                data[:at]
                + bytes(byte ^ draw.randrange(1, 256) for byte in data[at : at + size % 16 + 1])
                + data[at + size % 16 + 1 :]
            )
        case 3:
            return data[:at] + data[max(0, at - size) : at] * draw.randrange(2, 20) + data[at:]
        case 4:
            return data[:at] + data[at + size :]
        case 5:
            return data[:at] + bytes(draw.randrange(256) for _ in range(min(size, 64))) + data[at:]
    other = draw.choice(sorted(draw.choice(corpus())[1].items()))[1]
    begin = int(draw.random() * (len(other) + 1))
    return data[:at] + other[begin : begin + size] + data[at:]


# Text ----------------------------------------------------------------------------------------------------------------


def _text(draw: random.Random, data: bytes) -> bytes:
    """Change lines and cells, whatever the text is: a table, a list or TOML."""
    lines = data.split(b"\n")
    at, other = draw.randrange(len(lines)), draw.randrange(len(lines))
    delimiter = max(DELIMITERS, key=lines[min(1, len(lines) - 1)].count)
    match draw.randrange(13):
        case 0:
            lines[at], lines[other] = lines[other], lines[at]
        case 1:
            lines[at:at] = [lines[other]] * draw.choice((1, 2, 50))
        case 2:
            del lines[at : at + draw.choice((1, 3, 20))]
        case 3:  # the header (or whatever stands first) is moved
            lines.insert(at, lines.pop(0))
        case 4:
            return data.replace(delimiter, draw.choice(DELIMITERS))
        case 5:
            return data.replace(b"\n", draw.choice((b"\r\n", b"\r", b"\n\n", b" \n")))
        case 6:
            return data.decode("utf-8", "replace").encode(
                draw.choice(("utf-16", "utf-16-le", "utf-32", "cp1252", "utf-8-sig")), "replace"
            )
        case 7:  # a column is moved, doubled or taken out
            return _columns(draw, lines, delimiter)
        case 8:  # a whole column, but its heading, becomes one value
            column, value = draw.randrange(8), _nasty(draw)
            return b"\n".join(_with_cell(line, delimiter, column, value) if n else line for n, line in enumerate(lines))
        case 9:
            lines[at] = _with_cell(lines[at], b"=", 1, b" " + _nasty(draw))
        case 10:
            word = draw.choice(lines[at].split() or [b" "])
            return data.replace(word, _nasty(draw), draw.choice((1, -1)))
        case _:
            for _ in range(draw.choice((1, 1, 5))):
                row = draw.randrange(len(lines))
                lines[row] = _with_cell(lines[row], delimiter, draw.randrange(12), _nasty(draw))
    return b"\n".join(lines)


def _columns(draw: random.Random, lines: list[bytes], delimiter: bytes) -> bytes:
    width = max(line.count(delimiter) for line in lines) + 1
    order = list(range(width))
    match draw.randrange(3):
        case 0:
            draw.shuffle(order)
        case 1:
            order.insert(draw.randrange(width), draw.randrange(width))
        case 2:
            order.pop(draw.randrange(width))
    cut = (line.split(delimiter) for line in lines)
    return b"\n".join(delimiter.join(cells[n] for n in order if n < len(cells)) for cells in cut)


def _with_cell(line: bytes, delimiter: bytes, column: int, value: bytes) -> bytes:
    cells = line.split(delimiter)
    cells[column % len(cells)] = value
    return delimiter.join(cells)


def _nasty(draw: random.Random) -> bytes:
    text = draw.choice(NASTY)
    return (text * draw.choice((1, 1, 1, 30)) if len(text) < 100 else text).encode()


# Stores --------------------------------------------------------------------------------------------------------------


def _gunzip(data: bytes) -> bytes:
    try:
        return gzip.decompress(data)
    except (OSError, EOFError, zlib.error):
        return data


def _archive(draw: random.Random, data: bytes) -> bytes:
    """Change one member of an archive, or its name."""
    stream = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed, zipfile.ZipFile(stream, "w") as again:
            names = packed.namelist()
            chosen = draw.choice(names)
            for name in names:
                member = packed.read(name)
                if name == chosen:
                    member = _text(draw, member)
                    name = draw.choice(
                        (name, name, f"../{name}", f"/{name}", f"{name}.gz", f"{name}.zip", f"{name}.xlsx")
                    )
                again.writestr(zipfile.ZipInfo(name), member)
    except (zipfile.BadZipFile, zlib.error, IndexError, ValueError, OSError, NotImplementedError, EOFError):
        return _bytes(draw, data)
    return stream.getvalue()


def _workbook(draw: random.Random, data: bytes) -> bytes:
    """Change cells of a workbook, or the text of one of its parts."""
    import openpyxl

    if draw.random() < 0.3:
        return _archive(draw, data)
    try:
        book = openpyxl.load_workbook(io.BytesIO(data))
        sheet = book.worksheets[0]
        for _ in range(draw.choice((1, 5, 40))):
            cell = sheet.cell(draw.randrange(1, sheet.max_row + 3), draw.randrange(1, sheet.max_column + 2))
            cell.value = draw.choice((draw.choice(NASTY), draw.uniform(-1e6, 1e6), True, None, draw.randrange(10**12)))
        if draw.random() < 0.3:
            sheet.insert_rows(draw.randrange(1, 5), draw.randrange(1, 4))
        stream = io.BytesIO()
        book.save(stream)
        return undated(stream.getvalue())
    except Exception:  # the workbook was broken before, or the cell cannot hold the text
        return _bytes(draw, data)


def _parquet(draw: random.Random, data: bytes) -> bytes:
    """Change a column of a stored table: its values, its type or its name."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = (
        pa.string(),
        pa.large_string(),
        pa.float32(),
        pa.int8(),
        pa.int64(),
        pa.timestamp("ns"),
        pa.date32(),
        pa.binary(),
    )
    try:
        table = pq.read_table(io.BytesIO(data))
        at = draw.randrange(table.num_columns)
        name, column = table.column_names[at], table.column(at)
        match draw.randrange(5):
            case 0:
                column = pa.array([draw.choice(NASTY) for _ in range(table.num_rows)])
            case 1:
                column = column.cast(draw.choice(kinds), safe=False)
            case 2:
                column = pa.nulls(table.num_rows, draw.choice((pa.null(), pa.float64(), pa.string())))
            case 3:
                name = draw.choice((*table.column_names, *NASTY))
            case 4:
                column = pa.array([[1, 2]] * table.num_rows)
        stream = io.BytesIO()
        pq.write_table(table.set_column(at, name, column), stream)
    except (pa.ArrowException, OSError, ValueError, TypeError):
        return _bytes(draw, data)
    return stream.getvalue()
