"""The normalized table's data contract, as a Great Expectations suite, checked in every review.

The library takes seconds to import. It is loaded in a process of its own, which starts when the review starts and is
handed the extremes of the table when there is one: by then it is ready, and the check runs beside the writing.
"""

from __future__ import annotations

from analyzer.contract.check import ContractCheck
from analyzer.contract.stand_ins import extremes

__all__ = ["ContractCheck", "extremes"]
