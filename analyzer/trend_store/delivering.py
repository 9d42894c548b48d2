"""A delivery of exports laid into a store: the weeks that it touches are written anew, and count all at once."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analyzer.dataset import (
    ROW_GROUP,
    Dataset,
    Manifest,
    TableWriter,
    is_store,
    logging_of,
    open_dataset,
    read_manifest,
    stretches,
)
from analyzer.dataset.manifest import EXPORTS, MANIFEST, delivery_folder
from analyzer.errors import CallError
from analyzer.exports_kept import exports_json
from analyzer.interrupts import check, unbroken
from analyzer.normalized import is_address
from analyzer.site import Site
from analyzer.staging import check_place, one_writer
from analyzer.stores import opened
from analyzer.trend_store.merging import Changes, merged
from analyzer.trends import Trends

WEEKS = "weeks"  # a folder of a store
LEDGER, CORRECTIONS = "ledger.json", "corrections.parquet"
# Of the cells that a delivery and the store both hold, so many differ where it may be of another building; judgement.
DOUBTFUL_SHARE = 0.5
_REMEDY = "Name another store with --into."


@dataclass(frozen=True)
class Delivered:
    """What a delivery came to.

    Attributes
    ----------
    number : int
        Which delivery of the store it is.
    changes : Changes
    weeks : list of str
        The Mondays of the weeks that it touched.
    """

    number: int
    changes: Changes
    weeks: list[str]


def check_store(folder: Path, exports: list[Path]) -> None:
    """Refuse a place that is no store and cannot become one, before the exports are read.

    The site file and the schedule may lie in it.

    Raises
    ------
    CallError
        It is a file, an address, what is read, or a folder with other things in it; or it cannot be written.
    """
    if is_address(folder):
        raise CallError(folder, "is an address; a store grows in a folder of this machine", _REMEDY)
    if not folder.name:
        raise CallError(folder, "is the folder you work in, or holds all others", _REMEDY)
    if folder.suffix == ".parquet" or folder.is_file():
        raise CallError(folder, "is a file, and a store is a folder", _REMEDY)
    check_place(folder, remedy=_REMEDY)
    if folder.is_dir() and not is_store(folder) and (others := sorted(folder.iterdir())):
        raise CallError(folder, f"is a folder that holds {others[0].name!r}, and no store", _REMEDY)
    here = folder.resolve()
    for given in exports:
        if here in (given.resolve(), *given.resolve().parents):
            raise CallError(folder, f"holds {given.name}, which is read", _REMEDY)


def deliver(
    trends: Trends,
    folder: Path,
    site: Site,
    *,
    corrects: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Delivered:
    """Lay the trends of a delivery into a store, whole or not at all; where there is no store yet, one begins.

    Parameters
    ----------
    trends : Trends
    folder : Path
        The store.
    site : Site
        By which the exports were read.
    corrects : bool
        Take it even where it contradicts most of what the store holds of the same moments.
    progress : callable, optional
        Called with a short sentence at each week.

    Raises
    ------
    CallError
        The store is of another time zone, or the delivery contradicts it; or it cannot be written.
    """
    say = progress or (lambda _: None)
    with one_writer(folder, remedy=_REMEDY) as staging:
        manifest = read_manifest(*opened(folder)) or Manifest(trends.time_zone)
        if manifest.time_zone != trends.time_zone:
            raise CallError(
                folder, f"is of the time zone {manifest.time_zone}, and these exports of {trends.time_zone}",
                "Name the site file of the store's building with --site, or another store with --into.",
            )  # fmt: skip
        number = len(manifest.deliveries) + 1
        _clear(folder, manifest, number)
        changes, files, weeks = Changes(), set(manifest.files), set()
        for week, part in _by_week(trends):
            say(f"laying the week of {week} into the store")
            weeks.add(week)
            for kind in ("trends", "air_handlers"):
                held = next((file for file in files if file.startswith(f"{WEEKS}/{week}/{kind}-")), None)
                old = open_dataset(folder / held) if held is not None else None
                logged = logging_of(folder / held) if held is not None and kind == "trends" else None
                name = f"{WEEKS}/{week}/{kind}-{number:04}.parquet"
                written = _write_week(part, old, logged, staging / name, kind)
                if written is not None:
                    changes.add(written)
                    files = files - {held} | {name}
        _refuse_contradiction(folder, changes, corrects)
        _write_account(trends, site, changes, staging / delivery_folder(number))
        manifest.files = sorted(files)
        manifest.deliveries.append(_told(number, trends, changes))
        check()
        with unbroken():
            _place(staging, folder, manifest)
    return Delivered(number, changes, sorted(weeks))


def _by_week(trends: Trends) -> Iterator[tuple[str, Trends]]:
    """Yield the trends of each week, named by its Monday."""
    of_terminals, of_handlers = (_mondays(table, trends.time_zone) for table in (trends.terminals, trends.air_handlers))
    for monday in np.unique(np.concatenate([of_terminals, of_handlers])):
        terminals, handlers = (
            table[mondays == monday].reset_index(drop=True)
            for table, mondays in ((trends.terminals, of_terminals), (trends.air_handlers, of_handlers))
        )
        for table in (terminals, handlers):
            table[table.columns[0]] = table[table.columns[0]].cat.remove_unused_categories()
        kept = list(terminals["terminal"].cat.categories)
        yield str(monday), Trends(terminals, handlers, trends.logging.loc[kept], trends.time_zone)


def _mondays(table: pd.DataFrame, zone: str) -> np.ndarray:
    """Return the Monday, datetime64[D], of the week in which each row lies by the site's clock."""
    days = table["time"].dt.tz_convert(zone).dt.tz_localize(None).to_numpy("M8[D]")
    mondays: np.ndarray = days - (days.astype(np.int64) + 3) % 7  # day 0 was a Thursday
    return mondays


def _write_week(
    part: Trends, old: Dataset | None, logged: pd.DataFrame | None, path: Path, kind: str
) -> Changes | None:
    """Write a week's terminals, or its air handlers: what the store held of it, and the delivery over it.

    Returns
    -------
    Changes or None
        None where the delivery holds none: what stands there stays.
    """
    terminals = kind == "trends"
    table = part.terminals if terminals else part.air_handlers
    if table.empty:
        return None
    key = table.columns[0]
    rows = pd.Series(np.bincount(table[key].cat.codes), index=list(table[key].cat.categories))
    if old is not None:
        held = pd.Series(old.rows, index=old.tags) if terminals else old.air_handler_rows
        rows = rows.add(held, fill_value=0).astype(np.int64)
    rows = rows.sort_index()
    logging = None
    if terminals:
        logging = part.logging if logged is None else _coarser(part.logging, logged)
    path.parent.mkdir(parents=True, exist_ok=True)
    changes = Changes()
    with TableWriter(path, list(table.columns), part.time_zone, logging) as writer:
        for tags in stretches(list(rows.index), rows.to_numpy(), ROW_GROUP):
            given = part.of(tags, tags)
            later = given.terminals if terminals else given.air_handlers
            before = _held(old, tags, terminals) if old is not None else later.iloc[:0]
            whole, changed = merged(before, later)
            changes.add(changed)
            writer.add(whole)
    return changes


def _coarser(one: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    """Return how points were logged in two tables: where they differ, the longer interval."""
    tags = one.index.union(other.index)
    pair = [table.reindex(tags)[one.columns].to_numpy() for table in (one, other)]
    return pd.DataFrame(np.fmax(*pair), index=tags, columns=one.columns)


def _held(old: Dataset, tags: list[str], terminals: bool) -> pd.DataFrame:
    return old.of(tags).terminals if terminals else old.of((), tags).air_handlers


def _refuse_contradiction(folder: Path, changes: Changes, corrects: bool) -> None:
    shared = changes.agreed + changes.corrected
    if corrects or changes.corrected <= DOUBTFUL_SHARE * shared:
        return
    first = changes.corrections[0].iloc[0]
    raise CallError(
        folder, f"holds other values in {changes.corrected:,} of the {shared:,} cells that these exports hold as well, "
        f"first {first.iloc[0]} {first['quantity']} at {first['time']:%Y-%m-%d %H:%M} UTC",
        "If they are of another building, name another store; if they correct what it holds, say --corrects.",
    )  # fmt: skip


def _write_account(trends: Trends, site: Site, changes: Changes, folder: Path) -> None:
    """Write the account of a delivery's cells, its files, and what it corrected: before and after; nothing is lost."""
    folder.mkdir(parents=True)
    (folder / LEDGER).write_text(json.dumps(trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8")
    (folder / EXPORTS).write_text(exports_json(trends.ledger.exports, site), "utf-8")
    if changes.corrections:
        of_key = [part.rename(columns={part.columns[0]: "tag"}) for part in changes.corrections]
        pd.concat(of_key, ignore_index=True).to_parquet(folder / CORRECTIONS, index=False)


def _told(number: int, trends: Trends, changes: Changes) -> dict[str, Any]:
    first, last = (moment.isoformat() for moment in trends.period)
    return {
        "number": number,
        "delivered": datetime.now(UTC).isoformat(timespec="seconds"),
        "files": [file.file for file in trends.ledger.files],
        "from": first,
        "to": last,
        "cells_read": trends.ledger.cells_read,
        "cells_used": trends.ledger.cells_used,
        "rows": changes.rows,
        "values": changes.values,
        "completed": changes.completed,
        "agreed": changes.agreed,
        "corrected": changes.corrected,
    }


def _place(staging: Path, folder: Path, manifest: Manifest) -> None:
    """Move what was written into the store, and the list of what counts last."""
    written = [file for file in staging.rglob("*") if file.is_file()]
    for file in written:
        target = folder / file.relative_to(staging)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(file, target)
    folder.mkdir(parents=True, exist_ok=True)
    os.replace(manifest.write(staging), folder / MANIFEST)


def _clear(folder: Path, manifest: Manifest, number: int) -> None:
    """Remove what an earlier delivery replaced, and what one that was killed left under the number that comes now."""
    for pattern in ("trends-*.parquet", "air_handlers-*.parquet"):
        for file in sorted((folder / WEEKS).glob(f"*/{pattern}")):
            if file.relative_to(folder).as_posix() not in manifest.files and file.stem.rpartition("-")[2].isdigit():
                file.unlink()
    for name in (LEDGER, EXPORTS, CORRECTIONS):
        (folder / delivery_folder(number) / name).unlink(missing_ok=True)
