"""The mutants in small: what is changed and what is not, and that a change is noticed where a test looks and only there."""

import ast

import pytest

from tests.mutants import trying
from tests.mutants.places import places_of
from tests.mutants.trying import KILLED, SURVIVED, TESTS, Copy, Mutant, drawn


@pytest.mark.parametrize(
    ("source", "changed"),
    [
        ("x = a < b", ["x = (a >= b)"]),
        ("x = a is None", ["x = (a is not None)"]),
        ("x = 3", ["x = (4)"]),
        ("x = 2.0", ["x = (2.5)"]),
        ("x = a + b", ["x = (a - b)"]),
        ("x = a & b", ["x = (a | b)"]),
        ("x = é and b", ["x = (é or b)"]),
        ("if a:\n    b", ["if (not a):\n    b"]),
        ("if a < b:\n    b", ["if (a >= b):\n    b"]),
        ("def f(a: int | None = 2) -> int | None:\n    'A - b < 3'", ["def f(a: int | None = (3)) -> int | None:\n    'A - b < 3'"]),
        ("if TYPE_CHECKING:\n    x = 1", ["if (not TYPE_CHECKING):\n    x = 1"]),
        ("x = True, f'{a + 1}', -y", []),
    ],
)  # fmt: skip
def test_one_small_step_at_a_place(source, changed):
    assert [place.changed(source) for place in places_of(source)] == changed


def test_every_mutant_of_the_core_can_be_read_and_the_draw_is_the_same():
    mutants = drawn(150, 7)
    assert mutants == drawn(150, 7) != drawn(150, 8)
    assert {mutant.room for mutant in mutants} == set(TESTS)
    for mutant in mutants:
        source = (trying.CHECKOUT / mutant.file).read_text(encoding="utf-8")
        changed = mutant.place.changed(source)
        assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(source)), mutant


def test_a_change_survives_where_no_test_looks(tmp_path, monkeypatch):
    """In a checkout of two lines: one is tested, the other is not."""
    checkout = tmp_path / "checkout"
    (checkout / "analyzer" / "airside").mkdir(parents=True)
    (checkout / "tests").mkdir()
    (checkout / "analyzer" / "__init__.py").touch()
    code = checkout / "analyzer" / "airside" / "__init__.py"
    code.write_text("TESTED = 1\nLEFT = 2\n")
    (checkout / "tests" / "test_one.py").write_text(
        "from analyzer.airside import TESTED\n\n\ndef test_it():\n    assert TESTED == 1\n"
    )
    monkeypatch.setattr(trying, "CHECKOUT", checkout)
    monkeypatch.setattr(trying, "COPIED", ("analyzer", "tests"))
    monkeypatch.setitem(trying.TESTS, "airside", ("tests",))
    mutants = drawn(9, 1, ("airside",))
    copy = Copy(tmp_path / "copy")
    assert [copy.outcome(mutant, 60) for mutant in mutants] == [KILLED, SURVIVED]
    assert (tmp_path / "copy" / "analyzer" / "airside" / "__init__.py").read_text() == code.read_text()
    assert copy.seconds_of_sound("airside", 60) > 0


def test_tests_that_fail_as_the_code_stands_are_told_and_nothing_is_tried(tmp_path, monkeypatch):
    monkeypatch.setattr(trying, "COPIED", ())
    copy = Copy(tmp_path / "copy")
    with pytest.raises(SystemExit, match="the tests of airside fail as the code stands"):
        copy.seconds_of_sound("airside", 60)


def test_a_mutant_says_where_it_is():
    (place,) = places_of("x = 3")
    assert str(Mutant("analyzer/intake/limits.py", place)) == "analyzer/intake/limits.py:1:5: 3 -> (4)"
