"""The page on the site file and the terminal schedule: every key from the models that read it."""

from __future__ import annotations

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from analyzer.functional import response_limits
from analyzer.quantities import TERMINAL, spellings
from analyzer.site import Site
from analyzer.site.excluded import ExcludeSection
from analyzer.site.functional_tests import FunctionalTestSection
from analyzer.site.model import SCHEDULE, USUAL_ACCURACY, WORDS
from analyzer.site.site_file import HoursSection, PolicySection, SetpointsSection, SiteSection, TariffSection
from tests.make_docs.columns import COLUMNS

MADE = "<!-- Made by `python -m tests.make_docs` from the models that read the files. Do not edit. -->"
EXAMPLE = """[site]
name = "Quillfeather House"
time_zone = "America/Chicago"
units = "ip"
altitude = "190 m"
terminals = "terminals.csv"
points = "points.csv"
rules = "my-rules"
outdoor_air_fraction = 0.25
setpoint_hold = "60 d"

[hours]
occupied = { mon-fri = "07:00-18:00", sat = "09:00-13:00" }
holidays = ["2026-01-19"]

[setpoints]
heating = "70 degF"
cooling = "74 degF"

[policy]
heating = "68 to 72 degF"
cooling = "73 to 78 degF"

[accuracy]
zone_temp = "0.5 K"
primary_flow = { of_reading = 0.05, at_least = "5 L/s" }

[tariff]
currency = "USD"
electricity = 0.14
heat = 0.05

[[exclude]]
terminals = ["VAV-1-01"]
from = "2026-01-28 09:00"
to = "2026-01-28 12:00"
why = "balancing"

[[functional_test]]
terminals = ["VAV-1-01"]
from = "2026-01-29 09:00"
to = "2026-01-29 12:00"
name = "heating sequence"
steps = ["heating", "minimum"]

[response]
airflow_within = "6 min"

[rule.fan-short-cycling]
starts_per_hour = "6"

[rule.setpoints-too-close]
enabled = false

[cause.no-air]
little_flow = "10 cfm"
"""
# How a value is written, where the model's own type does not say it to a reader.
_WRITTEN = {
    "time_zone": 'text, such as "America/Chicago"',
    "altitude": 'quantity with its unit, such as "190 m"',
    "outdoor_air_fraction": "number above 0 and up to 1",
    "setpoint_hold": 'time, such as "60 d"',
    "occupied": "table of days",
    "holidays": 'list of dates, such as ["2026-01-19"]',
    "heating": 'quantity, such as "70 degF"',
    "cooling": 'quantity, such as "74 degF"',
    "units": '"ip" or "si"',
    "date_order": '"month-first" or "day-first"',
    "stamps": 'zone, such as "UTC"',
    "electricity": "number",
    "heat": "number",
    "from": 'date and time, such as "2026-01-28 09:00"',
    "to": 'date and time, such as "2026-01-28 12:00"',
}
# Keys that mean something else in one section.
_WRITTEN_IN = {
    ("[policy]", "heating"): 'two temperatures with a unit, such as "68 to 72 degF"',
    ("[policy]", "cooling"): 'two temperatures with a unit, such as "73 to 78 degF"',
    ("[[exclude]]", "terminals"): 'list of tags, such as ["VAV-1-01"]',
    ("[[functional_test]]", "terminals"): 'list of tags, such as ["VAV-1-01"]',
    ("[[functional_test]]", "steps"): 'list of words, such as ["heating", "minimum"]',
}


def site_page() -> str:
    """Return the page as Markdown."""
    sections = [
        _section(
            "[site]", SiteSection, "The building, and the files that describe it. The only section that must be there."
        ),
        _section(
            "[hours]",
            HoursSection,
            "When it is occupied, where occupancy is not trended. Without it, and without a trend, office hours (Monday to "
            "Friday, 08:00 to 17:00) are assumed; a verdict that rests on them is never firm. A span ends at 24:00 at the "
            "latest; write a night shift as two spans.",
        ),
        _section("[setpoints]", SetpointsSection, "Taken for the occupied hours where no setpoint is trended."),
        _section(
            "[policy]",
            PolicySection,
            "The setpoints that the owner allows while occupied: `setpoint-out-of-policy` holds those in force against them. "
            "Where a side is not given, the rule's own wide limits hold.",
        ),
        _accuracy(),
        _section("[tariff]", TariffSection, "For the cost that a finding tells, which is an estimate."),
        _section(
            "[[exclude]]",
            ExcludeSection,
            "A window that is left out of judging, such as a balancing day. The section may stand several "
            "times. What lies in it is neither judged nor used by any statistic, episodes end at it, and setpoints count "
            "as new after it; it is shaded on the charts and listed in the report. A tag that no terminal has is refused.",
        ),
        _section(
            "[[functional_test]]",
            FunctionalTestSection,
            "A window in which a sequence was tried out. It is left out of judging as an `[[exclude]]` window is, and need "
            "not be stated twice; the report has a [page of its own](method.md#functional-tests) for it, with the steps "
            "found in the trends, how soon what had to follow did, and a block to sign. The section may stand several "
            "times. A step that is named under `steps` and is not in the trends is reported as not judged.",
        ),
        _response(),
        _RULES,
    ]
    return (
        "\n\n".join(
            [
                MADE,
                "# The site file and the terminal schedule",
                _INTRODUCTION,
                f"## An example\n\n```toml\n{EXAMPLE}```",
                "## Keys",
                *sections,
                _WHAT_IS_REFUSED,
                _schedule(),
                _OWN_RULES,
            ]
        )
        + "\n"
    )


_INTRODUCTION = (
    "`site.toml` says what building it is. It lies beside the exports, or is named with `--site`. Paths in it are relative "
    "to the file itself. A quantity carries its unit in the text, IP or SI. `trendwright draft` proposes one from the "
    "exports; `trendwright demo demo` leaves one to copy from."
)


def _section(name: str, model: type[BaseModel], words: str) -> str:
    rows = "\n".join(
        f"| `{field.alias or key}` | {_written(name, field.alias or key)} | {_default(key, field)} | {field.description} |"
        for key, field in model.model_fields.items()
    )
    return f"### `{name}`\n\n{words}\n\n| key | value | where not given | meaning |\n|---|---|---|---|\n{rows}"


def _written(section: str, key: str) -> str:
    return _WRITTEN_IN.get((section, key)) or _WRITTEN.get(key, "text")


def _default(key: str, field) -> str:
    if field.is_required():
        return "**required**"
    value = field.default
    if key == "setpoint_hold":
        return f"{value / 86400:g} d"
    if value is PydanticUndefined or value is None:
        return "none"
    return f"{value:g}" if isinstance(value, float) else f"{value}"


def _accuracy() -> str:
    rows = "\n".join(f"| `{name}` | {_told(name, value)} |" for name, value in USUAL_ACCURACY.items())
    return (
        '### `[accuracy]`\n\nThe accuracy of the sensors, by quantity: an absolute figure (`zone_temp = "0.5 K"`), a share of '
        'the reading, or the larger of both (`{ of_reading = 0.05, at_least = "5 L/s" }`). A fault is *firm* where it '
        "still stands with the rule's limits moved by these. Where a quantity is not given, what is usual is taken (common "
        f"practice, no source):\n\n| quantity | usual accuracy |\n|---|---|\n{rows}"
    )


def _response() -> str:
    rows = "\n".join(
        f"| `{limit.name}` | {limit.shown} ({limit.allowed}) | {limit.reason} Source: {limit.source}. |"
        for limit in response_limits(Site()).values()
    )
    return (
        "### `[response]`\n\nThe limits of functional tests: how soon and how closely what a sequence moves has to follow a "
        'step. A quantity with its unit, such as `airflow_within = "6 min"`; one outside its range is refused.\n\n'
        f"| key | where not given (allowed) | meaning |\n|---|---|---|\n{rows}"
    )


def _told(name: str, value) -> str:
    unit = TERMINAL[name].unit if name in TERMINAL else {"supply_temp": "degC", "outdoor_temp": "degC"}.get(name, "Pa")
    unit = "K" if unit == "degC" else unit
    parts = [f"{value.of_reading:.0%} of the reading"] if value.of_reading else []
    parts += [f"{value.at_least:g} {unit}"] if value.at_least else []
    return ", at least ".join(parts) or "exact"


_RULES = """### `[rule.ID]`

One section for each rule to change; `ID` is the rule's name in [the rule book](rules/index.md).

| key | value | where not given | meaning |
|---|---|---|---|
| `enabled` | true or false | true | switches the rule off |
| any limit of the rule | quantity, such as "6" or "0.5 K"; a bare number is in the limit's own unit | the rule's own | moves the limit |
| `lasting`, `longest_interval` | time, such as "15 min" | the rule's own | the shortest episode that counts; the coarsest log that can show it |
| `fault_hours_at_least`, `judged_hours_at_least` | hours, or a time such as "90 min" | the rule's own | how much it takes for a fault, and for a verdict |

A moved limit is shown as moved, with its rule, in the report and by `trendwright rules ID --site site.toml`. Moving one \
changes what earlier and later reviews mean to each other: `trendwright compare` says so.

### `[cause.ID]`

The same for a [cause of complaints](complaint-causes.md): `enabled`, and any limit of it."""

_WHAT_IS_REFUSED = """## What is refused

Nothing in the file is ignored. An unknown section, key, quantity, rule, cause or limit is refused by name, with the nearest \
known one; so are a time zone that the IANA list does not hold, a quantity whose unit does not fit, a path that leads \
nowhere, and a heating setpoint at or above the cooling one. All mistakes of `site.toml`'s keys are told in one \
sentence, the command ends with status 2, and nothing is written."""


def _schedule() -> str:
    rows = "\n".join(f"| `{name}` | {_unit(name)} | {COLUMNS[name]} |" for name in SCHEDULE)
    return (
        "## The terminal schedule, `terminals.csv`\n\nOne line a terminal, from the drawings and the balancing report. "
        "Headings carry their unit in brackets, such as `primary_max [cfm]` or `primary_max [L/s]`. Only `terminal` (the "
        "tag, which the point names hold) and `kind` are required: what is blank is not judged, and the report says so. "
        'Headings that begin with "observed" are for the eye and are passed over; any other unknown heading is refused, and '
        "so are a text in a number column, a unit that does not fit, a tag that stands twice and a minimum above its "
        f"maximum.\n\n| column | value | meaning |\n|---|---|---|\n| `terminal` | text | the terminal's tag; required |\n{rows}"
    )


def _unit(name: str) -> str:
    dimension = SCHEDULE[name]
    if name in WORDS:
        return " / ".join(WORDS[name])
    if dimension in ("text", "number"):
        return dimension
    return "number in " + ", ".join(f"`{unit}`" for unit in spellings(dimension))


_OWN_RULES = """## Rules of your own

`rules = "my-rules"` names a folder of rule files that are read beside the shipped ones. Copy the shape of a shipped \
file in [`rules/`](../rules): every key is checked, and a mistake is refused with file, field and remedy. A rule's name \
is its file's name. Expressions are a small, safe subset (comparisons, `and`, `or`, `not`, arithmetic, `abs`, `min`, \
`max`, `known`) over trends, signals, schedule values and the rule's own limits: a rule file cannot run code. A folder `causes` within it \
holds [causes of complaints](complaint-causes.md) of your own."""
