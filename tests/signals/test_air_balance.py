"""What an air handler supplies, held against what its terminals read together."""

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of


def accounted(supplied: float, *flows: float | None) -> np.ndarray:
    """The share that terminals read of what is supplied; one without a flow logs its damper."""
    logged = [{"damper_position": 40} if flow is None else {"primary_flow": flow} for flow in flows]
    told = {"name": "by hand", "trends": logged[0], "companions": logged[1:], "air_handler": {"supply_flow": supplied}}
    case = Case("air-handler-short-of-pressure", told)
    return np.unique(Scene(trends_of(case), site_of(case)).value("air_accounted"))


def test_what_terminals_read_together_is_what_is_supplied():
    assert accounted(400, 100, 200, 100) == pytest.approx([1.0])
    assert accounted(800, 100, 200, 100) == pytest.approx([0.5])


@pytest.mark.parametrize("flows", [(200, 200), (100, 200, 100, None)], ids=["two terminals", "one reads none"])
def test_it_is_known_of_three_terminals_all_of_which_read_their_air(flows):
    assert np.isnan(accounted(400, *flows)).all()


def test_nothing_is_a_share_of_no_air():
    assert np.isnan(accounted(0, 0, 0, 0)).all()
