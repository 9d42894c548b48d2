"""The predicted mean vote against an independent library; the standards' own tables are in tests/complaint."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from analyzer.airside import predicted_dissatisfied, predicted_mean_vote

# The corners and middles of the range in which ISO 7730 holds, with steps of clothing on both sides of its bend.
RANGE = {
    "air_temp": (10.0, 17.0, 22.0, 26.0, 30.0),
    "radiant_temp": (12.0, 22.0, 35.0),
    "air_speed": (0.0, 0.1, 0.4, 1.0),
    "humidity": (0.0, 40.0, 90.0),
    "activity": (0.8, 1.0, 1.2, 2.0, 3.9),
    "clothing": (0.0, 0.5, 1.0, 2.0),
}


def test_votes_are_those_of_an_independent_library():
    pytest.importorskip("pythermalcomfort")
    from pythermalcomfort.models import pmv_ppd_iso

    points = dict(zip(RANGE, np.array([*itertools.product(*RANGE.values())]).T, strict=True))
    theirs = pmv_ppd_iso(
        tdb=points["air_temp"], tr=points["radiant_temp"], vr=points["air_speed"], rh=points["humidity"],
        met=points["activity"], clo=points["clothing"], model="7730-2005", limit_inputs=False, round_output=False,
    )  # fmt: skip
    ours = predicted_mean_vote(**points)
    assert len(ours) == 3600 and np.isfinite(ours).all()
    # The standard's program stops within 0.015 K of the clothing's temperature: 0.01 of a vote.
    np.testing.assert_allclose(ours, theirs.pmv, atol=0.01)
    np.testing.assert_allclose(predicted_dissatisfied(vote=ours), theirs.ppd, atol=0.5)


def test_a_neutral_room_leaves_a_twentieth_dissatisfied():
    assert predicted_dissatisfied(vote=0.0) == 5.0
    assert predicted_dissatisfied(vote=np.array([-3.0, 3.0])) == pytest.approx([99.1, 99.1], abs=0.1)


def test_a_warmer_room_is_a_warmer_vote():
    votes = predicted_mean_vote(
        air_temp=np.linspace(10, 30, 201), radiant_temp=22.0, air_speed=0.1, humidity=40.0, activity=1.2, clothing=1.0
    )
    assert (np.diff(votes) > 0).all()
