"""Bytes of a text export, in whatever encoding, to UTF-8."""

from __future__ import annotations

import codecs

from analyzer.errors import ExportError

HEAD = 65_536  # bytes, among which null bytes tell that a file is no text
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
            return (body, None) if encoding == "utf-8" and is_utf8(body) else (_recode(body, encoding), None)
    if b"\x00" not in data[:HEAD]:
        return (data, None) if is_utf8(data) else (_recode(data, "cp1252"), "cp1252")
    if _looks_utf16(data):
        encoding = "utf-16-le" if data[1:2000:2].count(0) > data[0:2000:2].count(0) else "utf-16-be"
        return _recode(data, encoding), encoding
    raise ExportError(label, "is not a text file (it holds null bytes)", "Export it as CSV, XLSX or Parquet.")


def length_of_mark(head: bytes) -> int | None:
    """Return the bytes of UTF-8's mark at the head of a text, none as a rule; None where it must be another encoding.

    Parameters
    ----------
    head : bytes
        The first ``HEAD`` bytes, which may end within a letter.
    """
    mark = len(codecs.BOM_UTF8) if head.startswith(codecs.BOM_UTF8) else 0
    marked_otherwise = not mark and any(head.startswith(sign) for sign, _ in _MARKS)
    return None if marked_otherwise or b"\x00" in head or not is_utf8(head, whole=False) else mark


def is_utf8(data: bytes, *, whole: bool = True) -> bool:
    """Tell whether bytes are UTF-8; where they are not the whole of a text, the last letter may be cut."""
    if data.isascii():
        return True
    try:
        codecs.utf_8_decode(data, "strict", whole)
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
