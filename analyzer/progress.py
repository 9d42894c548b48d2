"""What a command says while it is at work, to whoever looks on: on a terminal, one line that changes."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from analyzer import interrupts
from analyzer.errors import printable, without_secrets


def progress(quiet: bool) -> Callable[[str], None]:
    """Return a function that shows a sentence on the terminal; where there is none, standard error holds refusals."""
    if quiet or not sys.stderr.isatty():
        return lambda _: interrupts.check()
    start = time.monotonic()

    def say(sentence: str) -> None:
        interrupts.check()
        sentence = without_secrets(printable(sentence))
        sys.stderr.write(f"\r\x1b[K{time.monotonic() - start:5.1f} s  {sentence[:100]}" if sentence else "\r\x1b[K")
        sys.stderr.flush()

    return say
