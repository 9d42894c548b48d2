"""Archives: what they hold, read in memory and never unpacked to disk, within a stated size."""

from __future__ import annotations

import gzip
import io
import zipfile
import zlib
from collections import Counter
from functools import lru_cache
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

NESTED = "!/"  # between the name of an archive inside an archive and that of a file in it
_SPLIT = "Unpack it and give the folder, or split the export."


def members(path: Path) -> list[str]:
    """List the files of a zip archive in a fixed order, those of the archives in it with it: one level, and no deeper.

    Raises
    ------
    ExportError
        It is no zip archive, is locked by a password, or holds more than the limits allow, all levels together.
    """
    with _open(path, path) as archive:
        files = _files(archive, path)
        size, count, names = _within_limits(files, path), len(files), []
        for name in _seen(files):
            if not _is_archive(name):
                names.append(name)
                continue
            label = f"{path}/{name}"
            with _open(io.BytesIO(_member(archive, name, label)), label) as inner:
                inside = _files(inner, label)
            size = _within_limits(inside, path, size, count)
            count += len(inside)
            names += [f"{name}{NESTED}{each}" for each in _seen(inside)]
    return names


def _is_archive(name: str) -> bool:
    return Path(name).suffix.lower() == ".zip"


def _files(archive: zipfile.ZipFile, label) -> list[zipfile.ZipInfo]:
    """Return the files of an archive, which may not be locked nor hold one twice."""
    files = [info for info in archive.infolist() if not info.is_dir()]
    if any(info.flag_bits & 1 for info in files):
        raise ExportError(label, "is locked by a password", "Unpack it and give the folder.")
    names = [info.filename for info in files]
    if len(set(names)) < len(names):
        twice = next(name for name, times in Counter(names).items() if times > 1)
        raise ExportError(label, f"holds {twice!r} twice", "Pack it again with each file once, or give the folder.")
    return files


def _within_limits(files: list[zipfile.ZipInfo], label, size: int = 0, count: int = 0) -> int:
    """Refuse files that are, with those counted before, too many or too large; return the size of all."""
    if count + len(files) > MOST_ARCHIVE_MEMBERS:
        raise _too_many(label, count + len(files))
    size += sum(info.file_size for info in files)
    if size > LARGEST_UNPACKED:
        raise _too_large(label, size)
    return size


def _seen(files: list[zipfile.ZipInfo]) -> list[str]:
    names = sorted(info.filename for info in files)
    return [name for name in names if not name.startswith("__MACOSX/") and not Path(name).name.startswith(".")]


def read_member(path: Path, member: str) -> bytes:
    """Return the bytes of one file of a zip archive, or of an archive in it; a packed file inside is unpacked too."""
    label = f"{path}/{member.replace(NESTED, '/')}"
    outer, _, inner = member.partition(NESTED)
    if _is_archive(outer) and inner:
        with _open(io.BytesIO(_inner_archive(path, outer, path.stat().st_mtime_ns)), f"{path}/{outer}") as archive:
            data = _member(archive, inner, label)
    else:
        with _open(path, path) as archive:
            data = _member(archive, member, label)
    return _unpacked(io.BytesIO(data), label, Path(member).suffix.lower(), len(data))


@lru_cache(maxsize=1)
def _inner_archive(path: Path, name: str, changed: int) -> bytes:
    """Return an archive inside an archive; the last one is kept, since its files are read one after another."""
    with _open(path, path) as archive:
        return _member(archive, name, f"{path}/{name}")


def _member(archive: zipfile.ZipFile, name: str, label: str) -> bytes:
    try:
        with archive.open(name) as stream:
            return _within_limit(stream, label, archive.getinfo(name).compress_size)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ExportError(label, f"cannot be unpacked ({error})", "Pack it again.") from None


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


def _open(file: Path | io.BytesIO, label) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(file)
    except (zipfile.BadZipFile, OSError) as error:
        raise ExportError(label, f"is not a readable zip archive ({error})", "Pack it again.") from None


def _too_many(label, count: int) -> ExportError:
    return ExportError(label, f"holds {count} files; allowed are {MOST_ARCHIVE_MEMBERS}", _SPLIT)


def _too_large(label, size: int) -> ExportError:
    return ExportError(
        label,
        f"unpacks to {size / MEBIBYTE:,.0f} MiB or more; allowed are {LARGEST_UNPACKED / MEBIBYTE:,.0f} MiB",
        _SPLIT,
    )
