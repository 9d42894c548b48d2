"""What a complaint leaves to be checked on site, with what caution, and what its trends cannot show."""

from __future__ import annotations

from collections.abc import Mapping

from analyzer.checklist import fitting
from analyzer.checklist.items import Item
from analyzer.complaint.case import Case
from analyzer.complaint.facts import Facts
from analyzer.engine import Passage, Rule, forms_of
from analyzer.findings import points_of
from analyzer.report import not_trended

CAUTIONS = (
    Passage("The fan starts without notice.", ("series", "parallel")),
    Passage("An electric heater can be live and hot with no air moving.", ("electric",)),
    Passage("Hot-water coils and pipes can cause burns.", ("hot-water",)),
)


def checks(facts: Facts, likely: list[Case], feels: str, book: Mapping[str, Rule]) -> list[Item]:
    """What to look at on site: what the likely causes and the standing findings call for, else all that fits."""
    rules = {rule for case in likely[:3] for rule in case.rules}
    rules |= {finding["rule"] for finding in facts.standing}
    rules |= {"zone-too-cold"} if feels == "cold" else {"zone-too-warm"} if feels == "warm" else set()
    wanted = {check for rule in rules if rule in book for check in book[rule].site_checks}
    return fitting(facts.schedule, wanted if rules else None)


def cautions(facts: Facts) -> list[str]:
    """What of the usual caution fits the terminal."""
    reheat = facts.schedule.get("reheat")
    may_be = forms_of(facts.kind, reheat if isinstance(reheat, str) else "", facts.has_reheat)
    return [told for passage in CAUTIONS if (told := passage.at_forms(may_be))]


def unsaid(facts: Facts) -> list[str]:
    """What no trend of the terminal can show."""
    told = [
        "Where people sit, what they wear and do, and local air movement.",
        "The temperature of windows, walls and floor, and the humidity: assumed as stated.",
        "The temperature away from the wall sensor.",
    ]
    own = points_of(facts.review.logging, facts.terminal)
    reheat = facts.schedule.get("reheat")
    if missing := not_trended(set(own), facts.kind, reheat if isinstance(reheat, str) else None):
        told.append(f"Not trended at this terminal: {', '.join(missing)}.")
    slow = [name for name, seconds in own.items() if seconds > 900]
    if slow:
        told.append(f"Logged less often than every 15 minutes, so short events do not show: {', '.join(slow)}.")
    if facts.air_handler is None:
        told.append("The schedule gives no air handler: supply air and other terminals cannot be shown.")
    return told
