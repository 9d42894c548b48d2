"""Every page that is made, by its name below ``docs/``."""

from __future__ import annotations

from pathlib import Path

from analyzer.complaint.cause_book import causes_of
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.site import Site
from tests.make_docs.causes_page import causes_page
from tests.make_docs.fixed_figures import fixed_figures_page
from tests.make_docs.rule_page import MADE, index_page, rule_page
from tests.make_docs.site_page import site_page

DOCS = Path(__file__).parents[2] / "docs"


def pages() -> dict[str, str]:
    """Return the text of each page: the rule book as shipped, and the site file's keys."""
    book = read_rules([rule_book()])
    return {
        "site-file.md": site_page(),
        "complaint-causes.md": causes_page(causes_of(Site())),
        "rules/index.md": index_page(book),
        "rules/fixed-figures.md": f"{MADE}\n\n{fixed_figures_page()}",
        **{f"rules/{rule.id}.md": rule_page(rule, book) for rule in book.values()},
    }
