"""The rule book's expressions: a small, safe subset of Python over whole columns, with unknown as a third value.

An expression is parsed with ``ast``, every node is checked against a list of what is allowed, and only then is it
evaluated: no attribute, call of anything but ``abs``, ``min``, ``max`` and ``known``, subscript or text can get in.
"""

from __future__ import annotations

import ast
from collections.abc import Callable
from functools import cached_property, partial

import numpy as np

LONGEST = 1000
MOST_NODES = 200
FUNCTIONS = {"abs": (1, 1), "min": (2, 4), "max": (2, 4), "known": (1, 1)}

_ALLOWED = (
    ast.Expression, ast.BoolOp, ast.And, ast.Or, ast.UnaryOp, ast.Not, ast.USub, ast.BinOp, ast.Add, ast.Sub,
    ast.Mult, ast.Div, ast.Compare, ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq, ast.Name, ast.Load,
    ast.Constant, ast.Call,
)  # fmt: skip
_SAID = "comparisons, and, or, not, + - * /, parentheses, numbers, names, abs(), min(), max(), known()"


class Truth:
    """A condition over all rows in three values: true, false, and unknown where neither holds.

    Each is worked out when it is asked for.
    """

    def __init__(self, node: ast.expr, look_up: Callable):
        self._node, self._look_up = node, look_up

    @cached_property
    def true(self) -> np.ndarray:
        return _holds(self._node, self._look_up, True)

    @cached_property
    def false(self) -> np.ndarray:
        return _holds(self._node, self._look_up, False)


class Conjunct:
    """One of several conditions that have to hold together.

    Attributes
    ----------
    names : frozenset of str
        The names that it needs: those that it asks ``known()`` of beside something else can be missing.
    mentioned : frozenset of str
        All names in it.
    asks_only_for : str or None
        The name, where the condition is nothing but ``known(name)``.
    """

    def __init__(self, node: ast.expr):
        self._node = node
        asked = [_names(part) for part in ast.walk(node) if _is_known(part)]
        self.asks_only_for = next(iter(_names(node))) if _is_known(node) else None
        optional = frozenset() if self.asks_only_for else frozenset().union(*asked)
        self.mentioned = _names(node)
        self.names = self.mentioned - optional

    def truth(self, look_up: Callable[[str], np.ndarray | float]) -> Truth:
        """Evaluate over all rows."""
        return Truth(self._node, look_up)

    def bears(self, look_up: Callable[[str], np.ndarray | float]) -> dict[str, np.ndarray | bool]:
        """Tell at which rows each of its names can still decide it: not in an alternative known not to hold.

        Where the whole is known not to hold, no alternative is better than another.
        """
        found: dict[str, np.ndarray | bool] = {}
        _gather_bearing(self._node, look_up, True, found)
        decided = np.asarray(self.truth(look_up).false)
        return {name: rows | decided for name, rows in found.items()}


def _gather_bearing(node: ast.expr, look_up: Callable, where: np.ndarray | bool, found: dict) -> None:
    if not isinstance(node, ast.BoolOp):
        for name in _names(node):
            found[name] = found.get(name, False) | where
        return
    for part in node.values:
        open_still = where & ~np.asarray(Truth(part, look_up).false) if isinstance(node.op, ast.Or) else where
        _gather_bearing(part, look_up, open_still, found)


def _is_known(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "known"


def _names(node: ast.AST) -> frozenset[str]:
    return frozenset(part.id for part in ast.walk(node) if isinstance(part, ast.Name)) - set(FUNCTIONS)


class Expression:
    """A checked expression.

    Parameters
    ----------
    text : str
        The expression, as the rule file holds it.

    Raises
    ------
    ValueError
        The text is no expression of the subset; the message says what is allowed.
    """

    def __init__(self, text: str):
        if not isinstance(text, str):
            raise ValueError(f"{text!r} is not an expression in quotes")
        if len(text) > LONGEST:
            raise ValueError(f"the expression is longer than {LONGEST} characters")
        self.text = text
        try:
            self._tree = ast.parse(text.strip(), mode="eval").body
        except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
            raise ValueError(f"{text!r} is not an expression ({getattr(error, 'msg', 'too deep')})") from None
        self.names = frozenset(self._check())

    def _check(self):
        nodes = list(ast.walk(self._tree))
        if len(nodes) > MOST_NODES:
            raise ValueError(f"the expression has more than {MOST_NODES} parts")
        called = {id(node.func) for node in nodes if isinstance(node, ast.Call)}
        for node in nodes:
            if not isinstance(node, _ALLOWED):
                shown = ast.unparse(node) or self.text  # an operator alone spells nothing
                raise ValueError(f"{shown!r} is not allowed in an expression; allowed are {_SAID}")
            if isinstance(node, ast.Constant) and (
                isinstance(node.value, bool) or not isinstance(node.value, int | float)
            ):
                raise ValueError(f"{node.value!r} is not allowed in an expression; allowed are {_SAID}")
            if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not abs(node.value) <= 1e12:
                raise ValueError(f"the number {str(node.value)[:20]} is out of range")
            if isinstance(node, ast.Call):
                self._check_call(node)
            if isinstance(node, ast.Name) and id(node) not in called:
                yield node.id

    def _check_call(self, node: ast.Call) -> None:
        name = node.func.id if isinstance(node.func, ast.Name) else ast.unparse(node.func)
        if name not in FUNCTIONS or node.keywords:
            raise ValueError(f"{ast.unparse(node)!r} is not allowed in an expression; allowed are {_SAID}")
        fewest, most = FUNCTIONS[name]
        if not fewest <= len(node.args) <= most:
            raise ValueError(f"{name}() takes {fewest if fewest == most else f'{fewest} to {most}'} values")

    def check_types(self, is_state: Callable[[str], bool], *, condition: bool) -> None:
        """Refuse a number where a condition is needed, and the other way round. ``occupied`` (0/1) may be either."""
        if condition:
            self._condition(self._tree, is_state)
        else:
            self._number(self._tree, is_state)

    def _condition(self, node, is_state) -> None:
        match node:
            case ast.BoolOp():
                for value in node.values:
                    self._condition(value, is_state)
            case ast.UnaryOp(op=ast.Not()):
                self._condition(node.operand, is_state)
            case ast.Compare():
                for value in (node.left, *node.comparators):
                    self._number(value, is_state)
            case ast.Name() if is_state(node.id):
                pass
            case ast.Call(func=ast.Name(id="known")):
                self._number(node.args[0], is_state)
            case _:
                raise ValueError(f"{ast.unparse(node)!r} is a number where a condition is needed")

    def _number(self, node, is_state) -> None:
        match node:
            case ast.BinOp():
                self._number(node.left, is_state)
                self._number(node.right, is_state)
            case ast.UnaryOp(op=ast.USub()):
                self._number(node.operand, is_state)
            case ast.Call(func=ast.Name(id=name)) if name != "known":
                for value in node.args:
                    self._number(value, is_state)
            case ast.Name() | ast.Constant():
                pass
            case _:
                raise ValueError(f"{ast.unparse(node)!r} is a condition where a number is needed")

    def truth(self, look_up: Callable[[str], np.ndarray | float]) -> Truth:
        """Evaluate as a condition over all rows."""
        return Truth(self._tree, look_up)

    def conditions(self) -> list[Callable[[Callable], Truth]]:
        """Return the conditions that have to hold together for the whole to hold, each to be evaluated by itself."""
        if isinstance(self._tree, ast.BoolOp) and isinstance(self._tree.op, ast.And):
            return [partial(Truth, node) for node in self._tree.values]
        return [partial(Truth, self._tree)]

    @cached_property
    def conjuncts(self) -> list[Conjunct]:
        """The conditions that have to hold together, each with what it says of its names."""
        if isinstance(self._tree, ast.BoolOp) and isinstance(self._tree.op, ast.And):
            return [Conjunct(node) for node in self._tree.values]
        return [Conjunct(self._tree)]

    def number(self, look_up: Callable[[str], np.ndarray | float]) -> np.ndarray | float:
        """Evaluate as a number over all rows."""
        return _number(self._tree, look_up)

    def direction(self, name: str) -> int | None:
        """Tell how a name works on the condition: +1 if raising it can only make it truer, -1 falser, 0 not at all.

        None where the expression cannot say (the name works both ways, or inside ``abs`` or an equality). Factors and
        divisors are taken as positive, as flows, shares and times are.
        """
        seen = set(_signs(self._tree, name, +1))
        if not seen:
            return 0
        return seen.pop() if len(seen) == 1 else None


def _holds(node, look_up, wanted: bool):
    """Tell where a condition is known to be as wanted: true, or false."""
    match node:
        case ast.BoolOp(op=op):
            parts = (_holds(value, look_up, wanted) for value in node.values)
            return _all(parts) if isinstance(op, ast.And) == wanted else _any(parts)
        case ast.UnaryOp():
            return _holds(node.operand, look_up, not wanted)
        case ast.Compare():
            sides = [_number(side, look_up) for side in (node.left, *node.comparators)]
            parts = (_compared(op, a, b, wanted) for op, a, b in zip(node.ops, sides, sides[1:], strict=False))
            return _all(parts) if wanted else _any(parts)
        case ast.Call():
            missing = np.isnan(_number(node.args[0], look_up))
            return ~missing if wanted else missing
        case _:
            value = _number(node, look_up)
            return np.greater(value, 0.5) if wanted else np.less_equal(value, 0.5)


_COMPARE = {
    ast.Lt: (np.less, np.greater_equal),
    ast.LtE: (np.less_equal, np.greater),
    ast.Gt: (np.greater, np.less_equal),
    ast.GtE: (np.greater_equal, np.less),
}


def _compared(op, a, b, wanted: bool):
    if type(op) in _COMPARE:
        as_said, contrary = _COMPARE[type(op)]
        return as_said(a, b) if wanted else contrary(a, b)
    if isinstance(op, ast.Eq) == wanted:
        return np.equal(a, b)
    return np.less(a, b) | np.greater(a, b)  # false for NaN, unlike not_equal


def _number(node, look_up):
    match node:
        case ast.Constant(value=int() | float() as number):
            return float(number)
        case ast.Name():
            return look_up(node.id)
        case ast.UnaryOp():
            return -_number(node.operand, look_up)
        case ast.BinOp():
            left, right = _number(node.left, look_up), _number(node.right, look_up)
            match node.op:
                case ast.Add():
                    return left + right
                case ast.Sub():
                    return left - right
                case ast.Mult():
                    return left * right
            with np.errstate(divide="ignore", invalid="ignore"):
                ratio = np.divide(left, right)
                return np.where(np.isfinite(ratio), ratio, np.nan)
        case ast.Call(func=ast.Name(id="abs")):
            return np.abs(_number(node.args[0], look_up))
        case ast.Call(func=ast.Name(id=name)):
            together = np.minimum if name == "min" else np.maximum
            values = [_number(value, look_up) for value in node.args]
            result = values[0]
            for value in values[1:]:
                result = together(result, value)
            return result
    raise AssertionError(ast.dump(node))


def _all(parts):
    """Join what has to hold together; once no row is left the rest is not worked out."""
    result = None
    for part in parts:
        result = part if result is None else result & part
        if not result.any():
            break
    return result


def _any(parts):
    result = None
    for part in parts:
        result = part if result is None else result | part
    return result


def _signs(node, name: str, sign: int):
    """Yield how each mention of a name bears on the whole: +1, -1, or both where it cannot be told."""
    match node:
        case ast.Name(id=found):
            if found == name:
                yield sign
        case ast.BoolOp():
            for value in node.values:
                yield from _signs(value, name, sign)
        case ast.UnaryOp():
            yield from _signs(node.operand, name, -sign)
        case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in _COMPARE:
            greater = isinstance(op, ast.Gt | ast.GtE)
            yield from _signs(left, name, sign if greater else -sign)
            yield from _signs(right, name, -sign if greater else sign)
        case ast.BinOp(op=ast.Add() | ast.Mult()):
            yield from _signs(node.left, name, sign)
            yield from _signs(node.right, name, sign)
        case ast.BinOp():
            yield from _signs(node.left, name, sign)
            yield from _signs(node.right, name, -sign)
        case ast.Call(func=ast.Name(id="min" | "max")):
            for value in node.args:
                yield from _signs(value, name, sign)
        case _:
            if any(isinstance(part, ast.Name) and part.id == name for part in ast.walk(node)):
                yield from (+1, -1)
