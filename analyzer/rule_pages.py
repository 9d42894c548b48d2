"""The rule book in words: the list of rules, and one rule with its logic, numbers and sources."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from analyzer.engine import KINDS, Graded, Limit, Rule

WIDTH = 100


def rule_list(rules: dict[str, Rule]) -> str:
    """Return one line a rule: id, severity, impact, where it applies, title."""
    widest = max(map(len, rules), default=0)
    return "\n".join(
        f"{rule.id:<{widest}}  {rule.severity:<6}  {rule.impact:<11}  {_applies(rule)}: {rule.title}"
        for rule in rules.values()
    )


def one_rule(rule: Rule) -> str:
    """Return one rule as text: what it looks for, its numbers with sources, and what to do."""
    parts = [
        f"{rule.id}: {rule.title}",
        f"severity {rule.severity}, impact {rule.impact}; applies to {_applies(rule)}",
        *(_block("Milder", _graded(grade)) for grade in rule.milder),
        *(_block("Graver", _graded(grade)) for grade in rule.graver),
        _block("Why it matters", rule.text.why_it_matters),
        _block("Needs", ", ".join(rule.needs) or "nothing more than the following"),
    ]
    if rule.needs_one_of:
        parts.append(_block("Needs one of", "; or ".join(_group(group) for group in rule.needs_one_of)))
    if rule.better_with:
        parts.append(_block("Sees more with", ", ".join(rule.better_with)))
    parts += [
        _block("Judged when", rule.judged_when.text),
        _block("Fault when", rule.fault_when.text),
        _block(
            "Counts when",
            f"it lasts {rule.lasting / 60:g} min or longer and comes to {rule.fault_hours_at_least:g} h{_share(rule)}; "
            f"at least {rule.judged_hours_at_least:g} h have to be judged; logged every "
            f"{rule.longest_interval / 60:g} min or more often",
        ),
        "Limits" + "".join(_limit(limit) for limit in rule.limits.values()),
        "Likely causes, in the order to check" + _list(rule.text.likely_causes),
        "Next steps on site" + _list(rule.text.next_steps),
        _block("Retest", rule.text.retest),
        "Can be mistaken for" + _list(rule.text.looks_like),
    ]
    if rule.text.caution:
        parts.append(_block("Caution", rule.text.caution))
    parts.append(f"next: move a limit with [rule.{rule.id}] in site.toml")
    return "\n\n".join(parts)


def _applies(rule: Rule) -> str:
    where = "all terminals" if "all" in rule.applies_to else ", ".join(rule.applies_to)
    return where + "".join(f" with {what}" for what in rule.only_with)


def _graded(grade: Graded) -> str:
    return f"severity {grade.severity}, impact {grade.impact} where {grade.when.text}"


def _group(group: tuple[str, ...]) -> str:
    kinds = [name for name in group if name in KINDS]
    names = " and ".join(name for name in group if name not in KINDS)
    return f"{names} ({', '.join(kinds)})" if kinds else names


def _limit(limit: Limit) -> str:
    moved = " (moved by the site file)" if limit.moved else f" (allowed: {limit.allowed})" if limit.allowed else ""
    said = f"{limit.name} = {limit.shown}{moved}. {limit.reason} Source: {limit.source}."
    return "\n" + textwrap.fill(" ".join(said.split()), WIDTH, initial_indent="  ", subsequent_indent="    ")


def _share(rule: Rule) -> str:
    share = rule.fault_share_at_least
    return f", and {100 * share:g} % of the judged hours" if share else ""


def _block(head: str, text: str) -> str:
    return f"{head}\n" + textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  ")


def _list(items: Iterable[str]) -> str:
    return "".join(
        "\n" + textwrap.fill(item, WIDTH, initial_indent=f"  {number}. ", subsequent_indent="     ")
        for number, item in enumerate(items, 1)
    )
