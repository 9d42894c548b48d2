"""``python -m tests.accuracy``: measure how often the rule book is right, and write ``docs/accuracy.md``."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from sample_trends.field import Period
from sample_trends.field.files import write_field_exports
from tests.accuracy.field.measure import kept, measure_field
from tests.accuracy.field.table import compact
from tests.accuracy.measure import measure
from tests.accuracy.page import page
from tests.accuracy.plan import whole_plan

PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy.md"
SEED = 8000
FIELD_SEED, FIELD_BUILDINGS = 1404, 24


def main() -> None:
    """Read the call, measure, write the page."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy", description=__doc__)
    parser.add_argument(
        "--seed", type=int, help=f"the first of 30 seeds (default: {SEED}; of field mode: {FIELD_SEED})"
    )
    parser.add_argument("--with-field", action="store_true", help="the page has field mode, too")
    parser.add_argument("--field", action="store_true", help="measure field mode only, and print it")
    parser.add_argument(
        "--through-files", type=Path, metavar="DIR", help="field mode by way of raw files in this folder"
    )
    parser.add_argument("--field-exports", type=Path, metavar="DIR", help="only write a field period as raw files")
    parser.add_argument("--buildings", type=int, default=6, help="of field mode (default: %(default)s)")
    parser.add_argument("--days", type=float, help="of field mode, where not drawn")
    parser.add_argument("--terminals", type=int, help="of field mode, where not drawn")
    parser.add_argument(
        "--standing", action="store_true", help="field mode: every air handler has a trouble that stands"
    )
    parser.add_argument("--all-logged", action="store_true", help="field mode: every point is in the export")
    parser.add_argument("--minutes", type=int, help="field mode: the interval, where not drawn")
    parser.add_argument(
        "--faults", metavar="KIND,…", type=lambda text: tuple(text.split(",")), default=(),
        help="field mode: buildings that are not sound have faults of these kinds and no others",
    )  # fmt: skip
    parser.add_argument("--workers", type=int, default=1, help="of field mode: processes (default: %(default)s)")
    parser.add_argument("--out", type=Path, default=PAGE, help="the page (default: %(default)s)")
    call = parser.parse_args()
    if call.field_exports:
        period = Period(FIELD_SEED if call.seed is None else call.seed)
        print(write_field_exports(kept(period), call.field_exports))
        return
    if call.field or call.through_files:
        first = FIELD_SEED if call.seed is None else call.seed
        periods = [
            Period(first + number, call.days, call.terminals, call.standing, call.all_logged, call.faults, call.minutes)
            for number in range(call.buildings)
        ]
        said = lambda text: print(text, flush=True)  # noqa: E731
        print(compact(measure_field(periods, said, call.workers, call.through_files)))
        return
    measured = measure(whole_plan(SEED if call.seed is None else call.seed), lambda said: print(said, flush=True))
    field = None
    if call.with_field:
        field = measure_field([Period(FIELD_SEED + number) for number in range(FIELD_BUILDINGS)], workers=call.workers)
    call.out.write_text(page(measured, date.today(), field), encoding="utf-8")
    print(call.out)


if __name__ == "__main__":
    main()
