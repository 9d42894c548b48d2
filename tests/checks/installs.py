"""The checks that install trendwright where there is nothing of it: from its wheel, and on the lowest versions allowed."""

from __future__ import annotations

import os
import re
import shutil
import sys
import tempfile
import tomllib
import zipfile
from collections.abc import Callable
from pathlib import Path

from tests.checks.running import CHECKOUT, complaint, first_complaint

# Where a library's behaviour shows: tables read and written, rules judged, findings worded, workbooks and pages made.
TESTS_AT_THE_LOWEST = ("tests/foundation", "tests/site", "tests/rules", "tests/findings")
TEST_TOOLS = ("pytest", "pytest-timeout", "hypothesis", "pint")
VERDICTS = ("verdicts.csv", "findings.csv", "ledger.json")


def wheel() -> str:
    """Build the wheel, install it into an empty environment, and review the demo from a folder of its own."""
    return _in_a_room(_wheel)


def bounds() -> str:
    """Install the lowest versions that are allowed: the demo's verdicts are the same, and the tests pass."""
    return _in_a_room(_bounds)


def _in_a_room(check: Callable[[Path], str]) -> str:
    with tempfile.TemporaryDirectory(prefix="trendwright-check-") as room:
        return check(Path(room))


def _wheel(room: Path) -> str:
    if said := _uv("build", "--wheel", "--out-dir", room, CHECKOUT):
        return said
    (built,) = room.glob("trendwright-*.whl")
    if said := _claims(built):
        return said
    if said := _environment(room, built) or _heavy(room / "env"):
        return said
    command = room / "env" / "bin" / "trendwright"
    return first_complaint(
        [command, "rules"],
        [command, "demo", "demo"],
        [command, "review", "demo", "--out", "review", "-q"],
        [command, "complaint", "review", "--terminal", "VAV-2-05", "--at", "2026-01-28 14:30"],
        [room / "env" / "bin" / "python", "-c", "import analyzer; analyzer.read_site('demo')"],
        cwd=room,
        env=_alone(room),
    ) or _missing(room / "review", ("index.html", "issue_log.xlsx", *VERDICTS))  # fmt: skip


def _claims(built: Path) -> str:
    """Tell what names a wheel would take beside its own, and whether it says that it is typed."""
    names = zipfile.ZipFile(built).namelist()
    claimed = {name.split("/")[0] for name in names}
    others = {name for name in claimed if name != "analyzer" and not name.endswith(".dist-info")}
    if others:
        return f"the wheel claims {', '.join(sorted(others))} beside its own name\n"
    return "" if "analyzer/py.typed" in names else "the wheel holds no analyzer/py.typed\n"


def _heavy(environment: Path) -> str:
    """Tell whether an install weighs more than the README says, which counts the compiled modules too."""
    (stated,) = re.findall(r"An install weighs about\s+(\d+)\s+MB", _text(CHECKOUT / "README.md"))
    weight = sum(file.stat().st_size for file in environment.rglob("*") if file.is_file()) / 1024**2
    return f"an install weighs {weight:.0f} MB, and README.md says {stated}\n" if weight > int(stated) else ""


def _bounds(room: Path) -> str:
    lowest = lowest_versions()
    pinned = room / "lowest.txt"
    pinned.write_text("".join(f"{name}=={version}\n" for name, version in lowest.items()), encoding="utf-8")
    said = _environment(room, "--requirement", pinned) or _environment(room, *TEST_TOOLS)
    if said:
        return f"{said}What cannot be installed is no lower bound: raise it in pyproject.toml.\n"
    python = room / "env" / "bin" / "python"
    return first_complaint(
        [python, "-c", _SAME_VERSIONS, *(f"{name}=={version}" for name, version in lowest.items())],
        [python, "-W", "error::FutureWarning", "-m", "analyzer", "demo", "demo"],
        [python, "-W", "error::FutureWarning", "-m", "analyzer", "review", "demo", "--out", "lowest", "-q"],
        [sys.executable, "-m", "analyzer", "review", "demo", "--out", "here", "-q"],
        cwd=room,
        env=_alone(room, CHECKOUT),
    ) or _other_verdicts(room) or complaint(
        [python, "-m", "pytest", "-q", "-p", "no:cacheprovider", *TESTS_AT_THE_LOWEST], env=_alone(room)
    )  # fmt: skip


def lowest_versions() -> dict[str, str]:
    """Return the lowest version of each dependency that ``pyproject.toml`` allows."""
    told = tomllib.loads((CHECKOUT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    return dict(re.match(r"([\w-]+)>=([\w.]+)", line).groups() for line in told)


# An installer that took another version than it was asked for would make the check say nothing.
_SAME_VERSIONS = """
import sys
from importlib.metadata import version
from packaging.version import Version
for name, asked in (word.split("==") for word in sys.argv[1:]):
    assert Version(version(name)) == Version(asked), f"{name} is {version(name)}, not {asked}"
"""


def _other_verdicts(room: Path) -> str:
    other = [name for name in VERDICTS if _text(room / "lowest" / name) != _text(room / "here" / name)]
    return f"the lowest versions come to another {', '.join(other)} than those installed here\n" if other else ""


def _text(file: Path) -> str:
    return file.read_text(encoding="utf-8")


def _missing(folder: Path, names: tuple[str, ...]) -> str:
    return "".join(f"{folder / name} was not written\n" for name in names if not (folder / name).is_file())


def _environment(room: Path, *what: str | Path) -> str:
    """Install something into the room's environment, which is made where it is not there yet."""
    env = room / "env"
    said = "" if env.exists() else _uv("venv", "--python", sys.executable, env)
    return said or _uv("pip", "install", "--python", env / "bin" / "python", *what)


def _uv(*words: str | Path) -> str:
    """Call the installer, on the package index that pip was told of, if any."""
    told = {"UV_DEFAULT_INDEX": os.environ.get("PIP_INDEX_URL"), "SSL_CERT_FILE": os.environ.get("PIP_CERT")}
    beside = Path(sys.executable).with_name("uv")
    call = [beside if beside.exists() else shutil.which("uv") or "uv", "--quiet", *words]
    return complaint(call, env={name: value for name, value in told.items() if value})


def _alone(room: Path, *path: Path) -> dict[str, str]:
    """Return an environment that leads to no other trendwright than the one in the room."""
    return {"HOME": str(room), "PYTHONPATH": os.pathsep.join(map(str, path))}
