"""Outdoor air of a zone, in IP and SI, against the figures of ASHRAE 62.1.

Status of the figures: R read in an extract of 62.1-2016, R2 in a page that restates the standard, M from memory,
C computed.
"""

import numpy as np
import pytest
from ip import to_ip, to_si

from analyzer import ventilation

# Space, cfm/person, cfm/ft2, people per 1,000 ft2, combined cfm/person as printed, status.
RATES = [
    ("office space", 5, 0.06, 5, 17, "R2; density M"),
    ("conference", 5, 0.06, 50, 6, "R2; combined M"),
    ("classroom 5-8", 10, 0.12, 25, 15, "R"),
    ("classroom 9 and over", 10, 0.12, 35, 13, "R"),
    ("lecture classroom", 7.5, 0.06, 65, 8, "R"),
    ("lecture hall", 7.5, 0.06, 150, 8, "R"),
    ("computer lab", 10, 0.12, 25, 15, "R"),
    ("science laboratory", 10, 0.18, 25, 17, "R"),
    ("multi-use assembly", 7.5, 0.06, 100, 8, "R"),
    ("restaurant dining", 7.5, 0.18, 70, 10, "R"),
    ("cafeteria", 7.5, 0.18, 100, 9, "R"),
    ("kitchen", 7.5, 0.12, 20, 14, "R"),
    ("retail sales", 7.5, 0.12, 15, 16, "rates R2; combined M"),
    ("hotel lobby", 7.5, 0.06, 30, 10, "R2; combined M"),
]


@pytest.mark.parametrize(("space", "per_person", "per_area", "density", "combined", "status"), RATES)
def test_combined_rate_of_each_space(space, per_person, per_area, density, combined, status):
    """ASHRAE 62.1 Table 6.2.2.1: 1,000 ft2 at the default density. Combined rates are printed to whole cfm."""
    flow = ventilation.breathing_zone_flow(
        people=density,
        area=to_si(1000, "ft2"),
        rate_per_person=to_si(per_person, "cfm"),
        rate_per_area=to_si(per_area, "cfm/ft2"),
    )
    assert to_ip(flow, "cfm") / density == pytest.approx(combined, abs=0.5 + 1e-6), (space, status)


def test_a_conference_room_in_ip_and_si():
    """1,500 ft2 and 40 people: 200 + 90 = 290 cfm (R2, a web calculator); 139 m2 in the standard's SI rates (C)."""
    flow = ventilation.breathing_zone_flow(
        people=40,
        area=to_si(1500, "ft2"),
        rate_per_person=to_si(5, "cfm"),
        rate_per_area=to_si(0.06, "cfm/ft2"),
    )
    assert to_ip(flow, "cfm") == pytest.approx(290.0)
    in_si = ventilation.breathing_zone_flow(people=40, area=139.35, rate_per_person=2.5, rate_per_area=0.3)
    assert in_si == pytest.approx(40 * 2.5 + 0.3 * 139.35)
    assert in_si == pytest.approx(flow, rel=0.05)  # the standard rounds 2.36 to 2.5 L/s


def test_office_rates_are_the_standards_own_si_rounding():
    """5 cfm is 2.5 L/s, 0.06 cfm/ft2 is 0.3 L/(s m2) (R, extract of 62.1-2016)."""
    assert pytest.approx(to_si(5, "cfm"), rel=0.06) == ventilation.OFFICE_RATE_PER_PERSON
    assert pytest.approx(to_si(0.06, "cfm/ft2"), rel=0.02) == ventilation.OFFICE_RATE_PER_AREA
    assert ventilation.breathing_zone_flow(people=5, area=100.0) == pytest.approx(5 * 2.5 + 100 * 0.3)


# ASHRAE 62.1 Table 6.2.2.2 (6-4): below, at, above and null of each bound.
@pytest.mark.parametrize(
    ("underfloor", "rise", "effectiveness", "status"),
    [
        (False, -8.0, 1.0, "ceiling, cool: R2"),
        (False, 7.9, 1.0, "ceiling, less than 15 degF warm, with its jet: R2"),
        (False, 8.0, 0.8, "ceiling, 15 degF (8 K) warm and more: R2"),
        (False, 8.1, 0.8, "same"),
        (False, np.nan, np.nan, "not known"),
        (True, -0.1, 1.0, "floor, cool, well mixed: M"),
        (True, 0.0, 1.0, "same"),
        (True, 0.1, 0.7, "floor, warm, return at the ceiling: M"),
        (True, np.nan, np.nan, "not known"),
    ],
)
def test_effectiveness_of_the_distribution(underfloor, rise, effectiveness, status):
    found = ventilation.distribution_effectiveness(underfloor=underfloor, discharge_rise=rise)
    assert found == pytest.approx(effectiveness, nan_ok=True), status


@pytest.mark.parametrize(("degrees", "effectiveness"), [(14.0, 1.0), (15.0, 0.8)])
def test_effectiveness_of_warm_ceiling_air_in_ip(degrees, effectiveness):
    """15 degF above the space, return at the ceiling: 0.8 (R2, code page and trade article)."""
    found = ventilation.distribution_effectiveness(underfloor=False, discharge_rise=to_si(degrees, "degF rise"))
    assert found == effectiveness


def test_effectiveness_with_what_only_the_designer_knows():
    """A jet that falls short: 0.8 (R2, forum post quoting 62.1-2007). Stratified floor supply: 1.2 (R2)."""
    short = ventilation.distribution_effectiveness(
        underfloor=False, discharge_rise=np.array([-5.0, 5.0]), jet_reaches=False
    )
    np.testing.assert_array_equal(short, [1.0, 0.8])
    stratified = ventilation.distribution_effectiveness(
        underfloor=True, discharge_rise=np.array([-5.0, 5.0]), stratified=True
    )
    np.testing.assert_array_equal(stratified, [1.2, 0.7])


def test_zone_outdoor_flow_in_ip_and_si():
    """Voz = Vbz / Ez (R2): 290 cfm through warm ceiling air is 362.5 cfm."""
    found = ventilation.zone_outdoor_flow(breathing_zone_flow=to_si(290, "cfm"), effectiveness=0.8)
    assert to_ip(found, "cfm") == pytest.approx(362.5)
    assert ventilation.zone_outdoor_flow(breathing_zone_flow=136.0, effectiveness=0.8) == pytest.approx(170.0)


def test_averaging_time_in_ip_and_si():
    """T = 3 v / Vbz min, ft3 and cfm (R2); T = 50 v / Vbz min, m3 and L/s (M)."""
    found = ventilation.averaging_seconds(zone_volume=to_si(7500, "ft3"), breathing_zone_flow=to_si(75, "cfm"))
    assert found / 60 == pytest.approx(3 * 7500 / 75)
    found = ventilation.averaging_seconds(zone_volume=216.0, breathing_zone_flow=34.0)
    assert found / 60 == pytest.approx(50 * 216 / 34)


@pytest.mark.parametrize(("flow", "seconds"), [(-1.0, np.nan), (0.0, np.nan), (30.0, 10_000.0), (np.nan, np.nan)])
def test_no_averaging_time_without_outdoor_air(flow, seconds):
    found = ventilation.averaging_seconds(zone_volume=100.0, breathing_zone_flow=flow)
    assert found == pytest.approx(seconds, nan_ok=True)
