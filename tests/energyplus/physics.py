"""The analyzer's mixing and heat beside the engine's own figures, minute by minute where air moves."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer import airside
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.trends import Trends
from tests.energyplus.building import ALTITUDE, OF_TAG
from tests.energyplus.export import LEFT_OUT

# Signal -> the engine's figure that it is set beside, and its unit.
COMPARED = {
    "coil_off_temp": ("entering_temp", "K"),
    "coil_heat": ("coil_heat", "W"),
    "heat_delivered": ("delivered_heat", "W"),
}
WITH, WITHOUT = "all", "without plenum and primary temperature"
MOVING = 10.0  # L/s of discharge


def beside_engine(trends: Trends, site: Site, truth: pd.DataFrame) -> pd.DataFrame:
    """Return a row a terminal, sample and quantity where air moves: ``terminal, time, kind, trended,
    quantity, ours, engine``.

    ``truth`` is the engine's, with columns ``terminal, time`` (local standard time) and its figures.
    """
    scene = Scene(trends, site)
    table = trends.terminals[["terminal", "time"]].copy()
    table["terminal"] = table["terminal"].astype(str)
    table["time"] = table["time"].dt.tz_convert(site.time_zone).dt.tz_localize(None)
    for name in COMPARED:
        table[f"{name} ours"] = scene.value(name)
    truth = truth.assign(time=truth["time"].astype(table["time"].dtype))
    both = table.merge(truth, on=["terminal", "time"], how="inner", validate="one_to_one")
    both = both[both["discharge_flow"] > MOVING]
    return _long(both)


def by_formula(truth: pd.DataFrame, power_per_flow: float) -> pd.DataFrame:
    """Return the formulas alone, fed with the engine's own flows and temperatures: as ``beside_engine``.

    What is left are the formulas' simplifications: dry air's density and specific heat, mixing by volume.
    """
    moving = truth[truth["discharge_flow"] > MOVING]
    kind = moving["terminal"].map(lambda tag: OF_TAG[tag].kind)
    primary, secondary, blown = (
        moving[name].to_numpy() for name in ("primary_flow", "secondary_flow", "discharge_flow")
    )
    running = moving["fan_flow"].to_numpy() > 1
    through_fan = np.where(kind == "series", primary + secondary, secondary)
    zone, discharge, entering = (moving[name].to_numpy() for name in ("zone_temp", "discharge_temp", "entering_temp"))
    density = airside.air_density(temperature=discharge, altitude=ALTITUDE)
    airs = {"discharge_flow": blown, "discharge_temp": discharge, "density": density}
    ours = {
        "coil_off_temp": airside.coil_off_temp(
            primary_flow=primary,
            primary_temp=moving["primary_temp"].to_numpy(),
            induced_flow=secondary,
            induced_temp=moving["plenum_temp"].to_numpy(),
            fan_flow=np.where(running, through_fan, 0.0),
            fan_rise=airside.fan_temp_rise(power_per_flow=power_per_flow, density=density),
        ),
        "coil_heat": airside.coil_heat(**airs, entering_temp=entering),
        "heat_delivered": airside.delivered_heat(**airs, zone_temp=zone),
    }
    return _long(moving.assign(**{f"{name} ours": values for name, values in ours.items()}))


def _long(both: pd.DataFrame) -> pd.DataFrame:
    """Set ours beside the engine's, a row a quantity; ``trended`` tells which temperatures the export has."""
    kind = both["terminal"].map(lambda tag: OF_TAG[tag].kind)
    left_out = both["terminal"].map(lambda tag: OF_TAG[tag].name[0] in LEFT_OUT) & (kind != "single-duct")
    parts = [
        pd.DataFrame(
            {
                "terminal": both["terminal"],
                "time": both["time"],
                "kind": kind,
                "trended": np.where(left_out, WITHOUT, WITH),
                "quantity": name,
                "ours": both[f"{name} ours"],
                "engine": both[engine],
            }
        )
        for name, (engine, _) in COMPARED.items()
    ]
    return pd.concat(parts, ignore_index=True).dropna()


def deviations(beside: pd.DataFrame) -> pd.DataFrame:
    """Sum up: a row a quantity, kind and what is trended, with ``samples, mean, rms, engine_rms``; ``share`` is rms over engine_rms."""
    off = beside["ours"] - beside["engine"]
    grouped = beside.assign(off=off, square=off**2, own=beside["engine"] ** 2).groupby(["quantity", "kind", "trended"])
    told = grouped.agg(
        samples=("off", "size"), mean=("off", "mean"), rms=("square", "mean"), engine_rms=("own", "mean")
    )
    told[["rms", "engine_rms"]] = np.sqrt(told[["rms", "engine_rms"]])
    told["energy"] = grouped["ours"].sum() / grouped["engine"].sum() - 1
    return told.reset_index()
