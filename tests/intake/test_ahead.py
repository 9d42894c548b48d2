"""Work ahead of the caller: in order, with its mistakes told where they are met, and over when the caller is."""

from __future__ import annotations

import threading
import time

import pytest

from analyzer.intake import ahead as room
from analyzer.intake.ahead import ahead

HELPERS = "intake"


def _helpers() -> list[str]:
    return [thread.name for thread in threading.enumerate() if thread.name.startswith(HELPERS)]


@pytest.fixture(params=[1, 2])
def cores(request, monkeypatch):
    monkeypatch.setattr(room, "processors", lambda: request.param)
    return request.param


def test_results_come_in_the_order_of_the_items(cores):
    def slowest_first(item, off):
        time.sleep(0.01 * (4 - item))
        return item * item

    with ahead(slowest_first, range(4), apart=lambda item: False) as results:
        assert [result() for result in results] == [0, 1, 4, 9]
    assert _helpers() == []


def test_what_has_to_be_apart_is_done_by_the_callers_own_thread(cores):
    with ahead(lambda item, off: threading.current_thread(), range(3), apart=lambda item: item == 1) as results:
        by = [result() for result in results]
    assert by[1] is threading.main_thread()
    assert (by[0] is threading.main_thread()) == (cores == 1)


def test_a_mistake_is_told_where_its_item_is_asked_for(cores):
    def odd_only(item, off):
        if item % 2 == 0:
            raise ValueError(item)
        return item

    with ahead(odd_only, range(3), apart=lambda item: False) as results:
        first, second, third = results
        with pytest.raises(ValueError, match="0"):
            first()
        assert second() == 1
        with pytest.raises(ValueError, match="2"):
            third()


def test_work_that_is_not_wanted_any_more_is_told_so_and_waited_for(cores):
    ended = []

    def until_told(item, off):
        if item:
            assert off.wait(10)
            ended.append(item)

    with (
        pytest.raises(RuntimeError),
        ahead(until_told, range(3), apart=lambda item: False) as results,
    ):
        next(results)()
        time.sleep(0.05)
        raise RuntimeError
    assert _helpers() == []
    assert ended == ([] if cores == 1 else [1])


def test_who_is_told_to_stop_does_not_wait(cores):
    told, go_on = threading.Event(), threading.Event()

    def deaf(item, off):
        if item:
            go_on.wait(10)
            assert off.is_set()
            told.set()

    start = time.monotonic()
    with (
        pytest.raises(KeyboardInterrupt),
        ahead(deaf, range(3), apart=lambda item: False) as results,
    ):
        next(results)()
        time.sleep(0.05)
        raise KeyboardInterrupt
    assert time.monotonic() - start < 5
    go_on.set()
    assert cores == 1 or told.wait(10)
