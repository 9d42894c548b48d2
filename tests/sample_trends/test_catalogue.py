"""Every kind of fault shows what the catalogue says, and a sound terminal shows nothing, in an invented building."""

from __future__ import annotations

import pandas as pd
import pytest

from sample_trends import CATALOGUE, KNOBS, Climate, Fault, invented_building, simulate
from sample_trends.faults import truth
from tests.sample_trends.evidence import SIGNS, Terminal, hours_of

HOURS = 1.0  # of evidence that a seeded fault has to show, and that no sound terminal may
START = "2026-01-26"
# Where a fault can be brought out in four winter days, and what else that takes.
PLACE = {
    "controller-restarts": ("kind == kind", {"start": "2026-01-28 10:03", "end": "2026-01-28 10:06"}),
    "damper-linkage-slipped": ("face == 'south'", {"turns": {"gains": 1.6}}),
    "discharge-too-hot": ("face in ('north', 'east') and kind == 'single-duct'", {"turns": {"leaky_room": 1.6}}),
    "duct-blocked": ("face == 'south'", {"turns": {"gains": 1.6}}),
    "fan-band-too-narrow": ("face == 'north'", {}),
    "fan-in-hand": ("face == 'south'", {"turns": {"gains": 2.0}}),
    "fan-runs-short": ("face == 'north'", {}),
    "fan-slow": ("kind == 'series' and distribution == 'overhead'", {}),
    "fan-status-broken": ("reheat == 'hot-water' and distribution == 'overhead'", {}),
    "fan-two-starts-an-hour": ("face == 'north'", {}),
    "flow-gain-high": ("kind == 'series' and distribution == 'overhead'", {}),
    "flow-gain-low": ("kind == 'series' and distribution == 'overhead'", {}),
    "heat-fails": ("face == 'north'", {}),
    "heat-in-hand": ("reheat == 'electric'", {}),
    "heat-too-small": ("face == 'north'", {}),
    "heating-flow-too-high": ("face == 'north'", {}),
    "maximum-entered-too-high": ("reheat == 'none'", {"turns": {"gains": 3.0}}),
    "neighbours-fight": ("face == 'west'", {}),
    "outdoor-inlet-tripped": ("kind == kind", {}),
    "parallel-fan-dead": ("face == 'north'", {}),
    "setpoints-too-close": ("reheat != 'none'", {}),
    "valve-leaks-by": ("face in ('east', 'west')", {}),
    "zone-overloaded": ("reheat == 'none'", {}),
    "zone-switched-all-or-nothing": ("face == 'north'", {}),
}
LOW, HIGH = "AHU-03", "AHU-04"  # each with a fault of its own air handler


@pytest.fixture(scope="module")
def placed():
    """Put every kind of fault into one building, simulate it once, and tell where each is."""
    building = invented_building(160, seed=3)
    free = building.terminals[building.terminals["air_handler"].isin(["AHU-01", "AHU-02"])]
    faults = {}
    for kind in sorted(CATALOGUE, key=lambda kind: (kind not in PLACE, kind)):
        where, more = PLACE.get(kind, ("kind == kind", {}))
        if CATALOGUE[kind].where == "air handler":
            at = LOW if "low" in kind else HIGH
        else:
            can = free.query(CATALOGUE[kind].where)
            at = can.query(where).index[0] if len(can.query(where)) else can.index[0]
            free = free.drop(at)
        faults[kind] = Fault(kind, at, **more)
    week = simulate(
        building, faults.values(), seed=11, start=START, days=4, step_minutes=1, climate=Climate(-8, 16, 4.5, days=4)
    )
    return building, faults, free.index, _terminals(building, week)


def _terminals(building, week) -> dict[str, Terminal]:
    def by(table, key):
        return {name: rows.set_index("time").tz_convert(building.time_zone) for name, rows in table.groupby(key)}

    trends, handlers = by(week.terminals, "terminal"), by(week.air_handlers, "air_handler")
    schedule = building.schedule()
    groups = schedule["open_zone"].dropna()
    return {
        tag: Terminal(
            trends[tag], handlers[row["air_handler"]], row,
            [trends[other] for other in groups.index[groups == row["open_zone"]] if other != tag],
        )
        for tag, row in schedule.iterrows()
    }  # fmt: skip


@pytest.mark.parametrize("kind", CATALOGUE)
def test_shows_in_the_readings(placed, kind):
    building, faults, _, terminals = placed
    at = faults[kind].at
    owners = [at] if at in terminals else list(building.terminals.index[building.terminals["air_handler"] == at])
    shown = {rule: max(hours_of(rule, terminals[tag]) for tag in owners[:8]) for rule in CATALOGUE[kind].shows}
    assert all(hours >= HOURS for hours in shown.values()), (at, shown)


def test_sound_terminals_show_nothing(placed):
    _, faults, sound, terminals = placed
    near = [fault.at for kind, fault in faults.items() if not CATALOGUE[kind].shows]
    rules = [rule for rule in SIGNS if rule != "air-handler-common-cause"]
    seen = {
        (tag, rule): hours
        for tag in [*sound, *near]
        for rule in rules
        if (hours := hours_of(rule, terminals[tag])) >= HOURS
    }
    assert not seen
    assert len(sound) >= 30


def test_names():
    assert set().union(*(kind.shows for kind in CATALOGUE.values())) <= set(SIGNS)
    without_a_sign = {
        "air-handler-short-of-pressure", "setpoint-out-of-policy", "flow-above-setpoint", "design-values-disagree",
    }  # fmt: skip
    new = set().union(*(kind.also for kind in CATALOGUE.values())) - {*SIGNS, *without_a_sign}
    assert not new, f"{new}: write its sign in tests/sample_trends/evidence.py, or add it to those without one above"
    assert set().union(*(kind.brings for kind in CATALOGUE.values())) <= set(SIGNS)
    for kind in CATALOGUE.values():
        if "starved-terminal" in kind.shows:
            assert "flow-sensor-drift" not in (*kind.shows, *kind.also, *kind.brings)
    assert set().union(*(kind.turns for kind in CATALOGUE.values())) <= set(KNOBS)


def test_a_fault_in_the_wrong_place_is_refused():
    building = invented_building(24, seed=1)
    single = building.terminals.index[building.terminals["kind"] == "single-duct"][0]
    with pytest.raises(ValueError, match=f"fan-in-hand cannot happen at {single}"):
        simulate(building, [Fault("fan-in-hand", single)], seed=1, start=START, days=0.1)
    with pytest.raises(ValueError, match="unknown knobs \\['humour'\\]"):
        simulate(building, [Fault("warm-room", single, turns={"humour": 1.0})], seed=1, start=START, days=0.1)


def test_truth_of_an_air_handler_names_its_terminals():
    building = invented_building(50, seed=1)
    listed = truth(building, [Fault("duct-pressure-too-low", "AHU-02")], START, 7)
    assert set(listed["terminal"]) == set(building.terminals.index[40:])
    assert set(listed["rule"]) == set(CATALOGUE["duct-pressure-too-low"].shows)
    assert pd.Timestamp(listed["from"].iloc[0]) == pd.Timestamp(START, tz=building.time_zone)
