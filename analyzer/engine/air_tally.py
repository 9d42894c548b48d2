"""What groups of terminals count of the air that their air handlers supply, added up and laid out for judgement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from analyzer.engine.rule import Rule
from analyzer.signals import Scene
from analyzer.signals.agreed import COUNTED, counts_of, in_few_bytes
from analyzer.signals.air_seen import AIR_SEEN
from analyzer.signals.air_signs import quarters_of, runs_of, starved_at, zones_at
from analyzer.signals.axes import QUARTER
from analyzer.signals.demand import DEMAND

# The terminals of no air handler that is known stand under this name.
NOT_ASSIGNED = "air handler not assigned"
# The signs that name terminals: what each shows of itself.
WITHOUT_AIR, STARVED = "without air", "starved"
# What is taken down of the terminals of no known air handler alone: that they have air, and that they get what their
# setpoint asks for. By the sign that it tells against.
WITH_AIR, FED = "with air", "fed"
TELLS_AGAINST = {WITHOUT_AIR: WITH_AIR, STARVED: FED}
# The signals that count those of an air handler that show them.
COUNTED_BY = {WITHOUT_AIR: "terminals_without_air", STARVED: "terminals_starved"}
# Where the rule book has no rule of its own for it.
_STARVED_BY = {"full_damper": 95.0, "allowed_shortfall": 0.15}
# What is counted here: terminals that are starved; that are starved as they nearly always are; that would show it;
# whose zone wants cooling; of whose zone that is known.
_OWN = ("starved", "always", "watched", "warm", "zoned")
# Who nearly always starves has a trouble of its own, but where this share of all that would show it do. Judgement.
_NO_OWN_TROUBLE = 0.3
# With fewer terminals that tell, nothing is known of all.
_LEAST_TELLING = 3


@dataclass(frozen=True)
class AirTally:
    """What is counted.

    Attributes
    ----------
    counts : DataFrame
        As ``air_counts`` tells, and ``starved``, ``always``, ``watched``: terminals that are short of air now and then,
        that are as they nearly always are, and that would show it; ``warm``, ``zoned``: whose zone wants cooling, and
        of whose zone that is known.
    runs : DataFrame
        ``sign, owner, terminal, start, end``: when each terminal showed a sign of its own [s].
    members : DataFrame
        ``owner, terminal``: every terminal.
    settled : DataFrame, optional
        What follows from the counts, where these are not all that it follows from.
    demand : DataFrame
        As ``demand_counts`` tells: what the terminals ask of their air handlers.
    """

    counts: pd.DataFrame
    runs: pd.DataFrame
    members: pd.DataFrame
    settled: pd.DataFrame | None = None
    demand: pd.DataFrame = field(default_factory=pd.DataFrame)


def air_tally(scene: Scene, rules: dict[str, Rule]) -> AirTally:
    """Count what a group of terminals shows of its air."""
    signs, owner = quarters_of(scene), scene.words("air_handler").astype(str)
    starved, watched, always, fed = starved_at(scene, **_limits(rules))
    warm, zoned = zones_at(scene)
    own = {"starved": starved & ~always, "always": always, "watched": watched, "warm": warm, "zoned": zoned}
    quarters = pd.DataFrame({"owner": owner[signs.terminal], "quarter": signs.quarter, **own})
    quarters = quarters.astype(dict.fromkeys(_OWN, np.int64))
    counted = quarters.groupby(["owner", "quarter"], as_index=False).sum()
    counts = counts_of(scene, AIR_SEEN).merge(counted, how="left", on=["owner", "quarter"])
    counts = in_few_bytes(counts.fillna(dict.fromkeys(_OWN, 0)).astype(dict.fromkeys(_OWN, np.int32)))
    nobodys = (owner == "")[signs.terminal]
    told = (
        (WITHOUT_AIR, signs.lost), (STARVED, starved),
        (WITH_AIR, signs.moves & nobodys), (FED, fed & nobodys),
    )  # fmt: skip
    runs = [_runs(scene, owner, name, holds) for name, holds in told]
    return AirTally(
        counts,
        pd.concat(runs, ignore_index=True),
        pd.DataFrame({"owner": owner, "terminal": scene.terminals}),
        demand=counts_of(scene, DEMAND),
    )


def _limits(rules: dict[str, Rule]) -> dict[str, float]:
    """Who is starved, by the limits of the rule that judges it."""
    rule = rules.get("air-handler-short-of-pressure")
    return {name: rule.values[name] if rule and name in rule.limits else value for name, value in _STARVED_BY.items()}


def _runs(scene: Scene, owner: np.ndarray, sign: str, holds: np.ndarray) -> pd.DataFrame:
    signs = quarters_of(scene)
    terminal, start, end = runs_of(signs.terminal, signs.quarter, holds)
    return pd.DataFrame(
        {"sign": sign, "owner": owner[terminal], "terminal": scene.terminals[terminal], "start": start * QUARTER,
         "end": end * QUARTER}
    )  # fmt: skip


def add_tallies(parts: Sequence[AirTally]) -> AirTally:
    """Add up what groups of terminals counted; no terminal may be in two of them."""
    if len(parts) == 1:
        return parts[0]
    counts = COUNTED[AIR_SEEN].add([part.counts for part in parts])
    more = pd.concat([part.counts[["owner", "quarter", *_OWN]] for part in parts])
    more = in_few_bytes(more.groupby(["owner", "quarter"], as_index=False, sort=True).sum())
    return AirTally(
        counts.assign(**{name: more[name] for name in _OWN}),
        pd.concat([part.runs for part in parts], ignore_index=True),
        pd.concat([part.members for part in parts], ignore_index=True),
        demand=COUNTED[DEMAND].add([part.demand for part in parts]),
    )


def settle_tally(tally: AirTally) -> pd.DataFrame:
    """Tell what follows from the counts, as ``settle`` does."""
    return COUNTED[AIR_SEEN].settle(tally.counts) if tally.settled is None else tally.settled


def parts_of_tally(whole: AirTally, parts: Sequence[Sequence[str]]) -> Iterator[AirTally]:
    """Cut what was counted into parts: of some air handlers each, and of the terminals that hang on none that is known.

    What follows for these depends on all air handlers: then it is worked out for all at once.
    """
    settled = settle_tally(whole) if (whole.counts["owner"] == "").any() else None
    for tags in parts:
        owners = [_owner_of(tag) for tag in tags]
        yield AirTally(
            whole.counts[whole.counts["owner"].isin(owners)],
            whole.runs[whole.runs["owner"].isin([*owners, ""])],
            whole.members,
            settled=None if settled is None else settled[settled["owner"].isin(owners)],
            demand=whole.demand[whole.demand["owner"].isin(owners)],
        )


def _owner_of(tag: str) -> str:
    return "" if tag == NOT_ASSIGNED else tag


def given_of(
    settled: pd.DataFrame, tags: Sequence[str], owner: np.ndarray, seconds: np.ndarray
) -> dict[str, np.ndarray]:
    """Lay what was settled over places: an air handler (its number among the tags) at a moment [s]."""
    number = pd.Index(tags).get_indexer([tag or NOT_ASSIGNED for tag in settled["owner"].cat.categories])
    key = number[settled["owner"].cat.codes] * 2**40 + settled["quarter"].to_numpy()
    order = np.argsort(key, kind="stable")
    place = owner.astype(np.int64) * 2**40 + (seconds // QUARTER).astype(np.int64)
    at = order[np.minimum(np.searchsorted(key, place, sorter=order), max(len(key) - 1, 0))]
    found = key[at] == place
    column = {name: np.where(found, settled[name].to_numpy()[at].astype(float), np.nan) for name in _LAID}
    tells = (column["told"] >= _LEAST_TELLING) | (column["known"] == 0) & ~np.isnan(column["runs"])
    known = tells | (column["stretch"] >= 0) | (column["idle"] > 0)
    lost = np.where(column["outage"] > 0, column["nothing"] + column["cut"], 0.0)
    watched = column["watched"] >= _LEAST_TELLING
    many = column["always"] >= _NO_OWN_TROUBLE * column["watched"]
    starved = column["starved"] + np.where(many, column["always"], 0.0)
    return {
        "air_lost": np.where(known, column["outage"], np.nan),
        "air_lost_lasts": np.where(known, column["lasts"], np.nan),
        "terminals_without_air": np.where(known & (column["known"] > 0), lost, np.nan),
        "terminals_starved": np.where(watched, starved, np.nan),
        "share_starved": np.where(watched, starved / np.maximum(column["watched"], 1), np.nan),
        "share_wanting_cooling": np.where(
            column["zoned"] >= _LEAST_TELLING, column["warm"] / np.maximum(column["zoned"], 1), np.nan
        ),
    }


_LAID = (
    *("told", "known", "runs", "stretch", "idle", "outage", "lasts", "nothing", "cut"),
    *_OWN,
)
