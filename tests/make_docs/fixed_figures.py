"""The figures that stand in the code of signals and no rule file: which they are, with unit and reason, for the pages.

They are taken from the modules as they are written: a constant in capitals, and the remark above it.
"""

from __future__ import annotations

import ast
import importlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from analyzer.engine.rule import Rule
from analyzer.signals import SIGNALS

PACKAGE = "analyzer.signals."
# What lays rows out, groups and registers holds no figure of the trade.
WITHOUT_FIGURES = {"scene", "layout", "grouped", "windows", "register", "axes", "agreed", "made_of", "shared"}


@dataclass(frozen=True)
class Figure:
    """A constant, or several under one remark."""

    names: str
    values: str
    remark: str


def modules_of(rule: Rule) -> list[str]:
    """Name the modules of a rule's signals, and those that they import, where these hold figures."""
    own = {SIGNALS[name].function.__module__ for name in rule.names if name in SIGNALS}
    helpers = {name for module in own for name in _imported(module)}
    found = {name.removeprefix(PACKAGE) for name in own | helpers}
    return sorted(name for name in found - WITHOUT_FIGURES if figures_of(name))


@cache
def _imported(module: str) -> tuple[str, ...]:
    tree = ast.parse(_source(module))
    names = [node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module]
    return tuple(name for name in names if name.startswith(PACKAGE))


def _source(module: str) -> str:
    return Path(importlib.import_module(module).__file__).read_text("utf-8")


@cache
def figures_of(module: str) -> tuple[Figure, ...]:
    """Return the constants of a module of signals that are numbers, each with the remark above it."""
    lines = _source(PACKAGE + module).splitlines()
    found, remark = [], []
    for node in ast.parse("\n".join(lines)).body:
        if not isinstance(node, ast.Assign) or not _numeric(node.value):
            continue
        names = [part for target in node.targets for part in _names(target)]
        if not names or not all(name.isupper() and not name.startswith("_") for name in names):
            continue
        above = _remark_above(lines, node.lineno - 1)
        remark = above or remark
        found.append(Figure(", ".join(names), ast.unparse(node.value).strip("()"), " ".join(remark)))
    return tuple(figure for figure in found if figure.remark)


def _remark_above(lines: list[str], at: int) -> list[str]:
    first = at
    while first and lines[first - 1].startswith("# "):
        first -= 1
    return [line[2:] for line in lines[first:at]]


def _names(target: ast.expr) -> list[str]:
    if isinstance(target, ast.Tuple):
        return [part.id for part in target.elts if isinstance(part, ast.Name)]
    return [target.id] if isinstance(target, ast.Name) else []


def _numeric(value: ast.expr) -> bool:
    parts = value.elts if isinstance(value, ast.Tuple) else [value]
    return all(
        isinstance(node, ast.Constant | ast.BinOp | ast.UnaryOp) and not isinstance(getattr(node, "value", 0), str)
        for node in parts
    )


def fixed_figures_page() -> str:
    """Return the page of all of them as Markdown, by module."""
    modules = sorted({signal.function.__module__ for signal in SIGNALS.values()})
    every = {name.removeprefix(PACKAGE) for module in modules for name in (module, *_imported(module))}
    parts = [
        "# Figures in the signals",
        "What the signals of the rules decide by and no rule file holds: they cannot be moved in a site file. Each stands in "
        "the module named, with its unit in brackets; every rule's page names its modules. A figure that a user may want to "
        "move is a limit of the rule instead.",
    ]
    for module in sorted(every - WITHOUT_FIGURES):
        rows = [f"| `{own.names}` | {own.values} | {own.remark.replace('|', '/')} |" for own in figures_of(module)]
        if rows:
            parts += [f"## {module}", "| figure | value | what it is, and why |\n|---|---|---|\n" + "\n".join(rows)]
    return "\n\n".join(parts) + "\n"
