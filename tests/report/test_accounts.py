"""How the index tells the accounting of many files: a line a folder and kind, and the sums as before."""

from analyzer.ledger import ColumnLedger, FileLedger, Ledger
from analyzer.report.accounts import MOST_FILES, ledger_account


def _file(name: str, used: int = 90, missing: int = 10) -> FileLedger:
    return FileLedger(name, [ColumnLedger("ZN-T", "TU-1", "zone_temp", "degF", used, {"missing value": missing})])


def test_few_files_are_told_one_by_one():
    account = ledger_account(Ledger([_file(f"trends/TU-{n}.csv") for n in range(MOST_FILES)]))
    assert account["groups"] == account["files"] and len(account["files"]) == MOST_FILES


def test_many_files_are_summed_by_folder_and_kind_and_one_alone_keeps_its_name():
    names = (
        [f"trends/TU-{n}.2.csv" for n in range(12)]
        + [f"trends/{n}.csv.gz" for n in range(3)]
        + ["trends/air/AHU-1.csv"]
    )
    account = ledger_account(Ledger([_file(name) for name in names]))
    told = {group["file"]: (group["read"], group["used"], group["aside"]) for group in account["groups"]}
    assert told == {
        "trends/: 12 files (.csv)": (1200, 1080, [("missing value", 120)]),
        "trends/: 3 files (.csv.gz)": (300, 270, [("missing value", 30)]),
        "trends/air/AHU-1.csv": (100, 90, [("missing value", 10)]),
    }
    assert len(account["files"]) == len(names)
    assert sum(group["read"] for group in account["groups"]) == account["read"]
