"""One cause file: its shape, and how it is read and checked. An unknown key or name is refused, never passed over."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from analyzer.complaint.cause import Cause, Derived, Sign
from analyzer.complaint.figures import FIGURES
from analyzer.engine import (
    Condition,
    Expression,
    LimitTable,
    Table,
    Words,
    check_expression,
    dimension_of,
    figures_in,
    is_state,
    limit_of,
)
from analyzer.errors import RuleError, nearest
from analyzer.quantities import TERMINAL
from analyzer.signals import NUMBERS, SIGNALS
from analyzer.validation import read_settings

_MOST = 40  # entries of one kind: a cause with more is no cause but a list


class _SignTable(Table):
    when: Condition
    only_when: Condition | None = None
    weight: Literal["decisive", "strong", "weak"]
    say: Words | None = None
    otherwise: Words | None = None


class _FigureTable(Table):
    expression: Condition
    unit: str


class _CauseTable(Table):
    title: Words
    feels: Annotated[list[Literal["cold", "warm"]], Field(min_length=1)]
    applies_to: Annotated[list[Literal["all", "single-duct", "series", "parallel"]], Field(min_length=1)] = ["all"]
    only_with: list[Literal["reheat"]] = []
    rules: list[str] = []
    caution: Words | None = None
    signs: Annotated[list[_SignTable], Field(min_length=1, max_length=_MOST)]
    limits: Annotated[dict[str, LimitTable], Field(max_length=_MOST)] = {}
    figures: Annotated[dict[str, _FigureTable], Field(max_length=_MOST)] = {}


def read_cause(file: Path) -> Cause:
    """Read one cause file; its name is the cause's id.

    Raises
    ------
    RuleError
        The file cannot be read, or says something that a cause cannot be.
    """
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", file.stem):
        raise RuleError(file, "a cause's file name is its id: lower-case words joined by hyphens", "Rename the file.")
    table = read_settings(file, _CauseTable, RuleError, "cause")
    try:
        cause = _cause(file, table)
        _check_names(cause)
    except ValueError as error:
        raise RuleError(file, str(error), "Correct the cause file and run again.") from None
    return cause


def _cause(file: Path, table: _CauseTable) -> Cause:
    return Cause(
        id=file.stem,
        file=file,
        title=table.title,
        feels=tuple(table.feels),
        applies_to=tuple(table.applies_to),
        only_with=tuple(table.only_with),
        rules=tuple(table.rules),
        caution=table.caution,
        signs=tuple(
            Sign(sign.when, sign.weight, sign.say or "", sign.otherwise or "", sign.only_when) for sign in table.signs
        ),
        limits={name: limit_of(name, limit) for name, limit in table.limits.items()},
        figures={
            name: Derived(name, figure.expression, dimension_of(figure.unit, f"figures.{name}.unit"))
            for name, figure in table.figures.items()
        },
    )


def _check_names(cause: Cause) -> None:
    """Refuse a name that means nothing or two things, a condition of the wrong type, and a sign without words."""
    plain = {*TERMINAL, *SIGNALS, *NUMBERS, *FIGURES}
    for what, own in (("limits", cause.limits), ("figures", cause.figures)):
        for name in own:
            if name in plain or (what == "figures" and name in cause.limits):
                raise ValueError(f"{what}.{name}: the name is taken; choose another")
    for figure in cause.figures.values():
        place = f"figures.{figure.name}"
        _check_expression(cause, place, figure.expression, plain | set(cause.limits), condition=False)
    known = plain | set(cause.limits) | set(cause.figures)
    for number, sign in enumerate(cause.signs, 1):
        place = f"signs {number}"
        if not (sign.say or sign.otherwise):
            raise ValueError(f"{place}: has neither say nor otherwise: it would weigh nothing")
        _check_expression(cause, f"{place}.when", sign.when, known, condition=True)
        if sign.only_when is not None:
            _check_expression(cause, f"{place}.only_when", sign.only_when, known, condition=True)
        for key, text in (("say", sign.say), ("otherwise", sign.otherwise)):
            for name in figures_in(text, f"{place}.{key}"):
                if name not in known:
                    raise ValueError(f"{place}.{key}: {{{name}}} is no known figure{nearest(name, known)}")


def _check_expression(cause: Cause, place: str, expression: Expression, known: set[str], *, condition: bool) -> None:
    check_expression(expression, place, known, cause.limits, _state, owner="cause", condition=condition)


def _state(name: str) -> bool:
    return FIGURES[name].state if name in FIGURES else is_state(name)
