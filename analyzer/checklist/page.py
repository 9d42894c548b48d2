"""Writes the site checklist as a page: on screen to read, on paper to tick."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analyzer.checklist.items import Item, fitting, items, word_of
from analyzer.engine import Rule
from analyzer.findings import BUILDING_SCOPE, Finding, Results
from analyzer.report import natural_key, page_environment, page_name, words

CHECKLIST = "site_checklist.html"
MOST_TERMINALS = 300  # told one by one; a round on site takes days long before that
_REHEAT = {"electric": "with electric heat", "hot-water": "with a hot-water coil"}
_TEMPLATES = Path(__file__).resolve().parent / "templates"


def write_checklist(results: Results, folder: Path) -> None:
    """Write ``site_checklist.html`` into a review's folder."""
    site = results.site
    environment = page_environment(_TEMPLATES, site=site, period=words.window(*results.period, site.time_zone))
    page = environment.get_template("checklist.html").render(_context(results), root="")
    (folder / CHECKLIST).write_text(page, encoding="utf-8")


def _context(results: Results) -> dict[str, Any]:
    schedule = results.site.schedule.to_dict("index")
    tags = results.trends.tags
    found: dict[str, list[Finding]] = {}
    for finding in results.findings:
        found.setdefault(finding.terminal, []).append(finding)
    # Who has findings that follow from another's alone needs no visit before that is corrected, as the index says.
    rounds = sorted(
        (tag for tag, own in found.items() if not all(finding.under for finding in own)),
        key=lambda tag: _way(tag, schedule.get(tag, {})),
    )
    possible = {form for own in results.may_be.values() for form in own}
    return {
        "has_fans": any(kind != "single-duct" for kind, _ in possible),
        "has_electric": any(reheat == "electric" for _, reheat in possible),
        "stops": [_stop(tag, schedule.get(tag, {}), found[tag], results) for tag in rounds[:MOST_TERMINALS]],
        "untold": rounds[MOST_TERMINALS:],
        "waiting": sorted(found.keys() - set(rounds), key=natural_key),
        "groups": _groups(tags, schedule),
    }


def _way(tag: str, row: dict[str, Any]) -> tuple[Any, ...]:
    """The order of a round on site: floor by floor."""
    return natural_key(word_of(row, "floor")), natural_key(tag)


def _stop(tag: str, row: dict[str, Any], findings: list[Finding], results: Results) -> dict[str, Any]:
    zone, floor, handler = (word_of(row, name) for name in ("zone", "floor", "air_handler"))
    is_terminal = tag in results.may_be or row
    kind = words.kind_told(results.kind_of(tag), bool(word_of(row, "kind"))) if is_terminal else ""
    where = [zone, f"floor {floor}" if floor else "", handler, kind]
    return {
        "tag": tag,
        "page": None if findings[0].scope == BUILDING_SCOPE else page_name(tag),
        "where": " · ".join(part for part in where if part),
        "findings": findings,
        "items": fitting(row, _called_for(findings, results.rules)) if is_terminal else [],
        "steps": [] if is_terminal else list(dict.fromkeys(step for found in findings for step in found.next_steps)),
        "cautions": list(dict.fromkeys(sentence for found in findings for sentence in _sentences(found.caution or ""))),
    }


def _called_for(findings: list[Finding], rules: Mapping[str, Rule]) -> set[str]:
    """Return the ids of the items that findings call for."""
    return {check for finding in findings if finding.rule in rules for check in rules[finding.rule].site_checks}


def _sentences(text: str) -> list[str]:
    """Split a caution, so that what several findings say is said once."""
    return [sentence for sentence in re.split(r"(?<=\.) (?=[A-Z])", text) if sentence]


def _groups(tags: list[str], schedule: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    """What there is to look at, gathered by what a terminal has to be for it, with the terminals that are that."""
    groups: dict[tuple[Any, ...], list[Item]] = {}
    for item in items():
        groups.setdefault((item.kinds, item.reheat, item.outdoor_air_inlet, item.underfloor), []).append(item)
    named = []
    for members in groups.values():
        fit = [tag for tag in sorted(tags, key=natural_key) if members[0].fits(schedule.get(tag, {}))]
        if fit:
            everywhere = len(fit) == len(tags)
            named.append({"name": _name(members[0]), "items": members, "tags": [] if everywhere else fit})
    return named


def _name(item: Item) -> str:
    """What a terminal has to be for an item to fit it."""
    parts = [words.listed([words.KINDS[kind] for kind in item.kinds])] if item.kinds else []
    parts += ["with reheat" if len(item.reheat) > 1 else _REHEAT[item.reheat[0]]] if item.reheat else []
    parts += ["with a dedicated outdoor-air inlet"] if item.outdoor_air_inlet else []
    parts += ["underfloor"] if item.underfloor else []
    return ", ".join(parts).capitalize() or "Every terminal"
