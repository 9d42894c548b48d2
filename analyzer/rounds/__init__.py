"""Rounds of review compared: what was corrected, what is still there, what is new, and what is no longer judged."""

from analyzer.rounds.changes import OUTCOMES, Change, Comparison, compare
from analyzer.rounds.handover import write_comparison

__all__ = ["OUTCOMES", "Change", "Comparison", "compare", "write_comparison"]
