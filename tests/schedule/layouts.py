"""Random schedules: the same table of terminals laid out in one of very many ways."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import strategies as st

from analyzer.quantities import known_unit
from analyzer.site.model import SCHEDULE

# Each figure: where it belongs, the words of its group and its own, its unit in IP and in SI.
FIGURES = {
    "primary_max": ("air", ("PRIMARY AIR", "AIRFLOW", "PRIMARY"), ("MAX.", "MAXIMUM", "Max", "COOLING MAX"), ("cfm", "L/s")),
    "primary_min": ("air", ("PRIMARY AIR", "AIRFLOW", "PRIMARY"), ("MIN.", "MINIMUM", "Min", "COOLING MIN"), ("cfm", "L/s")),
    "heating_primary": ("air", ("PRIMARY AIR", "AIRFLOW", "PRIMARY"), ("HTG", "HEATING", "HEATING MAX"), ("cfm", "L/s")),
    "fan_flow": ("fan", ("FAN",), ("AIRFLOW", "AIR FLOW"), ("cfm", "L/s")),
    "external_static": ("fan", ("FAN",), ("E.S.P.", "EXT. STATIC", "External static pressure"), ("in.w.c.", "Pa")),
    "inlet_diameter": ("", ("",), ("INLET DIA.", "INLET SIZE", "Inlet diameter"), ("in", "mm")),
    "reheat_capacity": ("coil", ("HEATING COIL", "HOT WATER COIL", "REHEAT"), ("CAPACITY", "OUTPUT"), ("kBtu/h", "kW")),
    "entering_air_temp": ("coil", ("HEATING COIL", "HOT WATER COIL", "REHEAT"), ("EAT", "ENT. AIR TEMP"), ("degF", "degC")),
    "leaving_air_temp": ("coil", ("HEATING COIL", "HOT WATER COIL", "REHEAT"), ("LAT", "LVG. AIR TEMP"), ("degF", "degC")),
    "area": ("", ("",), ("FLOOR AREA", "Zone area"), ("ft2", "m2")),
}  # fmt: skip
SPELLED = {
    "cfm": ("CFM", "cfm"), "L/s": ("L/S", "l/s"), "in.w.c.": ("IN. W.G.", "in wc"), "Pa": ("Pa",), "in": ("IN", "inches"),
    "mm": ("MM", "mm"), "kBtu/h": ("MBH",), "kW": ("KW", "kW"), "degF": ("°F", "DEG F"), "degC": ("°C",),
    "ft2": ("SQ FT", "SF"), "m2": ("m²", "SQ M"),
}  # fmt: skip
TAG_WORDS = ("TAG", "UNIT NO.", "BOX NO.", "Terminal", "MARK", "UNIT\nTAG", "Equip. tag")
ROOM_WORDS = ("ROOM", "AREA SERVED", "Serves", "ZONE", "LOCATION")
PREFIXES = ("VAV-{}-{:02d}", "TU{}{:02d}", "FPB {}.{}", "B-{}{:02d}", "VAV_{}_{}")
SIZES = {"ip": [(6, 280), (8, 600), (10, 1000), (12, 1500)], "si": [(150, 130), (200, 280), (250, 470), (300, 700)]}


@dataclass(frozen=True)
class Drawn:
    """A schedule: its cells, how it is written, and the table that it holds."""

    rows: list[list[str]]
    form: str
    expected: dict[str, dict[str, float | str]]


@st.composite
def schedules(draw, forms=("workbook", "csv", "tsv", "semicolons")) -> Drawn:
    """Draw a schedule in a layout."""
    system = draw(st.sampled_from(("ip", "si")))
    names = ["primary_max", "primary_min", *draw(st.lists(st.sampled_from(list(FIGURES)[2:]), unique=True, max_size=6))]
    names = [name for name in FIGURES if name in names]  # groups stay together
    if draw(st.booleans()):
        names.sort(key=lambda name: FIGURES[name][0], reverse=draw(st.booleans()))
    form = draw(st.sampled_from(forms))
    count = draw(st.integers(2, 7))
    prefix, floor = draw(st.sampled_from(PREFIXES)), draw(st.integers(1, 9))
    tags = [prefix.format(floor, n + 1) for n in range(count)]
    values = [_values(draw, names, system) for _ in tags]
    rooms = [f"Room {floor}{n:02d}" for n in range(count)] if draw(st.booleans()) else None
    units_in = draw(st.sampled_from(("heading", "row", "note", "cells")))
    spelled = {name: draw(st.sampled_from(SPELLED[FIGURES[name][3][system == "si"]])) for name in names}
    header = _header(draw, names, spelled, units_in, rooms is not None)
    lead = 1 + (rooms is not None)
    body = [
        [
            tag,
            *([rooms[n]] if rooms else []),
            *(_spelled(draw, of[name], spelled[name] if units_in == "cells" else "") for name in names),
        ]
        for n, (tag, of) in enumerate(zip(tags, values, strict=True))
    ]
    turned = form == "workbook" and units_in != "row" and draw(st.booleans()) and len(header) == 1
    if not turned:
        body = _dressed(draw, body, names, lead)
    rows = [*header, *body]
    if turned:
        rows = [list(column) for column in zip(*rows, strict=True)]
    width = max(map(len, rows))
    if draw(st.booleans()):
        rows = [["TERMINAL UNIT SCHEDULE", *([">"] * (width - 1) if form == "workbook" else [""] * (width - 1))], *rows]
    if units_in == "note":
        rows += [[""] * width, ["NOTES:", *[""] * (width - 1)]]
        rows += [[f"{n}. {line}", *[""] * (width - 1)] for n, line in enumerate(_notes(system), 1)]
    expected = {
        tag: {**_in_si(of, system), **({"zone": rooms[n]} if rooms else {})}
        for n, (tag, of) in enumerate(zip(tags, values, strict=True))
    }
    return Drawn(rows, form, expected)


def _values(draw, names: list[str], system: str) -> dict[str, float]:
    size, most = draw(st.sampled_from(SIZES[system]))
    high = draw(st.integers(most // 2, most))
    found = {
        "primary_max": high, "primary_min": draw(st.integers(max(1, high // 6), high)),
        "heating_primary": draw(st.integers(max(1, high // 4), high)), "fan_flow": draw(st.integers(high // 2, high * 2)),
        "external_static": draw(st.sampled_from((0.25, 0.3, 0.5) if system == "ip" else (60, 75, 125))),
        "inlet_diameter": size,
        "reheat_capacity": round(high * draw(st.sampled_from((0.02, 0.025) if system == "ip" else (0.012, 0.02))), 1),
        "entering_air_temp": draw(st.sampled_from((55, 60) if system == "ip" else (13, 15.5))),
        "leaving_air_temp": draw(st.sampled_from((85, 95) if system == "ip" else (30, 35))),
        "area": draw(st.integers(100, 2000)),
    }  # fmt: skip
    return {name: found[name] for name in names}


def _spelled(draw, value: float, unit: str) -> str:
    text = f"{value:,}" if value >= 1000 and draw(st.booleans()) else f"{value:g}"
    return f"{text} {unit}".strip()


def _in_si(of: dict[str, float], system: str) -> dict[str, float | str]:
    return {
        name: known_unit(FIGURES[name][3][system == "si"], SCHEDULE[name]).to_si(float(value))
        for name, value in of.items()
    }


def _notes(system: str) -> list[str]:
    if system == "ip":
        return ["All airflows are in CFM.", "Dimensions in inches, areas in sq ft.", "Capacities in MBH, temperatures in °F.",
                "Static pressures in in. w.g."]  # fmt: skip
    return [
        "All airflows are in L/s.",
        "Dimensions in mm, areas in m².",
        "Capacities in kW, temperatures in °C.",
        "Pressures in Pa.",
    ]


def _header(draw, names: list[str], spelled: dict[str, str], units_in: str, with_rooms: bool) -> list[list[str]]:
    """Return the rows of headings: in one row, or under groups, merged or not, with a row of units or without."""
    lead = [draw(st.sampled_from(TAG_WORDS)), *([draw(st.sampled_from(ROOM_WORDS))] if with_rooms else [])]
    grouped, merged = draw(st.booleans()), draw(st.booleans())
    words = {group: draw(st.sampled_from(FIGURES[name][1])) for name in names for group in [FIGURES[name][0]]}
    own = {name: draw(st.sampled_from(FIGURES[name][2])) for name in names}
    tail = {name: f" ({spelled[name]})" if units_in == "heading" else "" for name in names}
    empty = "^" if merged else ""
    if not grouped:
        rows = [[*lead, *(f"{words[FIGURES[name][0]]} {own[name]}{tail[name]}".strip() for name in names)]]
    else:
        top, before = [], None
        for name in names:
            group = FIGURES[name][0]
            top.append(
                own[name] + tail[name] if not group else (">" if merged else "") if group == before else words[group]
            )
            before = group
        rows = [
            [*lead, *top],
            [*([empty] * len(lead)), *(own[name] + tail[name] if FIGURES[name][0] else empty for name in names)],
        ]
    if units_in == "row":
        rows.append([*([empty if grouped else ""] * len(lead)), *(spelled[name] for name in names)])
    return rows


def _dressed(draw, body: list[list[str]], names: list[str], lead: int) -> list[list[str]]:
    """Add blank rows, ditto marks, a total."""
    rows = [list(row) for row in body]
    if draw(st.booleans()):
        for before, row in zip(body, rows[1:], strict=False):
            for c in range(lead, len(row)):
                if row[c] == before[c] and row[c] not in ('"', ""):
                    row[c] = '"'
        # A ditto mark under a ditto mark repeats the last value, which is the same.
    if draw(st.booleans()):
        rows.insert(draw(st.integers(1, len(rows))), [""] * len(rows[0]))
    if draw(st.booleans()):
        rows.append(["TOTAL", *[""] * (lead - 1), "9999", *[""] * (len(names) - 1)])
    return rows
