"""The rule book: the shipped rules and the user's own, with the site's changes applied."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import replace
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from analyzer.engine.rule import SEVERITIES, Limit, Rule
from analyzer.engine.rule_file import MOST_HOURS, MOST_SECONDS, read_rule, time_in_seconds
from analyzer.errors import RuleError, SiteError, nearest
from analyzer.quantities import parse_quantity
from analyzer.site import Site

# Numbers of a rule, beside its limits, that the site file may move too.
_MOVABLE = ("lasting", "fault_hours_at_least", "judged_hours_at_least", "longest_interval")


def read_rules(folders: Iterable[str | Path], site: Site | None = None) -> dict[str, Rule]:
    """Read every rule of the folders, with the site's changes applied.

    Parameters
    ----------
    folders : iterable of path
        The shipped rule book, and the user's own folders after it.
    site : Site, optional
        Whose ``rule_changes`` switch rules off and move limits.

    Returns
    -------
    dict
        Rule by id: urgent first, then by id.

    Raises
    ------
    RuleError
        A file with a mistake, or two files of one id.
    SiteError
        The site file changes a rule or a limit that does not exist.
    """
    rules: dict[str, Rule] = {}
    for folder in folders:
        for file in toml_files(Path(folder)):
            rule = read_rule(file)
            if rule.id in rules:
                raise RuleError(
                    file, f"the rule book has a rule {rule.id!r} already",
                    "Rename the file; to move a limit of the other, use the site file.",
                )  # fmt: skip
            rules[rule.id] = rule
    _check_causes(rules)
    rules = dict(sorted(rules.items(), key=lambda item: (SEVERITIES.index(item[1].severity), item[0])))
    return rules if site is None else with_changes(rules, site)


def toml_files(folder: Path) -> list[Path]:
    """List the rule files of a folder; one that cannot be read would leave its rules out of every verdict."""
    try:
        return sorted(folder / name for name in os.listdir(folder) if name.endswith(".toml"))
    except OSError as error:
        raise RuleError(folder, f"cannot be read ({error.strerror})", "Check the folder and its permissions.") from None


def _check_causes(rules: dict[str, Rule]) -> None:
    """Refuse a cause that is no rule, and causes that follow from each other."""
    for rule in rules.values():
        for key, names in (("follows_from", rule.follows_from), ("explains", rule.explains)):
            for name in names:
                if name not in rules:
                    raise RuleError(
                        rule.file, f"{key}: there is no rule {name!r}{nearest(name, rules)}", "Correct its id."
                    )
    try:
        TopologicalSorter({rule.id: rule.follows_from for rule in rules.values()}).prepare()
    except CycleError as error:
        first = rules[error.args[1][0]]
        raise RuleError(
            first.file, f"follows_from: {' and '.join(error.args[1][:-1])} follow from each other",
            "Take one of them out.",
        ) from None  # fmt: skip


# The site's changes -----------------------------------------------------------------------------------------------


def with_changes(rules: dict[str, Rule], site: Site) -> dict[str, Rule]:
    """Return the rules as a site changes them: some switched off, limits moved within their ranges.

    Raises
    ------
    SiteError
        The site changes a rule or a limit that does not exist, or moves one out of its range.
    """
    changed = dict(rules)
    for name, changes in site.rule_changes.items():
        if name not in rules:
            raise SiteError(
                site.file, f"there is no such rule{nearest(name, rules)}", "Correct its id.", place=f"rule.{name}"
            )
        changes = dict(changes)
        enabled = changes.pop("enabled", True)
        if not isinstance(enabled, bool):
            raise SiteError(
                site.file, f"{enabled!r} is neither true nor false", "Correct it.", place=f"rule.{name}.enabled"
            )
        if not enabled:
            del changed[name]
            continue
        changed[name] = _moved(rules[name], changes, site)
    return changed


def _moved(rule: Rule, changes: dict, site: Site) -> Rule:
    limits = dict(rule.limits)
    plain: dict[str, float] = {}
    for name, told in changes.items():
        place = f"rule.{rule.id}.{name}"
        try:
            if name in limits:
                limits[name] = moved_limit(limits[name], told)
            elif name in _MOVABLE:
                plain[name] = _moved_number(name, told)
            else:
                known = [*limits, *_MOVABLE, "enabled"]
                raise ValueError(f"the rule has no limit {name!r}{nearest(name, known)}; it has {', '.join(known)}")
        except ValueError as error:
            raise SiteError(site.file, str(error), "Correct the site file and run again.", place=place) from None
    return replace(
        rule,
        limits=limits,
        lasting=plain.get("lasting", rule.lasting),
        fault_hours_at_least=plain.get("fault_hours_at_least", rule.fault_hours_at_least),
        judged_hours_at_least=plain.get("judged_hours_at_least", rule.judged_hours_at_least),
        longest_interval=plain.get("longest_interval", rule.longest_interval),
    )


def moved_limit(limit: Limit, told) -> Limit:
    if isinstance(told, bool) or not isinstance(told, int | float | str):
        raise ValueError(f'{told!r} is not a number, or a text such as "{limit.shown}"')
    text = str(told).strip()
    if re.fullmatch(r"[-+]?[\d.]+(e[-+]?\d+)?", text, re.IGNORECASE):
        text = f"{text} {limit.unit}"
    value = parse_quantity(text, limit.dimension)
    limit.check(value, text.strip())
    return replace(limit, value=value, shown=text.strip(), moved=True)


def _moved_number(name: str, told) -> float:
    if not name.endswith("at_least"):
        return _between(time_in_seconds(told), MOST_SECONDS, told)
    if isinstance(told, bool) or not isinstance(told, int | float | str):
        raise ValueError(f"{told!r} is not a number of hours")
    hours = parse_quantity(told, "time") / (3600 if re.search("[a-z]", str(told)) else 1)
    return _between(hours, MOST_HOURS, told)


def _between(value: float, most: float, told) -> float:
    if not 0 <= value <= most:
        hours = most if most == MOST_HOURS else most / 3600
        raise ValueError(f"{told} is outside the range of this limit; allowed are 0 to {hours:g} h")
    return value
