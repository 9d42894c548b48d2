"""The limits of functional tests, as the rule book has them, with the site's changes."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from analyzer.engine import Limit, LimitTable, Table, limit_of, moved_limit
from analyzer.errors import RuleError, SiteError, nearest
from analyzer.places import rule_book
from analyzer.site import Site
from analyzer.validation import read_settings

FILE = "functional_test/limits.toml"  # within the rule book
_MOST = 40


class _LimitsTable(Table):
    limits: Annotated[dict[str, LimitTable], Field(min_length=1, max_length=_MOST)]


def response_limits(site: Site) -> dict[str, Limit]:
    """Return the limits of functional tests, SI, as a site moves them under ``[response]``.

    Raises
    ------
    RuleError
        The shipped file cannot be used.
    SiteError
        The site moves a limit that does not exist, or moves one out of its range.
    """
    table = read_settings(rule_book() / FILE, _LimitsTable, RuleError, "limits")
    limits = {name: limit_of(name, told) for name, told in table.limits.items()}
    for name, told in site.response_changes.items():
        try:
            if name not in limits:
                raise ValueError(f"there is no such limit{nearest(name, limits)}; known are {', '.join(limits)}")
            limits[name] = moved_limit(limits[name], told)
        except ValueError as error:
            raise SiteError(
                site.file, str(error), "Correct the site file and run again.", place=f"response.{name}"
            ) from None
    return limits
