"""Try one input: it is read, and the ledger balances; or it is refused in one sentence; and either within bounds."""

from __future__ import annotations

import signal
import sys
import tempfile
import traceback
from functools import cache
from pathlib import Path

from analyzer.errors import LONGEST, UserError
from tests.fuzz.corpus import Files
from tests.intake.counting import counted_cells

SECONDS = 20.0  # of processor time for one input; the samples take a hundredth of a second
WHOLE_REVIEW_EVERY = 25


class TooSlow(BaseException):
    """An input took longer than it may."""


def try_one(files: Files, *, whole: bool = False) -> str:
    """Read an input as a review would; ``whole``: judge it and write its report too.

    Returns
    -------
    str
        ``read``, ``refused``, or, of a failure, its last words and where it came from.
    """
    signal.signal(signal.SIGPROF, _too_slow)
    with tempfile.TemporaryDirectory() as folder:
        lay(files, Path(folder))
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        try:
            return _review(Path(folder), whole)
        except UserError as refusal:
            return _wrong_with(str(refusal)) or "refused"
        except (Exception, TooSlow):
            return _where_from()
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)


def lay(files: Files, folder: Path) -> None:
    """Write an input's files into a folder."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.is_dir():
            path.write_bytes(data)


@cache
def _shipped_once() -> None:
    """Let the shipped rule files be read once, and not for every input."""
    from analyzer.engine import rulebook
    from analyzer.places import rule_book

    plain = rulebook.read_rule
    shipped = {path: plain(path) for path in rule_book().glob("*.toml")}
    rulebook.read_rule = lambda path: shipped.get(path) or plain(path)


def _review(folder: Path, whole: bool) -> str:
    from analyzer.intake import read_exports
    from analyzer.reviews import rule_book_of
    from analyzer.site import Site, read_site

    _shipped_once()
    site = read_site(folder / "site.toml") if (folder / "site.toml").is_file() else Site()
    rules = rule_book_of(site)
    exports = folder / "export"
    exports.mkdir(exist_ok=True)
    with counted_cells() as cells:
        trends = read_exports([exports], site)
    if wrong := unbalanced(trends.ledger, sum(cells)):
        return wrong
    if whole:
        _judge_and_write(folder, trends, site, rules)
    return "read"


def unbalanced(ledger, cells: int) -> str:
    """Say where a ledger does not add up to the cells that were there; empty where it does."""
    if ledger.cells_read != cells:
        return f"ledger: {ledger.cells_read} cells accounted for, {cells} were there"
    for file in ledger.files:
        for column in file.columns:
            if column.cells_used < 0 or any(count <= 0 for count in column.set_aside.values()):
                return f"ledger: {column.cells_used} used and {column.set_aside} set aside of {column.column!r}"
    return ""


def _judge_and_write(folder: Path, trends, site, rules) -> None:
    from analyzer.reviews import review

    review(trends, site, rules=rules, contract=Unchecked()).write(folder / "out")


class Unchecked:
    """In the place of the table's contract, whose process takes seconds to start and writes nothing."""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        return None

    def __getattr__(self, name: str):
        return lambda *_, **__: {"suite": "left out", "success": True, "expectations": 0, "broken": []}


def _wrong_with(sentence: str) -> str:
    if "\n" in sentence or len(sentence) >= LONGEST or not sentence.isprintable():
        return f"sentence: {sentence[:300]!r}"
    return ""


def _where_from() -> str:
    """Tell a failure by its kind and the innermost place of ours in it."""
    kind, error, trace = sys.exc_info()
    ours = [frame for frame in traceback.extract_tb(trace) if "/analyzer/" in frame.filename]
    place = f"{Path(ours[-1].filename).name}:{ours[-1].name}" if ours else "outside"
    return f"{kind.__name__} in {place}: {str(error)[:200]}"


def _too_slow(*_) -> None:
    raise TooSlow(f"took more than {SECONDS:.0f} s")
