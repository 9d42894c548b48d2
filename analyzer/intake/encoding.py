"""Bytes of a text export, in whatever encoding, to UTF-8."""

from __future__ import annotations

import codecs

from analyzer.errors import ExportError

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def to_utf8(data: bytes, label: str) -> tuple[bytes, str | None]:
    """Return the text as UTF-8 without mark, line ends as they were, and the encoding if it had to be guessed.

    Raises
    ------
    ExportError
        The bytes are no text.
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            body = data[len(mark) :]
            return (body, None) if encoding == "utf-8" and _is_utf8(body) else (_recode(body, encoding), None)
    if data.isascii() and b"\x00" not in data[:65536]:
        return data, None
    if _looks_utf16(data):
        encoding = "utf-16-le" if data[1:2000:2].count(0) > data[0:2000:2].count(0) else "utf-16-be"
        return _recode(data, encoding), encoding
    if b"\x00" in data[:65536]:
        raise ExportError(label, "is not a text file (it holds null bytes)", "Export it as CSV, XLSX or Parquet.")
    if _is_utf8(data):
        return data, None
    return _recode(data, "cp1252"), "cp1252"


def _is_utf8(data: bytes) -> bool:
    try:
        codecs.utf_8_decode(data, "strict", True)
    except UnicodeDecodeError:
        return False
    return True


def _recode(data: bytes, encoding: str) -> bytes:
    return data.decode(encoding, "replace").encode("utf-8")


def _looks_utf16(data: bytes) -> bool:
    """Tell UTF-16 without a mark: in plain text every other byte is zero."""
    head = data[:2000]
    if len(head) < 8 or len(head) % 2:
        head = head[: len(head) // 2 * 2]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    most, least = max(even, odd), min(even, odd)
    return len(head) >= 8 and most > 0.4 * len(head) / 2 and least < 0.1 * len(head) / 2
