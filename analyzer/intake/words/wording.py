"""Lists in sentences, and remarks on files put together: one line a kind, however many files it is true of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple


def some(words: Sequence[str], most: int = 5) -> str:
    """List the first few words and count the rest.

    Examples
    --------
    >>> some(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    rest = len(words) - most
    return ", ".join(words[:most]) + (f" and {rest} more" if rest > 0 else "")


class Remark(NamedTuple):
    """What is said of a file; ``{detail}`` in the sentence stands for what is the file's own, a count is added up."""

    label: str
    sentence: str
    detail: str | int = ""


def together(remarks: Iterable[Remark]) -> list[str]:
    """Put remarks of one kind into one sentence, with the files that it is true of.

    Examples
    --------
    >>> together([Remark("a.csv", "{detail} rows are late.", 2), Remark("b.csv", "{detail} rows are late.", 3)])
    ['a.csv, b.csv: 5 rows are late.']
    """
    alike: dict[str, list[Remark]] = {}
    for remark in remarks:
        alike.setdefault(remark.sentence, []).append(remark)
    return [f"{_files(kind)}: {sentence.replace('{detail}', _details(kind))}" for sentence, kind in alike.items()]


def _files(kind: list[Remark]) -> str:
    return some(list(dict.fromkeys(remark.label for remark in kind)))


def _details(kind: list[Remark]) -> str:
    counts = [remark.detail for remark in kind if isinstance(remark.detail, int)]
    return str(sum(counts)) if counts else some(list(dict.fromkeys(str(remark.detail) for remark in kind)))
