"""``python -m tests.checks [NAME ...]``: the named checks, or all of them, two at a time; what failed is shown whole."""

from __future__ import annotations

import sys
import time
from concurrent.futures import ThreadPoolExecutor

from tests.checks import installs, tools

# The long ones first, so that two at a time end together.
CHECKS = {
    "types": (tools.types, "mypy: strict, but for what is listed as not strict yet"),
    "wheel": (installs.wheel, "the wheel in an empty environment: it installs and reviews the demo"),
    "bounds": (installs.bounds, "the lowest versions that pyproject.toml allows: the same verdicts, and some tests"),
    "docs": (tools.docs, "pages that are made from the code are current; figures, links and commands are right"),
    "imports": (tools.imports, "imports run one way and in no circle, start light; files stay short"),
    "dead": (tools.dead, "vulture: nothing lies about that nobody uses"),
    "form": (tools.form, "ruff: lint and format"),
}
AT_ONCE = 2


def _timed(name: str) -> tuple[str, float]:
    """Return what a check complains of (nothing, if all is well), and how long it took [s]."""
    start = time.monotonic()
    return CHECKS[name][0](), time.monotonic() - start


def main(names: list[str]) -> int:
    """Make the checks and return the exit status."""
    if unknown := [name for name in names if name not in {*CHECKS, "all"}]:
        listed = "\n".join(f"  {name:<8} {said}" for name, (_, said) in CHECKS.items())
        print(f"there is no check {unknown[0]!r}; there are:\n{listed}\n  all", file=sys.stderr)
        return 2
    chosen = list(CHECKS) if not names or "all" in names else [name for name in CHECKS if name in names]
    failed = []
    with ThreadPoolExecutor(AT_ONCE) as crew:
        for name, (complaint, seconds) in zip(chosen, crew.map(_timed, chosen), strict=True):
            print(f"{name:<8} {'failed' if complaint else 'ok':<6} {seconds:6.1f} s", flush=True)
            if complaint:
                failed.append(name)
                print(complaint.rstrip(), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
