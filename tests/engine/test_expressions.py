"""Expressions: three values, and nothing but the small subset gets in."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.engine.expressions import Expression

A = np.array([1.0, 2.0, 3.0, np.nan])
NAMES = {"a": A, "limit": 2.0, "on": np.array([1.0, 0.0, np.nan, 1.0])}


def truth(text):
    """Return an expression over four rows as T, F and ? (unknown)."""
    value = Expression(text).truth(NAMES.__getitem__)
    return "".join("T" if t else "F" if f else "?" for t, f in zip(value.true, value.false, strict=True))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a < limit", "TFF?"),
        ("a <= limit", "TTF?"),
        ("a > limit", "FFT?"),
        ("a >= limit", "FTT?"),
        ("a == limit", "FTF?"),
        ("a != limit", "TFT?"),
        ("1 < a <= 3", "FTT?"),
        ("on", "TF?T"),
        ("not on", "FT?F"),
        ("a > 2 and on", "FF??"),  # False and unknown is false
        ("a < 2 or on", "TF?T"),  # unknown or True is true
        ("known(a)", "TTTF"),
        ("known(a) and a > 2", "FFTF"),
        ("a / (a - 2) > 0", "F?T?"),  # a division by zero is unknown
        ("abs(a - 2) > 0.5", "TFT?"),
        ("max(a, 2) == 2", "TTF?"),
        ("-a < -1.5", "FTT?"),
    ],
)
def test_conditions_have_three_values(text, expected):
    assert truth(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "__import__('os').system('true')",
        "a.__class__",
        "a[0]",
        "[x for x in (1, 2)]",
        "lambda: 1",
        "'text' == 'text'",
        "True",
        "a ** 9",
        "a if on else 1",
        "print(a)",
        "abs(a, a)",
        "abs(x=a)",
        "(a := 3)",
        "f'{a}'",
        "1e400",
        "a and",
        "",
        "a > 1\na > 2",
        "a & on",
        "~on",
        "min(*a)",
        "9" * 600,
        "(" * 300 + "a" + ")" * 300,
        " + ".join(["a"] * 100),
    ],
)
def test_what_is_not_of_the_subset_is_refused_with_a_sentence(text):
    with pytest.raises(ValueError, match=r"is not|not allowed|longer than|more than|takes|out of range"):
        Expression(text)


@given(st.text(max_size=60))
def test_no_text_gets_past_the_check_or_raises_anything_else(text):
    try:
        expression = Expression(text)
    except ValueError:
        return
    assert all(name.isidentifier() for name in expression.names)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a + (a > 1) > 2", "condition where a number"),
        ("a", "number where a condition"),
        ("known(a > 1)", "condition where a number"),
    ],
)
def test_numbers_and_conditions_are_told_apart(text, message):
    with pytest.raises(ValueError, match=message):
        Expression(text).check_types(lambda name: name == "on", condition=True)


@pytest.mark.parametrize(
    ("text", "parts"),
    [("a < limit", 1), ("a < limit and on", 2), ("a > 1 and (on or a < 3) and not on", 3), ("a < limit or on", 1)],
)
def test_the_whole_holds_where_all_its_conditions_hold(text, parts):
    expression = Expression(text)
    conditions = expression.conditions()
    assert len(conditions) == parts
    alone = [np.broadcast_to(condition(NAMES.__getitem__).true, len(A)) for condition in conditions]
    assert (np.logical_and.reduce(alone) == expression.truth(NAMES.__getitem__).true).all()


@pytest.mark.parametrize(
    ("text", "direction"),
    [
        ("a > b + limit", -1),
        ("a < b + limit", +1),
        ("a < b * (1 - limit)", -1),
        ("not (a > limit)", +1),
        ("a / limit > 3", -1),
        ("a > 1 and b > limit", -1),
        ("abs(a) > limit", -1),
        ("abs(a - limit) > 1", None),
        ("a > limit and b < limit", None),
        ("a == limit", None),
        ("a > b", 0),
    ],
)
def test_direction_in_which_a_limit_works(text, direction):
    assert Expression(text).direction("limit") == direction


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0, 3))
def test_direction_holds_when_the_limit_is_moved(a, b, step):
    """Moving a limit against its direction never makes a fault of what was none."""
    expression = Expression("a > b + limit and a > 1")
    names = {"a": np.array([a]), "b": np.array([b])}
    before = expression.truth({**names, "limit": 0.5}.__getitem__).true
    after = expression.truth({**names, "limit": 0.5 - expression.direction("limit") * step}.__getitem__).true
    assert before or not after
