"""What a finding is, set beside the truth: right, a consequence, a wrong cause, or false."""

from __future__ import annotations

from collections.abc import Iterable

import pandas as pd

from sample_trends.catalogue import Kind

RIGHT, SYMPTOM, CONSEQUENCE, WRONG, FALSE = "right", "symptom", "consequence", "wrong cause", "false"


def relation(rule: str, kinds: Iterable[Kind]) -> str:
    """Tell what a rule's verdict is at a terminal that has these kinds of faults; none: a sound one."""
    kinds = list(kinds)
    if any(rule in (*kind.shows, *kind.also) for kind in kinds):
        return RIGHT
    if any(rule in kind.brings for kind in kinds):
        return CONSEQUENCE
    return WRONG if kinds else FALSE


def with_causes(found: pd.DataFrame) -> pd.DataFrame:
    """Let findings (``id, under, judged_as``) share the fate of what they were put under; add ``top``.

    What stands under a right cause, or under a consequence, is told with it and right. What stands under a wrong or a
    false one keeps what it is.
    """
    own, parents = (found.set_index("id")[name].to_dict() for name in ("judged_as", "under"))
    top = found["under"].isna()
    settled = [
        said if alone or own.get(_root(name, parents)) not in (RIGHT, CONSEQUENCE) else RIGHT
        for name, said, alone in zip(found["id"], found["judged_as"], top, strict=True)
    ]
    return found.assign(judged_as=settled, top=top)


def met(found: pd.DataFrame) -> set[str]:
    """Return the ids of findings that a reader meets rightly: for themselves, or under nothing that is wrong."""
    own, parents = (found.set_index("id")[name].to_dict() for name in ("judged_as", "under"))
    return {name for name in found["id"] if own.get(_root(name, parents)) in (RIGHT, SYMPTOM, CONSEQUENCE)}


def _root(name: str, parents: dict) -> str:
    seen = {name}
    while isinstance(above := parents.get(name), str) and above in parents and above not in seen:
        seen.add(above)
        name = above
    return name
