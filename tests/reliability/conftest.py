import pytest

from tests.reliability.commands import furnish


@pytest.fixture(scope="package")
def room(runner, tmp_path_factory):
    """Exports of two small buildings, and two reviews."""
    room = tmp_path_factory.mktemp("reliability") / "room"
    furnish(room, runner)
    return room
