"""Texts whose columns stand under each other, parted by spaces alone: made tables with separators."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np

from analyzer.intake.limits import MEBIBYTE
from analyzer.intake.tables.export_text import ExportText
from analyzer.intake.tables.header import is_rule
from analyzer.intake.words.stamps import looks_like_stamp

LARGEST = 32 * MEBIBYTE  # bytes; such reports are made to be read
_WIDEST = 4096  # letters of a line
_APART = (2, 1)  # spaces that part columns, tried in turn: one parts words of a name as well
_GAP = re.compile(r" {2,}")
_WORDS = re.compile(r" +")
_RULED = re.compile(r"^\s*[-=_]+(?: +[-=_]+)+\s*$")  # a rule over each column by itself
_BETWEEN_RULES = re.compile(r"(?<=[-=_]) +(?=[-=_])")
# What numbers a page in its title: "PAGE 2 OF 6", "Seite 2/6", "p. 2".
_PAGE = re.compile(r"\b(?:page|seite|p[aá]gina|p\.|pg\.?)\s*:?\s*\d+(?:\s*(?:of|von|de|sur|/)\s*\d+)?", re.IGNORECASE)
_LEAST = 3  # rows
_HEADINGS = 4  # rows above the data, the most: names over names, units under them


def part_columns(text: ExportText) -> ExportText | None:
    """Return a text with tabs between its columns; None where its lines do not show columns.

    Columns are told by the spaces that stand in every row of data, and in the headings above them, at the same places:
    an empty cell leaves its place empty.
    """
    if text.size > LARGEST:
        return None
    lines = [line.rstrip() for line in text.whole(0, text.size).decode("utf-8", "replace").splitlines()]
    data = [n for n, line in enumerate(lines) if _begins_with_stamp(line)]
    if len(data) < _LEAST or any("\t" in lines[n] or len(lines[n]) > _WIDEST for n in data):
        return None
    above = [n for n in range(data[0]) if any(map(str.isalnum, lines[n]))][-_HEADINGS:]
    if ruled := _by_rule(lines, data):
        return _with_tabs(text, lines, *ruled, data)
    for apart in _APART:
        cuts = _cuts([lines[n] for n in data], apart)
        headings = _headings(lines, above, data, cuts, apart)
        if cuts and (headings or not above) and looks_like_stamp(lines[data[0]][: cuts[0]].strip()):
            break
    else:
        return _by_names(text, lines, above, data)
    cuts = _cuts([lines[n] for n in [*headings, *data]], apart)
    if apart == 1:  # a space between words of a name may stand over the blanks of a short number
        filled = [any(lines[n][a:b].strip() for n in data) for a, b in pairwise([0, *cuts])]
        cuts = [cut for cut, holds in zip(cuts, filled, strict=True) if holds]
    return _with_tabs(text, lines, headings, cuts, data)


def _by_rule(lines: list[str], data: list[int]) -> tuple[list[int], list[int]] | None:
    """Part columns by a rule that is drawn over each of them, ``----- ------ ----``, right above the data.

    Returns
    -------
    list of int, list of int
        The rows of headings above it, and where columns end; nothing where a heading or a row of data crosses an end.
    """
    at = next((n for n in reversed(range(data[0])) if lines[n].strip()), None)
    if at is None or not is_rule(lines[at]) or not _RULED.match(lines[at]):
        return None
    cuts = [match.end() for match in _BETWEEN_RULES.finditer(lines[at])]
    headings: list[int] = []
    for n in reversed(range(at)):
        if not is_rule(lines[n]):
            if not lines[n].strip() or len(headings) == _HEADINGS or not _leaves_free(lines[n], cuts):
                break
            headings.insert(0, n)
    if not headings or not all(_leaves_free(lines[n], cuts) for n in data):
        return None
    return headings, cuts


def _leaves_free(line: str, cuts: list[int]) -> bool:
    return all(line[cut - 1 : cut].isspace() for cut in cuts if cut <= len(line))


def _with_tabs(text: ExportText, lines: list[str], headings: list[int], cuts: list[int], data: list[int]) -> ExportText:
    """Put tabs between the columns of headings and data, and take rules out."""
    for n in range(headings[0] if headings else data[0], data[0]):
        lines[n] = lines[n] if n in headings else ""  # a rule
    again = _of_other_pages(lines, headings, data)
    for n in [*headings, *again, *data]:
        lines[n] = _parted(lines[n], cuts)
    return ExportText(text.label, "\n".join(lines).encode("utf-8"), text.encoding)


def _of_other_pages(lines: list[str], headings: list[int], data: list[int]) -> list[int]:
    """Return the headings that stand again among the data; titles and rules that do are blanked.

    A title is the same but for the page's number. One that differs in more, such as the terminal, stays as it is.
    """
    names = {lines[n] for n in headings}
    titles = {_PAGE.sub("", line).strip() for line in lines[: data[0]] if _PAGE.search(line)}
    plain = {line for line in lines[: data[0]] if line} - names
    rows, again = set(data), []
    for n in range(data[0] + 1, len(lines)):
        if n in rows:
            continue
        if lines[n] in names:
            again.append(n)
        elif lines[n] in plain or is_rule(lines[n]) or _PAGE.sub("", lines[n]).strip() in titles:
            lines[n] = ""
    return again


def _begins_with_stamp(line: str) -> bool:
    """Tell a line that goes on behind its stamp, be that one word or two."""
    words = _WORDS.split(line.strip(), 2)
    return len(words) > 1 and (looks_like_stamp(words[0]) or (len(words) > 2 and looks_like_stamp(" ".join(words[:2]))))


def _headings(lines: list[str], above: list[int], data: list[int], cuts: list[int], apart: int) -> list[int]:
    """Return the rows right above the data that leave the spaces between its columns free; a title does not."""
    found: list[int] = []
    for n in reversed(above):
        if len(_cuts([lines[m] for m in [n, *found, *data]], apart)) < len(cuts):
            break
        found.insert(0, n)
    return found


def _by_names(text: ExportText, lines: list[str], above: list[int], data: list[int]) -> ExportText | None:
    """Part columns whose heading stands elsewhere over them, where it has as many names."""
    cuts = _cuts([lines[n] for n in data], _APART[0])
    heading = next((n for n in reversed(above) if any(map(str.isalpha, lines[n]))), None)
    names = [] if heading is None else _GAP.split(lines[heading].strip())
    if heading is None or not cuts or len(names) != len(cuts) + 1:
        return None  # nothing tells which name is whose
    lines[heading] = "\t".join(names)
    for n in range(heading + 1, data[0]):
        lines[n] = ""
    for n in data:
        lines[n] = _parted(lines[n], cuts)
    return ExportText(text.label, "\n".join(lines).encode("utf-8"), text.encoding)


def _parted(line: str, cuts: list[int]) -> str:
    return "\t".join(line[a:b].strip() for a, b in zip([0, *cuts], [*cuts, len(line) + 1], strict=True))


def _cuts(lines: list[str], apart: int) -> list[int]:
    """Return where columns end: where lines have so many spaces that all of them share; a whole stamp is not parted."""
    width = max(map(len, lines))
    blank = np.ones(width + 1, bool)
    for line in lines:
        letters = np.frombuffer(line.encode("utf-32-le"), np.uint32)
        blank[: len(letters)] &= letters == ord(" ")
    blank[width] = False
    edge = np.flatnonzero(np.diff(blank.astype(np.int8), prepend=0))
    runs = list(zip(edge[::2].tolist(), edge[1::2].tolist(), strict=True))
    return [end for begin, end in runs if begin and end - begin >= apart]
