"""The page for one complaint: the two days around a time, in one file that can be sent."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from analyzer.complaint import comfort
from analyzer.complaint.case import Case
from analyzer.complaint.cause import FEELS
from analyzer.complaint.cause_book import causes_of, rules_beside
from analyzer.complaint.facts import A_LITTLE, AROUND, CAPABILITY_RISE, Facts
from analyzer.complaint.on_site import cautions, checks, unsaid
from analyzer.complaint.place import find_terminal
from analyzer.complaint.weigh import likely_causes
from analyzer.complaint.when import read_moment
from analyzer.engine import Rule
from analyzer.errors import CallError, nearest
from analyzer.findings import SEVERITIES, TERMINAL_SCOPE, plain_name, read_review
from analyzer.quantities import TERMINAL
from analyzer.report import in_one_file, page_environment, words, write_assets
from analyzer.report.trend_box import JUDGED, TrendBox, trend_box
from analyzer.site import Site
from analyzer.staging import file_replaced
from analyzer.temporary import temporary_folder

MARK = "trendwright complaint"
_HEAD = 200_000  # bytes in which the mark stands, behind the style sheet
MOST_NEIGHBOURS = 12
FPM = 60 / 0.3048  # feet per minute in a metre per second
_TEMPLATES = Path(__file__).resolve().parent / "templates"


@dataclass(frozen=True)
class Complaint:
    """What came of a complaint: the facts, which way it is taken, the likely causes and the others."""

    facts: Facts
    feels: str
    likely: list[Case]
    unlikely: list[Case]
    book: dict[str, Rule]

    @property
    def taken(self) -> str:
        """How the zone stood at that time, in a sentence."""
        return _then(self.facts)

    @property
    def name(self) -> str:
        """The name of its page, where none is given."""
        tag = "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in self.facts.terminal)
        return f"complaint-{tag}-{self.facts.moment:%Y-%m-%dT%H%M}.html"

    def write(self, path: Path) -> Path:
        """Write the page, whole or not at all.

        Raises
        ------
        CallError
            The path is a folder, another file stands there, or it cannot be written.
        """
        _check(path)
        with file_replaced(path, remedy="Name another file with --out.") as staged:
            staged.write_text(_page(self), "utf-8")
        return path


def answer(
    folder: Path,
    *,
    terminal: str | None = None,
    room: str | None = None,
    at: str,
    feels: str | None = None,
    site: Site | None = None,
) -> Complaint:
    """Answer a complaint from a review's folder.

    Parameters
    ----------
    terminal, room : str, optional
        Whose it is; one of the two.
    at : str
        When, by the site's clock.
    feels : str, optional
        'cold' or 'warm', as it was said; where not given, as the trends say.
    site : Site, optional
        Whose causes and limits of causes count, in place of what the review kept.

    Raises
    ------
    CallError
        No review lies in the folder, or terminal, room, time or feeling cannot be made sense of.
    RuleError, SiteError
        A cause, or the site's change to one, cannot be used.
    """
    if feels is not None and feels not in FEELS:
        raise CallError("--feels", f"{feels!r} is not cold or warm{nearest(feels, FEELS)}", "Leave it out if unsure.")
    review = read_review(folder)
    book = rules_beside(site or review.site)
    causes = causes_of(site or review.site, set(review.verdicts.index.get_level_values("rule")), book)
    found = find_terminal(review, terminal, room)
    moment = read_moment(at, review.site.time_zone, review.period, review.site.date_order)
    facts = Facts(review, found, moment)
    if not len(facts.rows(before=AROUND, after=AROUND)):
        raise CallError(
            "--at", f"{found} has no trends within a day of {moment:%Y-%m-%d %H:%M}",
            "Name another time, or ask for the trends of that day.",
        )  # fmt: skip
    taken = feels or facts.feels
    return Complaint(facts, taken, *likely_causes(causes.values(), facts, taken), book)


def _check(path: Path) -> None:
    if path.is_dir():
        raise CallError(path, "is a folder", "Name a file, such as complaint.html, with --out.")
    if path.exists():
        with path.open("rb") as file:
            if MARK.encode() not in file.read(_HEAD):
                raise CallError(path, "is there already, and no page of a complaint", "Name another file with --out.")


# The page ------------------------------------------------------------------------------------------------------------


def _page(complaint: Complaint) -> str:
    site = complaint.facts.review.site
    environment = page_environment(_TEMPLATES, site=site)
    page = environment.get_template("complaint.html").render(_context(complaint), root="")
    with temporary_folder() as assets:
        write_assets(assets)
        return in_one_file(page, assets)


def _context(complaint: Complaint) -> dict[str, Any]:
    facts = complaint.facts
    zone = facts.schedule.get("zone")
    return {
        "mark": MARK,
        "terminal": facts.terminal,
        "room": zone if isinstance(zone, str) else "",
        "kind": words.kind_sentence(facts.kind, facts.kind_scheduled),
        "air_handler": facts.air_handler,
        "when": f"{words.moment(facts.moment, facts.zone)} {facts.moment.tzname()}",
        "feels": complaint.feels,
        "summary": _summary(complaint),
        "box": _box(facts),
        "outside": _outside(facts),
        "comfort": _comfort(facts),
        "heat": _heat(facts, complaint.feels),
        "at_once": _at_once(facts),
        "wrong_flow": facts.wrong_flow is not None,
        "titles": defaultdict(str, {name: found["title"] for name, found in facts.review.findings.items()}),
        "standing": [(label, found) for label, found in _findings(facts) if found],
        "counts": facts.verdict_counts,
        "neighbours": [_neighbour(facts, tag) for tag in facts.neighbour_tags[:MOST_NEIGHBOURS]],
        "more_neighbours": max(0, len(facts.neighbour_tags) - MOST_NEIGHBOURS),
        "handler": _handler(facts),
        "likely": complaint.likely,
        "unlikely": complaint.unlikely,
        "checks": checks(facts, complaint.likely, complaint.feels, complaint.book),
        "unsaid": unsaid(facts),
        "cautions": cautions(facts),
    }


def _summary(complaint: Complaint) -> list[tuple[str, str]]:
    facts = complaint.facts
    told = [("Zone", _then(facts)), ("Comfort", _felt(complaint))]
    if complaint.likely:
        first, *others = complaint.likely
        also = f" {words.plural(len(others), 'other cause')} cannot be ruled out." if others else ""
        reason = f" Found at the air handler at that time: {'; '.join(first.elsewhere)}." if first.elsewhere else ""
        told.append(("Most likely cause", f"{first.cause}.{reason}{also}"))
    else:
        told.append(("Most likely cause", "None in the trends; what they cannot show is listed at the end."))
    return told


def _then(facts: Facts) -> str:
    zone = f"The zone was {facts.say('zone_temp')}"
    setpoints = f"between setpoints of {facts.say('heating_setpoint')} and {facts.say('cooling_setpoint')}"
    if facts.below > 0:
        setpoints = f"{_by(facts, facts.below, 'below')} its heating setpoint of {facts.say('heating_setpoint')}"
    elif facts.above > 0:
        setpoints = f"{_by(facts, facts.above, 'above')} its cooling setpoint of {facts.say('cooling_setpoint')}"
    elif math.isnan(facts.below) and math.isnan(facts.above):
        setpoints = "setpoints not known"
    state = {None: "", True: " (occupied hours)", False: " (unoccupied hours)"}[facts.occupied]
    return f"{zone}, {setpoints}{state}."


def _by(facts: Facts, difference: float, side: str) -> str:
    """Say how far the zone is off a setpoint: at it, where no figure is left after rounding."""
    said = facts.say_difference(difference)
    return f"{said} {side}" if re.search(r"[1-9]", said) else "at"


def _felt(complaint: Complaint) -> str:
    facts, (low, high) = complaint.facts, (complaint.facts.comfort.low, complaint.facts.comfort.high)
    span = f"{facts.say('zone_temp', low)} to {facts.say('zone_temp', high)}"
    by_trends = {"cold": "too cold", "warm": "too warm", "": "neither too cold nor too warm"}[facts.feels]
    if not complaint.feels or complaint.feels == facts.feels:
        return f"By setpoints and comfort range ({span}) it was {by_trends}."
    return (
        f"It is said to feel {complaint.feels}; by setpoints and comfort range ({span}) it was {by_trends}: check "
        "more than the zone temperature."
    )


def _box(facts: Facts) -> TrendBox | None:
    first, last = facts.review.period
    in_force = pd.DataFrame({name: facts.values(name) for name in JUDGED})
    minute = pd.Timedelta("1min")
    return trend_box(
        facts.trends,
        facts.terminal,
        in_force=in_force,
        schedule=facts.schedule,
        air_handler=facts.air_handler,
        units=facts.units,
        start=max(facts.moment - AROUND, first),
        end=min(facts.moment + AROUND, last),
        marked=[(facts.moment - minute, facts.moment + minute)],
    )


def _outside(facts: Facts) -> list[str]:
    told, little = [], facts.say_difference(A_LITTLE)
    for which, word in (("heating", "below its heating setpoint"), ("cooling", "above its cooling setpoint")):
        out = facts.outside(which)
        if out is None:
            told.append(f"Not known whether the zone was {word}: one of the two is not trended.")
            continue
        if not out.hours:
            told.append(f"In the occupied hours of the two days the zone was never more than {little} {word}.")
            continue
        told.append(
            f"In the occupied hours of the two days the zone was more than {little} {word} for "
            f"{words.hours(out.hours)}, by {facts.say_difference(out.worst)} at most "
            f"({facts.say_difference(out.degree_hours / out.hours)} on average), between "
            f"{words.moment(out.from_when, facts.zone)} and {words.moment(out.to_when, facts.zone)}."
        )
    return told


def _comfort(facts: Facts) -> dict[str, Any]:
    found = facts.comfort
    zone = facts.at("zone_temp")
    clothing = (
        f"{found.warmest:.1f} clo" if found.warmest == found.lightest else f"{found.lightest} to {found.warmest} clo"
    )
    off = found.low - zone if zone < found.low else zone - found.high if zone > found.high else 0.0
    votes = [(vote, share) for vote, share in dict.fromkeys(facts.votes) if not math.isnan(vote)]
    return {
        "range": f"{facts.say('zone_temp', found.low)} to {facts.say('zone_temp', found.high)}",
        "off": facts.say_difference(off) if off > 0 else "",
        "side": "below" if zone < found.low else "above",
        "known": not math.isnan(zone),
        "votes": [f"{vote:+.1f}".replace("-", "−") + f" ({share:.0f} % dissatisfied)" for vote, share in votes],
        "clothing": clothing,
        "outdoor": "not trended" if math.isnan(found.outdoor) else facts.say("air handler outdoor_temp", found.outdoor),
        "humidity": f"{comfort.HUMIDITY:.0f} %",
        "humidities": " to ".join(f"{value:.0f}" for value in comfort.HUMIDITIES) + " %",
        "shift": facts.say_difference(found.shift),
        "air_speed": f"{comfort.AIR_SPEED * FPM:.0f} fpm" if facts.units == "ip" else f"{comfort.AIR_SPEED} m/s",
        "activity": f"{comfort.ACTIVITY} met",
    }


def _heat(facts: Facts, feels: str) -> dict[str, Any] | None:
    """Heat given, needed and, but for a zone that feels warm, possible; None where nothing of it is known."""
    rows = [
        ("heat to the zone", "heat_delivered", 0.0),
        ("heat from the coil", "coil_heat", 0.0),
        ("estimated load", "heat_needed", facts.at("heat_needed_doubt")),
    ]
    if facts.has_reheat and feels != "warm":
        rows.append(("maximum with primary air alone", "heat_by_primary_alone", 0.0))
        if facts.kind != "single-duct":
            rows.append(("maximum with the fan", "heat_with_fan", 0.0))
    known = [(label, facts.at(name), doubt) for label, name, doubt in rows]
    # Below zero the heat of a heating coil is the error of its estimate.
    known = [
        (label, value, doubt)
        for label, value, doubt in known
        if not math.isnan(value) and not (label == "heat from the coil" and value < 0)
    ]
    if not known:
        return None
    most = max(abs(value) + (0 if math.isnan(doubt) else doubt) for _, value, doubt in known) or 1.0
    return {
        "rows": [
            {
                "label": label,
                "value": facts.say("heat_delivered", value),
                "doubt": "" if not doubt or math.isnan(doubt) else f"± {facts.say('heat_delivered', doubt)}",
                "width": round(100 * abs(value) / most, 1),
                "cools": value < 0,
            }
            for label, value, doubt in known
        ],
        "possible": any(label.startswith("maximum") for label, _, _ in known),
        "rise": words.shown(CAPABILITY_RISE, "temperature_difference", facts.units),
    }


def _at_once(facts: Facts) -> list[tuple[str, str]]:
    """What the terminal did in the hour before, in figures."""
    names = [name for name in TERMINAL if name not in ("fan_starts", "occupied")]
    told = []
    for name in names:
        value = facts.at(name)
        if name == "primary_flow" and facts.wrong_flow:
            told.append((plain_name(name), f"{facts.say(name, facts.as_read(name))}, reads wrong"))
            continue
        if math.isnan(value):
            continue
        quantity = TERMINAL[name]
        text = f"on {100 * value:.0f}\u202f% of the hour" if quantity.state else facts.say(name)
        stands_in = name == "primary_temp" and math.isnan(facts.as_read(name))
        beside = " (the air handler's supply)" if stands_in else ""
        told.append((f"{plain_name(name)}{beside}", text))
    return told


def _findings(facts: Facts) -> list[tuple[str, list[dict[str, Any]]]]:
    """The findings in the order of when they were active, the most severe first; what is told for all is told once."""
    told = {
        "Active at that time": facts.standing,
        "Active within a day of it": facts.near_in_time,
        "Active on other days": facts.at_other_times,
    }
    shared = {finding["id"] for found in told.values() for finding in found if finding.get("scope") != TERMINAL_SCOPE}
    return [
        (
            label,
            sorted(
                (f for f in found if not (f.get("under") in shared and f["under"].rpartition("/")[2] == f["rule"])),
                key=lambda finding: SEVERITIES.index(finding["severity"]),
            ),
        )
        for label, found in told.items()
    ]


def _neighbour(facts: Facts, tag: str) -> dict[str, Any]:
    zone = facts.at("zone_temp", tag)
    under, above = facts.at("heating_setpoint", tag) - zone, zone - facts.at("cooling_setpoint", tag)
    off = (
        f"{facts.say_difference(under)} below"
        if under > A_LITTLE
        else f"{facts.say_difference(above)} above"
        if above > A_LITTLE
        else ""
    )
    row = facts.review.schedule(tag)
    same = facts.schedule.get("open_zone") and row.get("open_zone") == facts.schedule.get("open_zone")
    return {
        "tag": tag,
        "zone_name": row.get("zone") or "",
        "same_room": bool(same),
        "zone": facts.say("zone_temp", zone),
        "off": off or ("–" if math.isnan(under) and math.isnan(above) else "within"),
        "flow": facts.say("primary_flow", facts.at("primary_flow", tag)),
        "reheat": facts.say("reheat_position", facts.at("reheat_position", tag)),
        "worst": next((f["title"] for f in facts.review.findings.values() if f["terminal"] == tag), ""),
    }


def _handler(facts: Facts) -> list[tuple[str, str, str]]:
    """The air handler's points at the moment, and as they usually are in occupied hours."""
    told = []
    for name in ("supply_fan_status", "supply_temp", "duct_static_pressure", "supply_flow", "outdoor_temp"):
        key = f"air handler {name}"
        now = facts.at(key)
        if math.isnan(now):
            continue
        if name == "supply_fan_status":
            told.append(("supply fan", "on" if now > 0.5 else "off", ""))
            continue
        told.append((plain_name(name), facts.say(key), facts.say(key, facts.usual(key))))
    return told
