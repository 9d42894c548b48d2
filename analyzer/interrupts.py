"""Being told to stop (Ctrl-C, a closed terminal, a shutdown): the work ends where it can be undone."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager

_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")


class _State:
    held = 0  # how many stretches that must not be broken are under way
    pending = False  # whether someone asked to stop


def listen() -> None:
    """Take every polite request to stop as Ctrl-C is taken; one that the caller's shell ignores stays ignored."""
    _State.pending = False
    for name in _SIGNALS:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _asked_to_stop)


def _asked_to_stop(*_: object) -> None:
    _State.pending = True
    if not _State.held:
        raise KeyboardInterrupt


def asked() -> bool:
    """Tell whether someone asked to stop."""
    return _State.pending


def check() -> None:
    """Stop here if someone asked to, and a library swallowed it.

    Raises
    ------
    KeyboardInterrupt
        Someone asked to stop.
    """
    if _State.pending and not _State.held:
        raise KeyboardInterrupt


@contextmanager
def unbroken() -> Iterator[None]:
    """Keep a stretch of work whole: who asks to stop within it is heard at its end."""
    _State.held += 1
    try:
        yield
    finally:
        _State.held -= 1
    check()
