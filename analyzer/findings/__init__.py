"""Verdicts turned into findings: severity, impact, evidence in words, what to do next.

Other rooms ask this room for names, not its modules; each is loaded on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.faces import handed_out

if TYPE_CHECKING:
    from analyzer.findings.answers import ISSUE_LOG, Answers, answers_in, carry, read_answers, says_corrected
    from analyzer.findings.findings import collect, findings_of_air_handlers, forms_by_terminal, of_owners, put_in_order
    from analyzer.findings.heating import heating_capability
    from analyzer.findings.history import read_findings, standing_table, with_history
    from analyzer.findings.issue_log import write_issue_log
    from analyzer.findings.plain_names import plain, plain_name
    from analyzer.findings.ranked import ranked_terminals
    from analyzer.findings.results import (
        BUILDING_SCOPE,
        IMPACTS,
        REQUEST_COLUMNS,
        SEVERITIES,
        TERMINAL_SCOPE,
        Answer,
        Completeness,
        Finding,
        Measure,
        Results,
    )
    from analyzer.findings.rules_used import FURTHER_FROM_ZERO, LOWER
    from analyzer.findings.stored import StoredReview, points_of, read_review
    from analyzer.findings.tables import TABLES, findings_frame, neutralised, write_tables
    from analyzer.findings.yearly import Range, Yearly, summed, yearly_of_findings, yearly_of_terminals

__all__ = [
    "Answer",
    "Answers",
    "BUILDING_SCOPE",
    "Completeness",
    "FURTHER_FROM_ZERO",
    "Finding",
    "IMPACTS",
    "ISSUE_LOG",
    "LOWER",
    "Measure",
    "REQUEST_COLUMNS",
    "Range",
    "Results",
    "SEVERITIES",
    "StoredReview",
    "TABLES",
    "TERMINAL_SCOPE",
    "Yearly",
    "answers_in",
    "carry",
    "collect",
    "findings_frame",
    "findings_of_air_handlers",
    "forms_by_terminal",
    "heating_capability",
    "neutralised",
    "of_owners",
    "plain",
    "plain_name",
    "points_of",
    "put_in_order",
    "ranked_terminals",
    "read_answers",
    "read_findings",
    "read_review",
    "says_corrected",
    "standing_table",
    "summed",
    "with_history",
    "write_issue_log",
    "write_tables",
    "yearly_of_findings",
    "yearly_of_terminals",
]

INSIDE = {
    "answers": ("Answers", "ISSUE_LOG", "answers_in", "carry", "read_answers", "says_corrected"),
    "findings": ("collect", "findings_of_air_handlers", "forms_by_terminal", "of_owners", "put_in_order"),
    "heating": ("heating_capability",),
    "history": ("read_findings", "standing_table", "with_history"),
    "issue_log": ("write_issue_log",),
    "plain_names": ("plain", "plain_name"),
    "ranked": ("ranked_terminals",),
    "results": (
        "Answer",
        "BUILDING_SCOPE",
        "Completeness",
        "Finding",
        "IMPACTS",
        "Measure",
        "REQUEST_COLUMNS",
        "Results",
        "SEVERITIES",
        "TERMINAL_SCOPE",
    ),
    "rules_used": ("FURTHER_FROM_ZERO", "LOWER"),
    "stored": ("StoredReview", "points_of", "read_review"),
    "tables": ("TABLES", "findings_frame", "neutralised", "write_tables"),
    "yearly": ("Range", "Yearly", "summed", "yearly_of_findings", "yearly_of_terminals"),
}
__getattr__ = handed_out(__name__, INSIDE)
