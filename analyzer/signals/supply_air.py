"""The air handler behind a terminal: whether it supplies air, as trended or as its terminals show."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.agreed import settled
from analyzer.signals.air_seen import AIR_SEEN
from analyzer.signals.air_signs import quarters_of
from analyzer.signals.axes import QUARTER
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.unit_state import by_own_points
from analyzer.signals.windows import since_change

# A fan's status says off, and its terminals have air: for so long that cannot be a moment in between [s]. Judgement.
SURELY_ON = 7200.0
# A terminal is one of those without air where it was without for this share of the stretch that it tells of. Judgement.
AFFECTED = 0.5
_SETTLED_BY = "the air handler's supply_fan_status, or its duct_static_pressure"


@signal("state", settled_by=_SETTLED_BY, whole=True)
def supply_air_on(scene: Scene) -> np.ndarray:
    """Whether the air handler supplies air: by its fan's status, else by the duct's pressure, else by its terminals.

    What most of its terminals show goes before its own points, which may be frozen. Where its terminals say that it is
    off, and this one has air, it is unknown.
    """
    on = scene.of_air_handlers("supply air on", _supplies)
    if scene.of_air_handlers("supply air seen off", _seen_off).any():
        doubtful = scene.of_air_handlers("supply air seen off", _seen_off) & scene.once(
            "has air", lambda: _has_air(scene)
        )
        on = np.where(doubtful, np.nan, on)
    return on


@signal("time", settled_by=_SETTLED_BY, whole=True)
def supply_air_off_for(scene: Scene) -> np.ndarray:
    """How long the air handler has been off [s]; 0 while it runs, unknown where nothing tells of it."""

    def work_out(scene):
        on, axes = _supplies(scene), scene.air_handler_axes
        return np.where(np.isnan(on), np.nan, since_change(~(on < 0.5), axes.first, scene.seconds[axes.rows]))

    off_for = scene.of_air_handlers("supply air off for", work_out)
    return np.where(np.isnan(scene.value("supply_air_on")), np.nan, off_for)


@signal("state", settled_by=_SETTLED_BY, whole=True)
def air_available(scene: Scene) -> np.ndarray:
    """Whether air may be expected at the terminal: 0 where its air handler is known or seen to be off or without air.

    Never unknown: where nothing tells of the air handler, air is expected.
    """
    off = scene.of_air_handlers("supply air is off", lambda scene: (_supplies(scene) < 0.5) | _about_a_loss(scene))
    if not _table(scene)["stretch"].gt(-1).any():
        return np.where(off, 0.0, 1.0)
    return np.where(off | _affected(scene), 0.0, 1.0)


def supply_air_turned(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler has just gone on or off."""

    def work_out(scene):
        on = np.nan_to_num(_supplies(scene), nan=1.0)
        return np.diff(on, prepend=on[:1]) != 0

    return scene.of_air_handlers("supply air turned", work_out)


def _supplies(scene: Scene) -> np.ndarray:
    """Whether each air handler supplies air, over the rows of the air handlers' axes."""
    return scene.once("air handlers supply", lambda: _by_points_and_terminals(scene))


def _by_points_and_terminals(scene: Scene) -> np.ndarray:
    on = _by_points(scene)
    seen = {name: _at_rows(scene, name) for name in ("air", "idle")}
    stands = _lasting(seen["air"] & (on < 0.5), scene, SURELY_ON)
    by_terminals = np.where(seen["air"], 1.0, np.where(seen["idle"], 0.0, np.nan))
    on = np.where(np.isnan(on) | stands, by_terminals, on)
    return np.where(_lost(scene), 0.0, on)


def _by_points(scene: Scene) -> np.ndarray:
    return scene.once(
        "air handlers by their points",
        lambda: by_own_points(scene.joined("supply_fan_status"), scene.joined("duct_static_pressure")),
    )


def _seen_off(scene: Scene) -> np.ndarray:
    """Where it is its terminals that say that an air handler is off, over the rows of the axes."""
    return (_supplies(scene) < 0.5) & ~(_by_points(scene) < 0.5)


def _lost(scene: Scene) -> np.ndarray:
    """Where nearly all of an air handler's terminals have lost their air, over the rows of the axes."""
    return _at_rows(scene, "whole") & (_at_rows(scene, "stretch") >= 0)


def _about_a_loss(scene: Scene) -> np.ndarray:
    """The same, and the quarter hours before and after, of which some rows may belong to it."""
    if not _table(scene)["whole"].any():
        return np.zeros(len(scene.air_handler_axes.rows), dtype=bool)
    return _at_rows(scene, "whole", -1) | _at_rows(scene, "whole", +1) | _lost(scene)


def _lasting(holds: np.ndarray, scene: Scene, least: float) -> np.ndarray:
    """Keep what holds for so long in a row [s], over the rows of the axes."""
    if not holds.any():
        return holds
    axes = scene.air_handler_axes
    seconds, axis = scene.seconds[axes.rows], np.repeat(np.arange(len(axes.first) - 1), np.diff(axes.first))
    begins = np.flatnonzero(np.append(True, (np.diff(holds) != 0) | (np.diff(axis) != 0)))
    ends = np.append(begins[1:], len(holds)) - 1
    return holds & np.repeat(seconds[ends] - seconds[begins] >= least, ends + 1 - begins)


# What the terminals show ---------------------------------------------------------------------------------------------


def _table(scene: Scene) -> pd.DataFrame:
    return settled(scene, AIR_SEEN)


_NOWHERE = {"air": False, "idle": False, "whole": False, "stretch": -1}


def _at_rows(scene: Scene, name: str, later: int = 0) -> np.ndarray:
    """Return a column of what was settled at the rows of the axes, or so many quarter hours later."""
    return scene.once(("air seen", name, later), lambda: _looked_up(scene, name, later))


def _looked_up(scene: Scene, name: str, later: int) -> np.ndarray:
    table, axes = _table(scene), scene.air_handler_axes
    if not len(table):
        return np.full(len(axes.rows), _NOWHERE[name])
    at = scene.once(("air seen, places", later), lambda: _places_of_axes(scene, later))
    return np.where(at >= 0, table[name].to_numpy()[at], _NOWHERE[name])


def _places_of_axes(scene: Scene, later: int) -> np.ndarray:
    """Find the row of the table of each of the axes' rows, or of so many quarter hours later; -1 for none."""
    axes = scene.air_handler_axes
    owner = scene.once("air seen, owners", lambda: _numbers(scene))
    quarter = (scene.seconds[axes.rows] // QUARTER).astype(np.int64) + later
    return _places(scene, np.repeat(owner[axes.terminal], np.diff(axes.first)), quarter)


def _numbers(scene: Scene) -> np.ndarray:
    """The number of each terminal's air handler among those of the table; -1 for none."""
    return _table(scene)["owner"].cat.categories.get_indexer(scene.words("air_handler").astype(str))


def _places(scene: Scene, owner: np.ndarray, quarter: np.ndarray) -> np.ndarray:
    """Find the row of the table of an air handler (its number) and quarter hour; -1 for none."""
    table = _table(scene)
    key = scene.once(
        "air seen, places", lambda: table["owner"].cat.codes.to_numpy(np.int64) * 2**40 + table["quarter"].to_numpy()
    )
    place = owner * 2**40 + quarter
    at = np.minimum(np.searchsorted(key, place), len(key) - 1)
    return np.where((owner >= 0) & (key[at] == place), at, -1)


# What the terminal itself shows ---------------------------------------------------------------------------------------


def own_stretch(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """For each quarter hour of the terminals (``quarters_of``): its row in what was settled, and its stretch; or -1."""
    signs = quarters_of(scene)
    if not len(_table(scene)):
        return np.full(len(signs.terminal), -1), np.full(len(signs.terminal), -1)
    owner = scene.once("air seen, owners", lambda: _numbers(scene))
    at = _places(scene, owner[signs.terminal], signs.quarter)
    return at, np.where(at >= 0, _table(scene)["stretch"].to_numpy()[at], -1)


def _affected(scene: Scene) -> np.ndarray:
    """Tell at which rows a terminal is one of those that lost their air together."""
    return scene.once("without air with others", lambda: _at_own_rows(scene, _of_affected(scene)))


def _of_affected(scene: Scene) -> np.ndarray:
    """For each quarter hour of the terminals: in a stretch, and without air for most of it."""
    signs, stretch = quarters_of(scene), own_stretch(scene)[1]
    key = signs.terminal * (stretch.max(initial=0) + 2) + stretch
    keys, number = np.unique(np.where(stretch >= 0, key, -1), return_inverse=True)
    number = number.reshape(-1)
    lost, told = np.bincount(number, signs.lost, len(keys)), np.bincount(number, signs.told, len(keys))
    return ((lost >= AFFECTED * told) & (lost > 0))[number] & (stretch >= 0)


def _has_air(scene: Scene) -> np.ndarray:
    """Tell at which rows more than next to no air flows, by the quarter hour."""
    signs = quarters_of(scene)
    return _at_own_rows(scene, ~signs.still, about=0)


def _at_own_rows(scene: Scene, holds: np.ndarray, about: int = 1) -> np.ndarray:
    """Spread what holds at quarter hours of terminals over their rows, and those so many quarter hours about."""
    signs = quarters_of(scene)
    if not holds.any():
        return np.zeros(scene.size, dtype=bool)
    key = signs.terminal[holds] * 2**40 + signs.quarter[holds]
    key = np.unique(np.concatenate([key + later for later in range(-about, about + 1)]))
    place = scene.code * 2**40 + (scene.seconds // QUARTER).astype(np.int64)
    return key[np.minimum(np.searchsorted(key, place), len(key) - 1)] == place
