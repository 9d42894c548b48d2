"""How many drawn examples a property is tried on: few in the suite, many times as many by ``python -m tests.drawn``."""

from __future__ import annotations

import os

from hypothesis import settings

TIMES = "TRENDWRIGHT_DRAWN_TIMES"


def drawn(examples: int, **more) -> settings:
    """Return the settings of a property that the suite tries on so many examples."""
    return settings(max_examples=examples * int(os.environ.get(TIMES, "1")), deadline=None, **more)
