"""The places of a source that can be changed by one small step, and the source after it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass

FLIPPED = {
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
SWAPPED = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
MOVED_BY = 1.25  # of a figure with a decimal point: more than any accuracy that a test allows


@dataclass(frozen=True)
class Place:
    """One small change: what stands from ``start`` to ``end`` of the source (bytes), and what is put there instead."""

    line: int
    column: int
    start: int
    end: int
    was: str
    instead: str

    def __str__(self) -> str:
        was, instead = (" ".join(text.split()) for text in (self.was, self.instead))
        return f"{self.line}:{self.column}: {was} -> {instead}"

    def changed(self, source: str) -> str:
        """Return the source with the change made."""
        told = source.encode("utf-8")
        return (told[: self.start] + self.instead.encode("utf-8") + told[self.end :]).decode("utf-8")


def places_of(source: str) -> list[Place]:
    """Return every place of a source: annotations, docstrings and what only a type checker reads are left alone."""
    starts = [0]
    for line in source.encode("utf-8").splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for node, changed in _steps(ast.parse(source)):
        start, end = starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset
        found.append(
            Place(node.lineno, node.col_offset + 1, start, end, ast.unparse(node), f"({ast.unparse(changed)})")
        )
    return found


def _steps(tree: ast.Module) -> Iterator[tuple[ast.expr, ast.expr]]:
    """Yield each expression that can be changed, and what it is changed to."""
    for node in _run(tree):
        if isinstance(node, ast.Compare):
            yield node, _with(node, ops=[FLIPPED[type(node.ops[0])](), *node.ops[1:]])
        elif isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in SWAPPED:
            yield node, _with(node, op=SWAPPED[type(node.op)]())
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield node, _with(node, value=_moved(node.value))
        elif isinstance(node, ast.If | ast.While | ast.IfExp) and not isinstance(node.test, ast.Compare):
            yield node.test, ast.UnaryOp(ast.Not(), node.test)


def _run(node: ast.AST) -> Iterator[ast.AST]:
    """Walk what runs: no annotation, no block for type checkers, no piece of a formatted text (it cannot be cut out)."""
    yield node
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr):
                yield from _run(child)


def _with(node: ast.expr, **changed) -> ast.expr:
    other = deepcopy(node)
    for name, value in changed.items():
        setattr(other, name, value)
    return other


def _moved(value: float) -> float:
    if isinstance(value, int):
        return value + 1
    return value * MOVED_BY if value else 1.0
