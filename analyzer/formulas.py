"""Texts that a spreadsheet would take for a formula: an apostrophe keeps them texts, and is taken off again."""

from __future__ import annotations

# A spreadsheet takes a text that begins with one of these for a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
KEPT = r"^'(?=[=+\-@\t\r])"  # the apostrophe before such a text


def as_text(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell.startswith(FORMULA) else cell


def as_meant(cell: str) -> str:
    """Return a cell without the apostrophe that kept it from being a formula."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(FORMULA) else cell
