"""``python -m analyzer``, and what the installed command ``trendwright`` calls."""

from __future__ import annotations

import atexit
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from analyzer.command import run
from analyzer.memory import look_for_garbage_seldom, reuse_memory


def main() -> None:
    """Run the command, in a process that is its own, and leave with its status."""
    # The linear algebra library would set a thread waiting on every processor; nothing here has work for them.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    reuse_memory()
    look_for_garbage_seldom()
    try:
        run(_load)
    except SystemExit as leaving:
        _leave(leaving.code)


def _load() -> Callable[..., Any]:
    if sys.argv[1:2] == ["review"] and "--help" not in sys.argv:
        from analyzer.contract.check import start_ahead

        atexit.register(start_ahead())
    from analyzer.cli import app

    return app


def _leave(status: Any) -> None:
    """End the process at once: everything is written, and taking it apart again would only be waited for."""
    atexit._run_exitfuncs()
    with suppress(OSError):  # nobody reads it any more
        sys.stderr.flush()
    os._exit(status)


if __name__ == "__main__":
    main()
