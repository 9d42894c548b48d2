"""Field mode's part of the page: what was measured, in figures."""

from __future__ import annotations

from tests.accuracy.field.measure import MeasuredField
from tests.accuracy.field.table import RULE_HEAD, in_short, missed, not_right, of_rules, twins
from tests.accuracy.markdown import markdown_table


def of_field(field: MeasuredField) -> str:
    """Return the section on field mode."""
    seeds = sorted(of.period.seed for of in field.periods)
    return f"""## Field mode

`python -m tests.accuracy --field --seed {seeds[0]} --buildings {len(seeds)}`: buildings whose trends look like those of
real ones (`sample_trends/field`): damper positions that are counted and re-homed, static reset, air handlers short of
pressure and in outage with their points frozen, setpoints by mode that are logged for some days, duct gain and hot roof
plenums, dual maximum, ventilation by demand, variable-speed fans, fans that follow their air handler, windows of tests,
missing and late samples; with a schedule and without, with flow setpoints and without, one to seven weeks of 1, 5 and 15
minutes. One building in three is sound; in the others nearly every kind of fault stands once or twice.

{markdown_table(["what", "measured"], [[name, value] for name, value in in_short(field).items()])}

*Shown*: what the logged columns settle by plain arithmetic (`tests/accuracy/field/evidence`); not judged is no answer
there. *Told*: found, and for itself or under a right cause. Top-level findings are right, a *wrong cause* (a verdict of
another rule at a faulty terminal, or under its air handler's trouble), a *consequence* that is told for itself, or *false*
(at a sound terminal). What stands under a right finding is right. A finding of an air handler or of the building is right
where it is true of most of its terminals; what a whole building shares counts as a consequence where it is told for each
terminal.

{markdown_table(RULE_HEAD, of_rules(field))}

Sound terminals that look like faulty ones, and the rules that have to come out clear there, because the columns settle it:

{markdown_table(["sound twin", "rule", "asked", "clear", "not judged", "fault"], twins(field))}"""


def details_of_field(field: MeasuredField) -> str:
    """Return what was missed and what was not right in field mode, and the periods."""
    periods = [
        [of.period.seed, of.period.season, f"{of.period.days:g}", of.period.minutes, len(of.period.building.terminals)]
        + ["yes" if of.period.logging.schedule else "no", "yes" if of.period.logging.flow_setpoint else "no"]
        + [
            of.period.logging.setpoints,
            "sound" if of.period.sound_building else len(of.seeded),
            int(of.findings["top"].sum()),
        ]
        for of in field.periods
    ]
    head = [
        "seed",
        "weather",
        "days",
        "min",
        "terminals",
        "schedule",
        "flow setpoint",
        "setpoints",
        "seeded",
        "top-level",
    ]
    return f"""## Field mode: shown and not told

{markdown_table(["rule", "fault", "seed", "at", "hours shown", "verdict", "reason"], missed(field))}

## Field mode: top-level findings that are not right

{markdown_table(["how", "rule", "seed", "at", "what is wrong there", "confidence", "fault hours"], not_right(field))}

## Field mode: the periods

{markdown_table(head, periods)}"""
