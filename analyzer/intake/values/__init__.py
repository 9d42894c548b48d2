"""Cells to SI: units, percent, what cannot be, and the account of every cell."""
