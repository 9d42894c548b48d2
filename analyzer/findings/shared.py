"""What most terminals of a building, or of an air handler, share is one finding of that scope; theirs go under it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import pandas as pd

from analyzer.engine import Explained, Forms, Rule, words_of
from analyzer.findings.order import size
from analyzer.findings.results import (
    AIR_HANDLER_SCOPE,
    BUILDING,
    BUILDING_SCOPE,
    SEVERITIES,
    TERMINAL_SCOPE,
    Episodes,
    Finding,
    Measure,
)
from analyzer.findings.rules_used import ranking

# The rule whose limits say how many terminals make a fault a shared one, and what stands in for them without it.
SHARING_RULE = "air-handler-common-cause"
LEAST_SHARE, LEAST_TERMINALS = 0.5, 4
# A rule that is told once for the building, or for each air handler, as a list in order, from so many terminals on.
LISTED, LISTED_BY_AIR_HANDLER = "list", "air_handler_list"
LEAST_LISTED = 2
NEARLY_ALL = 0.8
# Terminals of no known air handler share a fault where so many of them, and this share of those judged, have it, this
# part of them at one moment. Judgement: one of three or four air handlers.
LEAST_OF_NOBODY, SHARE_OF_NOBODY, AT_ONCE = 8, 0.25, 0.7
NOT_KNOWN: Mapping[str, Forms] = MappingProxyType({})
# A measure is the same at the terminals that share a fault where this part of them is within so much of the middle one.
# Judgement: rounding of setpoints to a tenth.
ALIKE, WITHIN = 0.8, 0.05
# So many tags a sentence names.
MOST_NAMED = 12


@dataclass(frozen=True)
class _Place:
    """The building, or an air handler: its tag, and the scope of a finding there."""

    tag: str
    scope: str

    @property
    def named(self) -> str:
        return "the building" if self.scope == BUILDING_SCOPE else self.tag


def told_once(
    findings: list[Finding],
    rules: Mapping[str, Rule],
    verdicts: pd.DataFrame,
    owners: Mapping[str, str],
    explained: Sequence[Explained],
    may_be: Mapping[str, Forms] = NOT_KNOWN,
) -> list[Finding]:
    """Add a finding for each fault that most terminals of a building or an air handler share, and put theirs under it.

    Only root findings are gathered: what follows from another cause is told there already. A setting or a kind of point
    (a rule with ``shared_as = "building"``) is the building's where most terminals share it, whenever. Anything else is
    the air handler's, where most of its terminals have it at the same time: unrelated faults are not lumped. What
    several air handlers share so, most terminals of the building, is the building's.

    Parameters
    ----------
    findings : list of Finding
        With ``under`` filled.
    rules : mapping
        The rule book by id.
    verdicts : DataFrame
        ``terminal, rule, verdict`` of the terminals: of those that were judged the share is taken.
    owners : mapping
        Terminal to its air handler; empty where none is known.
    explained : sequence of Explained
        Of a common cause: which terminals of an air handler have a rule's fault at the same time, and what explains it.
    may_be : mapping, optional
        Terminal to what it may be, all that the rule judges where it is not named: the words of a shared finding fit
        all of its terminals.
    """
    common = {(own.air_handler, own.fault): own for own in explained if own.fault}
    least_share, least_terminals = _least(rules)
    judged = _judged(verdicts, owners)
    by_rule: dict[str, list[Finding]] = defaultdict(list)
    for finding in findings:
        if finding.scope == TERMINAL_SCOPE and finding.rule in rules:
            by_rule[finding.rule].append(finding)
    parent: dict[str, str] = {}
    added: list[Finding] = []
    for rule, faulty in by_rule.items():
        if rules[rule].shared_as == LISTED:
            places = [(_Place(BUILDING, BUILDING_SCOPE), faulty)]
        elif rules[rule].shared_as == LISTED_BY_AIR_HANDLER:
            places = _of_each_air_handler(faulty, owners)
        elif rules[rule].shared_as == BUILDING_SCOPE:
            share = least_share * judged[rule, BUILDING]
            places = [(_Place(BUILDING, BUILDING_SCOPE), faulty)] if len(faulty) >= share else []
        else:
            places = _air_handlers(rule, faulty, owners, common)
            places = _as_the_buildings(rule, places, common, least_terminals, least_share * judged[rule, BUILDING])
            places += _of_nobody(rule, faulty, owners, verdicts)
        for place, members in places:
            roots = _alike([finding for finding in members if finding.under is None])
            fewest = _fewest(rules[rule], roots, judged[rule, place.tag], least_terminals)
            mostly_explained = 2 * len(roots) < len(members) and rules[rule].shared_as != LISTED_BY_AIR_HANDLER
            if mostly_explained or len(roots) < fewest:
                continue
            one = _finding(place, rules[rule], roots, judged[rule, place.tag], may_be)
            added.append(one)
            parent |= {finding.id: one.id for finding in roots}
    told = [replace(finding, under=parent.get(finding.id, finding.under)) for finding in findings]
    return told + _under_their_causes(added, told, common)


def _fewest(rule: Rule, roots: list[Finding], judged: int, least_terminals: float) -> float:
    """How many make it a shared one: of a setting two will do, where nearly all that could be judged have it."""
    if rule.shared_as in (LISTED, LISTED_BY_AIR_HANDLER):
        return LEAST_LISTED
    nearly_all = rule.shared_as == BUILDING_SCOPE and len(roots) >= NEARLY_ALL * judged
    return LEAST_LISTED if nearly_all else least_terminals


def _under_their_causes(added: list[Finding], told: list[Finding], common) -> list[Finding]:
    """Put a shared finding under the air handler's own fault, or another that is shared, where that explains it."""
    ids = {finding.id for finding in (*told, *added)}
    under = {f"{handler}/{fault}": "/".join(own.under) for (handler, fault), own in common.items() if own.under}
    return [replace(one, under=cause) if (cause := under.get(one.id)) in ids else one for one in added]


def _alike(findings: list[Finding]) -> list[Finding]:
    """Leave out those that are graver than the one in the middle: they want a line of their own."""
    grades = sorted(SEVERITIES.index(finding.severity) for finding in findings)
    return [finding for finding in findings if SEVERITIES.index(finding.severity) >= grades[len(grades) // 2]]


def _least(rules: Mapping[str, Rule]) -> tuple[float, float]:
    limits = rules[SHARING_RULE].values if SHARING_RULE in rules else {}
    return limits.get("least_share", LEAST_SHARE), limits.get("least_terminals", LEAST_TERMINALS)


def _judged(verdicts: pd.DataFrame, owners: Mapping[str, str]) -> Counter:
    """Count the terminals with a verdict, for each rule and place: an air handler, or the building."""
    decided = verdicts[(verdicts["verdict"] != "not-judged") & verdicts["terminal"].isin(set(owners))]
    counted = Counter(zip(decided["rule"], decided["terminal"].map(dict(owners)), strict=True))
    counted.update(Counter({(rule, BUILDING): count for rule, count in decided["rule"].value_counts().items()}))
    return counted


def _air_handlers(rule: str, faulty: list[Finding], owners, common) -> list[tuple[_Place, list[Finding]]]:
    """Return the air handlers whose terminals share a rule's fault at the same time, each with their findings."""
    by_handler: dict[str, list[Finding]] = defaultdict(list)
    for finding in faulty:
        handler = owners.get(finding.terminal) or ""
        if (handler, rule) in common and finding.terminal in common[handler, rule].terminals:
            by_handler[handler].append(finding)
    return [(_Place(handler, AIR_HANDLER_SCOPE), members) for handler, members in by_handler.items()]


def _of_each_air_handler(faulty: list[Finding], owners) -> list[tuple[_Place, list[Finding]]]:
    """Return every air handler with the findings of its terminals, whenever they have their fault."""
    by_handler: dict[str, list[Finding]] = defaultdict(list)
    for finding in faulty:
        if owners.get(finding.terminal):
            by_handler[owners[finding.terminal]].append(finding)
    return [(_Place(handler, AIR_HANDLER_SCOPE), members) for handler, members in by_handler.items()]


def _as_the_buildings(
    rule: str, places: list[tuple[_Place, list[Finding]]], common, least_terminals: float, least: float
) -> list[tuple[_Place, list[Finding]]]:
    """Tell once, as the building's, what several air handlers share and what none of them explains.

    Most terminals of the building (``least`` of those judged) have it then.
    """
    alike: list[tuple[_Place, list[Finding]]] = []
    others: list[tuple[_Place, list[Finding]]] = []
    for place, members in places:
        roots = [finding for finding in members if finding.under is None]
        of_its_own = not common[place.tag, rule].under
        (alike if of_its_own and len(roots) >= least_terminals else others).append((place, members))
    together = [finding for _, members in alike for finding in members]
    if len(alike) < 2 or len(together) < least:
        return places
    return [*others, (_Place(BUILDING, BUILDING_SCOPE), together)]


def _of_nobody(rule: str, faulty: list[Finding], owners, verdicts: pd.DataFrame) -> list[tuple[_Place, list[Finding]]]:
    """Return the terminals of no known air handler that share a fault at the same time, as the building's.

    They may hang on one of several air handlers: fewer of them will do, but not few.
    """
    own = {tag for tag, owner in owners.items() if not owner}
    members = [finding for finding in faulty if finding.terminal in own and finding.under is None]
    decided = verdicts[(verdicts["rule"] == rule) & (verdicts["verdict"] != "not-judged")]
    least = max(LEAST_OF_NOBODY, SHARE_OF_NOBODY * decided["terminal"].isin(own).sum())
    if len(members) < least or _most_at_once(members) < AT_ONCE * len(members):
        return []
    return [(_Place(BUILDING, BUILDING_SCOPE), members)]


def _most_at_once(members: list[Finding]) -> int:
    """The most that have their fault at one moment."""
    return int(_at_once(members)[1].max(initial=0))


def _at_once(members: list[Finding]) -> tuple[np.ndarray, np.ndarray]:
    """The moments at which an episode of any begins or ends, in order [us], and how many have the fault after each.

    Of one that begins where another ends the end counts first.
    """
    edges = np.concatenate([finding.episodes.edges for finding in members])
    moments, steps = edges.T.ravel(), np.repeat([1, -1], len(edges))
    order = np.lexsort((steps, moments))
    return moments[order], np.cumsum(steps[order])


def _finding(place: _Place, rule: Rule, members: list[Finding], judged: int, may_be: Mapping[str, Forms]) -> Finding:
    """Tell one finding for many: how many, which, and the one in the middle of them as an example."""
    listed = rule.shared_as == LISTED_BY_AIR_HANDLER
    members = _by_size(rule, members)[:: -1 if listed else 1]
    typical = members[0 if listed else len(members) // 2]
    tags = tuple(finding.terminal for finding in members)
    tags = tags if listed else tuple(sorted(tags))
    firm = sum(finding.confidence == "firm" for finding in members)
    grades = sorted(SEVERITIES.index(finding.severity) for finding in members)
    # Many of a kind at one air handler are graver than the one in the middle of them; a setting of the building is not.
    grade = grades[len(grades) // 2]
    if place.scope == AIR_HANDLER_SCOPE and not listed:
        grade = min(grade, max(grade - 1, SEVERITIES.index("high")))
    possible = frozenset().union(*(may_be.get(tag) or rule.forms for tag in tags))
    text = rule.wording.fitted(possible)
    signs = _mostly_supported(rule, members, may_be), _mostly_ruled_out(rule, members, may_be)
    causes, supported = rule.wording.causes(possible, *signs)
    return replace(
        typical,
        id=f"{place.tag}/{rule.id}",
        terminal=place.tag,
        air_handler=place.tag if place.scope == AIR_HANDLER_SCOPE else None,
        scope=place.scope,
        terminals=tags,
        title=f"{text.title}: {len(tags)} of {judged} terminals of {place.named}",
        severity=SEVERITIES[grade],
        confidence="firm" if 2 * firm >= len(members) else "marginal",
        start=min(finding.start for finding in members),
        end=max(finding.end for finding in members),
        fault_hours=sorted(finding.fault_hours for finding in members)[len(members) // 2],
        judged_hours=sorted(finding.judged_hours for finding in members)[len(members) // 2],
        episodes=_together(members),
        measures={
            "terminals": Measure(float(len(tags)), "", "Terminals with the fault"),
            "share": Measure(100 * len(tags) / judged, "%", "Share of those judged"),
        }
        | typical.measures,
        summary=f"At {len(tags)} of {judged} terminals judged: "
        + (
            f"{_ranked(rule, members)}. The first of them, {typical.terminal}: {typical.summary}"
            if listed
            else f"{named(tags)}. Look for one common cause first. "
            f"Typical (median) terminal, {typical.terminal}: {typical.summary}"
        ),
        **words_of(text, causes, supported),
        under=None,
        answer=None,
        logged_until=max((found.logged_until for found in members if found.logged_until), default=None),
    )


def _mostly_supported(rule: Rule, members: list[Finding], may_be: Mapping[str, Forms]) -> list[int]:
    """Return the numbers of the likely causes that the trends of at least half of the members support."""
    supported = _counted(rule, members, may_be, lambda own: own.supported_causes)
    return [
        number
        for number, (cause, count) in enumerate(zip(rule.wording.likely_causes, supported, strict=True))
        if 2 * count >= len(members) or _same_at_most(cause.alike, members)
    ]


def _mostly_ruled_out(rule: Rule, members: list[Finding], may_be: Mapping[str, Forms]) -> list[int]:
    """Return the numbers of the likely causes that the trends of at least half of the members rule out."""
    telling = [own for own in members if own.likely_causes]
    left = _counted(rule, telling, may_be, lambda own: own.likely_causes)
    return [
        number
        for number, (cause, count) in enumerate(zip(rule.wording.likely_causes, left, strict=True))
        if (telling and 2 * count <= len(telling)) or _same_at_most(cause.unless_alike, members)
    ]


def _counted(
    rule: Rule, members: list[Finding], may_be: Mapping[str, Forms], told: Callable[[Finding], Sequence[str]]
) -> list[int]:
    """Count for each likely cause the members whose words hold it, as it is said of a terminal of their form."""
    return [
        sum(cause.at_forms(may_be.get(own.terminal) or rule.forms) in told(own) for own in members)
        for cause in rule.wording.likely_causes
    ]


def _same_at_most(measure: str | None, members: list[Finding]) -> bool:
    """Tell whether a measure is the same at nearly all of the members; not where none is named."""
    if measure is None:
        return False
    values = np.array([own.measures[measure].value for own in members if measure in own.measures])
    if len(values) < len(members):
        return False
    middle = np.median(values)
    return bool((np.abs(values - middle) <= WITHIN * abs(middle)).mean() >= ALIKE)


def named(tags: Sequence[str]) -> str:
    """Name terminals in a sentence, the first of many."""
    more = f" and {len(tags) - MOST_NAMED} more" if len(tags) > MOST_NAMED else ""
    return ", ".join(tags[:MOST_NAMED]) + more


def _ranked(rule: Rule, members: Sequence[Finding]) -> str:
    """Name terminals in the order in which they are listed, each with the figure by which the rule ranks."""
    measure = next((name for name, own in rule.measures.items() if own.ranks), "")
    told = [(finding.terminal, finding.measures.get(measure)) for finding in members]
    return named([f"{tag} ({own.value:.0f} {own.unit})" if own else tag for tag, own in told])


def _by_size(rule: Rule, members: list[Finding]) -> list[Finding]:
    """Order findings from the least to the most severe, by the figure by which the rule ranks."""
    ranked = ranking(rule)
    return sorted(members, key=lambda finding: (size(finding, ranked), finding.id))


def _together(members: list[Finding]) -> Episodes:
    """Return the stretches of time in which at least half as many had the fault as had it at the most."""
    moments, counts = _at_once(members)
    enough = counts >= max(1, -(-int(counts.max(initial=0)) // 2))
    begins = np.flatnonzero(enough & ~np.append(False, enough[:-1]))
    ends = np.flatnonzero(~enough & np.append(False, enough[:-1]))
    edges = np.stack([moments[begins], moments[ends]], axis=1)
    return Episodes(edges[edges[:, 1] > edges[:, 0]])
