"""Columns of one table under one heading whose readings differ: nothing tells which is which, and none is taken."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from analyzer.intake.points.cells import Opened, cells_of, log_of_each
from analyzer.intake.points.point import Point
from analyzer.intake.words.wording import some

# Judgement: of the moments that both have, so many may differ; one column that was exported twice differs nowhere, but
# the row that is written while it is logged may.
_DIFFER = 0.05
SAME_HEADING = "its table has another column of its heading, whose readings differ"


def leave_out_same_headings(logs: Sequence[Opened]) -> list[str]:
    """Leave points out that one table holds under one heading, and whose readings differ; say so.

    Returns
    -------
    list of str
    """
    out: dict[str, list[str]] = {}
    for opened in logs:
        if opened.log.layout.kind != "wide":
            continue
        alike: dict[tuple, list[tuple[Point, int]]] = {}
        for point, log in zip(opened.points, log_of_each(opened), strict=True):
            if point.mapped and log >= 0:
                alike.setdefault((point.key, point.column), []).append((point, log))
        for same in alike.values():
            if any(_differ(opened, one, other) for (_, one), (_, other) in combinations(same, 2)):
                out.setdefault(same[0][0].file, []).append(same[0][0].column)
                for point, _ in same:
                    point.give_up(SAME_HEADING)
    return [
        f"{file}: columns of one heading whose readings differ were left out, since nothing tells which is which: "
        f"{some(list(map(repr, columns)))}. Export them under names of their own."
        for file, columns in out.items()
    ]


def _differ(opened: Opened, one: int, other: int) -> bool:
    (time, value), (other_time, other_value) = cells_of(opened, one), cells_of(opened, other)
    _, here, there = np.intersect1d(time, other_time, return_indices=True)
    return bool(len(here)) and float((value[here] != other_value[there]).mean()) > _DIFFER
