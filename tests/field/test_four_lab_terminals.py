"""Four laboratory terminals with electric reheat on two air handlers, twelve days of a year, every minute.

Source: ZhelunChen/HILFT-IBAL-DEMO (MIT); the facts are those of ``shared/field/README.md``.
"""

from __future__ import annotations

import csv
import gzip

import numpy as np
import pandas as pd
import pytest

from tests.field.reading import FIELD, described, left_out, needs_field_data, trends_of, verdict_table

EXPORTS = FIELD / "four-lab-terminals"
DAMPER = {1: 15, 2: 16, 3: 17, 4: 18}
pytestmark = needs_field_data


def _points() -> str:
    """Say what each column is, and that the simulated people, the plant and all else are left out."""
    rows = []
    for k in DAMPER:
        tag = f"TU-{k}"
        rows += [
            f",vav{k}_f,{tag},primary_flow,cfm,,",
            f",vav{k}_d_sp,{tag},primary_flow_setpoint,cfm,,",
            f",vav{k}_t_in,{tag},primary_temp,degF,,",
            f",vav{k}_out_rtd,{tag},discharge_temp,degF,,",
            f",vav{k}_heat_c,{tag},reheat_position,0-10 V,,",
            f",zs{k}_out_rtd,{tag},zone_temp,degF,,",
            f",zs{k}_t_sp_f,{tag},effective_setpoint,degF,,",
            f",d{DAMPER[k]}_pos_fb,{tag},damper_position,2-10 V,,",
        ]
    for k in (1, 2):
        rows += [
            f",ahu{k}_on,AHU-{k},supply_fan_status,,,",
            f",ahu{k}_out_rtd,AHU-{k},supply_temp,degF,,",
            f",ahu{k}_p_down,AHU-{k},duct_static_pressure,in.w.c.,,",
        ]
    wanted = "".join(f"{row}\n" for row in rows)
    with gzip.open(next(EXPORTS.glob("*_*.csv.gz")), "rt") as file:
        return wanted + left_out(next(csv.reader(file))[1:], wanted)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    terminals = "terminal,kind,air_handler,reheat\n" + "".join(
        f"TU-{k},single-duct,AHU-{handler},electric\n" for k, handler in ((1, 2), (2, 2), (3, 1), (4, 1))
    )
    # Stamps of winter time all year: one of the days happens to be a clock change, which the stamps know nothing of.
    return described(
        tmp_path_factory.mktemp("lab"),
        site='time_zone = "Etc/GMT+5"\nunits = "ip"\n\n[hours]\noccupied = { mon-sun = "06:00-20:00" }\n',
        terminals=terminals,
        points=_points(),
    )


@pytest.fixture(scope="module")
def trends(site):
    return trends_of(sorted(EXPORTS.glob("*_*.csv.gz")), site)


@pytest.fixture(scope="module")
def verdicts(trends, site):
    return verdict_table(trends, site)


def _joined(trends) -> pd.DataFrame:
    handlers = trends.air_handlers.rename(columns={"air_handler": "handler"})
    table = trends.terminals.assign(handler=trends.terminals["terminal"].map(
        {"TU-1": "AHU-2", "TU-2": "AHU-2", "TU-3": "AHU-1", "TU-4": "AHU-1"}
    ).astype(object))  # fmt: skip
    handlers = handlers.assign(handler=handlers["handler"].astype(object))
    return table.merge(handlers, on=["handler", "time"])


def test_all_twelve_days_are_read(trends):
    assert len(trends.tags) == 4
    assert trends.rows.tolist() == [12 * 1440] * 4


def test_flow_keeps_to_its_setpoint_while_the_fan_runs(trends):
    table = _joined(trends)
    on = table[table["supply_fan_status"] == 1]
    near = (on["primary_flow"] / on["primary_flow_setpoint"] - 1).abs() < 0.15
    share = near.groupby(on["terminal"], observed=True).mean()
    assert share.between(0.965, 0.99).all(), share


def test_flow_sensors_read_nothing_with_the_air_handler_off(trends):
    table = _joined(trends)
    off = table[table["supply_fan_status"] == 0]
    most = off.groupby("terminal", observed=True)["primary_flow"].max() / 0.47194745
    assert most.to_list() == pytest.approx([3, 8, 10, 3], abs=0.6)


@pytest.mark.parametrize("terminal", ["TU-1", "TU-2", "TU-3", "TU-4"])
def test_no_flow_sensor_is_blamed(verdicts, terminal):
    """Zeros are right and flows keep to their setpoints: nothing speaks against any sensor."""
    for rule in ("flow-sensor-drift", "flow-with-closed-damper"):
        assert verdicts.loc[(terminal, rule), "verdict"] != "fault", verdicts.loc[(terminal, rule)].to_dict()


@pytest.mark.parametrize("rule", ["damper-not-moving-air", "starved-terminal", "primary-below-setpoint"])
def test_no_damper_and_no_duct_is_blamed(verdicts, rule):
    found = verdicts.xs(rule, level="rule")
    assert (found["verdict"] != "fault").all(), found.to_string()


@pytest.mark.parametrize("rule", ["reheat-leaking-by", "reheat-not-delivering", "reheat-without-airflow"])
def test_no_heater_is_blamed(verdicts, rule):
    """Two are never called, two work (13.8 and 14.1 degF of rise); with the heater off the discharge is 1 degF warmer."""
    found = verdicts.xs(rule, level="rule")
    assert (found["verdict"] != "fault").all(), found.to_string()


def test_heaters_that_were_never_called_are_not_judged_on_their_heat(verdicts):
    for terminal in ("TU-1", "TU-2"):
        assert verdicts.loc[(terminal, "reheat-not-delivering"), "verdict"] == "not-judged"


def test_no_terminal_has_a_fan(verdicts):
    assert not [rule for _, rule in verdicts.index if rule.startswith(("series", "parallel", "fan"))]


def test_the_room_rests_on_its_cooling_setpoint(trends):
    table = trends.terminals.set_index("terminal")
    room = table.loc["TU-2", "zone_temp"] - table.loc["TU-2", "effective_setpoint"]
    warm = table.loc["TU-2", "effective_setpoint"] > 25
    assert np.nanmedian(room[warm]) == pytest.approx(0.0, abs=0.1)
