"""A building's description proposed from its exports: point list, terminal schedule and site file."""

from analyzer.draft.writing import FILES, draft

__all__ = ["FILES", "draft"]
