"""The comfort range against the published tables of the two standards."""

import numpy as np
import pytest

from analyzer.complaint.comfort import comfort_range, predicted_vote

# ISO 7730:2005, table D.1 (from memory, and agreed with by an independent run): air temperature, mean radiant
# temperature [degC], air speed [m/s], relative humidity [%], metabolic rate [met], clothing [clo], PMV, PPD [%].
ISO_7730_TABLE_D1 = [
    (22.0, 22.0, 0.10, 60, 1.2, 0.5, -0.75, 17),
    (27.0, 27.0, 0.10, 60, 1.2, 0.5, 0.77, 17),
    (27.0, 27.0, 0.30, 60, 1.2, 0.5, 0.44, 9),
    (23.5, 25.5, 0.10, 60, 1.2, 0.5, -0.01, 5),
    (23.5, 25.5, 0.30, 60, 1.2, 0.5, -0.55, 11),
    (19.0, 19.0, 0.10, 40, 1.2, 1.0, -0.60, 13),
    (23.5, 23.5, 0.30, 40, 1.2, 1.0, 0.12, 5),
    (23.0, 21.0, 0.10, 40, 1.2, 1.0, 0.05, 5),
    (23.0, 21.0, 0.30, 40, 1.2, 1.0, -0.16, 6),
    (22.0, 22.0, 0.10, 60, 1.6, 0.5, 0.05, 5),
    (27.0, 27.0, 0.10, 60, 1.6, 0.5, 1.17, 34),
    (27.0, 27.0, 0.30, 60, 1.6, 0.5, 0.95, 24),
]
# ASHRAE 55, validation table of the computer program (its number varies by edition; from memory): degC, %, clo, PMV,
# PPD; air speed 0.10 m/s, radiant temperature as the air's, 1.1 met.
ASHRAE_55_VALIDATION = [
    (19.6, 86, 1.0, -0.5, 10),
    (23.9, 66, 1.0, 0.5, 10),
    (21.2, 20, 1.0, -0.5, 10),
    (23.6, 67, 0.5, -0.5, 10),
    (27.9, 13, 0.5, 0.5, 10),
    (24.7, 16, 0.5, -0.5, 10),
]


@pytest.mark.parametrize("row", ISO_7730_TABLE_D1)
def test_votes_are_those_of_iso_7730(row):
    air, radiant, speed, humidity, activity, clothing, vote, dissatisfied = row
    found = predicted_vote(
        air, radiant_temp=radiant, air_speed=speed, humidity=humidity, activity=activity, clothing=clothing
    )
    assert found[0] == pytest.approx(vote, abs=0.03)  # the table is rounded to 0.01 and its program to 0.02
    assert found[1] == pytest.approx(dissatisfied, abs=1.0)


@pytest.mark.parametrize("row", ASHRAE_55_VALIDATION)
def test_votes_are_those_of_ashrae_55(row):
    air, humidity, clothing, vote, dissatisfied = row
    found = predicted_vote(air, humidity=humidity, activity=1.1, clothing=clothing)
    assert found[0] == pytest.approx(vote, abs=0.05)  # printed with one decimal
    assert found[1] == pytest.approx(dissatisfied, abs=0.5)


def test_the_ends_of_the_range_are_where_a_tenth_is_dissatisfied():
    winter = comfort_range(-5.0)
    ends = np.array([winter.low, winter.high])
    vote, dissatisfied = predicted_vote(ends, clothing=winter.warmest)
    assert vote == pytest.approx([-0.5, 0.5], abs=0.01)
    assert dissatisfied == pytest.approx([10, 10], abs=0.3)  # ASHRAE 55 and ISO 7730 category B: 10 %
    assert 19 < winter.low < winter.high < 25


def test_people_dress_by_the_weather():
    winter, spring, summer, unknown = (comfort_range(t) for t in (5.0, 15.0, 25.0, np.nan))
    assert (winter.warmest, spring.warmest, summer.warmest) == (1.0, 0.75, 0.5)
    assert winter.low < spring.low < summer.low and winter.high < spring.high < summer.high
    assert (unknown.low, unknown.high) == (winter.low, summer.high)  # what suits either
    assert 0 < winter.shift < 1.0


def test_outside_the_methods_range_nothing_is_said():
    assert np.isnan(predicted_vote(np.array([9.9, 30.1, np.nan]), clothing=1.0)[0]).all()
    assert not np.isnan(predicted_vote(np.array([10.0, 30.0]), clothing=1.0)[0]).any()
