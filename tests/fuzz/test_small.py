"""The bounded mutation run, small: the same inputs every time, about ten seconds of one core."""

from analyzer import intake
from analyzer.intake.values.account import Account
from tests.fuzz.campaign import run, smallest
from tests.fuzz.corpus import Files, corpus
from tests.fuzz.mutate import mutated
from tests.fuzz.trying import try_one


def test_mutated_inputs_are_read_or_refused():
    found = run(seed=20260112, runs=100, seconds=120)
    assert found.failures == {}
    assert found.inputs == 100
    assert found.counted["read"] > 15 and found.counted["refused"] > 15


def test_inputs_are_the_same_in_every_run():
    assert [mutated(1, number) for number in range(40)] == [mutated(1, number) for number in range(40)]


def test_most_inputs_differ_from_what_they_were_made_of():
    samples = dict(corpus())
    assert sum(mutated(1, number)[1] != samples[mutated(1, number)[0]] for number in range(40)) > 30


def sample(name: str) -> Files:
    return dict(corpus())[name]


def test_an_exception_that_is_none_of_ours_is_a_failure_and_is_made_small(monkeypatch):
    plain = intake.read_exports

    def broken(exports, site):
        if any(b"70.5" in path.read_bytes() for path in exports[0].iterdir()):
            raise KeyError("70.5")
        return plain(exports, site)

    monkeypatch.setattr(intake, "read_exports", broken)
    files = sample("wide, text, utf-8")
    name = next(name for name in files if name.startswith("export/"))
    files = files | {name: files[name] + b"2026-01-14 12:00:00,70.5\n"}
    outcome = try_one(files)
    assert outcome.startswith("KeyError in outside")
    small = smallest(files, outcome, whole=False)
    assert small == {name: b"2026-01-14 12:00:00,70.5"}


def test_a_cell_that_is_lost_from_the_account_is_a_failure(monkeypatch):
    plain = Account.files

    def lossy(account):
        files = plain(account)
        files[0].columns[0].cells_used -= 1
        return files

    monkeypatch.setattr(Account, "files", lossy)
    assert try_one(sample("wide, text, utf-8")).startswith("ledger: ")
