"""The distance of setpoints is a terminal's own where one of them is logged there, and the site file's where none is."""

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

LIMITS = {"least_deadband": 2.5}


def scene(setpoints: dict, *trends: dict) -> Scene:
    """A day of one terminal for each of some trends, in a building with these setpoints in its site file."""
    told = {"name": "by hand", "setpoints": setpoints, "trends": trends[0], "companions": list(trends[1:])}
    case = Case("setpoints-too-close", told)
    return Scene(trends_of(case), site_of(case))


def said(scene: Scene) -> list[str]:
    return [note for note in scene.notes if "setpoints-too-close" in note]


def test_a_logged_setpoint_is_held_against_the_other_and_two_of_the_site_file_are_not():
    own, none = {"zone_temp": 22, "cooling_setpoint": 23}, {"zone_temp": 22}
    there = scene({"heating": 21.0, "cooling": 23.0}, own, none)
    apart = there.value("setpoints_apart", LIMITS).reshape(2, -1)
    noon = apart.shape[1] // 2
    assert apart[0, noon] == pytest.approx(2.0) and np.isnan(apart[1]).all()
    assert said(there) == [
        "The site file's setpoints lie 2 K apart, less than the 2.5 K that setpoints-too-close asks for: where "
        "none is trended, that is one line of the site file to look at and no finding of a terminal."
    ]


@pytest.mark.parametrize("setpoints", [{"heating": 21.0, "cooling": 24.0}, {"heating": 21.0}, {}], ids=str)
def test_nothing_is_said_of_setpoints_that_are_far_enough_apart_or_not_two(setpoints):
    there = scene(setpoints, {"zone_temp": 22})
    there.value("setpoints_apart", LIMITS)
    assert said(there) == []


def test_nothing_is_said_of_them_where_every_terminal_logs_its_own():
    there = scene({"heating": 21.0, "cooling": 22.0}, {"heating_setpoint": 20, "cooling_setpoint": 25})
    assert np.all(there.value("setpoints_apart", LIMITS) == 5.0) and said(there) == []
