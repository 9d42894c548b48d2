"""The draft as a page that opens from the file system: what was read, a choice for each, and the files to save.

The page is a list of sections. A further one needs a template, what that shows, and a place in :func:`sections`.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

from analyzer.draft.beside import section
from analyzer.draft.checks import Check
from analyzer.draft.documents import source_rows
from analyzer.draft.drafted import Drafted
from analyzer.draft.names import LEFT_OUT, Name, counted, grouped, meaning
from analyzer.draft.pictures import HEIGHT, WIDTH, picture
from analyzer.draft.point_rows import HEADER, changes, number, span, tails_of
from analyzer.draft.schedule import EVIDENCE
from analyzer.errors import CallError
from analyzer.intake.points.patterns import is_pattern
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity, spellings
from analyzer.report import in_one_file, page_environment, words, write_assets
from analyzer.signals.in_force import ASSUMED_HOURS
from analyzer.site.model import WORDS
from analyzer.temporary import temporary_folder

_HERE = Path(__file__).resolve().parent
MOST_DRAWN = 400  # names with a picture, the doubtful first; each takes some 2 kB
MOST_CODES = 6  # of a multi-state point, to choose on or off for
MOST_OF_GROUP, MOST_TERMINALS = 12, 60  # shown before "Show all"


@dataclass(frozen=True)
class Section:
    """A part of the page: its anchor, its heading, the template that lays it out, and what that shows.

    ``data`` goes to the page's scripts under the anchor's name.
    """

    anchor: str
    heading: str
    template: str
    shown: dict[str, Any] = field(default_factory=dict)
    data: Any = None


def page(drafted: Drafted, exports: Sequence[str], to_check: Sequence[Check]) -> str:
    """Return the page, with all that it loads inside it.

    Parameters
    ----------
    exports : sequence of str
        As the command was called with.
    to_check : sequence of Check
        What to check first.
    """
    parts = sections(drafted, exports, to_check)
    environment = page_environment(_HERE / "templates", site=drafted.site)
    text = environment.get_template("draft.html").render(
        root="",
        sections=parts,
        lead=_lead(drafted),
        data={part.anchor: part.data for part in parts if part.data is not None},
        embedded=words.embedded,
    )
    with temporary_folder() as assets:
        try:
            write_assets(assets, _HERE / "assets")
        except OSError as error:  # of a copied folder its text lists every file
            why = error.strerror or "no room, or no right to write"
            raise CallError(
                assets, f"cannot be written ({why})", "Make room there, or name another in TMPDIR."
            ) from None
        return in_one_file(text, assets)


def sections(drafted: Drafted, exports: Sequence[str], to_check: Sequence[Check]) -> list[Section]:
    """Return the sections of the page in their order."""
    return [
        _checks(to_check),
        _site(drafted),
        _names(drafted),
        *_schedule(drafted),
        _terminals(drafted),
        _save(drafted, exports),
    ]


# Where each file's choices stand on the page, and what they are called there.
_PLACES = {"site.toml": "building", "points.csv": "names", "terminals.csv": "terminals", "schedule": "schedule"}
_CALLED = {"site.toml": "Building", "points.csv": "Names", "terminals.csv": "Terminals", "schedule": "Schedule"}


def _checks(to_check: Sequence[Check]) -> Section:
    shown = {"to_check": to_check, "where": _PLACES, "files": _CALLED}
    return Section("check", "What to check", "draft_check.html", shown)


def _lead(drafted: Drafted) -> str:
    files = len({file for name in drafted.names for file in name.files})
    parts = (
        words.plural(counted(drafted.names), "name"), words.plural(files, "file"),
        words.plural(len(drafted.terminals), "terminal"),
    )  # fmt: skip
    return "{} in {}, of {}".format(*parts)


# ---- building ----------------------------------------------------------------------------------------------------


def _site(drafted: Drafted) -> Section:
    site = drafted.site
    trended = {name.quantity for name in drafted.names}
    shown = {
        "name": site.name if site.file else "",
        "zone": drafted.time_zone,
        "zone_known": site.file is not None,
        "units": drafted.units,
        "undecided": drafted.undecided.found if drafted.undecided else "",
        "hours": site.occupied_hours,
        "assumed_hours": " ".join(ASSUMED_HOURS),
        "ask_setpoints": not site.setpoints
        and not any("setpoint" in quantity for quantity in trended - set(AIR_HANDLER)),
    }
    data = {"text": drafted.site_text, "zones": sorted(available_timezones()), "zone_known": site.file is not None}
    return Section("building", "The building", "draft_building.html", shown, data)


# ---- names -------------------------------------------------------------------------------------------------------


def _names(drafted: Drafted) -> Section:
    names = [name for name in drafted.names if name.certainty != "point list"]
    first = len(drafted.point_rows) - len(names)
    tails = tails_of([file for name in names for file in name.files])
    shown = {id(name): _shown(n, name, drafted.time_zone, tails) for n, name in enumerate(names)}
    groups = [(group.heading, [shown[id(name)] for name in group.names]) for group in grouped(names)]
    data = {
        "header": HEADER,
        "rows": drafted.point_rows,
        "first": first,
        "quantities": [_choice(quantity, of) for of, table in _TABLES for quantity in table.values()],
        "most": MOST_OF_GROUP,
    }
    listed = sum(len(name.points) for name in drafted.names if name.certainty == "point list")
    return Section("names", "What each name means", "draft_names.html", {"groups": groups, "listed": listed}, data)


_TABLES: tuple[tuple[str, dict[str, Quantity]], ...] = (("Terminal", TERMINAL), ("Air handler", AIR_HANDLER))


def _choice(quantity: Quantity, of: str) -> dict[str, Any]:
    """Return a quantity as the page's choice offers it."""
    units = [] if quantity.state else spellings(quantity.dimension)
    return {
        "name": quantity.name, "meaning": quantity.meaning, "of": of, "state": quantity.state,
        "dimension": quantity.dimension, "units": units,
    }  # fmt: skip


def _shown(n: int, name: Name, zone: str, tails: dict[str, str]) -> dict[str, Any]:
    file, column = name.look.example
    general = not name.terminal or is_pattern(name.terminal)  # of a single terminal nothing was looked at
    told = next((point.unit_from for point in name.points if point.mapped and point.unit), "")
    return {
        "at": n,
        "name": _plain(name),
        "only": name.terminal or tails.get(name.file, ""),
        "where": _where(name),
        "example": f"{column} in {tails.get(file, file)}" if general else "",
        "picture": picture(name.look, zone) if n < MOST_DRAWN and general else None,
        "range": span(name.look),
        "changes": changes(name.look),
        "quantity": name.quantity,
        "meaning": meaning(name.quantity) if name.quantity else "",
        "unit": name.unit,
        "unit_told": told not in ("", None, "assumption", "values"),
        "why": name.why,
        "certainty": name.certainty,
        "to_confirm": name.certainty == "guess" or name.unit_assumed,
        "doubtful": name.doubtful and name.certainty != LEFT_OUT,
        "codes": _codes(name),
        "width": WIDTH,
        "height": HEIGHT,
    }


def _where(name: Name) -> str:
    files, owners = words.plural(len(name.files), "file"), len(name.tags)
    if not owners:
        return files
    what = "air handler" if name.air_handler else "terminal" if name.quantity else "tag"
    return f"{files}, {words.plural(owners, what)}"


def _plain(name: Name) -> str:
    """Return a name without the place of the tag."""
    return name.column.replace("*", " ").strip(" .:/\\|_-") or name.column


def _codes(name: Name) -> list[str]:
    """Return the codes of what may be a multi-state point: words, or a few whole numbers beyond 0 and 1."""
    low, high = name.look.low, name.look.high
    codes = list(name.look.words)
    if low == low and low.is_integer() and high.is_integer() and high - low < MOST_CODES and not 0 <= low <= high <= 1:
        codes = [number(low + step) for step in range(int(high - low) + 1)] + codes
    return codes[: 2 * MOST_CODES]


# ---- schedule ----------------------------------------------------------------------------------------------------


def _schedule(drafted: Drafted) -> list[Section]:
    """Return the section on the schedule, where one was given."""
    if drafted.documents is None:
        return []
    shown = section(drafted, drafted.documents)
    sources = source_rows(drafted.documents, drafted.site, drafted.units)
    data = {"pairs": drafted.documents.matched.proposed, "sources": sources}
    return [Section("schedule", "The schedule, beside what was observed", "draft_schedule.html", shown, data)]


# ---- terminals ---------------------------------------------------------------------------------------------------


def _terminals(drafted: Drafted) -> Section:
    schedule = drafted.schedule
    rows = [
        {
            "at": n,
            **{name: row[name] for name in ("terminal", "kind", "air_handler", "reheat")},
            **{f"{name}_why": row[heading] for name, heading in EVIDENCE.items()},
        }
        for n, row in enumerate(schedule.head(MOST_TERMINALS).to_dict("records"))
    ]
    data = {"header": list(schedule.columns), "rows": schedule.to_numpy().tolist(), "most": MOST_TERMINALS}
    handlers = sorted({name for name in schedule["air_handler"] if name} | _handlers(drafted.names))
    shown = {
        "rows": rows,
        "handlers": handlers,
        "kinds": words.KINDS,
        "reheats": WORDS["reheat"],
        "most": MOST_TERMINALS,
    }
    return Section("terminals", "The terminals", "draft_terminals.html", shown, data)


def _handlers(names: Sequence[Name]) -> set[str]:
    return {point.tag for name in names for point in name.points if point.air_handler and point.mapped and point.tag}


# ---- save --------------------------------------------------------------------------------------------------------


def _save(drafted: Drafted, exports: Sequence[str]) -> Section:
    site = drafted.folder / "site.toml"
    command = f"trendwright review {' '.join(shlex.quote(path) for path in exports)} --site {shlex.quote(str(site))}"
    files = ("points.csv", "terminals.csv", "site.toml", *(("sources.csv",) if drafted.documents else ()))
    shown = {"folder": str(drafted.folder), "command": command, "files": files}
    return Section("save", "Save, then review", "draft_save.html", shown)
