"""The ledger adds up, and nothing is set aside under a name that it does not know."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.ledger import FORMAT, REASONS, ColumnLedger, FileLedger, Ledger


def _example() -> Ledger:
    zone = ColumnLedger("VAV 3 ZN-T", "VAV-3", "zone_temp", "degF", cells_used=90)
    zone.put_aside("missing value", 8)
    zone.put_aside("unreadable value", 1)
    zone.put_aside("missing value", 1)
    spare = ColumnLedger("spare")
    spare.put_aside("unmapped column", 100)
    flow = ColumnLedger("flow", "VAV-4", "primary_flow", "cfm", cells_used=50)
    flow.put_aside("missing value", 3)
    return Ledger(
        files=[
            FileLedger("one.csv", [zone, spare], {"preamble": 2}),
            FileLedger("two.csv", [flow], {"preamble": 1, "footer": 1}),
        ]
    )


def test_counts_add_up_per_column_file_and_in_total():
    ledger = _example()
    assert ledger.cells_read == 253
    assert ledger.cells_used == 140
    assert ledger.set_aside == {"unmapped column": 100, "missing value": 12, "unreadable value": 1}
    assert [file.cells_read for file in ledger.files] == [200, 53]
    assert ledger.not_data_lines == {"preamble": 3, "footer": 1}


def test_reasons_come_in_the_order_of_the_list():
    assert list(_example().set_aside) == [reason for reason in REASONS if reason in _example().set_aside]


def test_an_unknown_reason_is_refused_and_zero_leaves_no_trace():
    column = ColumnLedger("x")
    with pytest.raises(ValueError, match="'lost' is not a reason of the ledger"):
        column.put_aside("lost", 1)
    column.put_aside("missing value", 0)
    assert column.set_aside == {}


def test_an_assumption_is_stated_once():
    ledger = Ledger()
    for sentence in ("Times are UTC.", "Flow is cfm.", "Times are UTC."):
        ledger.assume(sentence)
    assert ledger.assumptions == ["Times are UTC.", "Flow is cfm."]


def test_the_written_shape():
    ledger = _example()
    ledger.assume("Times are UTC.")
    told = json.loads(json.dumps(ledger.to_dict()))
    assert told["format"] == FORMAT == "trendwright-ledger/1"
    assert set(told) == {
        "format",
        "cells_read",
        "cells_used",
        "set_aside",
        "not_data_lines",
        "assumptions",
        "files",
    }
    assert set(told["files"][0]) == {"file", "cells_read", "cells_used", "set_aside", "not_data_lines", "columns"}
    assert told["files"][0]["columns"][0] == {
        "column": "VAV 3 ZN-T",
        "terminal": "VAV-3",
        "quantity": "zone_temp",
        "unit": "degF",
        "cells_used": 90,
        "set_aside": {"missing value": 9, "unreadable value": 1},
    }
    ledger.contract = {"success": True}
    assert ledger.to_dict()["contract"] == {"success": True}


@given(
    st.lists(
        st.lists(
            st.tuples(st.integers(0, 10**9), st.lists(st.tuples(st.sampled_from(REASONS), st.integers(0, 10**6)))),
            max_size=4,
        ),
        max_size=4,
    )
)
def test_the_identity_holds_whatever_is_read(files):
    ledger = Ledger()
    put = 0
    for number, columns in enumerate(files):
        file = FileLedger(f"{number}.csv")
        for used, set_aside in columns:
            column = ColumnLedger("c", cells_used=used)
            for reason, cells in set_aside:
                column.put_aside(reason, cells)
                put += cells
            file.columns.append(column)
        ledger.files.append(file)
    told = ledger.to_dict()
    assert sum(told["set_aside"].values()) == put
    for account in (told, *told["files"]):
        assert account["cells_read"] == account["cells_used"] + sum(account["set_aside"].values())
    assert told["cells_read"] == sum(file["cells_read"] for file in told["files"])
