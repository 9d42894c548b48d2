"""``python -m tests.reliability [--times N] [--seed K]``: kill and interrupt every command that writes, many times over."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

from tests.reliability import campaign
from tests.reliability.commands import COMMANDS, Runner, Stage, furnish


def main() -> None:
    """Run, and tell the counts of each command; a fault that was not survived ends it."""
    parser = argparse.ArgumentParser(prog="python -m tests.reliability", description=__doc__)
    parser.add_argument("--times", type=int, default=30, help="kills, and interruptions, of each command")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    runner = Runner()
    with tempfile.TemporaryDirectory() as folder:
        room = Path(folder) / "room"
        furnish(room, runner)
        for name, command in COMMANDS.items():
            stage = Stage(room, runner, command)
            for fault in (campaign.kill, campaign.interrupt):
                told = ", ".join(f"{count} {what}" for what, count in fault(stage, given.times, given.seed).items())
                print(f"{name}, {fault.__name__}: {told}", flush=True)
            stage.reset()
    runner.close()


if __name__ == "__main__":
    main()
