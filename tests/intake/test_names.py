"""Point names to owner and quantity: common trade abbreviations in any order, case and nesting."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.intake.points.conflicts import settle_conflicts
from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.names import read_quantity
from analyzer.intake.words.tags import TagFinder
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site import Site

SCHEDULE = TagFinder(["VAV-2-07", "VAV-2-70", "FPB-101", "TU-N-112"], ["AHU-1", "AHU-2"])


@pytest.mark.parametrize(
    ("name", "tag", "quantity"),
    [
        ("AHU1.VAV-2-07.ZN-T", "VAV-2-07", "zone_temp"),
        ("vav_2_7 space temp", "VAV-2-07", "zone_temp"),
        ("VAV 2-07 RMT", "VAV-2-07", "zone_temp"),
        ("VAV 2-07 ZAT", "VAV-2-07", "zone_temp"),
        ("2-07 ZoneTemperature", "VAV-2-07", "zone_temp"),
        ("FPB101 CLG SP", "FPB-101", "cooling_setpoint"),
        ("FPB-101/Eff Htg Setpt", "FPB-101", "heating_setpoint"),
        ("FPB-101 CLGSP", "FPB-101", "cooling_setpoint"),
        ("VAV-2-70 PRI FLOW", "VAV-2-70", "primary_flow"),
        ("VAV-2-70.AirFlow", "VAV-2-70", "primary_flow"),
        ("VAV-2-70 FLOW-SP", "VAV-2-70", "primary_flow_setpoint"),
        ("VAV-2-70 SA-FLOW", "VAV-2-70", "discharge_flow"),
        ("FPB-101 FAN FLOW", "FPB-101", "discharge_flow"),
        ("TU-N-112 DPR POS", "TU-N-112", "damper_position"),
        ("TU-N-112 DMPR", "TU-N-112", "damper_position"),
        ("FPB-101 FAN STS", "FPB-101", "fan_status"),
        ("FPB-101 FAN SS", "FPB-101", "fan_command"),
        ("FPB-101 FAN CMD", "FPB-101", "fan_command"),
        ("FPB-101 FAN SPD", "FPB-101", "fan_speed"),
        ("FPB-101 RHT VLV", "FPB-101", "reheat_position"),
        ("FPB-101 RH-VLV", "FPB-101", "reheat_position"),
        ("FPB-101.RHVLV.PV", "FPB-101", "reheat_position"),
        ("FPB-101 Reheater valve", "FPB-101", "reheat_position"),
        ("FPB-101.DiscTemp", "FPB-101", "discharge_temp"),
        ("FPB-101 Airflow Required", "FPB-101", "primary_flow_setpoint"),
        ("FPB-101 Airflow Commanded", "FPB-101", "primary_flow_setpoint"),
        ("FPB-101 Fan Commanded", "FPB-101", "fan_command"),
        ("FPB-101 Break Room Reheat", "FPB-101", "reheat_position"),
        ("FPB-101 Open Office N Airflow", "FPB-101", "primary_flow"),
        ("FPB-101 Zone Temps", "FPB-101", "zone_temp"),
        ("FPB-101 Airflow Setpoints", "FPB-101", "primary_flow_setpoint"),
        ("FPB-101 Hot Water Valves", "FPB-101", "reheat_position"),
        ("FPB-101 HTG VLV", "FPB-101", "reheat_position"),
        ("FPB-101 HW VALVE CMD", "FPB-101", "reheat_position"),
        ("FPB-101 EHC", "FPB-101", "reheat_position"),
        ("FPB-101 DA-T", "FPB-101", "discharge_temp"),
        ("FPB-101 DAT", "FPB-101", "discharge_temp"),
        ("FPB-101 PLENUM T", "FPB-101", "plenum_temp"),
        ("FPB-101 PRI-T", "FPB-101", "primary_temp"),
        ("FPB-101 OA FLOW", "FPB-101", "outdoor_air_flow"),
        ("FPB-101 OCC", "FPB-101", "occupied"),
        ("FPB-101 OCC MODE", "FPB-101", "occupied"),
        ("FPB-101 CO2", "FPB-101", "co2"),
        ("AHU-1 DA-T", "AHU-1", "supply_temp"),
        ("AHU-1 SAT", "AHU-1", "supply_temp"),
        ("AHU-2.DUCT-STATIC", "AHU-2", "duct_static_pressure"),
        ("AHU-1 SF STS", "AHU-1", "supply_fan_status"),
        ("AHU-1 OAT", "AHU-1", "outdoor_temp"),
        ("AHU-1 SA-FLOW", "AHU-1", "supply_flow"),
    ],
)
def test_name_with_a_schedule(name, tag, quantity):
    owner = SCHEDULE.find(name)
    assert owner.tag == tag
    assert owner.air_handler == (quantity in AIR_HANDLER and tag.startswith("AHU"))
    assert read_quantity(owner.words, air_handler=owner.air_handler).quantity == quantity


@pytest.mark.parametrize(
    ("name", "tag", "air_handler"),
    [
        ("AHU1.VAV-3-04.ZN-T", "VAV-3-04", False),
        ("VAV_3_04_DAT", "VAV_3_04", False),
        ("Floor 3/VAV 3-04/AirFlow", "VAV 3-04", False),
        ("VAV-207A CO2", "VAV-207A", False),
        ("TU-3E-114 PRIFLOW", "TU-3E-114", False),
        ("2-07 ZNT", "2-07", False),
        ("RM214.TEMP", "RM214", False),
        ("RTU-2 Discharge Air Temp", "RTU-2", True),
        ("ZN-T", None, False),
    ],
)
def test_tag_without_a_schedule(name, tag, air_handler):
    owner = TagFinder([], []).find(name)
    assert (owner.tag, owner.air_handler) == (tag, air_handler)


@pytest.mark.parametrize(
    "name",
    ["VAV-1 MIN FLOW SP", "VAV-1 BASE ZN-T SETPOINT", "VAV-1 SETPOINT ADJUST", "VAV-1 UNOCC SP", "VAV-1 HTG LOOP", "VAV-1 ZN-RH", "VAV-1 FLOW ALARM",
     "VAV-1 PT 7", "VAV-1 WALL COLOUR", "VAV-1 XYZ-T", "vav1_clg_pid_kp", "VAV-1 Reheat Band"],
)  # fmt: skip
def test_what_only_resembles_a_quantity_is_not_taken_for_it(name):
    owner = TagFinder([], []).find(name)
    assert read_quantity(owner.words, air_handler=owner.air_handler) is None


def test_a_tag_is_met_in_another_spelling_only_where_it_is_unmistakable():
    twins = TagFinder(["VAV-7", "VAV-07"], [])
    assert twins.find("VAV-7 ZN-T").tag == "VAV-7"
    assert twins.find("VAV-07 ZN-T").tag == "VAV-07"
    assert twins.find("VAV-007 ZN-T").known is False
    assert SCHEDULE.find("VAV-2-71 ZN-T").known is False


def test_a_tag_in_several_spellings_is_one_terminal():
    finder = TagFinder([], [])
    assert {finder.find(name).tag for name in ("VAV-3-04 ZN-T", "vav_3_04 FLOW", "VAV3-04.DAT")} == {"VAV-3-04"}
    assert finder.find("VAV304.DAT").tag == "VAV304"  # 3-04 or 30-4


def test_a_terminal_that_the_schedule_lacks_is_not_given_to_its_air_handler():
    owner = SCHEDULE.find("AHU-1.VAV-9-99.ZN-T")
    assert (owner.tag, owner.air_handler, owner.known) == ("VAV-9-99", False, False)


def test_a_file_name_is_the_tag_where_the_name_holds_none():
    assert SCHEDULE.find("ZN-T", "VAV-2-07 week 4").tag == "VAV-2-07"
    assert SCHEDULE.find("FPB-101 ZN-T", "VAV-2-07").tag == "FPB-101"


@pytest.mark.parametrize("quantity", [*TERMINAL])
def test_the_glossarys_own_names_are_known(quantity):
    words = tuple(token for token in quantity.split("_"))
    assert read_quantity(words, air_handler=False).quantity == quantity


@pytest.mark.parametrize(("handlers", "tag"), [(["AHU-1"], "AHU-1"), (["AHU-1", "AHU-2"], None), ([], None)])
def test_the_buildings_outdoor_temperature_belongs_to_its_only_air_handler(handlers, tag):
    point = propose("weather.csv", Entry("Outdoor Air Temp (degF)", "weather"), TagFinder([], handlers))
    assert (point.tag, point.quantity, point.mapped) == (tag, "outdoor_temp", tag is not None)


@pytest.mark.parametrize(
    ("name", "quantity", "unit"),
    [
        ("VAV-105 CFM", "primary_flow", "CFM"),
        ("VAV-105 CFM SP", "primary_flow_setpoint", "cfm"),
        ("VAV-105 ZN-T degC", "zone_temp", "degC"),
        ("VAV-105 Electric Heat Stage 1", "reheat_position", None),
        ("VAV-105 FAN (%)", "fan_speed", "%"),
        ("VAV-105 ZN-T (cfm)", None, None),
    ],
)
def test_a_unit_in_the_name(name, quantity, unit):
    point = propose("trend.csv", Entry(name), TagFinder([], []))
    assert (point.quantity, point.unit) == (quantity, unit)


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("Space Temperature - Fan Box 1-04", "zone_temp"),
        ("Fan Powered Box 1-04 Air Flow", "primary_flow"),
        ("Fan Status - Fan Box 1-04", "fan_status"),
        ("Fan Box 1-04 Status", "fan_status"),
        ("Box 1-04 Fan", "fan_status"),
    ],
)
def test_the_fan_of_a_fan_box_is_of_its_tag_where_other_words_say_what_is_measured(name, quantity):
    for tags in (TagFinder([], []), TagFinder(["Box 1-04"], [])):
        point = propose("log.csv", Entry(name), tags)
        assert (point.tag, point.quantity) == ("Box 1-04", quantity)


def test_a_floor_written_onto_a_tag_keeps_terminals_of_the_same_number_apart():
    tags = TagFinder([], [])
    assert tags.find("L2_FPB-07 SPACE TEMP").tag == "L2_FPB-07"
    assert tags.find("L3_FPB-07 SPACE TEMP").tag == "L3_FPB-07"
    assert tags.find("AHU2_FPB-07 SPACE TEMP").tag == "FPB-07"
    assert tags.find("RmTmp.B2-F01-TU101").tag == "B2-F01-TU101"


@pytest.mark.parametrize(
    ("names", "quantities"),
    [
        (["FPB-07 SUPPLY CFM"], ["primary_flow"]),
        (["FPB-07 SUPPLY CFM", "FPB-07 PRIMARY CFM"], ["discharge_flow", "primary_flow"]),
        (["FPB-07 DISCHARGE CFM"], ["discharge_flow"]),
    ],
)
def test_the_only_flow_of_a_terminal_is_its_primary_airflow_unless_its_name_denies_it(names, quantities):
    points = [propose("a.csv", Entry(name), TagFinder([], [])) for name in names]
    said = settle_conflicts(points)
    assert [point.quantity for point in points] == quantities
    assert len(said) == (quantities == ["primary_flow"])


@pytest.mark.parametrize(
    ("names", "setpoint"),
    [
        (["VAV-1 Discharge Airflow", "VAV-1 Discharge Airflow Setpoint"], "primary_flow_setpoint"),
        (["VAV-1 Airflow", "VAV-1 Discharge Airflow Setpoint"], "primary_flow_setpoint"),
        (["FPB-1 Discharge Airflow", "FPB-1 Discharge Airflow Setpoint"], None),  # the fan's
        (["VAV-1 Airflow", "VAV-1 Fan Status", "VAV-1 Discharge Airflow Setpoint"], None),
        (["VAV-1 Inlet Airflow", "VAV-1 Discharge Airflow", "VAV-1 Discharge Airflow Setpoint"], None),
    ],
)
def test_a_setpoint_of_discharge_air_is_the_primary_flows_where_nothing_joins_it(names, setpoint):
    points = [propose("a.csv", Entry(name), TagFinder([], [])) for name in names]
    said = " ".join(settle_conflicts(points))
    assert points[-1].quantity == setpoint
    assert ("A setpoint of the discharge airflow was taken" in said) == (setpoint is not None)


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("VAV-1 Active Heating Setpoint", "heating_setpoint"),
        ("VAV-1 EffClgSp", "cooling_setpoint"),
        ("VAV-1 Current Cool Setpt", "cooling_setpoint"),
        ("VAV-1 Effective Setpoint", "effective_setpoint"),
        ("VAV-1 Eff ZN-T SP", "effective_setpoint"),
        ("VAV-1 Occ Htg SP", "occupied_heating_setpoint"),
        ("VAV-1 Occupied Cooling Setpoint", "occupied_cooling_setpoint"),
        ("VAV-1 OccCoolSP", "occupied_cooling_setpoint"),
        ("VAV-1 Standby Heating Setpoint", "standby_heating_setpoint"),
        ("VAV-1 STBY CLG SP", "standby_cooling_setpoint"),
        ("VAV-1 UNOCC HTG SP", "unoccupied_heating_setpoint"),
        ("VAV-1 Night Cooling Setpoint", "unoccupied_cooling_setpoint"),
        ("VAV-1 Un-Occ Heat Setpoint", "unoccupied_heating_setpoint"),
        ("VAV-1 Zone Setpoint", "effective_setpoint"),
        ("VAV-1 Warm-Up Heating Setpoint", None),
        ("VAV-1 Common Zone Setpoint", None),
        ("VAV-1 Heating Setpoint Offset", None),
        ("VAV-1 Discharge Temp Setpoint", None),
        ("AHU-1 SAT SP", "supply_temp_setpoint"),
        ("AHU-1 Discharge Air Temp Setpoint", "supply_temp_setpoint"),
        ("AHU-1 Supply Air Setpoint", "supply_temp_setpoint"),
        ("AHU-1 SA SP", None),
        ("AHU-1 Duct Static Pressure Setpoint", "duct_static_setpoint"),
        ("AHU-1 DSP", "duct_static_pressure"),
        ("AHU-1 Building Static Pressure", None),
        ("AHU-1 BLDG STATIC PRESS SP", None),
        ("AHU-1 Exhaust Fan Status", None),
        ("AHU-1 Return Fan Status", None),
        ("AHU-1 RETURN FAN SPD", None),
        ("AHU-1 Relief Fan VFD", None),
        ("AHU-1 SF VFD", "supply_fan_speed"),
        ("AHU-1 Supply Fan Speed (%)", "supply_fan_speed"),
        ("AHU-1 SF SS", "supply_fan_status"),
        ("AHU-1 Htg Vlv", "heating_signal"),
        ("AHU-1 Heating Output", "heating_signal"),
        ("AHU-1 HHW VLV CMD", "heating_signal"),
        ("AHU-1 CHW Valve", "cooling_signal"),
        ("AHU-1 Clg Stage", "cooling_signal"),
        ("AHU-1 Cooling Enable", None),
        ("AHU-1 Clg Setpoint", None),
    ],
)
def test_setpoints_by_mode_and_the_points_of_an_air_handler(name, quantity):
    owner = TagFinder([], []).find(name)
    reading = read_quantity(owner.words, air_handler=owner.air_handler)
    assert (reading and reading.quantity) == quantity


RIVALS = [
    (["VAV-1 Heating Setpoint", "VAV-1 Active Heating Setpoint"], [None, "heating_setpoint"]),
    (["VAV-1 Heat Stage", "VAV-1 Reheat Output"], [None, "reheat_position"]),
    (["VAV-1 Supply Air Temp", "VAV-1 Discharge Air Temp"], [None, "discharge_temp"]),
    (["AHU-1 SF CMD", "AHU-1 SF STS"], [None, "supply_fan_status"]),
    (["VAV-1 Zone Setpoint", "VAV-1 Occ Htg SP"], [None, "occupied_heating_setpoint"]),
    (["VAV-1 Zone Setpoint", "VAV-1 Effective Setpoint"], [None, "effective_setpoint"]),
    (["VAV-1 Damper Command", "VAV-1 Damper Position"], [None, "damper_position"]),
    (["VAV-1 Heat Valve Cmd", "VAV-1 Reheat Feedback"], [None, "reheat_position"]),
    (["VAV-1 Flow SP", "VAV-1 Effective Flow SP"], [None, "primary_flow_setpoint"]),
    (["VAV-1 Flow Sensor", "VAV-1 Primary Flow"], [None, "primary_flow"]),
    (["AHU-1 SF VFD Out", "AHU-1 SF Speed Fbk"], [None, "supply_fan_speed"]),
]


@pytest.mark.parametrize("turned", [False, True], ids=["as it stands", "the other way round"])
@pytest.mark.parametrize(("names", "quantities"), RIVALS, ids=lambda pair: pair[0])
def test_of_two_points_the_better_is_taken_whichever_column_comes_first(names, quantities, turned):
    if turned:
        names, quantities = names[::-1], quantities[::-1]
    points = [propose("a.csv", Entry(name), TagFinder([], [])) for name in names]
    settle_conflicts(points)
    assert [point.quantity for point in points] == quantities


@pytest.mark.parametrize("turned", [False, True], ids=["as it stands", "the other way round"])
def test_of_two_names_that_say_as_much_the_point_that_moves_is_taken(turned):
    points = [propose("a.csv", Entry(name), TagFinder([], [])) for name in ("VAV-1 HTG VLV", "VAV-1 HTG VALVE CMD")]
    (points[0].low, points[0].high), (points[1].low, points[1].high) = (0.0, 0.0), (0.0, 85.0)
    settle_conflicts(points[::-1] if turned else points)
    assert [point.quantity for point in points] == [None, "reheat_position"]


def test_the_only_setpoint_of_a_terminal_is_the_one_in_force_and_it_is_said():
    points = [propose("a.csv", Entry("VAV-1 Zone Setpoint"), TagFinder([], []))]
    assert "one in force" in settle_conflicts(points)[0]
    assert points[0].quantity == "effective_setpoint"


def two_dampers(tmp_path, one: list, other: list, flow: list | None = None) -> str:
    """Read two dampers of one terminal whose names say as much; return the one that was taken."""
    stamps = pd.date_range("2026-01-26", periods=len(one), freq="15min")
    columns = {"VAV-1 Damper A (%)": one, "VAV-1 Damper B (%)": other} | ({"VAV-1 Flow (cfm)": flow} if flow else {})
    rows = "".join(",".join(map(str, row)) + "\n" for row in zip(stamps, *columns.values(), strict=True))
    (tmp_path / "trend.csv").write_text(f"Time,{','.join(columns)}\n{rows}")
    ledger = read_exports([tmp_path], Site()).ledger
    (taken,) = [c.column[-5] for c in ledger.files[0].columns if c.quantity == "damper_position"]
    return taken


@pytest.mark.parametrize(("empty", "taken"), [(0, "A"), (1, "B")])
def test_a_step_of_coverage_decides(tmp_path, empty, taken):
    values = [10, 20, 30, 40, 50, 60, 70, 80, 90, 100]
    assert two_dampers(tmp_path, [""] * empty + values[empty:], values) == taken


@pytest.mark.parametrize(("distinct", "taken"), [(3, "A"), (4, "B")])
def test_twice_as_many_values_are_a_step_of_resolution(tmp_path, distinct, taken):
    assert two_dampers(tmp_path, [10, 20] * 6, [10 + n % distinct for n in range(12)]) == taken


@pytest.mark.parametrize(("samples", "taken"), [(23, "A"), (24, "B")])
def test_what_moves_with_its_airflow_is_taken_where_two_dozen_samples_show_it(tmp_path, samples, taken):
    moves, other = ([(step * n) % 13 for n in range(samples)] for step in (7, 11))
    assert two_dampers(tmp_path, other, moves, [100 + 10 * n for n in moves]) == taken


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("Zuluft Ist m3/h", "discharge_flow"),
        ("Zuluft Soll m3/h", "primary_flow_setpoint"),
        ("V_primary [m3/s]", "primary_flow"),
        ("Supply Air (cfm)", "discharge_flow"),
        ("Exhaust air m3/h", None),
        ("Water supply L/s", None),
        ("Hot water supply (L/s)", None),
        ("Zuluft Ist kW", None),
    ],
)
def test_a_name_that_says_which_air_is_a_flow_by_its_unit(name, quantity):
    assert propose("f.csv", Entry(name, owner="VAV 9"), TagFinder((), ())).quantity == quantity


@pytest.mark.parametrize("unit", ["gal/min", "GAL_US-PER-MIN", "gpm"])
def test_a_flow_of_water_is_no_airflow(unit):
    assert propose("f.csv", Entry("VAV-105 Flow", unit=unit), TagFinder((), ())).quantity is None


@pytest.mark.parametrize(
    ("name", "unit", "quantity"),
    [
        ("VAV-1 Discharge", "°C", "discharge_temp"),
        ("VAV-1 Primary", "degF", "primary_temp"),
        ("VAV-1 Discharge (°C)", None, "discharge_temp"),
        ("VAV-1 Discharge", "L/s", "discharge_flow"),
        ("VAV-1 Discharge", None, None),
        ("VAV-1 Discharge", "%", None),
        ("VAV-1 Damper", "°C", None),
        ("VAV-1 SA-F", None, "discharge_flow"),
    ],
)
def test_a_name_that_says_but_which_air_is_a_temperature_by_a_unit_apart(name, unit, quantity):
    assert propose("f.csv", Entry(name, unit=unit), TagFinder((), ())).quantity == quantity


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("Tzone_degC", "zone_temp"),
        ("Troom", "zone_temp"),
        ("Tset_heat_degC", "heating_setpoint"),
        ("Tdischarge [K]", "discharge_temp"),
        ("Tprimary (degC)", "primary_temp"),
        ("Tout_degC", None),  # of the outlet, or outdoors
        ("Tfan degC", None),
        ("Tent", None),
    ],
)
def test_a_temperature_as_formulas_write_it(name, quantity):
    assert propose("f.csv", Entry(name, owner="VAV-9"), TagFinder((), ())).quantity == quantity
