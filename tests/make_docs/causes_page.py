"""The page on the causes of complaints: each from its file, and how one is written."""

from __future__ import annotations

from analyzer.complaint.cause import WEIGHTS, Cause, Sign
from analyzer.complaint.figures import FIGURES

MADE = "<!-- Made by `python -m tests.make_docs` from the cause files. Do not edit. -->"
_INTRODUCTION = """# The causes of complaints

`trendwright complaint` weighs these causes by what the trends show of the hour before the complaint. Each is a file in
[`rules/causes/`](../rules/causes), written like a rule: signs with a condition, a weight and words. A sign that holds
speaks for the cause, one that does not speaks against it; a condition that the trends cannot tell weighs nothing, and
what is missing is named. The weights: {weights}. Something decisive against a cause rules it out; without what is
decisive for it known, it is not named unless a rule found it. A finding that was active at that time counts as decisive
for the cause that names its rule.

A limit is moved, or a cause switched off, in `site.toml` under `[cause.ID]`, like a rule. Causes of your own stand in a
folder `causes` within your folder of rules; `trendwright complaint` reads them with `--site site.toml`.

Conditions name trends, signals, values of the schedule, the cause's own limits and figures, and:

{figures}"""


def causes_page(causes: dict[str, Cause]) -> str:
    """Return the page as Markdown."""
    weights = ", ".join(f"{name} {weight:g}" for name, weight in WEIGHTS.items())
    figures = "\n".join(f"- `{name}`: {figure.meaning}" for name, figure in FIGURES.items())
    parts = [MADE, _INTRODUCTION.format(weights=weights, figures=figures), *map(_cause, causes.values())]
    return "\n\n".join(parts) + "\n"


def _cause(cause: Cause) -> str:
    where = "all terminals" if "all" in cause.applies_to else ", ".join(cause.applies_to)
    where += "".join(f" with {what}" for what in cause.only_with)
    parts = [
        f"## {cause.title}\n\n`{cause.id}` · felt as {' or '.join(cause.feels)} · {where}",
        "\n".join(map(_sign, cause.signs)),
    ]
    if cause.figures:
        parts.append("\n".join(f"- `{name}` is `{own.expression.text}`" for name, own in cause.figures.items()))
    if cause.rules:
        links = ", ".join(f"[{rule}](rules/{rule}.md)" for rule in cause.rules)
        parts.append(f"A finding of these rules is this cause: {links}.")
    parts += [
        "\n".join(
            f"- **`{limit.name}` = {limit.shown}**. {limit.reason} Allowed: {limit.allowed}. Source: {limit.source}."
            for limit in cause.limits.values()
        )
    ]
    if cause.caution:
        parts.append(cause.caution)
    return "\n\n".join(part for part in parts if part)


def _sign(sign: Sign) -> str:
    asked = f", asked where `{sign.only_when.text}`" if sign.only_when else ""
    said = [f"for: “{sign.say}”"] if sign.say else []
    said += [f"against: “{sign.otherwise}”"] if sign.otherwise else []
    return f"- {sign.weight}: `{sign.when.text}`{asked}; {'; '.join(said)}"
