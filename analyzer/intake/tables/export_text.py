"""The text of an export as UTF-8: read from disk as it is needed, or held in memory where it had to be made over."""

from __future__ import annotations

import codecs
import os
from contextlib import closing
from pathlib import Path
from threading import Event

from analyzer.errors import ExportError
from analyzer.intake.files.encoding import HEAD, is_utf8, length_of_mark, to_utf8
from analyzer.intake.files.find import Source
from analyzer.intake.limits import LONGEST_LINE, MEBIBYTE


class NotUtf8(Exception):
    """A text whose head is UTF-8 holds bytes further down that are not."""


class ExportText:
    """The text of one export.

    Parameters
    ----------
    label : str
        How messages name the file.
    held : bytes or None
        The text; None for one that is UTF-8 on disk as far as is known.
    path : path
        That file; ``skipped`` are the bytes before its text.
    off : Event or None
        Set where the text is not wanted any more: what streams from it ends.

    Attributes
    ----------
    size : int
        Bytes.
    encoding : str or None
        The encoding, where it had to be guessed.
    """

    def __init__(
        self,
        label: str,
        held: bytes | None,
        encoding: str | None = None,
        *,
        path: Path | None = None,
        skipped: int = 0,
        off: Event | None = None,
    ):
        self.label, self.encoding, self.off = label, encoding, off
        self._held, self._path, self._skipped = held, path, skipped
        if held is not None:
            self.size = len(held)
        else:
            assert path is not None, "a text that is not held is on disk"
            self.size = os.path.getsize(path) - skipped

    def part(self, begin: int, end: int) -> bytes:
        """Return the bytes of a part."""
        with closing(self._file(begin)) as file:
            return file.read(max(0, end - begin))

    def whole(self, begin: int, end: int) -> bytes:
        """Return the bytes of a part that is all there is to be read.

        Raises
        ------
        NotUtf8
            It is not UTF-8 after all.
        """
        data = self.part(begin, end)
        if self._held is None and not is_utf8(data):
            raise NotUtf8
        return data

    def stream(self, begin: int, end: int) -> Stream:
        """Return a part as a file to be read once, from its beginning."""
        return Stream(self, self._file(begin), begin, end)

    def _file(self, begin: int):
        if self._held is not None:
            return _Held(self._held, begin)
        assert self._path is not None
        file = open(self._path, "rb", buffering=0)  # noqa: SIM115 (whoever reads closes it)
        file.seek(begin + self._skipped)
        return file


def open_text(source: Source, off: Event | None = None) -> ExportText:
    """Open a text export; one that is packed, or in another encoding, is made over in memory.

    Parameters
    ----------
    off : Event, optional
        As in :class:`ExportText`.

    Raises
    ------
    ExportError
        It cannot be opened, or is no text.
    """
    if source.packed:
        return make_over(source)
    with source.opening():
        with open(source.path, "rb", buffering=0) as file:
            mark = length_of_mark(file.read(HEAD))
        if mark is not None:
            return ExportText(source.label, None, path=source.path, skipped=mark, off=off)
    return make_over(source)


def make_over(source: Source) -> ExportText:
    """Read a text export into memory, to UTF-8 from whatever it is in."""
    return ExportText(source.label, *to_utf8(source.read(), source.label))


class _Held:
    """Bytes as a file, each read a copy of no more than was asked for."""

    def __init__(self, data: bytes, at: int):
        self.data, self.at = data, at

    def read(self, size: int) -> bytes:
        part = self.data[self.at : self.at + size]
        self.at += len(part)
        return part

    def close(self) -> None:
        self.data = b""


class Stream:
    """A part of a text, as the file that a reader in other threads takes it from, looked at as it goes by.

    What is wrong with it ends the stream, and is told by :meth:`check` to whoever asked for it.
    """

    def __init__(self, text: ExportText, file, begin: int, end: int):
        self.closed = False
        self._text, self._file = text, file
        self._at, self._end, self.size = begin, end, end - begin
        self._line = begin  # where the line that is not ended yet begins
        self._open = b""  # the bytes of a letter that is not whole yet
        self._wrong: Exception | None = None

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes; none at the end, or where something is wrong."""
        left = self._end - self._at
        size = left if size < 0 else min(size, left)
        if self._text.off is not None and self._text.off.is_set():
            return b""
        try:
            data = self._file.read(size) if size and self._wrong is None else b""
            self._look(data)
        except (OSError, ExportError, NotUtf8) as error:
            self._wrong, data = error, b""
        self._at += len(data)
        return data

    def check(self) -> None:
        """Raise what was found to be wrong.

        Raises
        ------
        ExportError
            The file could not be read on, or a line is over the limit.
        NotUtf8
            It is not UTF-8 after all.
        """
        if isinstance(self._wrong, OSError):
            told = self._wrong.strerror or self._wrong
            raise ExportError(self._text.label, f"cannot be read to its end ({told})", "Check the disk, and try again.")
        if self._wrong is not None:
            raise self._wrong

    def close(self) -> None:
        """Close the file behind it."""
        self.closed = True
        self._file.close()

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return False

    def _look(self, data: bytes) -> None:
        if self._open or not data.isascii():
            letters = self._open + data
            try:
                # Nothing more comes where nothing came: a letter that is not whole by then is none.
                self._open = letters[codecs.utf_8_decode(letters, "strict", not data)[1] :]
            except UnicodeDecodeError:
                raise NotUtf8 from None
        for begin in range(0, len(data), LONGEST_LINE):
            self._look_for_line_ends(data, begin, min(begin + LONGEST_LINE, len(data)))

    def _look_for_line_ends(self, data: bytes, begin: int, end: int) -> None:
        """Refuse a line that is over the limit; the bytes looked at are no more than the limit."""
        last = data.rfind(b"\n", begin, end)
        first = end if last < 0 else data.find(b"\n", begin, end)
        if self._at + first - self._line > LONGEST_LINE:
            raise endless_line(self._text.label, 1 + self._text.part(0, self._line).count(b"\n"))
        if last >= 0:
            self._line = self._at + last + 1


def endless_line(label: str, number: int) -> ExportError:
    """Word the refusal of a line that is over the limit."""
    return ExportError(
        label,
        f"is longer than {LONGEST_LINE / MEBIBYTE:.0f} MiB, the longest line allowed",
        "Export it as a table with one row per time stamp.",
        place=f"line {number}",
    )
