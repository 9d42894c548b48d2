"""The check's own process: tables in on standard input, pickled, what became of the suite out on standard output."""

from __future__ import annotations

import gc
import json
import os
import pickle
import signal
import sys
from collections.abc import Iterator
from io import BufferedReader
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pandas import DataFrame


def main() -> None:
    """Load the library, then wait for the tables; leave without looking back."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interruption is for the process that was called: it ends this one
    try:
        gc.disable()  # the import leaves nothing to collect; looking for it takes a seventh of the time
        from analyzer.contract.suite import check

        gc.freeze()
        gc.enable()
        with open(0, "rb") as source:  # standard input
            answer = check(_tables(source))
    except Exception as error:
        answer = {"failed": f"{type(error).__name__}: {error}"}
    sys.stdout.write(json.dumps(answer))
    sys.stdout.flush()
    os._exit(0)  # taking a few thousand modules apart would be waited for


def _tables(source: BufferedReader) -> Iterator[DataFrame]:
    """Yield the terminals' table of each source that comes, some terminals at a time, up to the end of the stream."""
    from analyzer.contract.check import MOST_ROWS
    from analyzer.dataset.writing import stretches

    while source.peek(1):
        trends = pickle.load(source)  # written by the process that started this one
        for tags in stretches(trends.tags, trends.rows, MOST_ROWS):
            yield trends.of(tags).terminals
            gc.collect()  # what the library makes of a table holds it in circles


if __name__ == "__main__":
    main()
