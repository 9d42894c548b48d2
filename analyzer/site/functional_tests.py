"""Functional tests, ``[[functional_test]]`` of the site file: windows in which a sequence was tried out on purpose."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from analyzer.site.excluded import Moment, check_tags, window_in_zone
from analyzer.site.model import Exclusion, FunctionalTest

# What can step in a test; the words of the site file, of the page and of the table.
StepKind = Literal[
    "heating", "cooling", "minimum", "occupied", "unoccupied", "flow setpoint", "damper", "reheat", "fan"
]
STEP_KINDS: tuple[StepKind, ...] = get_args(StepKind)
TABLE = "functional_test"


def _said(text: str) -> str:
    if not text.strip():
        raise ValueError("is blank: say what was tested, such as heating sequence of level 2")
    return text.strip()


class FunctionalTestSection(BaseModel):
    """``[[functional_test]]``: one test; the section may stand several times."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True)

    start: Moment = Field(alias="from", description="its first moment, in the site's time")
    end: Moment = Field(alias="to", description="the moment at which it ends; that moment is judged again")
    name: Annotated[str, AfterValidator(_said)] = Field(description="what was tested, as the report shows it")
    terminals: list[str] = Field(default_factory=list, description="the terminals it is for; all where not given")
    steps: list[StepKind] = Field(
        default_factory=list,
        description="the steps that the test was to make at each terminal: any of " + ", ".join(STEP_KINDS),
    )


def functional_tests(
    file: Path, told: Sequence[FunctionalTestSection], time_zone: str, scheduled: Iterable[str]
) -> tuple[FunctionalTest, ...]:
    """Turn the sections into windows in the site's zone.

    Parameters
    ----------
    file : Path
        The site file, for what is wrong with it.
    told : sequence of FunctionalTestSection
    time_zone : str
    scheduled : iterable of str
        The tags of the schedule; without one, tags are held against the trends later (``check_test_tags``).

    Raises
    ------
    SiteError
        A window ends before it begins, a moment does not exist in the zone, or no terminal has the tag.
    """
    found = tuple(_test(file, section, f"{TABLE}.{at}", time_zone) for at, section in enumerate(told))
    if tags := set(scheduled):
        check_test_tags(file, found, tags)
    return found


def _test(file: Path, section: FunctionalTestSection, place: str, time_zone: str) -> FunctionalTest:
    start, end = window_in_zone(file, section.start, section.end, place, time_zone)
    return FunctionalTest(start, end, section.name, tuple(section.terminals), tuple(dict.fromkeys(section.steps)))


def check_test_tags(file: Path | None, tests: Iterable[FunctionalTest], tags: Iterable[str]) -> None:
    """Refuse a test of a terminal that does not exist.

    Raises
    ------
    SiteError
    """
    check_tags(file, tests, tags, table=TABLE)


def left_out_for(tests: Iterable[FunctionalTest]) -> tuple[Exclusion, ...]:
    """Return the windows that tests leave out of judging: a rule must not judge a test."""
    return tuple(Exclusion(own.start, own.end, f"functional test, {own.name}", own.terminals) for own in tests)
