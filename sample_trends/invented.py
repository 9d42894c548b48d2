"""Invented buildings of any size, for evidence over many terminal-weeks."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.building import FACES, FT2, INCH_WC, Building
from sample_trends.design import construct

TERMINALS_A_HANDLER = 40


def invented_building(terminals: int, seed: int, *, each: int = TERMINALS_A_HANDLER, floors=None) -> Building:
    """Make up a building: kinds, rooms, faces and sizes are drawn by the seed.

    Parameters
    ----------
    terminals : int
        How many; every 40 (``each``) share an air handler, overhead and underfloor ones in turn.
    seed : int
    floors : sequence of bool, optional
        For each air handler whether it supplies through the floor, where not in turn.

    Returns
    -------
    Building
        Terminals ``T-0001`` on, air handlers ``AHU-01`` on. About a third single-duct, a third parallel and a third
        series; of the single-duct ones a third cool only (those lie inside).
    """
    rng = np.random.default_rng([seed, 7])
    handlers = -(-terminals // each)
    names = [f"AHU-{number + 1:02d}" for number in range(handlers)]
    underfloor = np.arange(handlers) % 2 == 1 if floors is None else np.asarray(floors, bool)
    air_handlers = pd.DataFrame(
        {
            "static_pressure": np.where(underfloor, 0.7, 1.0) * INCH_WC,
            "supply_temp": np.where(underfloor, 17.2, 13.0),
            "supply_reset": np.where(underfloor, 0.8, 2.5),
            "warm_up_temp": np.where(underfloor, 26.0, 29.0),
            "full_warm_up": True,
            "outdoor_air_fraction": 0.37,
        },
        index=pd.Index(names, name="air_handler"),
    )
    rooms = _rooms(terminals, names, underfloor, rng, each)
    return Building("Invented building", "America/Chicago", 41.9, -87.6, 190.0,
                    construct(rooms, air_handlers, outdoor_air_fraction=0.35, seed=seed), air_handlers)  # fmt: skip


def _rooms(
    terminals: int, names: list[str], underfloor: np.ndarray, rng: np.random.Generator, each: int
) -> pd.DataFrame:
    kind = rng.choice(["single-duct", "parallel", "series"], terminals)
    reheat = rng.choice(["hot-water", "electric"], terminals, p=[0.6, 0.4])
    cools_only = (kind == "single-duct") & (rng.random(terminals) < 0.35)
    meeting = (kind != "parallel") & ~cools_only & (rng.random(terminals) < 0.2)
    face = np.where(cools_only | meeting, "inside", rng.choice(FACES[1:], terminals))
    area = np.round(np.where(meeting, rng.uniform(500, 750, terminals), rng.uniform(650, 1300, terminals)), -1)
    handler = np.arange(terminals) // each
    people = np.round(area / 1000.0 * np.where(meeting, 16.0, 5.5))
    return pd.DataFrame(
        {
            "kind": kind,
            "distribution": np.where(underfloor[handler], "underfloor", "overhead"),
            "air_handler": np.array(names, dtype=object)[handler],
            "zone": [f"Room {number + 1}" for number in range(terminals)],
            "floor": (handler + 1).astype(str),
            "reheat": np.where(cools_only, "none", reheat),
            "open_zone": _open_zones(terminals, rng),
            "face": face,
            "area": area * FT2,
            "people": np.maximum(people, 1.0),
            # A room under the roof has heat of its own.
            "top_floor": (rng.random(len(names))[handler] < 0.4) & ~cools_only,
            "staged": rng.random(terminals) < 0.4,
            "inlet": (kind != "single-duct") & (rng.random(terminals) < 0.12),
            "blank": cools_only & (rng.random(terminals) < 0.3),
            "load": rng.uniform(0.8, 1.15, terminals),
            "also_trends": np.where(rng.random(terminals) < 0.2, "occupied", ""),
        },
        index=pd.Index([f"T-{number + 1:04d}" for number in range(terminals)], name="terminal"),
    )


def _open_zones(terminals: int, rng: np.random.Generator) -> np.ndarray:
    """Let one pair of neighbours in eight share an open zone."""
    pair = np.arange(terminals) // 2
    shares = rng.random(pair.max() + 1) < 1 / 8
    names = np.array([f"OPEN-{number + 1}" for number in range(len(shares))], dtype=object)
    return np.where(shares[pair], names[pair], None)
