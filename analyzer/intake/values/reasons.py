"""The reasons of the ledger as small numbers, for whole arrays of cells."""

from analyzer.ledger import REASONS

USED = 0
REASON = {name: number for number, name in enumerate(REASONS, 1)}
