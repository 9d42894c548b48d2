"""A store of trends that grows: deliveries of exports, laid week by week, each cell once.

    store.json                          which files count, and what each delivery brought
    weeks/2026-01-26/trends-0003.parquet
    weeks/2026-01-26/air_handlers-0003.parquet
    deliveries/0003/ledger.json         the account of the delivery's cells
    deliveries/0003/exports.json        its files, where they lay, and a digest of each
    deliveries/0003/corrections.parquet what it corrected, before and after

A week begins on Monday, by the site's clock. A delivery writes the weeks anew that it touches, and then ``store.json``
in one step: who is killed before that has changed nothing. Files that it replaced lie there until the next delivery,
for whoever reads them meanwhile.
"""

from analyzer.trend_store.delivering import Delivered, check_store, deliver

__all__ = ["Delivered", "check_store", "deliver"]
