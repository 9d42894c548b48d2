"""The words of a rule, and which of them fit a terminal: by its kind and its reheat, and by what its trends show."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any, Literal, get_args

from analyzer.engine.expressions import Expression

Kind = Literal["single-duct", "series", "parallel"]
Reheat = Literal["none", "hot-water", "electric"]
KINDS: tuple[Kind, ...] = get_args(Kind)
REHEATS: tuple[Reheat, ...] = get_args(Reheat)
# What a terminal may be: pairs of a kind and a reheat; one where both are known.
Forms = frozenset[tuple[str, str]]
# How a passage that is for some of the forms alone begins where it is not known which of them it is.
_OF_KINDS = {
    ("single-duct",): "Single-duct",
    ("series",): "Series fan",
    ("parallel",): "Parallel fan",
    ("series", "parallel"): "Fan-powered",
}
_OF_REHEATS = {
    ("none",): "Without reheat",
    ("hot-water",): "Hot water",
    ("electric",): "Electric",
    ("hot-water", "electric"): "With reheat",
    ("none", "hot-water"): "Without electric heat",
}


def forms(kinds: Collection[str] = KINDS, reheats: Collection[str] = REHEATS) -> Forms:
    """Return every pair of some kinds and some reheats."""
    return frozenset(product(kinds, reheats))


@cache
def forms_of(kind: str, reheat: str, has_reheat: bool) -> Forms:
    """Return what a terminal may be by its kind and reheat, empty where not known, and whether it has any reheat."""
    kinds = [kind] if kind in KINDS else KINDS
    known = [reheat] if reheat in REHEATS else REHEATS[1:] if has_reheat else REHEATS[:1]
    return forms(kinds, known)


@dataclass(frozen=True)
class Passage:
    """Words of a rule, for all terminals or, by ``at``, for those of some kinds and reheats.

    Of a likely cause, ``when`` is what shows in the trends where it is the cause, and ``unless`` what rules it out.
    Where a finding is told of many terminals whose measure ``alike`` is the same, that shows it; ``unless_alike``, that
    rules it out.
    """

    say: str
    at: tuple[str, ...] = ()
    when: Expression | None = None
    unless: Expression | None = None
    alike: str | None = None
    unless_alike: str | None = None

    def at_forms(self, possible: Forms) -> str:
        """Return its words where it fits a terminal that may be any of some forms; empty where it fits none of them.

        Where it fits some of them alone, the words begin by saying which.
        """
        kinds, reheats = self._among(KINDS), self._among(REHEATS)
        here = [(kind, reheat) for kind, reheat in possible if kind in kinds and reheat in reheats]
        if not here:
            return ""
        named = [
            names.get(own, " or ".join(own))
            for own, at, names in ((kinds, 0, _OF_KINDS), (reheats, 1, _OF_REHEATS))
            if any(form[at] not in own for form in possible)
        ]
        named = [name for name in named if not self._says(name)]
        return f"{', '.join([named[0], *(name.lower() for name in named[1:])])}: {self.say}" if named else self.say

    def fits_all(self, possible: Forms) -> bool:
        """Whether it fits a terminal, whatever of some forms that is."""
        kinds, reheats = self._among(KINDS), self._among(REHEATS)
        return all(kind in kinds and reheat in reheats for kind, reheat in possible)

    def _says(self, name: str) -> bool:
        """Whether the words themselves begin by saying for which they are: "Electric heaters", "Hot-water coils"."""
        own = self.say.lower().replace("-", " ")
        return own.startswith(
            tuple(f"{article}{name.lower().replace('-', ' ')} " for article in ("", "an ", "a ", "the "))
        )

    def _among(self, names: tuple[str, ...]) -> tuple[str, ...]:
        own = tuple(name for name in names if name in self.at)
        return own or names


@dataclass(frozen=True)
class Text:
    """The words of a rule as they fit a terminal, or all that it applies to."""

    title: str
    seen: str
    why_it_matters: str
    context: str
    likely_causes: tuple[str, ...]
    next_steps: tuple[str, ...]
    retest: str
    looks_like: tuple[str, ...]
    caution: str | None = None


def words_of(text: Text, causes: Sequence[str], supported: int) -> dict[str, Any]:
    """Return what a finding says beside what was seen, by field; the first ``supported`` causes show in the trends."""
    return {
        "why_it_matters": text.why_it_matters,
        "likely_causes": tuple(causes),
        "supported_causes": tuple(causes[:supported]),
        "next_steps": text.next_steps,
        "retest": text.retest,
        "looks_like": text.looks_like,
        "caution": text.caution,
    }


@dataclass(frozen=True)
class Wording:
    """All words of a rule, whatever terminal they are for.

    The first title is the general one; of the others the last that fits a terminal takes its place.
    """

    title: tuple[Passage, ...]
    seen: tuple[Passage, ...]
    why_it_matters: tuple[Passage, ...]
    context: tuple[Passage, ...]
    likely_causes: tuple[Passage, ...]
    next_steps: tuple[Passage, ...]
    retest: tuple[Passage, ...]
    looks_like: tuple[Passage, ...]
    caution: tuple[Passage, ...] = ()

    def fitted(self, possible: Forms) -> Text:
        """Return the words that fit a terminal that may be any of some forms."""
        title = [one.say for one in self.title if one.fits_all(possible)] or [self.title[0].say]
        return Text(
            title=title[-1],
            seen=_joined(self.seen, possible),
            why_it_matters=_joined(self.why_it_matters, possible),
            context=_joined(self.context, possible),
            likely_causes=_fitting(self.likely_causes, possible),
            next_steps=_fitting(self.next_steps, possible),
            retest=_joined(self.retest, possible),
            looks_like=_fitting(self.looks_like, possible),
            caution=_joined(self.caution, possible) or None,
        )

    def causes(self, possible: Forms, supported: Collection[int], ruled_out: Collection[int]) -> tuple[list[str], int]:
        """Return the likely causes at such a terminal, those that its trends support first, and how many these are.

        ``supported`` and ``ruled_out`` are the numbers of those that its trends support and rule out.
        """
        told = {n: say for n, cause in enumerate(self.likely_causes) if (say := cause.at_forms(possible))}
        first = [say for n, say in told.items() if n in supported]
        rest = [say for n, say in told.items() if n not in supported and n not in ruled_out]
        return first + rest, len(first)


def _joined(passages: tuple[Passage, ...], possible: Forms) -> str:
    return " ".join(_fitting(passages, possible))


def _fitting(passages: tuple[Passage, ...], possible: Forms) -> tuple[str, ...]:
    return tuple(filter(None, (passage.at_forms(possible) for passage in passages)))
