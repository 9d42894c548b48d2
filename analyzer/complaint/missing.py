"""What would have to be known for a figure that is not: the trends and schedule values it lacks at that hour."""

from __future__ import annotations

import re

from analyzer.complaint.facts import Facts
from analyzer.complaint.figures import FIGURES
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals import SIGNALS
from analyzer.signals.made_of import FACT, Formula, Input, known_at, made_of


def what_is_missing(facts: Facts, names: list[str], parameters: dict[str, float]) -> list[str]:
    """Return the inputs that some names lack in the hour before the complaint, each once, in the words of a reader.

    What is known at that hour is never among them: a figure that cannot be worked out of known inputs is named itself.
    """
    found: dict[str, None] = {}
    for name in names:
        if name in FIGURES:
            needs = [need for need in FIGURES[name].needs if not facts.knows(need, parameters)]
            found |= dict.fromkeys(_worded(need) for need in needs or ())
            continue
        lacking = _lacking(facts, made_of(name), parameters)
        said = [_worded(one.name) for one in lacking if one.name != name or name not in SIGNALS]
        if said or not name.endswith("_doubt"):  # a doubt goes with its figure
            found |= dict.fromkeys(said or [_worded(name)])
    return list(found)


def _lacking(facts: Facts, wanted: Input | Formula, parameters: dict[str, float]) -> list[Input]:
    """Return what of a formula is unknown at that hour; of what can stand in for each other, the first."""
    if isinstance(wanted, Input):
        rows = facts.rows()
        return [] if len(rows) and known_at(facts.scene, wanted, parameters, rows).any() else [wanted]
    parts = [_lacking(facts, part, parameters) for part in wanted.parts]
    if wanted.how == "any":
        # What a terminal is cannot be asked for: another way is named.
        return [] if not all(parts) else min(parts, key=lambda part: any(one.sort == FACT for one in part))
    return list(dict.fromkeys(one for part in parts for one in part))


def _worded(name: str) -> str:
    if name == "occupied":
        return "occupied hours"
    if name in TERMINAL:
        return TERMINAL[name].meaning.split(",")[0].split(":")[0]
    if name in AIR_HANDLER:
        return f"{AIR_HANDLER[name].meaning.split(':')[0]} of the air handler"
    if name in SIGNALS:
        meaning = re.split(r"[:;\[,]", SIGNALS[name].meaning)[0].strip().rstrip(".")
        return meaning[:1].lower() + meaning[1:]
    return f"{name.replace('_', ' ')} in the schedule"
