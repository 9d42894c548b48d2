"""What there is to look at on site, and at which terminals."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import ConfigDict, TypeAdapter

_FILE = Path(__file__).with_name("items.toml")


@dataclass(frozen=True)
class Item:
    """One thing to look at. Empty ``kinds`` and ``reheat`` fit all terminals."""

    __pydantic_config__ = ConfigDict(extra="forbid")

    id: str
    look: str
    how: str
    kinds: tuple[str, ...] = ()
    reheat: tuple[str, ...] = ()
    outdoor_air_inlet: bool = False
    underfloor: bool = False
    caution: str | None = None

    def fits(self, terminal: dict[str, Any]) -> bool:
        """Tell whether it can be looked at: what the schedule does not say is taken as possible."""
        kind, reheat = word_of(terminal, "kind"), word_of(terminal, "reheat")
        return (
            (not self.kinds or kind in ("", *self.kinds))
            and (not self.reheat or reheat in ("", *self.reheat))
            and (not self.outdoor_air_inlet or _given(terminal, "outdoor_air_inlet_min"))
            and (not self.underfloor or word_of(terminal, "distribution") == "underfloor")
        )


@cache
def items() -> tuple[Item, ...]:
    """Return everything there is to look at, in the order in which it is done at the box."""
    return TypeAdapter(tuple[Item, ...]).validate_python(tomllib.loads(_FILE.read_text("utf-8"))["item"])


def fitting(terminal: dict[str, Any], wanted: Iterable[str] | None = None) -> list[Item]:
    """Return the items that fit a terminal.

    Parameters
    ----------
    terminal : dict[str, Any]
        Its row of the schedule; empty where it is in none.
    wanted : iterable of str, optional
        Only the items of these ids, such as the ``site_checks`` of the rules that found something.
    """
    ids = None if wanted is None else set(wanted)
    return [item for item in items() if item.fits(terminal) and (ids is None or item.id in ids)]


def word_of(terminal: dict[str, Any], name: str) -> str:
    """Return a word of a schedule's row; empty where it is blank."""
    value = terminal.get(name)
    return value if isinstance(value, str) else ""


def _given(terminal: dict[str, Any], name: str) -> bool:
    value = terminal.get(name)
    return isinstance(value, float) and value == value
