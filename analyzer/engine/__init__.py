"""The rule book and the engine that judges every terminal by it.

Other rooms ask this room for names, not its modules; each is loaded on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.faces import handed_out

if TYPE_CHECKING:
    from analyzer.engine.air_tally import NOT_ASSIGNED
    from analyzer.engine.building import (
        BuildingJudgement,
        CommonCauses,
        joined_tables,
        judge_air_handlers,
        judge_terminals,
        laid_together,
    )
    from analyzer.engine.common_cause import FaultsAtOnce, add_up, faults_at_once, parts_of, with_those_by_themselves
    from analyzer.engine.episodes import Episodes
    from analyzer.engine.evidence import RULED_OUT, SUPPORTED
    from analyzer.engine.explained import Explained, joined_spans
    from analyzer.engine.expressions import Expression, Truth
    from analyzer.engine.groups import Group, across, groups_of
    from analyzer.engine.judge import Judgement
    from analyzer.engine.reasons import CONTEXT, INTERVAL, OF_FANS, SAMPLES, SCHEDULE, TREND
    from analyzer.engine.rows import names_at
    from analyzer.engine.rule import AIR_HANDLER, IMPACTS, SEVERITIES, Graded, Limit, MeasureRule, Rule, who_acts
    from analyzer.engine.rule_file import Condition, LimitTable, Table, Words, dimension_of, limit_of
    from analyzer.engine.rule_names import check_expression, figures_in, is_state
    from analyzer.engine.rulebook import moved_limit, read_rules, toml_files
    from analyzer.engine.wording import KINDS, Forms, Passage, Text, forms, forms_of, words_of

__all__ = [
    "AIR_HANDLER",
    "BuildingJudgement",
    "CONTEXT",
    "CommonCauses",
    "Condition",
    "Episodes",
    "Explained",
    "Expression",
    "FaultsAtOnce",
    "Forms",
    "Graded",
    "Group",
    "IMPACTS",
    "INTERVAL",
    "Judgement",
    "KINDS",
    "Limit",
    "LimitTable",
    "MeasureRule",
    "NOT_ASSIGNED",
    "OF_FANS",
    "Passage",
    "RULED_OUT",
    "Rule",
    "SAMPLES",
    "SCHEDULE",
    "SEVERITIES",
    "SUPPORTED",
    "TREND",
    "Table",
    "Text",
    "Truth",
    "Words",
    "across",
    "add_up",
    "check_expression",
    "dimension_of",
    "faults_at_once",
    "figures_in",
    "forms",
    "forms_of",
    "groups_of",
    "is_state",
    "joined_spans",
    "joined_tables",
    "judge_air_handlers",
    "judge_terminals",
    "laid_together",
    "limit_of",
    "moved_limit",
    "names_at",
    "parts_of",
    "read_rules",
    "toml_files",
    "who_acts",
    "with_those_by_themselves",
    "words_of",
]

INSIDE = {
    "air_tally": ("NOT_ASSIGNED",),
    "building": (
        "BuildingJudgement",
        "CommonCauses",
        "joined_tables",
        "judge_air_handlers",
        "judge_terminals",
        "laid_together",
    ),
    "common_cause": ("FaultsAtOnce", "add_up", "faults_at_once", "parts_of", "with_those_by_themselves"),
    "episodes": ("Episodes",),
    "evidence": ("RULED_OUT", "SUPPORTED"),
    "explained": ("Explained", "joined_spans"),
    "expressions": ("Expression", "Truth"),
    "groups": ("Group", "across", "groups_of"),
    "judge": ("Judgement",),
    "reasons": ("CONTEXT", "INTERVAL", "OF_FANS", "SAMPLES", "SCHEDULE", "TREND"),
    "rows": ("names_at",),
    "rule": ("AIR_HANDLER", "Graded", "IMPACTS", "Limit", "MeasureRule", "Rule", "SEVERITIES", "who_acts"),
    "rule_file": ("Condition", "LimitTable", "Table", "Words", "dimension_of", "limit_of"),
    "rule_names": ("check_expression", "figures_in", "is_state"),
    "rulebook": ("moved_limit", "read_rules", "toml_files"),
    "wording": ("Forms", "KINDS", "Passage", "Text", "forms", "forms_of", "words_of"),
}
__getattr__ = handed_out(__name__, INSIDE)
