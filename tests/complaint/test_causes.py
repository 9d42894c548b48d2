"""Every labelled case of every cause comes out as it is labelled; causes are data that is checked."""

import tomllib
from dataclasses import replace

import pytest

from analyzer.complaint.cause import WEIGHTS
from analyzer.complaint.cause_book import FOLDER as CAUSES_IN
from analyzer.complaint.cause_book import causes_of
from analyzer.complaint.page import _at_once
from analyzer.complaint.weigh import likely_causes
from analyzer.engine.expressions import Expression
from analyzer.errors import RuleError, SiteError
from analyzer.places import rule_book
from analyzer.site import Site, read_site
from tests.complaint.case_facts import FOLDER, all_labelled, facts_of, labelled

CAUSES = causes_of(Site())
SHIPPED = rule_book() / CAUSES_IN / "no-air.toml"


@pytest.mark.parametrize("case", all_labelled(), ids=str)
def test_case_comes_out_as_labelled(case):
    told, facts = case.told, facts_of(case)
    likely, unlikely = likely_causes(CAUSES.values(), facts, told["feels"])
    by_id = {found.id: found for found in [*likely, *unlikely]}
    said = [(found.id, found.weight, found.speaks_for, found.speaks_against, found.unknown) for found in likely]
    match told["expect"]:
        case "leads":
            assert likely and likely[0].id == case.cause, said
            assert len(likely) == 1 or likely[0].weight > likely[1].weight, said
        case "another leads":
            assert likely and likely[0].id == told["leader"] != case.cause, said
            assert case.cause in CAUSES and told["leader"] in CAUSES
        case "not told":
            own = by_id[case.cause]
            assert own not in likely and own.unknown, (said, own)
            assert set(told.get("not_known", [])) <= set(own.unknown), own.unknown
        case other:
            pytest.fail(f"{other!r} is no outcome")
    assert weighs(by_id[case.cause]) == str(told["weighs"])
    # What is printed is never said to be unknown.
    printed = {name.split(",")[0].split(":")[0] for name, _ in _at_once(facts)}
    for found in by_id.values():
        assert not printed & set(found.unknown), (found.id, printed & set(found.unknown))
        assert not any("–" in sentence for sentence in found.speaks_for + found.speaks_against)


def weighs(case) -> str:
    return f"{case.weight:g}{', ruled out' if case.ruled_out else ''}"


def mutants(cause):
    """The cause with one sign left out, turned round, or of another weight; each with what was done to it."""
    for at, sign in enumerate(cause.signs):
        changed = {"left out": ()}
        changed["turned round"] = (replace(sign, when=Expression(f"not ({sign.when.text})")),)
        changed |= {weight: (replace(sign, weight=weight),) for weight in WEIGHTS if weight != sign.weight}
        for what, signs in changed.items():
            told = (*cause.signs[:at], *signs, *cause.signs[at + 1 :])
            yield f"sign {at + 1} {what}: {sign.when.text}", replace(cause, signs=told)


@pytest.mark.parametrize("cause", CAUSES.values(), ids=list(CAUSES))
def test_a_sign_or_a_weight_that_is_changed_fails_a_case(cause):
    cases = [(case, facts_of(case)) for case in labelled(FOLDER / f"{cause.id}.toml")]
    for what, mutant in mutants(cause):
        own = [[*sum(likely_causes([mutant], facts, case.told["feels"]), [])] for case, facts in cases]
        told = [weighs(found[0]) for found in own]
        assert told != [str(case.told["weighs"]) for case, _ in cases], f"{cause.id}: no case sees {what}"


@pytest.mark.parametrize("cause", CAUSES)
def test_cause_has_one_case_of_each_kind(cause):
    assert {case.told["expect"] for case in labelled(FOLDER / f"{cause}.toml")} == {
        "leads",
        "another leads",
        "not told",
    }


@pytest.mark.parametrize("cause", CAUSES.values(), ids=list(CAUSES))
def test_each_rule_of_a_cause_counts_when_its_finding_was_active(cause):
    (first, *_) = (case for case in labelled(FOLDER / f"{cause.id}.toml") if case.told["expect"] == "leads")
    feels = first.told["feels"]

    def weight(active):
        case = type(first)(first.cause, first.told | {"active": active})
        cases = [*sum(likely_causes([cause], facts_of(case), feels), [])]
        return cases[0].weight

    for rule in cause.rules:
        assert weight([rule]) > weight([]), rule
    assert all(limit.source and limit.reason for limit in cause.limits.values())
    assert all(limit.lowest <= limit.value <= limit.highest for limit in cause.limits.values())


@pytest.mark.parametrize("cause", CAUSES.values(), ids=list(CAUSES))
def test_a_cause_turned_round_no_longer_leads(cause):
    """Without its words for it, a cause that led does not: each leading case rests on its signs."""
    turned = replace(cause, signs=tuple(replace(sign, say="", otherwise=sign.say) for sign in cause.signs), rules=())
    for case in labelled(FOLDER / f"{cause.id}.toml"):
        if case.told["expect"] == "leads":
            likely, _ = likely_causes([turned], facts_of(case), case.told["feels"])
            assert not likely, case


# The files ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def own(tmp_path):
    """A site whose folder of rules has a cause of its own, and a function that writes it."""
    (tmp_path / "mine" / CAUSES_IN).mkdir(parents=True)
    text = SHIPPED.read_text()

    def write(old="", new="", name="my-cause.toml", site=""):
        (tmp_path / "mine" / CAUSES_IN / name).write_text(text.replace(old, new) if old else text)
        (tmp_path / "site.toml").write_text(f'[site]\ntime_zone = "UTC"\nrules = "mine"\n{site}')
        return read_site(tmp_path / "site.toml")

    return write


def test_a_cause_of_the_users_own_stands_beside_the_shipped(own):
    assert set(causes_of(own())) == {*CAUSES, "my-cause"}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            'feels = ["cold", "warm"]',
            'feels = ["cold", "warm"]\nrules = ["starved-terminals"]',
            "there is no rule 'starved-terminals' (did you mean 'starved-terminal'?)",
        ),
        ("feels", "feel", "unknown key 'feel'"),
        ("supply_air_on", "supply_air", "unknown name 'supply_air'"),
        ('weight = "strong"', 'weight = "heavy"', "weight"),
        ("{primary_flow}", "{primary_flows}", "{primary_flows} is no known figure"),
        ("value = 0.1", "value = 7", "outside the range"),
        ("little_share", "damper_position", "the name is taken"),
        ("damper_position > wide_open", "damper_position", "is a number where a condition is needed"),
    ],
)
def test_a_mistake_is_refused_with_its_place(own, old, new, told):
    assert old in SHIPPED.read_text()
    with pytest.raises(RuleError, match="my-cause.toml") as refused:
        causes_of(own(old, new))
    assert told in str(refused.value)


def test_a_rule_of_the_users_own_names_the_cause_that_its_finding_is(own, tmp_path):
    site, rule = own(), tmp_path / "mine" / "room-left-open.toml"
    text = (rule_book() / "starved-terminal.toml").read_text()
    rule.write_text(text.replace('complaints = ["cooling-air-short", "no-air"]', 'complaints = ["my-cause"]'))
    assert causes_of(site)["my-cause"].rules == ("room-left-open",)
    rule.write_text(text.replace('complaints = ["cooling-air-short", "no-air"]', 'complaints = ["my-case"]'))
    with pytest.raises(RuleError, match="room-left-open.toml: complaints: there is no cause 'my-case'"):
        causes_of(site)


def test_a_second_cause_of_one_id_is_refused(own):
    with pytest.raises(RuleError, match="there is a cause 'no-air' already"):
        causes_of(own(name="no-air.toml"))


def test_the_site_moves_a_limit_and_switches_a_cause_off(own):
    causes = causes_of(own(site='[cause.no-air]\nlittle_flow = "20 cfm"\n[cause.draft]\nenabled = false\n'))
    assert causes["no-air"].limits["little_flow"].value == pytest.approx(9.44, abs=0.01)
    assert "draft" not in causes


@pytest.mark.parametrize(
    ("site", "told"),
    [
        ("[cause.no-airs]\nenabled = false\n", "there is no such cause (did you mean 'no-air'?)"),
        ('[cause.no-air]\nlittle_flows = "20 cfm"\n', "no limit 'little_flows' (did you mean 'little_flow'?)"),
        ('[cause.no-air]\nlittle_flow = "20 K"\n', "'K' is no unit of flow"),
        ('[cause.no-air]\nlittle_flow = "9000 cfm"\n', "outside the range"),
        ("[cause.no-air]\nenabled = 1\n", "1 is neither true nor false"),
    ],
)
def test_a_change_that_cannot_be_is_refused(own, site, told):
    with pytest.raises(SiteError) as refused:
        causes_of(own(site=site))
    assert told in str(refused.value) and "cause.no-air" in str(refused.value)


def test_every_shipped_file_is_a_cause():
    assert set(CAUSES) == {file.stem for file in (rule_book() / CAUSES_IN).iterdir()}
    assert all(tomllib.loads(cause.file.read_text())["title"] == cause.title for cause in CAUSES.values())


def test_a_review_says_a_mistake_of_the_sites_causes_at_once(trendwright, tmp_path):
    (tmp_path / "week.csv").write_text("Time,TU-1 Zone Temp (degF)\n2026-01-12 00:00,70\n2026-01-12 00:15,70\n")
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "UTC"\n[cause.no-airs]\nenabled = false\n')
    ran = trendwright("review", "week.csv", "-q", cwd=tmp_path)
    assert ran.status == 2 and "no such cause (did you mean 'no-air'?)" in ran.err
    assert not (tmp_path / "review").exists()
