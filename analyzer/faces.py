"""What a room hands out: names of its modules, each loaded when it is first asked for."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import Any


def handed_out(room: str, inside: dict[str, tuple[str, ...]]) -> Callable[[str], Any]:
    """Return the ``__getattr__`` of a room.

    Parameters
    ----------
    room : str
        The package's name.
    inside : dict
        Module of the room to the names that others may ask the room for.
    """
    home = {name: f"{room}.{module}" for module, names in inside.items() for name in names}

    def found(name: str) -> Any:
        if name in home:
            return getattr(importlib.import_module(home[name]), name)
        raise AttributeError(f"module {room!r} has no attribute {name!r}")

    return found
