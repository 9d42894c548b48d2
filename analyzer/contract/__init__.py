"""The normalized table's data contract, as a Great Expectations suite, checked over the whole table in every review.

The library takes seconds to import. It is loaded in a process of its own, which starts when the review starts and is
handed the table, a group of terminals at a time, when there is one: the check runs beside the writing.
"""

from __future__ import annotations

from analyzer.contract.check import ContractCheck

__all__ = ["ContractCheck"]
