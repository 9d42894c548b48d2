"""The site checklist: what trends cannot show, per finding and per kind of terminal, to print and tick."""

from analyzer.checklist.items import Item, fitting
from analyzer.checklist.page import CHECKLIST, write_checklist

__all__ = ["CHECKLIST", "Item", "fitting", "write_checklist"]
