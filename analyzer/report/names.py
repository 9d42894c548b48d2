"""File names of terminal pages: safe on every file system, the same in every run, and never two terminals in one."""

from __future__ import annotations

import hashlib
import re
import unicodedata

# A tag that is a file name already, on file systems that do not tell upper from lower case as well.
_PLAIN = re.compile(r"[A-Z0-9](?:[A-Z0-9_-]|\.(?!\.))*", re.ASCII)
_DEVICES = re.compile(r"(?:CON|PRN|AUX|NUL|COM\d|LPT\d)(?:\..*)?", re.ASCII)
_LONGEST = 60


def page_name(terminal: str) -> str:
    """Return the name of a terminal's page within ``terminals/``.

    Parameters
    ----------
    terminal : str
        The terminal's tag, whatever it holds.

    Returns
    -------
    str
        Such as ``VAV-1-01.html``. A tag with any other sign than capitals, digits, ``_``, ``-`` and single dots keeps
        what is readable of it and gets a short digest behind ``~``, so that no two tags share a page.

    Examples
    --------
    >>> page_name("VAV-1-01")
    'VAV-1-01.html'
    >>> page_name("../etc/passwd")
    'etc-passwd~7fef78f5.html'
    """
    if (
        len(terminal) <= _LONGEST
        and _PLAIN.fullmatch(terminal)
        and not _DEVICES.fullmatch(terminal)
        and terminal[-1] != "."
    ):
        return f"{terminal}.html"
    plain = unicodedata.normalize("NFKD", terminal).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^A-Za-z0-9_-]+", "-", plain).strip("-")[:_LONGEST] or "terminal"
    digest = hashlib.sha256(terminal.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{slug}~{digest}.html"


def functional_test_page(number: int) -> str:
    """Return the name of the page of a functional test, by its number in the site file, from 1."""
    return f"functional_test_{number}.html"


def functional_test_place(terminal: str) -> str:
    """Return where a terminal stands on the page of a functional test."""
    return "terminal-" + page_name(terminal).removesuffix(".html")


def natural_key(text: str) -> tuple:
    """Return a key that sorts ``VAV-2`` before ``VAV-10``, however many digits there are."""
    return tuple(
        (1, len(part.lstrip("0")), part.lstrip("0")) if part.isdecimal() else (0, 0, part.casefold())
        for part in re.findall(r"\d+|\D+", text)
    )
