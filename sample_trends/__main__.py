"""``python -m sample_trends``: write the demo building's exports."""

from __future__ import annotations

import argparse
from pathlib import Path

from sample_trends.exports import write_exports

SEED = 5


def main() -> None:
    """Read the call and write the exports."""
    parser = argparse.ArgumentParser(prog="python -m sample_trends", description="Write the demo building's exports.")
    parser.add_argument("--seed", type=int, default=SEED, help="of weather, people and noise (default: %(default)s)")
    parser.add_argument(
        "--out", type=Path, default=Path(__file__).parent / "exports", help="folder (default: %(default)s)"
    )
    call = parser.parse_args()
    for path in write_exports(call.out, call.seed):
        print(f"{path.stat().st_size:>10,}  {path}")


if __name__ == "__main__":
    main()
