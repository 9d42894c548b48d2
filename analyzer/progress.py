"""What a command says while it is at work, to whoever looks on."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from analyzer import interrupts
from analyzer.errors import printable


def progress(quiet: bool) -> Callable[[str], None]:
    """Return a function that shows a sentence on standard error: one line that changes, where someone looks on."""
    if quiet:
        return lambda _: interrupts.check()
    start, live = time.monotonic(), sys.stderr.isatty()

    def say(sentence: str) -> None:
        interrupts.check()
        sentence = printable(sentence)
        if live:
            sys.stderr.write(f"\r\x1b[K{time.monotonic() - start:5.1f} s  {sentence[:100]}" if sentence else "\r\x1b[K")
            sys.stderr.flush()
        elif sentence:
            print(f"{time.monotonic() - start:5.1f} s  {sentence}", file=sys.stderr)

    return say
