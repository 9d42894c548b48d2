"""What nobody uses: code that only its own tests call, and signals that no rule and no other signal asks for."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from tests.checks.running import CHECKOUT

# Every quantity of a terminal has one: a point whose log ends is told by name.
LOG_ENDS = "_log_ended_for"
OF_A_QUANTITY = "; give the quantity a measure and an evidence in rules/point-log-ended.toml, as co2 has them"
ALLOWED = Path(__file__).with_name("allowed_unused.py")


def unused() -> list[str]:
    """Return a line for each: in what is shipped, in the tests, among the signals."""
    # What is shipped is looked at without the tests, so that a test does not keep alive what nothing else needs.
    shipped = _vulture("analyzer", "sample_trends")
    tests = [line for line in _vulture("analyzer", "sample_trends", "tests") if line.startswith("tests/")]
    return shipped + tests + unused_signals() + allowed_in_vain()


def _vulture(*folders: str) -> list[str]:
    ended = subprocess.run(
        [sys.executable, "-m", "vulture", *folders, ALLOWED], cwd=CHECKOUT, capture_output=True, text=True, timeout=300
    )
    if ended.returncode not in (0, 3):  # 3: something is unused
        raise RuntimeError(f"vulture: {ended.stderr}")
    return ended.stdout.splitlines()


def unused_signals() -> list[str]:
    """Return a line for each signal that stands in no rule and is asked for by no code."""
    from analyzer.signals import SIGNALS

    files = [*(CHECKOUT / "rules").glob("*.toml"), *(CHECKOUT / "analyzer").rglob("*.py")]
    told = "\n".join(file.read_text(encoding="utf-8") for file in files)
    # In code a signal is asked for by its name as a text; a rule names it as it is. Its definition is neither.
    rules = "\n".join(file.read_text(encoding="utf-8") for file in files if file.suffix == ".toml")
    return [
        f"signal {name}: no rule and no other signal asks for it" + (OF_A_QUANTITY if name.endswith(LOG_ENDS) else "")
        for name in SIGNALS
        if not re.search(rf"\b{name}\b", rules) and not re.search(rf"[\"']{name}[\"']", told)
    ]


def allowed_in_vain() -> list[str]:
    """Return a line for each name on the list of what is allowed that nothing defines any more."""
    names = re.findall(r"^(?:_\.)?(\w+)$", ALLOWED.read_text(encoding="utf-8").split('"""')[2], re.MULTILINE)
    told = "\n".join(
        file.read_text(encoding="utf-8")
        for folder in ("analyzer", "sample_trends", "tests")
        for file in (CHECKOUT / folder).rglob("*.py")
        if file != ALLOWED
    )
    return [f"{ALLOWED.name}: {name} is nowhere any more" for name in names if not re.search(rf"\b{name}\b", told)]
