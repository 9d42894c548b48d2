"""Which country a time zone is of, and how dates are written there."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

# Whose short dates have the month first: en_US "M/d/yy" in Unicode's locale data (CLDR, looked up in the package babel
# 2.19.0). The Philippines have it as well, and are left to the site file: none of their exports was seen.
_MONTH_FIRST = frozenset({"US"})
_OF_THE_US = "US/"  # the old names of its zones, which the table of countries leaves out


def writes_month_first(time_zone: str) -> bool:
    """Tell whether dates are written month first where a time zone is.

    Examples
    --------
    >>> [writes_month_first(zone) for zone in ("America/Chicago", "US/Pacific", "America/Toronto", "UTC")]
    [True, True, False, False]
    """
    return time_zone.startswith(_OF_THE_US) or _country_of().get(time_zone) in _MONTH_FIRST


@lru_cache(maxsize=1)
def _country_of() -> dict[str, str]:
    """Return the country of each time zone, by the time zone database's own table (``zone.tab``)."""
    lines = (files("tzdata") / "zoneinfo" / "zone.tab").read_text("utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return {row[2]: row[0] for row in rows}
