"""The drafted site file: what is known of the building, and as comments what else can be said of it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Table

from analyzer.site import Site

_DATES = "The exports cannot tell whether the month or the day comes first. Take the # off the right line:"
_ZONE = "the IANA zone of the stamps, such as America/Chicago: set it"
_HOURS = "When the building is occupied; without it, verdicts on occupied hours rest on trended occupancy alone."
_HINTS = {
    "hours": (_HOURS, ["[hours]", 'occupied = { mon-fri = "07:00-18:00" }']),
    "setpoints": (
        "Setpoints, where they are not trended.",
        ["[setpoints]", 'heating = "70 degF"', 'cooling = "75 degF"'],
    ),
}


def site_file(site: Site, folder: Path, units: str, zone: str, *, undecided: bool) -> str:
    """Write the site file.

    Parameters
    ----------
    site : Site
        What is known already: everything that its file says is kept.
    folder : Path
        Where it will lie: a folder of rules is named from there.
    units, zone : str
        As the exports were read.
    undecided : bool
        Whether the exports cannot tell the order of day and month.
    """
    given = _given(site)
    told = given.get("site", {})
    document = tomlkit.document()
    document.add(tomlkit.comment("Drafted from the exports. Correct what is wrong and fill in what is missing."))
    document.add(tomlkit.nl())
    section = tomlkit.table()
    section.add("name", str(told.get("name", site.name)))
    section.add("time_zone", tomlkit.item(zone) if given else tomlkit.item(zone).comment(_ZONE))
    section.add("units", site.units if site.units_told else units)
    section.add("terminals", "terminals.csv")
    section.add("points", "points.csv")
    _add_date_order(section, site, undecided)
    if site.documents:
        documents = [_from_there(document, folder) for document in dict.fromkeys(map(Path.resolve, site.documents))]
        section.add("documents", documents)
    for key, value in told.items():
        if key not in section:
            section.add(key, _moved(value, site, folder) if key == "rules" else value)
    document.add("site", section)
    for name, (why, lines) in _HINTS.items():
        if name in given:
            document.add(name, _one_line_each(given[name]))
        else:
            document.add(tomlkit.nl())
            for line in (why, *lines):
                document.add(tomlkit.comment(line))
    for name, part in given.items():
        if name not in document:
            document.add(name, part)
    return tomlkit.dumps(document)


def _given(site: Site) -> dict[str, Any]:
    return tomlkit.parse(site.file.read_text(encoding="utf-8-sig")).unwrap() if site.file else {}


def _add_date_order(section: Table, site: Site, undecided: bool) -> None:
    if undecided:
        for line in (_DATES, 'date_order = "month-first"', 'date_order = "day-first"'):
            section.add(tomlkit.comment(line))
    elif site.date_order:
        section.add("date_order", site.date_order)


def _moved(rules: str, site: Site, folder: Path) -> str:
    """Name the folder of rules from where the drafted file will lie."""
    return _from_there(site.file.parent / rules if site.file else Path(rules), folder)


def _from_there(path: Path, folder: Path) -> str:
    return Path(os.path.relpath(path, folder)).as_posix()


def _one_line_each(part: dict[str, Any]) -> Table:
    """Write a section so that every key stands on one line, its days in braces."""
    table = tomlkit.table()
    for key, value in part.items():
        table.add(key, _in_braces(value) if isinstance(value, dict) else value)
    return table


def _in_braces(value: dict[str, Any]) -> InlineTable:
    inline = tomlkit.inline_table()
    inline.update(value)
    return inline
