"""The cells that are there, counted apart from the ledger's account of them."""

from __future__ import annotations

from contextlib import contextmanager


@contextmanager
def counted_cells():
    """Count the value cells of the tables that are opened, apart from the account that the reader keeps."""
    from analyzer.intake import opened

    plain, cells = opened.gather, []

    def counting(log, points):
        cells.append(log.table.rows * len(log.layout.values))
        return plain(log, points)

    opened.gather = counting
    try:
        yield cells
    finally:
        opened.gather = plain
