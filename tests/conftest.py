"""What several rooms' tests share: one browser, and the demo's two weeks, reviewed once through the command."""

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest
from filelock import FileLock

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


def made_once(tmp_path_factory, name: str, make) -> Path:
    """Return a folder that ``make(folder)`` filled, once for all the processes that run these tests."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / name
    with FileLock(f"{shared}.lock"):
        if not (done := shared.with_name(f"{name} is whole")).exists():
            shared.mkdir()
            make(shared)
            done.touch()
    return shared


@pytest.fixture(scope="session")
def two_weeks(trendwright, tmp_path_factory) -> TwoWeeks:  # noqa: F811
    """Reviews of the demo's first week and of its retest week."""

    def make(room: Path) -> None:
        for call in (
            ["demo", "first-exports"],
            ["demo", TwoWeeks.retest, "--retest"],
            ["review", "first-exports", "--out", TwoWeeks.before, "-q"],
            ["review", TwoWeeks.retest, "--out", TwoWeeks.now, "-q"],
        ):
            ran = trendwright(*call, cwd=room)
            assert ran.status == 0, ran.err

    own = tmp_path_factory.mktemp("weeks") / "two weeks"  # tests write beside them
    shutil.copytree(made_once(tmp_path_factory, "two weeks", make), own)
    return TwoWeeks(own)
