"""What can go wrong in a user's hands, as one sentence that says where and what to do.

UserError                 anything the user can correct; the command prints it and leaves with status 2
    CallError             the call itself: a path, an option, a terminal that does not exist
    SiteError             the site file
    ScheduleError         the terminal schedule
    PointListError        the point list
    RuleError             a rule file, or a change to a rule in the site file
    ExportError           an export that cannot be read
    ContractError         the normalized table breaks its own contract
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Any

LONGEST = 1000
LONGEST_PLACE = 200


class UserError(Exception):
    """A mistake that the user can correct.

    Parameters
    ----------
    where : path or text
        The file (or option) in which the mistake stands; ``None`` where there is none.
    found : str
        What was found, and what is allowed instead.
    remedy : str
        What to do, as a sentence.
    place : str, optional
        Where in the file: a line, a key, a column.

    Notes
    -----
    ``str(error)`` is one line under 1,000 characters: ``<file>: <place>: <found>. <remedy>``.
    """

    def __init__(self, where: object, found: str, remedy: str, *, place: str | None = None):
        self.where = None if where is None else str(where)
        self.place = place
        self.found = found
        self.remedy = remedy
        super().__init__(self._sentence())

    def __reduce__(self) -> tuple[Any, ...]:
        """A worker process hands its error on as it is."""
        return _again, (type(self), self.where, self.found, self.remedy, self.place)

    def _sentence(self) -> str:
        ending = without_secrets(f". {self.remedy}")
        place = (
            self.place if self.place is None or len(self.place) <= LONGEST_PLACE else self.place[:LONGEST_PLACE] + "…"
        )
        parts = [part for part in (self.where, place, self.found.rstrip(".")) if part]
        body = without_secrets(printable(" ".join(": ".join(parts).split())))
        room = LONGEST - 1 - len(ending)
        if len(body) > room:
            body = body[: room - 1] + "…"
        return printable(" ".join((body + ending).split()))


def _again(kind: type[UserError], where: object, found: str, remedy: str, place: str | None) -> UserError:
    return kind(where, found, remedy, place=place)


class CallError(UserError):
    """The call itself is wrong: a path, an option, a terminal that does not exist."""


class SiteError(UserError):
    """The site file cannot be used."""


class ScheduleError(UserError):
    """The terminal schedule cannot be used."""


class PointListError(UserError):
    """The point list cannot be used."""


class RuleError(UserError):
    """A rule file, or a change to a rule in the site file, cannot be used."""


class ExportError(UserError):
    """An export cannot be read."""


class ContractError(UserError):
    """The normalized table breaks its own contract."""


# A path that was made of an address has one slash where that has two; a drive's letter is no scheme.
_USER = re.compile(
    r"(?:(?<=://)|(?<=[a-zA-Z0-9+.-]{2}:/)(?!/))(?:[^/\s@]*|[^\s@?]*:[^\s@?]*)@"
)  # a password may hold a slash
_SECRET = re.compile(
    r"(?<=[?&])[\w.-]*(?:key|secret|token|passw|credential|sig\b|signature|sas)[\w.-]*="
    r"[^&\s'\"]*?(?=&|[:.,;)]*(?:[\s'\"]|$))&?",
    re.IGNORECASE,
)


def without_secrets(text: str) -> str:
    """Return a text whose addresses name no user, password, key or token: what is said or written is passed on."""
    return re.sub(r"[?&](?=$|[\s'\"),/:])", "", _SECRET.sub("", _USER.sub("", text))) if ":/" in text else text


def printable(text: str) -> str:
    """Return a text without signs that would command a terminal or cannot be encoded: each becomes a question mark.

    A space of another width, such as stands between a figure and its unit, is a space.
    """
    return text if text.isprintable() else "".join(map(_plain, text))


def _plain(sign: str) -> str:
    if sign.isprintable():
        return sign
    return " " if unicodedata.category(sign) == "Zs" else "?"


def nearest(word: object, known: Iterable[object]) -> str:
    """Return ``" (did you mean 'x'?)"`` for the nearest known word, or an empty text."""
    from difflib import get_close_matches

    close = get_close_matches(str(word), [str(k) for k in known], n=1, cutoff=0.6)
    return f" (did you mean {close[0]!r}?)" if close else ""
