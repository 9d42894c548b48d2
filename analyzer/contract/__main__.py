"""The check's own process: rows of a table in on standard input, what became of the suite out on standard output."""

from __future__ import annotations

import gc
import json
import os
import pickle
import signal
import sys

from analyzer.contract import lean
from analyzer.contract.check import LEAN


def main() -> None:
    """Load the library, as the first argument says, then wait for the rows; leave without looking back."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interruption is for the process that was called: it ends this one
    gc.disable()  # the process lives for seconds and leaves nothing to collect; looking for it takes a seventh of them
    if sys.argv[1] == LEAN:
        lean.load()
    import great_expectations.expectations  # noqa: F401 (the long import, while the review reads its exports)
    import pandas as pd

    from analyzer.contract.suite import validate

    columns = pickle.load(sys.stdin.buffer)  # written by the process that started this one
    sys.stdout.write(json.dumps(validate(pd.DataFrame(columns))))
    sys.stdout.flush()
    os._exit(0)  # taking a few thousand modules apart would be waited for


if __name__ == "__main__":
    main()
