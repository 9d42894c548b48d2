"""The checks that a tool makes of the checkout as it stands; their settings are in ``pyproject.toml``."""

from __future__ import annotations

import sys

from tests.checks.running import complaint
from tests.checks.unused import unused

PYTHON = (sys.executable, "-m")


def form() -> str:
    """Lint, and format."""
    return "".join(complaint([*PYTHON, "ruff", *words, "."]) for words in (["check"], ["format", "--check"]))


def types() -> str:
    """Types: strict, but for the modules that are listed as not strict yet; those by their annotations."""
    return complaint([*PYTHON, "mypy"])


def imports() -> str:
    """The order of the rooms, and the other rules of the house."""
    return complaint([*PYTHON, "pytest", "tests/test_house.py"])


def docs() -> str:
    """The documents against the code."""
    return complaint([*PYTHON, "pytest", "tests/docs"])


def dead() -> str:
    """Code, signals and names that nobody uses."""
    return "".join(f"{line}\n" for line in unused())
