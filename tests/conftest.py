"""What several rooms' tests share: one browser, and the demo's two weeks, reviewed once through the command."""

from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest

from tests.browser import chromium, open_page  # noqa: F401 (fixtures)
from tests.command.conftest import trendwright  # noqa: F401 (a fixture)
from tests.loaded import checks

# How long one example takes depends on what else the machine does.
hypothesis.settings.register_profile("any machine", deadline=None)
hypothesis.settings.load_profile("any machine")


@pytest.fixture(scope="session", autouse=True)
def contract_loaded():
    """Let every check of the data contract run where its library is loaded."""
    with pytest.MonkeyPatch.context() as patched:
        if checks.POSSIBLE:
            patched.setattr(checks.contract, "_started", checks.started)
        yield


@pytest.fixture
def contract_as_users_have_it(monkeypatch):
    """Let the check load its library itself, in a process that begins anew."""
    monkeypatch.setattr(checks.contract, "_started", checks.AS_USERS_HAVE_IT)


@pytest.fixture(scope="session")
def runner():
    """The command, loaded once."""
    from tests.loaded.commands import Runner  # it forks, which not every system can

    runner = Runner()
    yield runner
    runner.close()


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
