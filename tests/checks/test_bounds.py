"""What ``pyproject.toml`` allows, what the lock holds and what is said of the version agree."""

import re
import tomllib
from importlib.metadata import version

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import analyzer
from tests.checks.installs import lowest_versions
from tests.checks.running import CHECKOUT

PROJECT = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
ASKED = [Requirement(line) for line in (*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"])]
OTHERS = [asked for asked in ASKED if asked.name != PROJECT["name"]]  # an extra may name another of our own
LOCKED = dict(
    re.findall(r"^([\w.-]+)==(\S+)$", (CHECKOUT / "requirements.lock").read_text(encoding="utf-8"), re.MULTILINE)
)


@pytest.mark.parametrize("asked", OTHERS, ids=str)
def test_the_lock_and_what_is_installed_are_within_the_bounds(asked):
    locked = {canonicalize_name(name): number for name, number in LOCKED.items()}
    assert locked[canonicalize_name(asked.name)] in asked.specifier, "make requirements.lock anew: its head says how"
    assert version(asked.name) in asked.specifier


def test_every_dependency_has_a_lowest_version():
    assert set(lowest_versions()) == {Requirement(line).name for line in PROJECT["dependencies"]}


def test_the_version_is_said_once_and_the_same_twice():
    assert PROJECT["version"] == analyzer.__version__
