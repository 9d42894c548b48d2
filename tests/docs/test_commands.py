"""Every ``trendwright`` command that a document shows runs as it is printed, on the demo building."""

import functools
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]
DOCUMENTS = [HOME / "README.md", HOME / "DEVELOPERS.md", *sorted((HOME / "docs").glob("*.md"))]
# What a reader is to put in the place of a word in capitals.
STANDS_FOR = {
    "FOLDER": "demo",
    "EXPORTS": "demo",
    "ID": "fan-short-cycling",
    "TERMINAL": "VAV-1-01",
    "OLD": "review",
    "NEW": "retest-review",
}


def shown() -> dict[str, str]:
    """Return each distinct command of the documents, and the document that shows it first."""
    found: dict[str, str] = {}
    for document in DOCUMENTS:
        text = document.read_text(encoding="utf-8")
        blocks = re.findall(r"```(?:sh|console)?\n(.*?)```", text, re.DOTALL)
        told = [line for block in blocks for line in block.replace("\\\n", " ").splitlines()]
        told += re.findall(r"`((?:\.venv/bin/)?trendwright [^`]+)`", text)
        for line in told:
            for part in re.split(r"&&|;", line):
                command = part.strip().removeprefix("$ ").removeprefix(".venv/bin/")
                if command.startswith("trendwright "):
                    found.setdefault(" ".join(command.split()), document.name)
    return found


SHOWN = shown()


@functools.cache
def prepared(folder: Path) -> None:
    """Make what the commands build on: the demo, its retest, and a review of each."""
    for command in (
        "trendwright demo demo",
        "trendwright demo --retest retest",
        "trendwright review demo --out review --quiet",
        "trendwright review retest --out retest-review --quiet",
    ):
        assert run(command, folder).returncode == 0, command


def run(command: str, folder: Path) -> subprocess.CompletedProcess:
    words = [STANDS_FOR.get(word, word) for word in shlex.split(command)][1:]
    return subprocess.run(
        [sys.executable, "-m", "analyzer.cli", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(HOME)},
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("documents")
    prepared(folder)
    return folder


def test_the_documents_show_the_commands_that_there_are():
    assert {command.split()[1] for command in SHOWN} >= {
        "review", "draft", "normalize", "compare", "complaint", "rules", "demo",
    }  # fmt: skip


@pytest.mark.parametrize("command", sorted(SHOWN))
def test_command_runs_as_shown(command, folder):
    if re.match(r"trendwright (demo) ", command):
        target = [word for word in shlex.split(command)[2:] if not word.startswith("-")][-1]
        if (folder / target).exists():
            return  # it ran while the folder was prepared
    done = run(command, folder)
    assert done.returncode in ((0, 1) if "--fail-on" in command else (0,)), (
        f"{SHOWN[command]}: {command}\n{done.stdout}{done.stderr}"
    )
