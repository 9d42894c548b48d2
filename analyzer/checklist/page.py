"""Writes the site checklist as a page: on screen to read, on paper to tick."""

from __future__ import annotations

from pathlib import Path

from analyzer.checklist.items import fitting
from analyzer.findings.results import Finding, Results
from analyzer.report import words
from analyzer.report.frame import page_environment
from analyzer.report.names import natural_key, page_name

CHECKLIST = "site_checklist.html"
MOST_TERMINALS = 300  # told one by one; a round on site takes days long before that
_TEMPLATES = Path(__file__).resolve().parent / "templates"


def write_checklist(results: Results, folder: Path) -> None:
    """Write ``site_checklist.html`` into a review's folder."""
    site = results.site
    environment = page_environment(_TEMPLATES, site=site, period=words.window(*results.period, site.time_zone))
    page = environment.get_template("checklist.html").render(_context(results), root="")
    (folder / CHECKLIST).write_text(page, encoding="utf-8")


def _context(results: Results) -> dict:
    schedule = results.site.schedule.to_dict("index")
    tags = list(results.trends.terminals["terminal"].cat.categories)
    found: dict[str, list[Finding]] = {}
    for finding in results.findings:
        found.setdefault(finding.terminal, []).append(finding)
    rounds = sorted(found, key=lambda tag: _way(tag, schedule.get(tag, {})))
    return {
        "stops": [_stop(tag, schedule.get(tag, {}), found[tag]) for tag in rounds[:MOST_TERMINALS]],
        "untold": rounds[MOST_TERMINALS:],
        "groups": _groups(tags, schedule),
    }


def _way(tag: str, row: dict) -> tuple:
    """The order of a round on site: floor by floor."""
    return natural_key(str(row.get("floor") or "")), natural_key(tag)


def _stop(tag: str, row: dict, findings: list[Finding]) -> dict:
    where = [row.get("zone"), f"floor {row['floor']}" if row.get("floor") else None, row.get("air_handler")]
    kind = words.KINDS.get(row.get("kind"))
    return {
        "tag": tag,
        "page": page_name(tag),
        "where": " · ".join(str(part) for part in [*where, kind] if part),
        "findings": findings,
        "items": fitting(row, {finding.rule for finding in findings}),
        "cautions": list(dict.fromkeys(finding.caution for finding in findings if finding.caution)),
    }


def _groups(tags: list[str], schedule: dict[str, dict]) -> list[dict]:
    """The terminals by what they are, and what is to be looked at in each group."""
    groups: dict[tuple, list[str]] = {}
    for tag in sorted(tags, key=natural_key):
        groups.setdefault(tuple(fitting(schedule.get(tag, {}))), []).append(tag)
    named = [
        {"name": _name(schedule.get(members[0], {})), "items": items, "tags": members}
        for items, members in groups.items()
    ]
    return sorted(named, key=lambda group: group["name"])


def _name(row: dict) -> str:
    kind = words.KINDS.get(row.get("kind"), "kind not given").capitalize()
    reheat = {"none": "without reheat", "electric": "with electric heat", "hot-water": "with a hot-water coil"}
    inlet = row.get("outdoor_air_inlet_min")
    parts = [kind, reheat.get(row.get("reheat"), ""), "underfloor" if row.get("distribution") == "underfloor" else ""]
    if isinstance(inlet, float) and inlet == inlet:
        parts.append("with an outdoor-air inlet")
    return ", ".join(part for part in parts if part)
