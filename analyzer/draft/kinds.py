"""What kind of terminal the trends show: series, parallel or without a fan; its air handler, its sort of reheat."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.intake.points.point import Point
from analyzer.intake.reading import Survey
from analyzer.intake.words.names import concepts_of, tokens_of
from analyzer.intake.words.vocabulary import FAN_POWERED
from analyzer.signals import Scene
from analyzer.site import Site

# Judgement: what a terminal's fan does in cooling, by which series and parallel units are told apart.
_SERIES_RUNS = 0.9  # of the time that primary air flows without a call for heat, a series unit's fan runs
_PARALLEL_RUNS = 0.5  # a parallel unit's runs less than this
_SOME_AIR, _MUCH_AIR = 0.1, 0.5  # of the greatest flow seen
_FOLDERS = 2  # about a file, nearest first, that may bear its air handler's name
_ROWS_TO_TELL = 24  # samples without a call for heat; with fewer the kind is a guess
_WARM = 0.6  # K above the heating setpoint: no call for heat


def infer_terminals(found: Survey) -> pd.DataFrame:
    """Infer what can be inferred of each terminal.

    Returns
    -------
    DataFrame
        Index ``terminal``; columns kind, air_handler and reheat, each with its evidence in words (``..._why``, blank
        where the value is), and ``learned``: no name says which air handler it is, the trends do.
    """
    trends = found.trends.terminals
    points: dict[str, list[Point]] = {}
    for point in found.points:
        if point.tag and point.mapped and not point.air_handler:
            points.setdefault(point.tag, []).append(point)
    tags = list(trends["terminal"].cat.categories)
    share = _fan_without_heating(trends)
    logged = trends.groupby("terminal", observed=True).count() > 0  # a tidy table has columns for what others measure
    handlers = sorted({point.tag for point in found.points if point.tag and point.mapped and point.air_handler})
    rows, learned = [], _learned(found)
    any_reheat = bool(logged["reheat_position"].any())
    for tag in tags:
        mine = [point for point in points.get(tag, []) if tag in logged.index and logged.at[tag, point.quantity]]
        quantities = {point.quantity for point in mine if point.quantity}
        owner, owner_why = _air_handler(mine, found)
        from_trends = not owner and learned[tag] != ""
        if from_trends:
            owner, owner_why = learned[tag], "no name says so: its trends follow those of this air handler"
        elif not owner and len(handlers) == 1:
            owner, owner_why = handlers[0], "no other air handler is in the exports"
        kind = _kind(tag, quantities, share.get(tag, np.nan))
        rows.append([*kind, owner, owner_why, from_trends, *_reheat(mine, others_have=any_reheat)])
    columns = ["kind", "kind_why", "air_handler", "air_handler_why", "learned", "reheat", "reheat_why"]
    return pd.DataFrame(rows, index=pd.Index(tags, name="terminal"), columns=columns)


def _learned(found: Survey) -> dict[str, str]:
    """The air handler of each terminal as its trends tell; "" where they do not."""
    scene = Scene(found.trends, Site(time_zone=found.trends.time_zone))
    return dict(zip(scene.terminals, scene.words("air_handler"), strict=True))


def _fan_without_heating(trends: pd.DataFrame) -> pd.Series:
    """Return, for each terminal, how much of the time its fan runs while primary air flows and nothing calls for heat.

    A series unit's fan runs whenever primary air flows; a parallel unit's rests unless the zone calls for heat. Where
    no heating setpoint is trended, much primary air stands for no call. NaN where neither is known.
    """
    owner = trends["terminal"]
    fan = trends["fan_status"].fillna(trends["fan_command"])
    flow = trends["primary_flow"].fillna(trends["damper_position"])
    most = flow.groupby(owner, observed=True).transform(lambda column: column.quantile(0.98))
    warm = trends["zone_temp"] - trends["heating_setpoint"]
    idle = (flow >= _SOME_AIR * most) & (warm >= _WARM).where(warm.notna(), flow >= _MUCH_AIR * most) & (most > 0)
    seen = fan.where(idle).groupby(owner, observed=True)
    return seen.mean().where(seen.count() >= _ROWS_TO_TELL)


def _kind(tag: str, quantities: set[str], share: float) -> tuple[str, str]:
    """Infer a terminal's kind from its points and from what its fan does in cooling."""
    word = tag.lower()
    trended = quantities & {"fan_status", "fan_command", "fan_speed"}
    if not trended and not FAN_POWERED & {token.low for token in tokens_of(tag)}:
        return "single-duct", "no fan is trended"
    if "pfp" in word or "pfb" in word:
        return "parallel", "its tag says so"
    if "sfp" in word or "sfb" in word:
        return "series", "its tag says so"
    if not trended:
        return "parallel", "its tag names a fan, but none is trended: series or parallel is a guess"
    if np.isnan(share):
        return "parallel", "a fan is trended, but no time without a call for heat: series or parallel is a guess"
    runs = f"its fan runs {share:.0%} of the time that primary air flows without a call for heat"
    if share >= _SERIES_RUNS:
        return "series", runs
    sure = "" if share <= _PARALLEL_RUNS else ", which is neither series nor parallel"
    return "parallel", f"{runs}{sure}"


def _air_handler(points: list[Point], found: Survey) -> tuple[str, str]:
    """The air handler that a point, its file or a folder names, and which of them does."""
    for point in points:
        path = Path(point.file.replace("\\", "/"))
        named_by = [
            ("the name", point.column),
            ("its column of tags", point.owner or ""),
            ("the name of its file", path.stem),
        ]
        named_by += [("the folder of its file", folder) for folder in reversed(path.parts[:-1][-_FOLDERS:])]
        for what, text in named_by:
            if named := found.tags.air_handler_in(text):
                return named, f"{what} {text!r} says so"
    return "", ""


def _reheat(points: list[Point], *, others_have: bool) -> tuple[str, str]:
    """The sort of reheat, by the names of its signals.

    A terminal without any has none only where others of the exports have one; where nobody trends reheat, nothing is
    known of it.
    """
    signals = {point.column: concepts_of(point.column) for point in points if point.quantity == "reheat_position"}
    if not signals:
        return ("none", "no reheat signal is trended, and others have one") if others_have else ("", "")
    for name, concepts in signals.items():
        if "ELECTRIC" in concepts:
            return "electric", f"{name!r} says so"
    for name, concepts in signals.items():
        if concepts & {"VALVE", "HOTWATER"}:
            return "hot-water", f"{name!r} says so"
    return "", ""
