"""Every ``trendwright`` command that a document shows runs as it is printed, on the demo building."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.scale.loopback import cluster

HOME = Path(__file__).parents[2]
DOCUMENTS = [HOME / "README.md", HOME / "DEVELOPERS.md", HOME / "CHANGELOG.md", *sorted((HOME / "docs").glob("*.md"))]
# What a reader is to put in the place of a word in capitals.
STANDS_FOR = {
    "FOLDER": "exports",
    "ID": "fan-short-cycling",
    "OLD": "review",
    "NEW": "later-review",
    "REVIEW": "review",
    "FINDING": "VAV-1-03/minimum-setpoint-off-schedule",
}
PREPARED = ("trendwright demo demo", "trendwright review demo --out review")
DRAFTED = "trendwright draft FOLDER --out draft"


def shown() -> dict[str, str]:
    """Return each distinct command of the documents, and the document that shows it first."""
    found: dict[str, str] = {}
    for document in DOCUMENTS:
        text = document.read_text(encoding="utf-8")
        blocks = re.findall(r"```(?:sh|console)?\n(.*?)```", text, re.DOTALL)
        told = [line for block in blocks for line in block.replace("\\\n", " ").splitlines()]
        told += re.findall(r"`((?:\.venv/bin/)?trendwright [^`]+)`", text)
        for line in told:
            for part in re.split(r"&&|\|\||;", line):
                command = part.strip().removeprefix("$ ").removeprefix(".venv/bin/")
                if command.startswith("trendwright "):
                    found.setdefault(" ".join(command.replace("<id>", "ID").split()), document.name)
    return found


SHOWN = shown()
ON_A_CLUSTER = [command for command in SHOWN if "--scheduler" in command]


@pytest.fixture(scope="module")
def run(runner):
    """Return a function that runs a command as it is shown, in a folder: how it ended."""

    def as_shown(command: str, folder: Path) -> dict:
        (ended,) = runner.run([STANDS_FOR.get(word, word) for word in shlex.split(command)][1:], cwd=folder)
        return ended

    return as_shown


def make(folder: Path) -> Path:
    """Make a folder where there is none, and return it."""
    folder.mkdir(exist_ok=True)
    return folder


def scripts() -> list[str]:
    """Return the pieces of Python that the documents show."""
    told = (document.read_text(encoding="utf-8") for document in DOCUMENTS)
    return [block for text in told for block in re.findall(r"```python\n(.*?)```", text, re.DOTALL)]


def one_day(folder: Path, demo: Path) -> None:
    """Lay one day of one file of the demo into a folder, as a reader's own exports."""
    (folder / "exports").mkdir(parents=True)
    lines = (demo / "AHU-1.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (folder / "exports" / "AHU-1.csv").write_text("".join(lines[:289]), encoding="utf-8")


def with_documents(folder: Path, name: str) -> Path:
    """Make a folder of a reader's own exports with the demo's schedule and balancing report beside them."""
    place = folder / f"documents of {name}"
    one_day(place, folder / "demo")
    of_demo = folder / "demo" / "documents"
    for name, source in (("M-601.xlsx", "terminal_schedule.xlsx"), ("SCHEDULE.xlsx", "terminal_schedule.xlsx"),
                         ("balancing.pdf", "balancing_report.pdf")):  # fmt: skip
        shutil.copy(of_demo / source, place / name)
    return place


@pytest.fixture(scope="module")
def folder(run, tmp_path_factory):
    """The demo and its review, as the README's first command leaves them; and a folder of a reader's own exports."""
    folder = tmp_path_factory.mktemp("documents")
    for command in PREPARED:
        done = run(command, folder)
        assert done["status"] == 0, f"{command}\n{done['err']}"
    shutil.copytree(folder / "review", folder / "later-review")
    for name in ("site.toml", "terminals.csv"):
        shutil.copy(folder / "demo" / name, folder / name)
    one_day(folder / "own", folder / "demo")
    done = run(DRAFTED, folder / "own")
    assert done["status"] == 0, done["err"]
    return folder


def test_the_documents_show_every_command():
    from analyzer.cli import app

    known = {command.callback.__name__ for command in app.registered_commands}
    assert {command.split()[1] for command in SHOWN} >= known
    assert {*PREPARED, DRAFTED} <= set(SHOWN)


@pytest.mark.parametrize("command", ON_A_CLUSTER)
def test_command_for_a_cluster_runs_as_shown_on_one_of_this_machine(run, command, folder):
    here = folder / "stores"
    for call in ("demo house", f"normalize house --out {here / 'trends' / 'campus'} -q"):
        assert run(f"trendwright {call}", make(here))["status"] == 0
    shutil.copy(folder / "site.toml", here / "campus.toml")
    shutil.copy(folder / "terminals.csv", here)
    with cluster(1) as (address, _):
        command = command.replace("s3://", f"{here.as_uri()}/").replace("tcp://10.0.0.5:8786", address)
        done = run(command, here)
    assert done["status"] == 0, done["err"]
    assert (here / "reports" / "campus" / "index.html").exists()


@pytest.mark.parametrize("command", sorted(set(SHOWN) - {*PREPARED, *ON_A_CLUSTER, DRAFTED}))
def test_command_runs_as_shown(run, command, folder):
    words = command.split()
    if len(words) == 2 and words[1] not in ("rules", "--help"):
        command += " --help"  # it is only named
    place = folder / "own" if "FOLDER" in words else folder
    if {"FOLDER", "--schedule"} <= set(words):
        place = with_documents(folder, SHOWN.get(command, command))
    done = run(command, place)
    assert done["status"] in ((0, 1) if "--fail-on" in command else (0,)), (
        f"{SHOWN.get(command, '')}: {command}\n{done['out']}{done['err']}"
    )


@pytest.mark.parametrize("script", scripts(), ids=range(len(scripts())))
def test_python_runs_as_shown(script, folder):
    shutil.rmtree(folder / "from Python", ignore_errors=True)
    shutil.copytree(folder / "own", folder / "from Python")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", script],
        cwd=folder / "from Python", env={**os.environ, "PYTHONPATH": str(HOME)}, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr


def test_python_is_shown():
    assert scripts()


def test_the_first_line_of_the_readme_runs_twice_and_leaves_the_command_to_be_found(tmp_path):
    text = (HOME / "README.md").read_text(encoding="utf-8")
    (line, *_) = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    install = "python3 -m venv .venv && . .venv/bin/activate && pip install --quiet ."
    assert install in line and ".venv/bin/trendwright" not in text
    # What was installed into this environment stands in for what the line would fetch.
    (tmp_path / "bin").mkdir()
    command = tmp_path / "bin" / "trendwright"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m analyzer.cli "$@"\n')
    command.chmod(0o755)
    script = line[line.index(install) :].replace(install, "true").strip() + " && trendwright --version"
    env = {**os.environ, "PYTHONPATH": str(HOME), "PATH": f"{tmp_path / 'bin'}:{os.environ['PATH']}"}
    for _ in range(2):
        done = subprocess.run(["sh", "-c", script], cwd=tmp_path, env=env, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, done.stderr
    assert (tmp_path / "review" / "index.html").is_file()
