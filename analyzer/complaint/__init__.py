"""One comfort complaint: what a terminal did around a time, the likely causes, and what to look at on site."""

from analyzer.complaint.cause import FEELS
from analyzer.complaint.page import Complaint, answer

__all__ = ["FEELS", "Complaint", "answer"]
