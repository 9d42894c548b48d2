"""What several rooms' tests share: one browser, and the demo's two weeks, reviewed once through the command."""

from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest

from tests.browser import chromium, open_page  # noqa: F401 (fixtures)
from tests.command.conftest import trendwright  # noqa: F401 (a fixture)

# How long one example takes depends on what else the machine does.
hypothesis.settings.register_profile("any machine", deadline=None)
hypothesis.settings.load_profile("any machine")


@dataclass(frozen=True)
class TwoWeeks:
    """The folder in which it all lies, and the names of what is in it."""

    room: Path
    before: str = "before"
    now: str = "now"
    retest: str = "retest-exports"


@pytest.fixture(scope="session")
def two_weeks(trendwright, tmp_path_factory) -> TwoWeeks:  # noqa: F811
    """Reviews of the demo's first week and of its retest week."""
    weeks = TwoWeeks(tmp_path_factory.mktemp("two weeks"))
    for call in (
        ["demo", "first-exports"],
        ["demo", weeks.retest, "--retest"],
        ["review", "first-exports", "--out", weeks.before, "-q"],
        ["review", weeks.retest, "--out", weeks.now, "-q"],
    ):
        ran = trendwright(*call, cwd=weeks.room)
        assert ran.status == 0, ran.err
    return weeks
