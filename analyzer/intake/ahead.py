"""Work on the next items while the caller is busy with this one: files are read while others are made sense of."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import islice
from typing import TypeVar

from analyzer.crew import processors

Item = TypeVar("Item")
Result = TypeVar("Result")

_DEEP = 2  # items that are worked on before they are asked for: what lies in memory unused is bounded


@contextmanager
def ahead(
    work: Callable[[Item, threading.Event], Result], items: Iterable[Item], apart: Callable[[Item], bool]
) -> Iterator[Iterator[Callable[[], Result]]]:
    """Work on items in their order, a few ahead of the caller, by one thread more.

    Leaving the context ends the work, whatever happened; who is told to stop does not wait for it. A machine with one
    core works on each item when it is asked for, by the caller's own thread; so is the only item there is.

    Parameters
    ----------
    work : callable
        Of an item and an event, which is set where its result is not wanted any more. It runs beside the caller.
    items : iterable
    apart : callable
        Tells the items that have to be worked on by the caller's own thread.

    Yields
    ------
    iterator of callable
        For each item, what waits for its result and returns it, or raises what its work raised.
    """
    items, off = list(items), threading.Event()
    if len(items) < 2 or processors() < 2:
        yield (partial(work, item, off) for item in items)
        return
    pool = ThreadPoolExecutor(1, thread_name_prefix="intake")

    def begin(item: Item) -> Callable[[], Result]:
        return partial(work, item, off) if apart(item) else pool.submit(work, item, off).result

    told_to_stop = False
    try:
        yield _kept_begun(begin, items)
    except KeyboardInterrupt:
        told_to_stop = True
        raise
    finally:
        off.set()
        pool.shutdown(wait=not told_to_stop, cancel_futures=True)  # what it does changes nothing outside


def _kept_begun(begin: Callable[[Item], Callable[[], Result]], items: list[Item]) -> Iterator[Callable[[], Result]]:
    """Begin a few items more than were asked for."""
    left = iter(items)
    begun = deque(map(begin, islice(left, _DEEP)))
    while begun:
        begun.extend(map(begin, islice(left, 1)))
        yield begun.popleft()
