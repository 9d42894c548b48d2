"""A part of a scene knows what the whole knows of its terminals: of every signal, on trends with rows and values lost."""

from dataclasses import replace

import numpy as np
import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.quantities import TERMINAL
from analyzer.signals import SIGNALS, Scene
from analyzer.trends import in_form, observed_logging
from tests.accuracy.measure import sampled, simulated_week, site_of
from tests.accuracy.plan import Week

WEEK = Week("mild", 6200, terminals=20, each=1, days=2)
PARAMETERS = {name: value for rule in read_rules([rule_book()]).values() for name, value in rule.values.items()}


@pytest.fixture(scope="module")
def trends():
    whole = sampled(simulated_week(WEEK), 5, WEEK.building.time_zone)
    rng = np.random.default_rng(3)
    table = whole.terminals[rng.random(len(whole.terminals)) > 0.05].reset_index(drop=True)
    quantities = list(TERMINAL)
    table[quantities] = table[quantities].mask(rng.random((len(table), len(quantities))) < 0.05)
    table.loc[table["terminal"].cat.codes % 4 == 1, ["co2", "plenum_temp", "discharge_temp"]] = np.nan
    table = in_form(table)
    return replace(whole, terminals=table, logging=observed_logging(table))


@pytest.fixture(scope="module")
def scene(trends) -> Scene:
    return Scene(trends, site_of(WEEK))


@pytest.mark.parametrize("name", SIGNALS)
def test_of_every_signal(name, trends, scene):
    """The part is asked first: it has to work out by itself what it does not leave to the whole."""
    asked = Scene(trends, site_of(WEEK))
    chosen = np.arange(asked.count) % 3 == 1
    part = asked.part(chosen)
    own = part.value(name, PARAMETERS)
    whole = scene.value(name, PARAMETERS)[scene.per_row(chosen)]
    assert own == pytest.approx(whole, rel=1e-6, abs=1e-6, nan_ok=True)  # running totals round by what came before


@pytest.mark.parametrize("name", [name for name, found in SIGNALS.items() if found.where_trended])
def test_without_its_trends_a_signal_is_unknown(name, scene):
    found = SIGNALS[name]
    without = ~np.logical_and.reduce([scene.trended(trend) for trend in found.where_trended])
    values = found.function(scene, **{limit: PARAMETERS[limit] for limit in found.parameters})
    assert np.isnan(values[scene.per_row(without)]).all()


def test_a_scene_that_nobody_holds_is_gone_with_its_parts(trends):
    import gc
    import weakref

    whole = Scene(trends, site_of(WEEK))
    whole.part(np.arange(whole.count) < 3).value("zone_change_in_hour")
    seen = weakref.ref(whole)
    gc.disable()
    try:
        del whole
        assert seen() is None
    finally:
        gc.enable()
