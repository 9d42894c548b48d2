"""Plain trade English: words that do not belong stand in no text that a user sees."""

import re
import tomllib
from pathlib import Path

import pytest

from analyzer.complaint.cause_book import causes_of
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.site import Site

HOME = Path(__file__).parents[2]
# What stands in no text, as the trade has another word for it; lower case.
AMISS = (
    r"\bmend(s|ed)?\b|\bmaker\b|give or take|unknown amount|\bprove dead\b|\bgravest\b|\bnobody in\b|hardest hours|"
    r"the valve passes|a hand on it|\bdraughts?\b|\bneighbours?\b|lock out and tag(?! out)|\bisolate and lock\b|"
    r"what else looks like|before the first ladder|matters most|cause elsewhere|from memory|no source"
)
# And in no sentence of a rule or a cause: figures come with the site's unit, and conditions without a unit's code.
CODES = r"\bdeg[CF]\b|\bin hand\b(?<!HAND)|\bby hand\b|\bstood at\b|asked for|called for|\bmeanwhile\b"


def _sentences() -> dict[str, list[str]]:
    told = {}
    for rule in read_rules([rule_book()]).values():
        passages = [passage.say for own in vars(rule.wording).values() if isinstance(own, tuple) for passage in own]
        labels = [measure.label for measure in rule.measures.values()]
        told[f"rule {rule.id}"] = [*passages, *labels, *(item.say for item in rule.evidence)]
    for cause in causes_of(Site()).values():
        told[f"cause {cause.id}"] = [
            cause.title,
            *(text for sign in cause.signs for text in (sign.say, sign.otherwise)),
        ]
    items = tomllib.loads((HOME / "analyzer" / "checklist" / "items.toml").read_text("utf-8"))["item"]
    told["checklist"] = [item[key] for item in items for key in ("look", "how", "caution") if key in item]
    return told


SENTENCES = _sentences()
PAGES = sorted((HOME / "analyzer").rglob("templates/*.html"))
DOCUMENTS = [HOME / "README.md", *(HOME / "docs" / f"{name}.md" for name in (
    "getting-started", "handed-over", "limits-and-cautions", "notebook", "README",
))]  # fmt: skip


@pytest.mark.parametrize("owner", SENTENCES)
def test_sentences_are_in_the_words_of_the_trade(owner):
    for sentence in SENTENCES[owner]:
        found = re.search(f"{AMISS}|{CODES}", sentence, re.IGNORECASE)
        assert not found, f"{owner}: {found.group()!r} in {sentence!r}"


@pytest.mark.parametrize("path", [*PAGES, *DOCUMENTS], ids=lambda path: path.name)
def test_pages_and_documents_are_in_the_words_of_the_trade(path):
    text = re.sub(r"\{[{%].*?[%}]\}|<[^>]+>|`[^`]*`|\]\([^)]*\)", " ", path.read_text("utf-8"))
    found = re.search(AMISS, text, re.IGNORECASE)
    assert not found, f"{path.name}: {found.group()!r}"


def test_every_measure_says_its_statistic_and_what_it_is_of():
    for rule in read_rules([rule_book()]).values():
        for measure in rule.measures.values():
            assert len(measure.label.split()) >= 2 and measure.label != measure.name, (rule.id, measure.name)
            words = {"mean": r"Mean|Median|Share|Scheduled|Required|Allowed|Uncertainty|Rise|Maximum|Most|Lowest|Hours|Number|percentile",
                     "max": r"Highest|Most|Longest|Largest|Lowest|longest|Number|Hours|airflow, ", "min": "Lowest",
                     "total": "Total"}[measure.take]  # fmt: skip
            assert re.search(words, measure.label), (rule.id, measure.label)
