"""What limits a comparison of two reviews: different weeks, points, intervals, limits, schedules and weather."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from analyzer.findings import StoredReview, points_of
from analyzer.quantities import half_up, shown_unit, to_shown
from analyzer.report import words
from analyzer.site.hours import DAYS
from analyzer.site.model import SCHEDULE

# Two periods count as equally long within this share; so do the hours judged of one finding within a factor. Judgement.
SAME_LENGTH = 0.10
FEWER_HOURS = 0.5
MOST_NAMED = 12


@dataclass(frozen=True)
class Limiting:
    """One thing that limits the comparison: under a heading, as a sentence, with the single cases."""

    heading: str
    sentence: str
    cases: tuple[str, ...] = ()


def what_limits(old: StoredReview, new: StoredReview) -> list[Limiting]:
    """Return what limits the comparison as a whole; where nothing does, nothing."""
    found = [
        _buildings(old, new), *_periods(old, new), _hours(old, new), _weather(old, new), _limits(old, new),
        _rules(old, new), _site_values(old, new), _terminals(old, new), *_points(old, new), _schedules(old, new),
    ]  # fmt: skip
    return [one for one in found if one]


def own_limits(
    old: StoredReview, new: StoredReview, terminal: str, rule: str, *, judged: tuple[float, float]
) -> list[str]:
    """Return what limits the comparison of one finding."""
    told = [f"limit {name} {text}" for name, text in _moved_limits(old, new, rule)]
    told += _changed_row(old, new, terminal)
    was, now = points_of(old.logging, terminal), points_of(new.logging, terminal)
    if gone := sorted(set(was) - set(now)) if now else []:
        told.append(f"no longer trended here: {words.listed(gone, MOST_NAMED)}")
    if coarser := [name for name in was if name in now and now[name] > was[name]]:
        told.append(f"logged less often than before: {words.listed(coarser)}")
    if 0 < judged[1] < FEWER_HOURS * judged[0]:
        told.append(f"judged over {half_up(judged[1], 1)} h, before over {half_up(judged[0], 1)} h")
    return told


# Site and period -----------------------------------------------------------------------------------------------------


def _buildings(old, new) -> Limiting | None:
    names = old.told["site"], new.told["site"]
    if names[0] == names[1]:
        return None
    return Limiting("Site", f"The reviews name different buildings: {names[0]!r} and {names[1]!r}.")


def _periods(old, new) -> list[Limiting]:
    (a, b), (c, d) = old.period, new.period
    found = []
    if c < a:
        found.append(Limiting("Order", "The review given as the new one covers earlier days than the old one."))
    if c <= b and a <= d:
        found.append(Limiting("Overlap", "The two periods share days: what stands in both is one and the same data."))
    lengths = [(end - start) / pd.Timedelta("1D") for start, end in (old.period, new.period)]
    if abs(lengths[1] - lengths[0]) > SAME_LENGTH * max(lengths):
        found.append(
            Limiting(
                "Length",
                f"The periods are {lengths[0]:.1f} and {lengths[1]:.1f} days long: compare shares of judged hours, not "
                "hours.",
            )
        )
    return found


def _hours(old, new) -> Limiting | None:
    weeks = [_week(review.site.occupied_hours) for review in (old, new)]
    cases = [] if weeks[0] == weeks[1] else [f"before: {weeks[0]}", f"now: {weeks[1]}"]
    for label, review in (("before", old), ("now", new)):
        first, last = (moment.date() for moment in review.period)
        if days := [day.isoformat() for day in review.site.holidays if first <= day <= last]:
            cases.append(f"holidays {label}: {', '.join(days)}")
    sentence = "Different hours count as occupied." if weeks[0] != weeks[1] else "A holiday lies in one of the weeks."
    return Limiting("Occupied hours", sentence, tuple(cases)) if cases else None


def _week(hours: dict | None) -> str:
    if hours is None:
        return "not given"
    spans = {
        day: " and ".join(f"{a // 60:02}:{a % 60:02}–{b // 60:02}:{b % 60:02}" for a, b in hours.get(day, []))
        for day in range(7)
    }
    return ", ".join(f"{DAYS[day]} {text}" for day, text in spans.items() if text)


def _weather(old, new) -> Limiting | None:
    told = [_outdoor(review) for review in (old, new)]
    if not any(told):
        return Limiting("Weather", "No outdoor temperature is trended: whether the weather was alike cannot be said.")
    return Limiting(
        "Weather",
        "Outdoor temperature in the two periods; a fault of heating or cooling shows only in its weather.",
        tuple(f"{label}: {text or 'not trended'}" for label, text in zip(("before", "now"), told, strict=True)),
    )


def _outdoor(review: StoredReview) -> str:
    table = review.air_handlers["outdoor_temp"].dropna()
    if table.empty:
        return ""
    units = review.site.units
    low, mean, high = (words.shown(value, "temperature", units) for value in (table.min(), table.mean(), table.max()))
    return f"{low} to {high}, {mean} on average"


# Rule book -----------------------------------------------------------------------------------------------------------


def _limits(old, new) -> Limiting | None:
    shared = [rule for rule in old.told.get("rules", {}) if rule in new.told.get("rules", {})]
    cases = [f"{rule}: {name} {text}" for rule in shared for name, text in _moved_limits(old, new, rule)]
    if not cases:
        return None
    return Limiting("Limits", "Limits stand elsewhere now; a finding can come or go by that alone.", tuple(cases))


def _moved_limits(old, new, rule: str) -> list[tuple[str, str]]:
    was, now = (review.told.get("rules", {}).get(rule, {}) for review in (old, new))
    return [
        (name, f"was {_limit(was[name])}, is {_limit(now[name])}")
        for name in was
        if name in now and _limit(was[name]) != _limit(now[name])
    ]


def _limit(limit: dict) -> str:
    return f"{limit['value']:g} {limit['unit']}".strip()


def _rules(old, new) -> Limiting | None:
    was, now = set(old.told.get("rules", {})), set(new.told.get("rules", {}))
    cases = [f"only before: {rule}" for rule in sorted(was - now)]
    cases += [f"only now: {rule}" for rule in sorted(now - was)]
    return Limiting("Rules", "The rule books differ.", tuple(cases)) if cases else None


def _site_values(old, new) -> Limiting | None:
    names = ("setpoints", "outdoor_air_fraction", "altitude", "accuracy")
    cases = [name.replace("_", " ") for name in names if getattr(old.site, name) != getattr(new.site, name)]
    return Limiting("Site file", f"Changed between the reviews: {', '.join(cases)}.") if cases else None


# Terminals -----------------------------------------------------------------------------------------------------------


def _terminals(old, new) -> Limiting | None:
    was, now = set(old.terminals), set(new.terminals)
    cases = [f"no trends now: {words.listed(sorted(was - now), MOST_NAMED)}"] if was - now else []
    cases += [f"no trends before: {words.listed(sorted(now - was), MOST_NAMED)}"] if now - was else []
    return Limiting("Terminals", "Not every terminal was trended both times.", tuple(cases)) if cases else None


def _points(old, new) -> list[Limiting]:
    both = [terminal for terminal in old.terminals if terminal in set(new.terminals)]
    was, now = (review.logging.loc[both] for review in (old, new))
    gone, added = was.notna() & now.isna(), was.isna() & now.notna()
    coarser, finer = (now > was), (now < was)
    told = [
        Limiting("Points", "Trended before and not now: what needs them is no longer judged.", _by_point(gone)),
        Limiting(
            "Points", "Trended now and not before: what they show may be older than this review.", _by_point(added)
        ),
        Limiting("Intervals", "Logged less often than before: short faults may not show.", _by_point(coarser)),
        Limiting("Intervals", "Logged more often than before: short faults may show now.", _by_point(finer)),
    ]
    return [one for one in told if one.cases]


def _by_point(table: pd.DataFrame) -> tuple[str, ...]:
    """Say of which points it holds at which terminals; points with the same terminals are told of together."""
    points: dict[tuple, list[str]] = {}
    for name in table:
        if table[name].any():
            points.setdefault(tuple(table.index[table[name]]), []).append(name)
    return tuple(f"{', '.join(names)}: {words.listed(tags, MOST_NAMED)}" for tags, names in points.items())


def _schedules(old, new) -> Limiting | None:
    both = [terminal for terminal in old.site.schedule.index if terminal in new.site.schedule.index]
    cases = [f"{terminal}: {text}" for terminal in both for text in _changed_row(old, new, terminal)]
    if not cases:
        return None
    return Limiting("Schedule", "The terminal schedule changed; what is judged against it changed too.", tuple(cases))


def _changed_row(old, new, terminal: str) -> list[str]:
    was, now = old.schedule(terminal), new.schedule(terminal)
    if not was or not now:
        return []
    changed = [name for name in SCHEDULE if not _same(was[name], now[name])]
    units = new.site.units
    told = [(name, _value(was[name], name, units), _value(now[name], name, units)) for name in changed]
    # What reads the same is a rounding of the same figure in another document.
    return [f"scheduled {name} was {before}, is {after}" for name, before, after in told if before != after]


def _same(a, b) -> bool:
    if isinstance(a, float) and isinstance(b, float):
        return (math.isnan(a) and math.isnan(b)) or math.isclose(a, b, rel_tol=1e-6)
    return a == b or (pd.isna(a) and pd.isna(b))


def _value(value, name: str, units: str) -> str:
    if value is None or value != value:
        return "blank"
    if not isinstance(value, float):
        return str(value)
    unit = shown_unit(SCHEDULE[name], units)
    # A plain space: these words stand in comparison.csv too.
    return words.amount(float(to_shown(value, SCHEDULE[name], units)), unit).replace("\u202f", " ")
