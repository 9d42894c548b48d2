"""What is true of a terminal whichever air handler of the building serves it: for those whose own nobody knows."""

from __future__ import annotations

import numpy as np

from analyzer.signals.scene import Scene
from analyzer.signals.unit_state import by_own_points
from analyzer.signals.windows import last_before, since_change

# A point of an air handler is held for so long [s].
HELD_FOR = 3600.0


def all_off_for(scene: Scene) -> np.ndarray:
    """How long every air handler of the building has been off by its own points [s]; 0 while one runs or is unknown."""

    def work_out():
        axes = scene.axes
        off = (_over_axes(scene)["on"] < 0.5).all(axis=0) & bool(len(_names(scene)))
        off_for = since_change(~off, axes.first, scene.seconds[axes.rows])
        return np.where(off, off_for, 0.0)[axes.row]

    return scene.once("all air handlers off", work_out)


def supply_temps(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """The coldest and the warmest supply air of the air handlers that run [degC], per row; NaN where none is known."""

    def work_out():
        found = _over_axes(scene)
        runs = np.where(found["on"] > 0.5, found["supply"], np.nan)
        coldest, warmest = (way.reduce(runs, axis=0, initial=np.nan) for way in (np.fmin, np.fmax))
        return coldest[scene.axes.row], warmest[scene.axes.row]

    return scene.once("supply of all air handlers", work_out)


def _names(scene: Scene):
    return scene.trends.air_handlers["air_handler"].cat.categories


def _over_axes(scene: Scene) -> dict[str, np.ndarray]:
    """Whether each air handler runs, and its supply temperature; shape (air handlers, rows of the axes)."""

    def work_out():
        table, rows = scene.trends.air_handlers, scene.axes.rows
        codes, seconds = table["air_handler"].cat.codes.to_numpy().astype(int), table["time"].astype("int64") / 1e6
        on = by_own_points(table["supply_fan_status"].to_numpy(), table["duct_static_pressure"].to_numpy())
        values = {"on": np.append(on, np.nan), "supply": np.append(table["supply_temp"].to_numpy(), np.nan)}
        rows_of_each = [
            last_before(np.full(len(rows), code), scene.seconds[rows], codes, seconds.to_numpy(), HELD_FOR)
            for code in range(len(_names(scene)))
        ]
        at = np.stack(rows_of_each) if rows_of_each else np.full((1, len(rows)), -1)
        return {name: column[at] for name, column in values.items()}

    return scene.once("points of all air handlers", work_out)
