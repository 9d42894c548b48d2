"""Names that are paths: what stands before a terminal says where it is."""

import pytest

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.tags import TagFinder


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("Meridian/FL2/AHU-2/VAV-2-03/SA-F", "discharge_flow"),
        ("NORTH.L7.AHU-7.VAV-2-03.SA-F", "discharge_flow"),
        ("Bldg2.Floor2.VAV-2-03.SaFlow", "discharge_flow"),
        ("Alarms/AHU-2/VAV-2-03/SA-F", None),
        ("Meridian/FL2/VAV-2-03/SA-F minus setpoint", None),
        ("Meridian SA-F VAV-2-03", None),
    ],
)
def test_steps_of_a_path_that_say_where_a_terminal_is_do_not_cloud_its_points(name, quantity):
    assert propose("trend.csv", Entry(name), TagFinder(["VAV-2-03"], ["AHU-2"])).quantity == quantity
