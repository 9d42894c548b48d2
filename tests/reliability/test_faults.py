"""Every command that writes: killed, interrupted, out of room. What stood there stands, or the new outcome does, whole."""

import pytest

from tests.reliability import campaign
from tests.reliability.commands import COMMANDS, Stage

SEED = 20260112


@pytest.fixture(scope="module", params=COMMANDS, ids=lambda name: name.replace(" ", "-"))
def stage(request, room, runner):
    stage = Stage(room, runner, COMMANDS[request.param])
    yield stage
    stage.reset()


def test_killed_outright_at_any_moment(stage):
    counted = campaign.kill(stage, 5, SEED)
    assert counted["killed"] + counted["ended before"] == 5
    assert counted["killed"]


def test_interrupted_at_any_moment(stage):
    counted = campaign.interrupt(stage, 4, SEED)
    assert counted["interrupted"] + counted["ended before"] == 4
    assert counted["interrupted"]


def test_no_room(stage):
    assert campaign.no_room(stage, [0, 200, 20_000])["refused"]


def test_an_interrupted_review_ends_its_check_of_the_contract_too(room, runner):
    """With the check's own process, which the quick reviews above leave out."""
    stage = Stage(room, runner, COMMANDS["review"])
    counted = campaign.interrupt(stage, 2, SEED, quick=False, checks="")
    stage.reset()
    assert counted["interrupted"] == 2
