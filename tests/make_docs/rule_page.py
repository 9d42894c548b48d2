"""The pages of the rule book: one a rule under fixed headings, and the index by impact and by kind of terminal."""

from __future__ import annotations

import inspect
import re

from analyzer.engine.rule import AIR_HANDLER, IMPACTS, SEVERITIES, Limit, Rule, who_acts
from analyzer.engine.wording import KINDS
from analyzer.quantities import AIR_HANDLER as AIR_HANDLER_POINTS
from analyzer.quantities import TERMINAL, to_shown
from analyzer.signals import NUMBERS, SIGNALS
from analyzer.site.model import USUAL_ACCURACY
from tests.make_docs.case_figure import fault_case
from tests.make_docs.columns import COLUMNS
from tests.make_docs.fixed_figures import modules_of

MADE = "<!-- Made by `python -m tests.make_docs` from the rule book. Do not edit. -->"
HEADINGS = (
    "What it finds",
    "When it is judged",
    "When it is a fault",
    "Limits",
    "What it measures",
    "Likely causes, in the order to check",
    "Next steps",
    "Retest",
    "Can be mistaken for",
    "Caution",
    "Follows from",
    "Example",
)
NO_CAUTION = (
    "Nothing beyond the usual: work at terminals is work above ceilings, beside fans that start without notice. Keep to "
    "the site's rules, local codes and the manufacturer's instructions."
)


def rule_page(rule: Rule, book: dict[str, Rule]) -> str:
    """Return the page of one rule as Markdown."""
    parts = (
        _finds(rule),
        _judged(rule),
        _fault(rule),
        _limits(rule),
        _measures(rule),
        _causes(rule),
        _numbered(rule.text.next_steps),
        rule.text.retest,
        "\n".join(f"- {sentence}" for sentence in rule.text.looks_like),
        rule.text.caution or NO_CAUTION,
        _follows(rule, book),
        _example(rule),
    )
    body = "\n\n".join(f"## {heading}\n\n{part}" for heading, part in zip(HEADINGS, parts, strict=True))
    return f"{MADE}\n\n# {rule.title}\n\n`{rule.id}` · [all rules](index.md)\n\n{body}\n"


def index_page(book: dict[str, Rule]) -> str:
    """Return the index of the rule book as Markdown."""
    parts = [
        MADE,
        "# The rule book",
        f"{len(book)} rules. Each is one file in [`rules/`](../../rules), readable without programming; "
        "`trendwright rules` lists them with a site's own changes. How a verdict comes about: [the method](../method.md). "
        "How a limit is moved or a rule switched off: [the site file](../site-file.md). What the signals decide by beside the "
        "limits: [figures in the signals](fixed-figures.md).",
        "## By impact",
    ]
    for impact in IMPACTS:
        rules = [rule for rule in book.values() if rule.impact == impact]
        rows = "\n".join(
            f"| [{rule.title}]({rule.id}.md) | {rule.severity} | {_applies(rule)} |"
            for rule in sorted(rules, key=lambda rule: (SEVERITIES.index(rule.severity), rule.id))
        )
        if rules:
            parts += [f"### {impact.capitalize()}", f"| fault | severity | applies to |\n|---|---|---|\n{rows}"]
    parts.append("## By kind of terminal")
    for kind in (*KINDS, AIR_HANDLER):
        own = sorted(rule.id for rule in book.values() if kind in rule.applies_to)
        if own:
            parts.append(f"**{_KIND[kind]}**: " + ", ".join(f"[{name}]({name}.md)" for name in own) + ".")
    for what, words in _ONLY_WITH.items():
        own = sorted(rule.id for rule in book.values() if what in rule.only_with)
        parts.append(f"**Only {words}**: " + ", ".join(f"[{name}]({name}.md)" for name in own) + ".")
    every = sorted(rule.id for rule in book.values() if "all" in rule.applies_to and not rule.only_with)
    parts.append("**All terminals**: " + ", ".join(f"[{name}]({name}.md)" for name in every) + ".")
    return "\n\n".join(parts) + "\n"


_KIND = {
    "single-duct": "Single-duct units, beside those for all",
    "series": "Series fan-powered units, beside those for all",
    "parallel": "Parallel fan-powered units, beside those for all",
    AIR_HANDLER: "Air handlers",
}
_ONLY_WITH = {
    "reheat": "with reheat",
    "electric-heat": "with electric heat",
    "fan": "with a fan",
    "outdoor-air-inlet": "with a dedicated outdoor-air inlet",
    "open-zone": "in an open zone that several terminals share",
    "open-zone-of-three": "in an open zone that three terminals or more share",
    "known-air-handler": "where the air handler is known",
}


def _applies(rule: Rule) -> str:
    where = "all terminals" if "all" in rule.applies_to else ", ".join(rule.applies_to)
    return where + "".join(f", {_ONLY_WITH[what]}" for what in rule.only_with)


def _finds(rule: Rule) -> str:
    text = f"{rule.title}. {rule.text.why_it_matters}\n\nSeverity {rule.severity}, impact {rule.impact}. Applies to: {_applies(rule)}."
    for milder in rule.milder:
        text += (
            f" {'Else o' if milder is not rule.milder[0] else 'O'}nly {milder.severity} severity, impact "
            f"{milder.impact}, where this held for most of the fault: `{milder.when.text}`."
        )
    for grade in rule.graver:
        text += (
            f" Severity {grade.severity}, impact {grade.impact}, where this held for most of the fault: "
            f"`{grade.when.text}`."
        )
    return f"{text}\n\nProposed to act: {who_acts(rule, rule.impact)}."


def _judged(rule: Rule) -> str:
    parts = [f"```\n{rule.judged_when.text}\n```", _names(rule, rule.judged_when.names - set(rule.limits))]
    lines = [f"Trends and values it cannot do without: {_list_of(rule.needs)}."]
    if rule.needs_one_of:
        lines.append(f"And one of: {'; or '.join(_group(group) for group in rule.needs_one_of)}.")
    if rule.better_with:
        lines.append(f"It sees more with {_list_of(rule.better_with)}.")
    lines.append(
        f"Logged every {_minutes(rule.longest_interval)} or more often"
        + (f" ({_minutes(rule.best_interval)} is better)" if rule.best_interval else "")
        + f"; at least {rule.judged_hours_at_least:g} h have to be judged. Where it never comes to that, the report "
        f"says: {rule.text.context}."
    )
    return "\n\n".join(filter(None, [*parts, " ".join(lines)]))


def _fault(rule: Rule) -> str:
    new = rule.fault_when.names - rule.judged_when.names - set(rule.limits)
    again = (rule.fault_when.names & rule.judged_when.names) - set(rule.limits)
    parts = [f"```\n{rule.fault_when.text}\n```", _names(rule, new)]
    if again:
        parts.append(f"As above: {_list_of(sorted(again))}.")
    parts.append(
        f"It counts where it lasts {_minutes(rule.lasting)} or longer and comes to {rule.fault_hours_at_least:g} h in all"
        + (f", and to {100 * share:g} % of the judged hours." if (share := rule.fault_share_at_least) else ".")
        + (" Shorter stretches do not count, however many they are." if rule.lasting else "")
    )
    return "\n\n".join(filter(None, parts))


def _names(rule: Rule, names) -> str:
    return "\n".join(f"- `{name}` {_meaning(rule, name)}" for name in sorted(names))


def _meaning(rule: Rule, name: str) -> str:
    if name in TERMINAL:
        if name in SIGNALS:
            return f"(trend, or where not trended a signal): {_prose(name)}"
        return f"(trend{_in_unit(TERMINAL[name].unit)}): {TERMINAL[name].meaning}."
    if name in SIGNALS:
        with_ = SIGNALS[name].parameters
        taken = f" It takes the limit{'s' if len(with_) > 1 else ''} {_list_of(with_)}." if with_ else ""
        return f"(signal): {_prose(name)}{taken}"
    assert name in NUMBERS, name
    return f"(terminal schedule): {COLUMNS[name]}."


def _prose(signal: str) -> str:
    """Return a signal's docstring without its numpydoc sections, in one line."""
    told = re.split(r"\n\n\w+\n---", inspect.getdoc(SIGNALS[signal].function))[0]
    return " ".join(told.replace("``", "`").split())


def _in_unit(unit: str) -> str:
    return f", {unit}" if unit else ""


def _limits(rule: Rule) -> str:
    told = "\n".join(_limit(limit) for limit in rule.limits.values()) or "None: the rule compares states."
    modules = modules_of(rule)
    if not modules:
        return told
    links = ", ".join(f"[{name}](fixed-figures.md#{name})" for name in modules)
    return f"{told}\n\nFigures of its signals that are no limits, each with its reason: {links}."


def _causes(rule: Rule) -> str:
    """Tell the likely causes, and what shows in the trends where one is the cause, or is none."""
    told = []
    for cause in rule.wording.likely_causes:
        shown = [f"Supported where `{cause.when.text}`." if cause.when else ""]
        shown += [f"Left out where `{cause.unless.text}`." if cause.unless else ""]
        told.append(" ".join(filter(None, [cause.at_forms(rule.forms), *shown])))
    return _numbered(told)


def _limit(limit: Limit) -> str:
    reason = " ".join(limit.reason.split())
    return (
        f"- **`{limit.name}` = {limit.shown}**. {reason}\n"
        f"  - Allowed in the site file: {limit.allowed}.\n"
        f"  - Source: {' '.join(limit.source.split())}.\n"
        f"  - Firm: {_moved_by(limit)}."
    )


def _moved_by(limit: Limit) -> str:
    if limit.accuracy is None and limit.uncertainty is None:
        return "no sensor's accuracy moves it"
    by = [_sensor(limit.accuracy)] if limit.accuracy else []
    by += [f"`{limit.uncertainty.text}`"] if limit.uncertainty else []
    both = ", the two taken as the root of the sum of their squares" if len(by) > 1 else ""
    return f"a fault stands firm where it is still one with this limit moved by {' and by '.join(by)}{both}"


def _sensor(name: str) -> str:
    """Tell a sensor's accuracy, and what it usually is."""
    usual = USUAL_ACCURACY.get(name)
    quantity = TERMINAL.get(name) or AIR_HANDLER_POINTS[name]
    unit = {"temperature": "K"}.get(quantity.dimension, quantity.unit)
    told = [f"{usual.of_reading:.0%} of the reading"] if usual and usual.of_reading else []
    told += [f"{usual.at_least:g} {unit}"] if usual and usual.at_least else []
    said = f" (usually {', at least '.join(told)})" if told else ""
    return f"the accuracy of `{name}`{said}"


def _measures(rule: Rule) -> str:
    rows = "\n".join(
        f"| `{measure.name}` | {measure.label}: {_TAKEN[measure.take]} `{measure.expression.text}` | {measure.unit or '-'} | "
        f"{'; '.join(_roles(measure)) or '-'} |"
        for measure in rule.measures.values()
    )
    parts = (
        [f"Over the hours of the fault:\n\n| figure | what it is | unit | role |\n|---|---|---|---|\n{rows}"]
        if rows
        else []
    )
    parts.append(f'A finding says: "{rule.text.seen}"')
    if rule.evidence:
        told = "\n".join(f'- "{item.passage.at_forms(rule.forms)}" where `{item.when.text}`' for item in rule.evidence)
        parts.append(f"And, where it held for most of the fault:\n\n{told}")
    used = {name for measure in rule.measures.values() for name in measure.expression.names}
    used |= {name for item in rule.evidence for name in item.when.names}
    new = used - rule.names - set(rule.limits)
    if new:
        parts.append(f"Names that are not met above:\n\n{_names(rule, new)}")
    return "\n\n".join(parts)


_TAKEN = {"mean": "mean of", "max": "highest", "min": "lowest", "total": "total over time of"}


def _roles(measure) -> list[str]:
    roles = ["ranks the findings of this rule"] if measure.ranks else []
    return roles + ([f"priced as {measure.priced_as}"] if measure.priced_as else [])


def _follows(rule: Rule, book: dict[str, Rule]) -> str:
    def links(names) -> str:
        return ", ".join(f"[{name}]({name}.md)" for name in names)

    after = [other.id for other in book.values() if rule.id in other.follows_from]
    above = [other.id for other in book.values() if rule.id in other.explains]
    told = []
    if rule.follows_from:
        told.append(
            "Where one of these is found on the same terminal at the same time, correct that first: "
            f"{links(rule.follows_from)}."
        )
    told += [f"[{name}]({name}.md) only where its impact is {impact}." for name, impact in rule.follows_impact.items()]
    told += [
        f"[{name}]({name}.md) not where this one has the measure {measure}."
        for name, measure in rule.follows_unless.items()
    ]
    if above:
        told.append(f"A fault of the air handler may explain it: {links(above)}.")
    if after:
        told.append(f"It may itself be the cause of: {links(after)}.")
    if rule.explains:
        told.append(f"At the air handler's terminals it explains, while it lasts: {links(rule.explains)}.")
    if rule.stands:
        told.append("It explains also what was found on other days: what is broken or set was so before and after.")
    if not rule.explains_when_low:
        told.append("Where its severity is low it explains only what is low as well.")
    return "\n\n".join(told or ["Nothing: it is looked for by itself."]) + _shared(rule)


def _shared(rule: Rule) -> str:
    """Tell where the fault is told once for many terminals."""
    if AIR_HANDLER in rule.applies_to:
        return ""
    return f"\n\n{_SHARED[rule.shared_as]}"


_SHARED = {
    "air_handler": "Where most terminals of an air handler have it at the same time, it is told once, for the air handler.",
    "building": "Where most terminals of the building have it, at whatever time, it is told once, for the building.",
    "air_handler_list": "Two or more terminals of one air handler that have it are told once, in order, for the air handler.",
    "list": "Two or more terminals that have it are told once, as a list, for the building.",
}


def _example(rule: Rule) -> str:
    case = fault_case(rule.id)
    name = case.told["name"]
    said = f"{name[0].upper()}{name[1:]}"
    return (
        f"![{said}, as a chart of trends with the hours of the fault shaded]({rule.id}.svg)\n\n"
        f"{said}: one of the labelled cases in [`{rule.id}.toml`](../../tests/rules/cases/{rule.id}.toml), made up for "
        "the test of this rule. Shaded: the fault as the tool judges it. Dashed grey: a limit, or what the reading is "
        "compared with."
    )


def _numbered(sentences) -> str:
    return "\n".join(f"{number}. {sentence}" for number, sentence in enumerate(sentences, 1))


def _list_of(names) -> str:
    return ", ".join(f"`{name}`" for name in names) or "none"


def _group(group: tuple[str, ...]) -> str:
    kinds = [name for name in group if name in KINDS]
    names = " and ".join(f"`{name}`" for name in group if name not in KINDS)
    return f"{names} (for {', '.join(kinds)} units)" if kinds else names


def _minutes(seconds: float) -> str:
    return f"{to_shown(seconds, 'time', 'si'):g} h" if seconds >= 7200 else f"{seconds / 60:g} min"
