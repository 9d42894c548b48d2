"""Quillfeather House, an invented building: three floors, two air handlers, 44 terminals."""

from __future__ import annotations

from io import StringIO

import pandas as pd

from sample_trends.building import FT2, INCH_WC, Building
from sample_trends.design import construct

OUTDOOR_AIR_FRACTION = 0.35

# AHU-1 serves floors 1 and 2 from overhead; AHU-2 serves floor 3, most of it through the raised floor.
_ROOMS = """
terminal, kind,        dist, reheat,    face,   area, people, room,                      open_zone, marks,        load
VAV-1-01, single-duct, oh,   hot-water, north,  780,  4,      101 Editorial north,       ,          ,             1.0
VAV-1-02, single-duct, oh,   none,      inside, 1150, 6,      102 Open office west,      1-OPEN,    occ,          1.05
VAV-1-03, single-duct, oh,   hot-water, east,   820,  5,      103 Accounts,              ,          ,             0.95
VAV-1-04, single-duct, oh,   none,      inside, 1100, 6,      104 Open office east,      1-OPEN,    blank,        1.0
VAV-1-05, single-duct, oh,   electric,  west,   640,  3,      105 Print studio,          ,          ,             1.0
VAV-1-06, single-duct, oh,   hot-water, south,  760,  4,      106 Reading room,          ,          ,             0.9
FPT-1-07, parallel,    oh,   hot-water, north,  900,  5,      107 Editorial north-east,  ,          occ,          0.95
FPT-1-08, parallel,    oh,   hot-water, north,  700,  4,      108 Records,               ,          ,             0.8
FPT-1-09, parallel,    oh,   electric,  west,   860,  4,      109 Binding workshop,      ,          staged,       1.0
FPT-1-10, parallel,    oh,   hot-water, east,   930,  5,      110 Design studio,         ,          ,             1.4
FPT-1-11, series,      oh,   hot-water, south,  1200, 8,      111 Lobby,                 ,          occ,          1.0
FPT-1-12, series,      oh,   electric,  inside, 620,  12,     112 Meeting room Plover,   ,          staged,       0.9
VAV-2-01, single-duct, oh,   hot-water, south,  850,  5,      201 Contracts,             ,          occ,          1.0
VAV-2-02, single-duct, oh,   none,      inside, 1050, 5,      202 Open office west,      2-OPEN,    ,             1.0
VAV-2-03, single-duct, oh,   hot-water, south,  900,  5,      203 Translation,           ,          ,             1.25
VAV-2-04, single-duct, oh,   none,      inside, 1200, 7,      204 Open office east,      2-OPEN,    ,             1.3
VAV-2-05, single-duct, oh,   hot-water, inside, 560,  10,     205 Meeting room Wren,     ,          co2,          0.9
VAV-2-06, single-duct, oh,   electric,  west,   720,  4,      206 Picture desk,          ,          ,             1.0
VAV-2-07, single-duct, oh,   hot-water, south,  800,  4,      207 Marketing,             ,          ,             1.0
FPT-2-08, parallel,    oh,   hot-water, north,  880,  5,      208 Production north,      ,          occ,          0.95
FPT-2-09, parallel,    oh,   electric,  north,  760,  4,      209 Production north-east, ,          ,             0.8
FPT-2-10, parallel,    oh,   hot-water, east,   840,  4,      210 Rights,                ,          ,             1.0
FPT-2-11, parallel,    oh,   electric,  west,   950,  5,      211 Layout,                ,          staged,       1.0
FPT-2-12, series,      oh,   hot-water, south,  1050, 6,      212 Sales,                 ,          ecm,          1.0
FPT-2-13, series,      oh,   electric,  inside, 580,  10,     213 Meeting room Heron,    ,          staged,       0.9
VAV-3-01, single-duct, uf,   none,      inside, 1300, 7,      301 Open office south,     3-OPEN,    occ,          1.05
VAV-3-02, single-duct, uf,   none,      inside, 1250, 6,      302 Open office north,     3-OPEN,    blank,        1.0
VAV-3-03, single-duct, uf,   none,      inside, 1100, 6,      303 Library,               ,          ,             1.0
VAV-3-04, single-duct, oh,   hot-water, inside, 700,  4,      304 Core rooms,            ,          ,             1.0
FPT-3-05, series,      uf,   hot-water, south,  980,  5,      305 Fellows south,         ,          occ ecm,      1.0
FPT-3-06, series,      uf,   electric,  east,   820,  4,      306 Fellows east,          ,          ,             1.0
FPT-3-07, series,      uf,   hot-water, west,   900,  5,      307 Fellows west,          ,          flow,         1.0
FPT-3-08, series,      uf,   electric,  north,  760,  5,      308 Archive reading,       ,          inlet staged, 1.0
FPT-3-09, series,      uf,   hot-water, inside, 640,  12,     309 Meeting room Kestrel,  ,          inlet co2,    0.9
FPT-3-10, parallel,    uf,   electric,  north,  720,  4,      310 Scanning room,         ,          staged,       0.8
FPT-3-11, parallel,    uf,   hot-water, east,   800,  4,      311 Press office,          ,          occ,          1.0
FPT-3-12, parallel,    uf,   hot-water, west,   850,  4,      312 Web desk,              ,          ,             0.85
FPT-3-13, parallel,    uf,   electric,  south,  780,  5,      313 Cafe,                  ,          inlet,        1.0
FPT-3-14, series,      oh,   hot-water, north,  880,  5,      314 Studio north,          ,          occ,          1.0
FPT-3-15, series,      oh,   electric,  inside, 700,  12,     315 Board room,            ,          inlet,        0.9
FPT-3-16, series,      uf,   hot-water, south,  840,  4,      316 Directors south,       ,          ,             1.6
FPT-3-17, parallel,    oh,   hot-water, east,   1000, 6,      317 Terrace lounge,        ,          ,             1.0
VAV-3-18, single-duct, oh,   electric,  west,   690,  4,      318 Post room,             ,          ,             1.0
VAV-3-19, single-duct, oh,   none,      inside, 900,  4,      319 Stair hall,            ,          ,             1.0
"""
_ALSO = {"occ": "occupied", "co2": "co2", "ecm": "fan_speed", "flow": "discharge_flow"}


def quillfeather_house(seed: int = 1907) -> Building:
    """Return the demo's building; the seed is that of its construction, not of a week in it."""
    air_handlers = pd.DataFrame(
        {
            "static_pressure": [1.0 * INCH_WC, 0.7 * INCH_WC],
            "supply_temp": [13.0, 17.2],
            "supply_reset": [2.5, 0.8],
            "warm_up_temp": [29.0, 26.0],
            "full_warm_up": [True, True],
            "outdoor_air_fraction": [0.37, 0.37],
        },
        index=pd.Index(["AHU-1", "AHU-2"], name="air_handler"),
    )
    terminals = construct(_rooms(), air_handlers, outdoor_air_fraction=OUTDOOR_AIR_FRACTION, seed=seed)
    return Building("Quillfeather House", "America/Chicago", 41.9, -87.6, 190.0, terminals, air_handlers)


def _rooms() -> pd.DataFrame:
    table = pd.read_csv(StringIO(_ROOMS.strip()), skipinitialspace=True, keep_default_na=False)
    table.columns = table.columns.str.strip()
    table = table.apply(lambda column: column.str.strip() if column.dtype.kind not in "if" else column).set_index(
        "terminal"
    )
    marks = table["marks"].str.split()
    floor = table.index.str.split("-").str[1]
    return pd.DataFrame(
        {
            "kind": table["kind"],
            "distribution": table["dist"].map({"oh": "overhead", "uf": "underfloor"}),
            "air_handler": [f"AHU-{2 if number == '3' else 1}" for number in floor],
            "zone": table["room"],
            "floor": floor,
            "reheat": table["reheat"],
            "open_zone": table["open_zone"].where(table["open_zone"] != "", None),
            "face": table["face"],
            "area": table["area"].astype(float) * FT2,
            "people": table["people"].astype(float),
            "top_floor": floor == "3",
            "staged": ["staged" in words for words in marks],
            "inlet": ["inlet" in words for words in marks],
            "blank": ["blank" in words for words in marks],
            "load": table["load"].astype(float),
            "also_trends": [" ".join(_ALSO[word] for word in words if word in _ALSO) for words in marks],
        },
        index=table.index,
    )
