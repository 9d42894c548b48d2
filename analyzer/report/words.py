"""How the report spells numbers, units, times and names."""

from __future__ import annotations

import json
import math
import re
from datetime import datetime

import pandas as pd
from markupsafe import Markup, escape

from analyzer.findings import plain as plain
from analyzer.quantities import ROUNDING, half_up, shown_unit, to_shown

# The signs that a reader knows for the unit spellings of ``quantities.SHOWN`` and of the rules.
_SIGNS = {
    "degC": "°C", "degF": "°F", "delta degF": "°F", "delta degC": "K", "in.w.c.": "in. w.c.", "m2": "m²", "m3": "m³",
    "ft2": "ft²", "ft3": "ft³", "L/s/sqrt(Pa)": "L/s/√Pa", "cfm/sqrt(in.w.c.)": "cfm/√in. w.c.",
}  # fmt: skip
_DECIMALS = {
    "degC": 1, "degF": 1, "K": 1, "delta degF": 1, "L/s": 0, "cfm": 0, "kW": 1, "kBtu/h": 1, "h": 1, "%": 0, "ppm": 0,
    "Pa": 0, "in.w.c.": 2, "mm": 0, "in": 0, "m2": 1, "ft2": 0, "m3": 0, "ft3": 0, "min": 0,
}  # fmt: skip

KINDS = {"single-duct": "single-duct", "series": "series fan-powered", "parallel": "parallel fan-powered"}
NO_KIND = "type not scheduled"
VERDICTS = ("fault", "not-judged", "clear")


def sign(unit: str) -> str:
    """Return a unit as a reader knows it."""
    base = unit.removesuffix(" h")
    return _SIGNS.get(unit) or (f"{_SIGNS.get(base, base)}·h" if base != unit else unit)


def number(value: float, unit: str = "") -> str:
    """Spell a number with as many decimals as its unit deserves, thousands apart."""
    if value is None or not math.isfinite(value):
        return "–"
    # A currency is three capitals; a cent is its last digit that matters.
    decimals = 2 if re.fullmatch("[A-Z]{3}", unit) else _DECIMALS.get(unit)
    if decimals is None:
        value += math.copysign(ROUNDING * abs(value), value)
        text = f"{value:,.3g}" if abs(value) < 1000 else f"{value:,.0f}"
        return text if "e" not in text else f"{value:,.4f}".rstrip("0").rstrip(".")
    shown = half_up(value, decimals)
    return shown.removeprefix("-") if not shown.strip("-0.") else shown.replace("-", "−")


def amount(value: float, unit: str = "") -> str:
    """Spell a number with its unit."""
    shown = number(value, unit)
    if re.fullmatch("[A-Z]{3}", unit) and shown != "–":
        return f"{unit}\u202f{shown}"
    return shown if not unit or shown == "–" else f"{shown}\u202f{sign(unit)}"


def shown(value: float, dimension: str, units: str) -> str:
    """Spell an SI value in the site's units."""
    unit = shown_unit(dimension, units)
    return amount(float(to_shown(value, dimension, units)), unit)


def hours(value: float) -> str:
    """Spell a stretch of time."""
    if value is None or not math.isfinite(value):
        return "–"
    return f"{half_up(value * 60, 0)}\u202fmin" if 0 < value < 1 else f"{half_up(value, 1)}\u202fh"


def decimal_hours(value: float) -> str:
    """Spell a stretch of time in hours, as the reasons of the verdicts do."""
    return f"{half_up(value, 1)}\u202fh"


# A figure with its unit, and the tag of a terminal: neither is broken over two lines.
_WHOLE = re.compile(
    r"\(?(?:± )?[−-]?\d[\d,.]* "
    r"(?:%|°[FC](?:·h)?|in\. w\.c\.|[A-Za-z]+/[A-Za-z]+|cfm·h|cfm|kWh|kW|Pa|K|ppm|hours|h|min)(?![A-Za-z])"
    r"[).,;:]*|[A-Za-z]+[\w.]*-[\w.-]*\d[,.;:]?"
)


def whole(text: str) -> Markup:
    """Return a sentence in which figures keep their units, and tags stay in one piece."""
    told, at = [], 0
    for found in _WHOLE.finditer(text):
        told += [escape(text[at : found.start()]), Markup('<span class="nowrap">{}</span>').format(found.group())]
        at = found.end()
    return Markup("").join([*told, escape(text[at:])])


def moment(time: pd.Timestamp, zone: str) -> str:
    """Spell a moment in the site's wall-clock time."""
    local = time.tz_convert(zone).to_pydatetime()
    return f"{day(local)}, {local:%H:%M}"


def day(time: datetime) -> str:
    """Spell a day, without a doubt which number is the month."""
    return f"{time:%a} {time.day} {time:%b %Y}"


def window(start: pd.Timestamp, end: pd.Timestamp, zone: str) -> str:
    """Spell a stretch from one moment to another; the day once where it is the same, the offset where it changes."""
    start, end = start.tz_convert(zone).to_pydatetime(), end.tz_convert(zone).to_pydatetime()
    turned = start.utcoffset() != end.utcoffset()
    clock = "%H:%M %Z" if turned else "%H:%M"
    first, last = f"{day(start)}, {start:{clock}}", f"{end:{clock}}"
    return f"{first} – {last}" if start.date() == end.date() else f"{first} – {day(end)}, {last}"


def iso(time: pd.Timestamp, zone: str) -> str:
    """Return a moment for a machine, in the site's zone."""
    return time.tz_convert(zone).isoformat(timespec="minutes")


def units_told(text: str) -> str:
    """Return a sentence in which units are spelled as a reader knows them."""
    for spelled in ("degF", "degC", "in.w.c."):
        text = text.replace(spelled, _SIGNS[spelled])
    return text.replace(f"in {_SIGNS['in.w.c.']}", f"as {_SIGNS['in.w.c.']}")


def one_side(label: str, value: float) -> tuple[str, float]:
    """Return a difference that is below zero as one to the other side: "below" for "above", and no sign."""
    sides = re.search(r"\b(above|below)\b", label)
    if not sides or not value < 0:
        return label, value
    other = {"above": "below", "below": "above"}[sides[1]]
    return f"{label[: sides.start()]}{other}{label[sides.end() :]}", -value


def plural(count: int, one: str, many: str | None = None) -> str:
    """Spell a count with its noun."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def capitalized(text: str) -> str:
    """Return a name as it stands at the head of a row."""
    return text[:1].upper() + text[1:]


def listed(names, most: int = 4) -> str:
    """Join a few names as a sentence does."""
    names = [str(name) for name in names]
    if len(names) > most:
        names = [*names[: most - 1], f"{len(names) - most + 1} more"]
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def embedded(value) -> Markup:
    """Return JSON that is safe inside a script element, whatever texts it holds."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def kind_told(kind: str | None, scheduled: bool) -> str:
    """Name a terminal's type the same way everywhere: as scheduled, as inferred from its points, or not known."""
    name = KINDS.get(kind or "", kind or "")
    return name + ("" if scheduled else " (inferred)") if name else NO_KIND


def kind_sentence(kind: str | None, scheduled: bool) -> str:
    """Say what type of terminal it is, as the head of its page does."""
    told = KINDS.get(kind or "", kind or "")
    if scheduled and told:
        return f"{told.capitalize()} terminal"
    return f"Terminal {NO_KIND}" + (f" (inferred: {told})" if told else "")


def letter(verdict: str, confidence) -> str:
    """Return the letter by which the matrix marks a verdict."""
    if verdict == "fault":
        return "M" if confidence == "marginal" else "F"
    return "N" if verdict == "not-judged" else "C"
