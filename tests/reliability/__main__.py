"""``python -m tests.reliability [--times N] [--seed K]``: kill and interrupt every command that writes, many times over."""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

from tests.loaded.commands import Runner
from tests.reliability import campaign
from tests.reliability.commands import COMMANDS, Stage, furnish

FAULTS = {"kill": campaign.kill, "interrupt": campaign.interrupt}


def main() -> None:
    """Run, and tell the counts of each command; a fault that was not survived ends it."""
    parser = argparse.ArgumentParser(prog="python -m tests.reliability", description=__doc__)
    parser.add_argument("--times", type=int, default=30, help="kills, and interruptions, of each command")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--faults", nargs="+", choices=FAULTS, default=list(FAULTS))
    parser.add_argument("--commands", nargs="+", choices=COMMANDS, default=list(COMMANDS))
    given = parser.parse_args()
    runner, total = Runner(), Counter()
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder) / "room"
        furnish(room, runner)
        for name in given.commands:
            stage = Stage(room, runner, COMMANDS[name])
            for fault in given.faults:
                counted = FAULTS[fault](stage, given.times, given.seed)
                total.update(counted)
                print(f"{name}, {fault}: {', '.join(f'{count} {what}' for what, count in counted.items())}", flush=True)
            stage.reset()
    runner.close()
    print(f"in all: {', '.join(f'{count} {what}' for what, count in total.items())}; nothing was lost")


if __name__ == "__main__":
    main()
