"""Archives: what they hold, read in memory and never unpacked to disk, within a stated size."""

from __future__ import annotations

import gzip
import io
import zipfile
import zlib
from collections import Counter
from pathlib import Path

from analyzer import interrupts
from analyzer.errors import ExportError
from analyzer.intake.limits import (
    LARGEST_UNPACKED,
    MEBIBYTE,
    MOST_ARCHIVE_MEMBERS,
    MOST_TIMES_UNPACKED,
    SURELY_UNPACKED,
)

_SPLIT = "Unpack it and give the folder, or split the export."


def members(path: Path) -> list[str]:
    """List the files of a zip archive in a fixed order.

    Raises
    ------
    ExportError
        It is no zip archive, is locked by a password, or holds more than the limits allow.
    """
    with _open(path) as archive:
        files = [info for info in archive.infolist() if not info.is_dir()]
    if len(files) > MOST_ARCHIVE_MEMBERS:
        raise ExportError(path, f"holds {len(files)} files; allowed are {MOST_ARCHIVE_MEMBERS}", _SPLIT)
    if any(info.flag_bits & 1 for info in files):
        raise ExportError(path, "is locked by a password", "Unpack it and give the folder.")
    size = sum(info.file_size for info in files)
    if size > LARGEST_UNPACKED:
        raise _too_large(path, size)
    names = [info.filename for info in files]
    if len(set(names)) < len(names):
        twice = next(name for name, times in Counter(names).items() if times > 1)
        raise ExportError(path, f"holds {twice!r} twice", "Pack it again with each file once, or give the folder.")
    return sorted(name for name in names if not name.startswith("__MACOSX/") and not Path(name).name.startswith("."))


def read_member(path: Path, member: str) -> bytes:
    """Return the bytes of one file of a zip archive; a packed file inside is unpacked too."""
    with _open(path) as archive:
        try:
            with archive.open(member) as stream:
                data = _within_limit(stream, f"{path}/{member}", archive.getinfo(member).compress_size)
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
            raise ExportError(f"{path}/{member}", f"cannot be unpacked ({error})", "Pack it again.") from None
    return _unpacked(io.BytesIO(data), f"{path}/{member}", Path(member).suffix.lower(), len(data))


def read_packed(path: Path) -> bytes:
    """Return the bytes of a gzip or zstd file."""
    with open(path, "rb") as stream:
        return _unpacked(stream, str(path), path.suffix.lower(), path.stat().st_size)


def _unpacked(stream, label: str, suffix: str, packed: int) -> bytes:
    if suffix == ".gz":
        return _gunzip(stream, label, packed)
    return _unzstd(stream, label, packed) if suffix in (".zst", ".zstd") else stream.read()


def _unzstd(stream, label: str, packed: int) -> bytes:
    import pyarrow as pa

    try:
        with pa.input_stream(stream, compression="zstd") as unpacked:
            return _within_limit(unpacked, label, packed)
    except (pa.ArrowException, OSError) as error:
        raise ExportError(label, f"cannot be unpacked ({type(error).__name__})", "Pack it again.") from None


def _gunzip(stream, label: str, packed: int) -> bytes:
    try:
        with gzip.GzipFile(fileobj=stream) as unpacked:
            return _within_limit(unpacked, label, packed)
    except (gzip.BadGzipFile, zlib.error, EOFError) as error:
        raise ExportError(label, f"cannot be unpacked ({error})", "Pack it again.") from None


def _within_limit(stream, label: str, packed: int) -> bytes:
    """Read to the end, or to just past a limit: what an archive says of its size is not believed."""
    parts, size = [], 0
    while part := stream.read(MEBIBYTE):
        interrupts.check()
        parts.append(part)
        size += len(part)
        if size > LARGEST_UNPACKED:
            raise _too_large(label, size)
        if size > SURELY_UNPACKED and size > MOST_TIMES_UNPACKED * packed:
            raise ExportError(
                label,
                f"unpacks to more than {SURELY_UNPACKED // MEBIBYTE} MiB and {MOST_TIMES_UNPACKED} times its size, "
                "which no export does",
                "Unpack it and look at it; if it is sound, give the folder.",
            )
    return b"".join(parts)


def _open(path: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, OSError) as error:
        raise ExportError(path, f"is not a readable zip archive ({error})", "Pack it again.") from None


def _too_large(label, size: int) -> ExportError:
    return ExportError(
        label,
        f"unpacks to {size / MEBIBYTE:,.0f} MiB or more; allowed are {LARGEST_UNPACKED / MEBIBYTE:,.0f} MiB",
        _SPLIT,
    )
