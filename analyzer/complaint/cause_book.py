"""The causes of complaints: the shipped ones and the user's own, with the site's changes applied."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from analyzer.complaint.cause import Cause
from analyzer.complaint.cause_file import read_cause
from analyzer.engine import Rule, moved_limit, read_rules, toml_files
from analyzer.errors import RuleError, SiteError, nearest
from analyzer.places import rule_book
from analyzer.site import Site

FOLDER = "causes"  # within a folder of rules


def causes_of(site: Site, rules: Collection[str] = (), book: dict[str, Rule] | None = None) -> dict[str, Cause]:
    """Return the causes of a site: the shipped ones and those beside its own rules, with its changes.

    Parameters
    ----------
    site : Site
        One that a review kept knows no folder of its own: its changes to causes that lay there are passed over.
    rules : collection of str
        Ids of rules that a cause may name, beside those of the site's folders.
    book : dict, optional
        As ``rules_beside`` returns it, where it was read already.

    Raises
    ------
    RuleError, SiteError
        A cause file, or the site's change to one, cannot be used.
    """
    book = rules_beside(site) if book is None else book
    causes = _of_rules(read_causes(_folders(site), {*rules, *book}), book)
    changes = site.cause_changes
    if site.file is None:
        changes = {name: told for name, told in changes.items() if name in causes}
    return with_changes(causes, changes, site.file)


def rules_beside(site: Site) -> dict[str, Rule]:
    """Return the rules, shipped and the site's own, as their files say them."""
    return read_rules(_folders(site))


def _folders(site: Site) -> list[Path]:
    return [rule_book(), *([site.rules_folder] if site.rules_folder else [])]


def _of_rules(causes: dict[str, Cause], book: dict[str, Rule]) -> dict[str, Cause]:
    """Give each cause the rules that name it, beside those that its file names.

    Raises
    ------
    RuleError
        A rule names a cause that does not exist.
    """
    named: dict[str, list[str]] = {name: list(cause.rules) for name, cause in causes.items()}
    for rule in sorted(book.values(), key=lambda rule: rule.id):
        for name in rule.complaints:
            if name not in named:
                raise RuleError(
                    rule.file, f"complaints: there is no cause {name!r}{nearest(name, causes)}", "Correct its id."
                )
            named[name].append(rule.id)
    return {name: replace(cause, rules=tuple(dict.fromkeys(named[name]))) for name, cause in causes.items()}


def read_causes(rule_folders: Iterable[Path], rules: Collection[str]) -> dict[str, Cause]:
    """Read every cause file in the ``causes`` folders of folders of rules.

    Parameters
    ----------
    rule_folders : iterable of Path
        The shipped rule book, and the user's own folder after it; one without causes adds none.
    rules : collection of str
        The ids of the rules that a cause may name.

    Raises
    ------
    RuleError
        A file with a mistake, a rule that does not exist, or two files of one id.
    """
    causes: dict[str, Cause] = {}
    for folder in rule_folders:
        for file in toml_files(folder / FOLDER) if (folder / FOLDER).is_dir() else []:
            cause = read_cause(file)
            if cause.id in causes:
                raise RuleError(
                    file, f"there is a cause {cause.id!r} already",
                    "Rename the file; to move a limit of the other, use the site file.",
                )  # fmt: skip
            for rule in cause.rules:
                if rule not in rules:
                    raise RuleError(file, f"rules: there is no rule {rule!r}{nearest(rule, rules)}", "Correct its id.")
            causes[cause.id] = cause
    return causes


def with_changes(
    causes: dict[str, Cause], changes: dict[str, dict[str, Any]], site_file: Path | None
) -> dict[str, Cause]:
    """Return the causes as a site changes them: some switched off, limits moved within their ranges.

    Raises
    ------
    SiteError
        The site changes a cause or a limit that does not exist, or moves one out of its range.
    """
    changed = dict(causes)
    for name, told in changes.items():
        place = f"cause.{name}"
        if name not in causes:
            raise SiteError(site_file, f"there is no such cause{nearest(name, causes)}", "Correct its id.", place=place)
        changed[name] = _changed(causes[name], told, site_file)
        if told.get("enabled") is False:
            del changed[name]
    return changed


def _changed(cause: Cause, told: dict[str, Any], site_file: Path | None) -> Cause:
    limits = dict(cause.limits)
    for name, value in told.items():
        try:
            if name == "enabled":
                if not isinstance(value, bool):
                    raise ValueError(f"{value!r} is neither true nor false")
            elif name in limits:
                limits[name] = moved_limit(limits[name], value)
            else:
                known = [*limits, "enabled"]
                raise ValueError(f"the cause has no limit {name!r}{nearest(name, known)}; it has {', '.join(known)}")
        except ValueError as error:
            raise SiteError(
                site_file, str(error), "Correct the site file and run again.", place=f"cause.{cause.id}.{name}"
            ) from None
    return replace(cause, limits=limits)
