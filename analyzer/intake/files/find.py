"""Find the files to read: from files, folders, globs and archives to a list of sources in a fixed order."""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import NamedTuple, NoReturn

from analyzer.errors import ExportError
from analyzer.intake.files import archives
from analyzer.intake.words.vocabulary import TIME_WORDS, fold
from analyzer.intake.words.wording import some
from analyzer.site import Site
from analyzer.trends import AIR_HANDLERS_FILE

TEXT = {".csv", ".txt", ".tsv", ".tab", ".dat", ".psv", ".log", ".prn", ".asc", ".rpt", ".lst"}
PARQUET = {".parquet", ".pq"}
WORKBOOK = {".xlsx", ".xlsm"}
JSON = {".jsonl", ".ndjson", ".json"}
READABLE = TEXT | PARQUET | WORKBOOK | JSON
PACKED = (".gz", ".zst", ".zstd")
# The building's own description is never an export, whatever folder it lies in.
OWN_NAMES = {"site.toml", "terminals.csv", "points.csv", "sources.csv", "truth.csv"}
# Those whose names an export may have, too: it is one where its first line heads a column of stamps.
_MAY_BE_EXPORTS = {"terminals.csv", "points.csv"}
_LONGEST_HEADING = 64 * 1024  # bytes
# What a review writes, by which its folder is known and passed over.
REVIEW_MARKS = {"ledger.json", "findings.json"}
REVIEW_OUTPUTS = {
    "verdicts.csv",
    "findings.csv",
    "terminals_ranked.csv",
    "trend_request.csv",
    "issue_log.xlsx",
    "trends.parquet",
    AIR_HANDLERS_FILE,
}


@dataclass(frozen=True)
class Source:
    """One file to read.

    Attributes
    ----------
    label : str
        How messages and the ledger name it.
    name : str
        Its file name without the packing suffix, e.g. ``VAV-101.csv``.
    path : Path
        The file on disk; the archive itself for a member.
    member : str or None
        The member of the archive; of one inside it, that one's name, ``archives.NESTED`` and its member.
    named : bool
        Whether the call names this very file; one that was only found may turn out to be no export.
    folders : tuple of str
        The folders in which it lies, outermost first: from the one that the call names on, or the archive.
    """

    label: str
    name: str
    path: Path
    member: str | None = None
    named: bool = False
    folders: tuple[str, ...] = ()

    @property
    def suffix(self) -> str:
        return Path(self.name).suffix.lower()

    @property
    def stem(self) -> str:
        return Path(self.name).stem

    @property
    def read_at_all(self) -> bool:
        """Whether it is of a type that is read, as far as its name tells; what a call names is tried as text."""
        return self.named or Path(_unpacked_name(self.name.lower())).suffix in READABLE | {".zip"}

    @property
    def packed(self) -> bool:
        return self.member is not None or self.path.suffix.lower() in PACKED

    def read(self) -> bytes:
        """Return the file's bytes, unpacked.

        Raises
        ------
        ExportError
            The file cannot be opened, or is larger than allowed when unpacked.
        """
        with self.opening():
            if self.member is not None:
                return archives.read_member(self.path, self.member)
            if self.packed:
                return archives.read_packed(self.path)
            return self.path.read_bytes()

    @contextmanager
    def opening(self) -> Iterator[None]:
        """Word what goes wrong while the file is opened."""
        try:
            yield
        except OSError as error:
            raise ExportError(
                self.label, f"cannot be opened ({error.strerror or error})", "Check the file and its permissions."
            ) from None


class Found(NamedTuple):
    """The files to read, and the names of those that were met and are of a type that is not read."""

    sources: list[Source]
    passed: list[str]


def find(exports: Sequence[str | Path | Source], site: Site) -> Found:
    """List the files to read, without the building's own description and a review's outputs.

    Raises
    ------
    ExportError
        An export does not exist, or nothing that could be read was found.
    """
    told = (site.file, site.terminals_file, site.points_file, *site.documents)
    own = {path.resolve() for path in told if path is not None}
    found: dict[tuple, Source] = {}
    for export in exports:
        for source in [export] if isinstance(export, Source) else _sources(export):
            if source.path.resolve() not in own:
                found.setdefault((source.path.resolve(), source.member), source)
    sources = [source for source in found.values() if source.read_at_all]
    passed = [source.label for source in found.values() if not source.read_at_all]
    if not sources:
        beside = f" (passed over: {some(passed)})" if passed else ""
        raise ExportError(
            ", ".join(str(export) for export in exports) or "the call",
            f"no export was found{beside}; readable are {' '.join(sorted(READABLE))}, also as .gz, .zst or inside .zip",
            "Name the exported files or the folder that holds them.",
        )
    return Found(sources, passed)


def _sources(export: str | Path) -> list[Source]:
    path = Path(export)
    if path.is_dir():
        return _in_folder(path)
    if path.is_file():
        return _of_file(path, str(export), named=True)
    if any(sign in str(export) for sign in "*?["):
        matches = sorted(glob.glob(str(export), recursive=True))
        if not matches:
            raise ExportError(export, "nothing matches this pattern", "Check the pattern, or name the folder instead.")
        return [
            source
            for match in matches
            for source in (_in_folder(Path(match)) if Path(match).is_dir() else _of_file(Path(match), match))
        ]
    if path.exists():
        raise ExportError(export, "is no file but a pipe or a device", "Name the exported files or their folder.")
    raise ExportError(export, "no such file or folder", "Check the path.")


def _in_folder(folder: Path) -> list[Source]:
    """List a tree in a fixed order; links that lead out of it are not followed."""
    inside = folder.resolve()
    sources: list[Source] = []
    for place, folders, names in os.walk(folder, onerror=_unreadable, followlinks=False):
        here = set(names)
        folders[:] = sorted(name for name in folders if not name.startswith(".") and not _is_rules(Path(place) / name))
        if here >= REVIEW_MARKS or (REVIEW_MARKS & here and "index.html" in here):
            folders[:] = []
            continue
        for name in sorted(here):
            path = Path(place) / name
            if path.is_symlink() and not path.resolve().is_relative_to(inside):
                continue
            if (
                (here & REVIEW_MARKS and name in REVIEW_OUTPUTS)
                or _is_of_a_table(name, here)
                or _is_drafts_page(name, here)
            ):
                continue
            if not name.startswith((".", "~$")) and path.is_file():
                sources += _of_file(path, str(path), folders=(inside.name, *path.parent.relative_to(folder).parts))
    return sources


def _unreadable(error: OSError) -> NoReturn:
    """Refuse a folder that cannot be read: what is in it would be left out of every verdict."""
    raise ExportError(
        error.filename, f"cannot be read ({error.strerror})",
        "Check the folder's permissions, or move it out of the exports.",
    )  # fmt: skip


def _is_of_a_table(name: str, here: set[str]) -> bool:
    """Tell a normalized table, or its air handlers', by the ledger that stands beside it under its name."""
    stem = name.removesuffix(f".{AIR_HANDLERS_FILE}").removesuffix(".parquet")
    return stem != name and f"{stem}.ledger.json" in here


def _is_drafts_page(name: str, here: set[str]) -> bool:
    """Tell the page of a draft by what was drafted with it."""
    return name == "index.html" and here >= {"site.toml", "points.csv"}


def _is_rules(folder: Path) -> bool:
    """Tell a folder of rules: TOML files and nothing that could be an export."""
    try:
        suffixes = {Path(name).suffix.lower() for name in os.listdir(folder)}
    except FileNotFoundError:
        return True  # it went while the folder was listed
    except OSError as error:
        _unreadable(error)
    return (
        ".toml" in suffixes
        and not suffixes & (READABLE | {*PACKED, ".zip"})
        and all(_is_rules(Path(entry)) for entry in os.scandir(folder) if entry.is_dir())
    )


def _of_file(path: Path, label: str, *, named: bool = False, folders: tuple[str, ...] = ()) -> list[Source]:
    suffix = path.suffix.lower()
    label = _spelled(label)
    if suffix == ".zip":
        members = [member for member in archives.members(path) if not _is_own(Path(member).name)]
        return [_of_archive(path, label, member) for member in members]
    name = _spelled(_unpacked_name(path.name))
    return (
        []
        if _is_own(name) and not _has_stamps(path)
        else [Source(label, name, path, named=named, folders=tuple(map(_spelled, folders)))]
    )


def _of_archive(path: Path, label: str, member: str) -> Source:
    *archive, inside = (PurePosixPath(part.replace("\\", "/")) for part in member.split(archives.NESTED, 1))
    around = [part for outer in archive for part in (*outer.parent.parts, outer.stem)]
    return Source(
        f"{label}/{member.replace(archives.NESTED, '/')}",
        _unpacked_name(inside.name),
        path,
        member,
        folders=(_spelled(path.stem), *around, *inside.parent.parts),
    )


def _unpacked_name(name: str) -> str:
    """Return a file's name without the suffix of its packing."""
    return name[: -len(Path(name).suffix)] if Path(name).suffix.lower() in PACKED else name


def _spelled(name: str) -> str:
    """Return a name that any text can hold: a file's may be of bytes that spell nothing."""
    return os.fsencode(name).decode("utf-8", "replace")


def _has_stamps(path: Path) -> bool:
    """Tell an export by a heading of stamps, which no file of the building's description has, whatever its name."""
    if path.name.lower() not in _MAY_BE_EXPORTS:
        return False
    try:
        with open(path, "rb") as file:
            head = file.readline(_LONGEST_HEADING)
    except OSError:
        return False
    return any(fold(cell) in TIME_WORDS for cell in re.split(r"[,;\t|]", head.decode("utf-8-sig", "replace").strip()))


def _is_own(name: str) -> bool:
    """Tell by its name a file of the building's description, or of a review or a stored table."""
    plain = _unpacked_name(name.lower())
    return plain in OWN_NAMES | REVIEW_MARKS or plain.endswith(".ledger.json")
