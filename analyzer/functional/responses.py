"""What the sequence expects to follow each step, and whether it did: pass, fail, or not judged and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analyzer.engine import Limit
from analyzer.findings import plain_name
from analyzer.functional.events import Events, Window, demand_after
from analyzer.quantities import TERMINAL
from analyzer.report import words
from analyzer.signals.steps import Followed, Steps, follow, highest_in, last_known, median_in

PASS, FAIL, NOT_JUDGED, NOTHING_EXPECTED = "pass", "fail", "not judged", "nothing expected"
SHUT = 5.0  # %: a reheat output that is no higher is shut, as in the rules
# Of the whole way, what has to be done for it to have followed; the rest is within the tolerance.
MOST_OF_THE_WAY = 0.90
# A zone further than this above its cooling setpoint after a step [K] has to be given more air. Judgement: a loop's
# proportional action on less is less than can be told from noise.
PLAINLY_WARM = 1.0


@dataclass(frozen=True)
class Answer:
    """How one quantity followed steps of one sort; arrays have one entry a step.

    Attributes
    ----------
    events : Events
    quantity : str
        What has to follow.
    expected : list of str
        What is expected of it, in words.
    within : Limit
        How soon.
    followed : Followed
    overshoot : ndarray of float
        As a share of the step; NaN where there is none to speak of.
    too_far : ndarray of bool
        Whether it went further beyond its new value than is allowed.
    unjudged : ndarray of str
        Why it cannot be judged, whatever the time; empty where it can.
    amiss : ndarray of str
        Why it failed, whatever the time; empty where it did not.
    """

    events: Events
    quantity: str
    expected: list[str]
    within: Limit
    followed: Followed
    overshoot: np.ndarray
    too_far: np.ndarray
    unjudged: np.ndarray
    amiss: np.ndarray


def answers(window: Window, events: Events) -> Iterator[Answer]:
    """Return what is expected to follow the steps of a test, and what followed."""
    yield _flow_to_setpoint(window, events.of("flow setpoint"))
    yield _own_change(window, events.of("damper"), "primary_flow", "airflow_within")
    yield _own_change(window, events.of("reheat"), "discharge_temp", "discharge_within")
    yield _fan_to_command(window, events.of("fan"))
    yield from _of_mode(window, events.of("heating", "cooling", "minimum", "occupied", "unoccupied"))


def _blank(steps: Steps) -> np.ndarray:
    return np.full(len(steps), "", dtype=object)


def _no_air(window: Window, steps: Steps, why: np.ndarray) -> np.ndarray:
    air = window.scene.value("air_available")[steps.row] if len(steps) else np.empty(0)
    return np.where((why == "") & (air < 0.5), "the air handler delivered no air at that time", why)


def _least_change(window: Window, name: str) -> float:
    return window.scene.site.accuracy[name].at_least


def _part_beyond(
    window: Window, steps: Steps, followed: Followed, beyond: np.ndarray, band: np.ndarray, within: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return how far beyond its new value it went, as a share of the step, and whether that is too far.

    ``beyond`` [its unit, one per row] is how far it lies past its new value, the way of the step. What lies within the
    band about the new value is no overshoot; once it has followed, it is looked at for as long as it had to follow.
    """
    start = np.where(followed.done, followed.at, steps.row)
    until = np.minimum(window.row_at(steps.row, window.scene.seconds[start] + within) + 1, steps.end)
    start = np.where(followed.done, start, until)
    most = np.maximum(highest_in(beyond, start, until), 0.0)
    share = most / np.abs(steps.size)
    return share, (share > window.limits["overshoot"].value) & (most > band)


def _flow_to_setpoint(window: Window, events: Events) -> Answer:
    """Primary airflow to within the tolerance of its new setpoint."""
    scene, steps, limits = window.scene, events.steps, window.limits
    flow, setpoint = scene.column("primary_flow"), scene.column("primary_flow_setpoint")
    tolerance, within = limits["airflow_tolerance"].value, limits["airflow_within"]
    wide = tolerance * np.maximum(steps.new, np.abs(steps.size))
    band = np.maximum(wide, _least_change(window, "primary_flow"))
    way, about = steps.over_rows(steps.sign, scene.size), steps.over_rows(band, scene.size)
    beyond = way * (flow - np.where(np.isnan(setpoint), steps.over_rows(steps.new, scene.size), setpoint))
    followed = follow(steps, beyond >= -about, ~np.isnan(flow), scene.seconds)
    overshoot, too_far = _part_beyond(window, steps, followed, beyond, band, within.value)
    was = last_known(flow, steps.before, scene.first)
    why = _no_air(window, steps, _blank(steps))
    already = steps.sign * (was - steps.new) >= -band
    why = np.where((why == "") & already, "the airflow was there before the step", why)
    told = [f"within {_said(window, half, 'primary_flow')} of its new setpoint" for half in band]
    return Answer(events, "primary_flow", told, within, followed, overshoot, too_far, why, _blank(steps))


def _own_change(window: Window, events: Events, name: str, limit: str) -> Answer:
    """A quantity most of the way to where it settles, the way of the step; a command has no setpoint to overshoot."""
    scene, steps, within = window.scene, events.steps, window.limits[limit]
    values = scene.column(name)
    settled = window.row_at(steps.row, scene.seconds[steps.row] + within.value)
    until = np.minimum(window.row_at(steps.row, scene.seconds[steps.row] + 2 * within.value) + 1, steps.end)
    was, final = last_known(values, steps.before, scene.first), median_in(values, settled, until)
    change = final - was
    least = _least(window, name, was, final)
    target = was + MOST_OF_THE_WAY * change
    way = steps.over_rows(np.sign(change), scene.size)
    there = way * (values - steps.over_rows(target, scene.size)) >= 0
    followed = follow(steps, there, ~np.isnan(values), scene.seconds)
    right_way = steps.sign * change >= least
    why = _air_for(window, steps, name)
    trended = scene.trended(name)[scene.code[steps.row]] if len(steps) else np.empty(0, dtype=bool)
    why = np.where((why == "") & ~trended, f"{_plain(name)} is not trended", why)
    why = np.where((why == "") & np.isnan(was), f"{_plain(name)} is missing before the step", why)
    held = _held_for(window, steps)
    why = np.where((why == "") & np.isnan(final) & (held < within.value), _not_settled(window, steps), why)
    why = np.where((why == "") & np.isnan(final), f"{_plain(name)} is missing after the step", why)
    plain = np.abs(steps.size) >= window.limits["plain_step"].value
    small = f"{_plain(name)} changed too little to be timed after a step of that size"
    why = np.where((why == "") & ~right_way & ~plain, small, why)
    if name == "discharge_temp":
        other = _airflow_changed(window, steps, settled, until)
        why = np.where((why == "") & ~right_way & other, "the airflow changed at the same time", why)
    amiss = np.where((why == "") & ~right_way, _did_not_move(window, name, was, final), "")
    told = [f"reaches {int(100 * MOST_OF_THE_WAY)} % of its change"] * len(steps)
    return replace(_without_overshoot(events, name, told, within, followed, why), amiss=amiss)


def _airflow_changed(window: Window, steps: Steps, settled: np.ndarray, until: np.ndarray) -> np.ndarray:
    """Tell where the primary airflow went to another value as well: the discharge temperature then follows both."""
    flow = window.scene.column("primary_flow")
    was, became = last_known(flow, steps.before, window.scene.first), median_in(flow, settled, until)
    return np.abs(became - was) > window.limits["flow_step"].value * np.fmax(was, became)


def _least(window: Window, name: str, was: np.ndarray, final: np.ndarray) -> np.ndarray:
    """The least change that can be told from none."""
    if name == "discharge_temp":
        return np.full(len(was), window.limits["discharge_change"].value)
    wide = window.limits["airflow_tolerance"].value * np.fmax(np.abs(was), np.abs(final))
    return np.fmax(wide, _least_change(window, name))


def _air_for(window: Window, steps: Steps, name: str) -> np.ndarray:
    """Say where there was no air that could have followed, or been heated: a fan moves air of its own."""
    why = _blank(steps)
    if name != "discharge_temp":
        return _no_air(window, steps, why)
    flow, fan = (
        last_known(window.scene.column(point), steps.arrived, window.scene.first)
        for point in ("primary_flow", "fan_status")
    )
    still = (flow <= _least_change(window, "primary_flow")) & ~(fan > 0.5)
    why = np.where(still, "no air moved through the terminal", why)
    return np.where(fan > 0.5, why, _no_air(window, steps, why))


def _fan_to_command(window: Window, events: Events) -> Answer:
    scene, steps = window.scene, events.steps
    status = scene.column("fan_status")
    wanted = steps.over_rows(steps.new, scene.size)
    followed = follow(steps, status == wanted, ~np.isnan(status), scene.seconds)
    already = last_known(status, steps.before, scene.first) == steps.new
    why = np.where(already, "the fan was there before the step", _blank(steps))
    told = ["runs" if new > 0.5 else "stops" for new in steps.new]
    return _without_overshoot(events, "fan_status", told, window.limits["fan_within"], followed, why)


def _without_overshoot(
    events: Events, name: str, told: list[str], within: Limit, followed: Followed, why: np.ndarray
) -> Answer:
    """An answer that knows no overshoot."""
    steps = events.steps
    return Answer(
        events, name, told, within, followed, np.full(len(steps), np.nan), np.zeros(len(steps), dtype=bool), why,
        _blank(steps),
    )  # fmt: skip


# What a step of mode asks for ----------------------------------------------------------------------------------------


def _of_mode(window: Window, events: Events) -> Iterator[Answer]:
    """Reheat, fan, discharge temperature and airflow after a step of the zone setpoints or of occupancy."""
    scene, steps = window.scene, events.steps
    if not len(steps):
        return
    demand = np.array(demand_after(window, steps))
    kind, heated = scene.kinds[scene.code[steps.row]], scene.has_reheat[scene.code[steps.row]]
    occupied = np.array(events.kind) == "occupied"
    heating, cooling = demand == "heating", demand == "cooling"
    within, later = window.limits["mode_within"], window.limits["discharge_within"]
    yield _reaches(window, events, heating & heated, "reheat_position", SHUT, +1, "opens", within)
    open_before = last_known(scene.column("reheat_position"), steps.before, scene.first) > SHUT
    yield _reaches(window, events, ~heating & heated & open_before, "reheat_position", SHUT, -1, "shuts", within)
    runs = (heating & (kind == "parallel")) | (occupied & (kind == "series"))
    yield _reaches(window, events, runs, "fan_status", 0.5, +1, "runs", within)
    was = last_known(scene.column("discharge_temp"), steps.before, scene.first)
    rise = window.limits["discharge_change"].value
    by = words.shown(rise, "temperature_difference", scene.site.units)
    opens = heating & heated & ~open_before
    yield _reaches(window, events, opens, "discharge_temp", was + rise, +1, f"rises by {by}", later)
    yield from _more_air(window, events, cooling & _plainly_warm(window, steps), within)


def _plainly_warm(window: Window, steps: Steps) -> np.ndarray:
    scene = window.scene
    zone = last_known(scene.column("zone_temp"), steps.arrived, scene.first)
    return zone > last_known(scene.value("cooling_setpoint"), steps.arrived, scene.first) + PLAINLY_WARM


def _more_air(window: Window, events: Events, chosen: np.ndarray, within: Limit) -> Iterator[Answer]:
    """More airflow in cooling; where it has a setpoint that steps, the airflow is held against that as well."""
    scene, steps, share = window.scene, events.steps, window.limits["flow_step"].value
    was = last_known(scene.column("primary_flow"), steps.before, scene.first)
    more = np.maximum(was * (1.0 + share), was + _least_change(window, "primary_flow"))
    most = scene.scheduled("primary_max")[scene.code[steps.row]]
    near_most = was >= (1.0 - share) * most
    yield _reaches(
        window, events, chosen & ~near_most, "primary_flow", more, +1, f"rises by {100 * share:.0f} %", within
    )


def _reaches(
    window: Window,
    events: Events,
    chosen: np.ndarray,
    name: str,
    level: float | np.ndarray,
    way: int,
    word: str,
    within: Limit,
) -> Answer:
    """A quantity past a level, at the steps that are chosen."""
    scene = window.scene
    at = np.flatnonzero(chosen)
    own = Events(events.steps.where(at), [events.kind[i] for i in at], [events.told[i] for i in at])
    steps, values = own.steps, scene.column(name)
    level = np.broadcast_to(level, len(chosen))[at]
    past = steps.over_rows(level, scene.size)
    there = values > past if way > 0 else values <= past
    followed = follow(steps, there, ~np.isnan(values), scene.seconds)
    was = last_known(values, steps.before, scene.first)
    already = was > level if way > 0 else was <= level
    why = _air_for(window, steps, name) if name in ("primary_flow", "discharge_temp") else _blank(steps)
    why = np.where((why == "") & already, _ALREADY.get((name, way), "it was there before the step"), why)
    why = np.where((why == "") & np.isnan(level), f"{_plain(name)} is missing before the step", why)
    return _without_overshoot(own, name, [word] * len(steps), within, followed, why)


_ALREADY = {
    ("reheat_position", 1): "reheat was open before the step",
    ("fan_status", 1): "the fan ran before the step",
}


# Words ---------------------------------------------------------------------------------------------------------------


def _plain(name: str) -> str:
    return plain_name(name)


def _said(window: Window, value: float, name: str) -> str:
    return words.shown(float(value), TERMINAL[name].dimension, window.scene.site.units)


def _held_for(window: Window, steps: Steps) -> np.ndarray:
    """For how long each step held within the window [s]."""
    seconds = window.scene.seconds
    last = np.maximum(steps.end - 1, steps.row)
    return seconds[last] - seconds[steps.row] if len(steps) else np.zeros(0)


def minutes(seconds: float) -> str:
    """Spell a time to follow."""
    return f"{seconds / 60:.1f}".removesuffix(".0") + "\u202fmin" if np.isfinite(seconds) else "–"


def _not_settled(window: Window, steps: Steps) -> np.ndarray:
    """Say what ended each step's hold, and when."""
    what = ["it was moved again" if again else "the test or its log ended" for again in steps.moved_again]
    held = _held_for(window, steps)
    told = [f"{said} {minutes(time)} after the step" for said, time in zip(what, held, strict=True)]
    return np.array(told, dtype=object) if told else _blank(steps)


def _did_not_move(window: Window, name: str, was: np.ndarray, final: np.ndarray) -> np.ndarray:
    told = [
        f"{_plain(name)} went from {_said(window, old, name)} to {_said(window, new, name)}"
        for old, new in zip(was, final, strict=True)
    ]
    return np.array(told, dtype=object) if told else np.empty(0, dtype=object)


def judged(window: Window, answer: Answer) -> list[tuple[str, str]]:
    """Return the result of each step, and why."""
    steps, followed, limit = answer.events.steps, answer.followed, answer.within.value
    ended = _not_settled(window, steps)
    held = _held_for(window, steps)
    trended = window.scene.trended(answer.quantity)
    found = []
    for at in range(len(steps)):
        terminal = window.scene.code[steps.row[at]]
        if not trended[terminal]:
            found.append((NOT_JUDGED, f"{_plain(answer.quantity)} is not trended"))
        elif answer.unjudged[at]:
            found.append((NOT_JUDGED, str(answer.unjudged[at])))
        elif answer.amiss[at]:
            found.append((FAIL, str(answer.amiss[at])))
        elif not followed.samples[at]:
            found.append((NOT_JUDGED, f"{_plain(answer.quantity)} has no sample after the step"))
        else:
            found.append(_by_time(window, answer, at, limit, held[at], str(ended[at])))
    return found


def _by_time(window: Window, answer: Answer, at: int, limit: float, held: float, ended: str) -> tuple[str, str]:
    followed = answer.followed
    least, most = followed.least[at], followed.most[at]
    every = every_of(window, answer, at)
    if not followed.done[at]:
        if least > limit:
            return FAIL, f"not there {minutes(least)} after the step"
        return NOT_JUDGED, f"not settled in the window: {ended}" if held <= limit else _sparse(answer, every)
    if least > limit:
        return FAIL, f"took longer than {minutes(limit)}"
    if answer.too_far[at]:
        return FAIL, f"overshoot {100 * answer.overshoot[at]:.0f} % of the step"
    if most > limit:
        return NOT_JUDGED, f"sampling too coarse: every {minutes(every)} tells {span(least, most)}"
    if answer.overshoot[at] == answer.overshoot[at] and every > window.limits["overshoot_seen"].value:
        return PASS, f"overshoot not judged: sampled every {minutes(every)}"
    return PASS, ""


def _sparse(answer: Answer, every: float) -> str:
    return f"{_plain(answer.quantity)} is missing towards the limit (sampled every {minutes(every)})"


def every_of(window: Window, answer: Answer, at: int) -> float:
    """How often what has to follow is sampled at a step's terminal [s]."""
    terminal = window.scene.code[answer.events.steps.row[at]]
    own = np.nan_to_num(window.scene.trend_logged_every(answer.quantity)[terminal])
    return float(max(own, np.nan_to_num(window.scene.interval[terminal])))


def span(least: float, most: float) -> str:
    """Spell between what a time lies."""
    if not np.isfinite(most):
        return f"over {minutes(least)}" if least > 0 else "–"
    return f"under {minutes(most)}" if least <= 0 else f"{minutes(least)} to {minutes(most)}"
