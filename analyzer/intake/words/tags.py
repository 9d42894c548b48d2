"""Whose point it is: the terminal's or air handler's tag within a point name."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from analyzer.intake.words.equipment import floor_before, handler_in, terminal_in, without_noun
from analyzer.intake.words.names import (
    Token,
    concepts_of,
    is_quantity_word,
    names_air,
    phrased,
    read_quantity,
    tokens_of,
)
from analyzer.intake.words.units import unit_at_end
from analyzer.intake.words.vocabulary import EQUIPMENT, WITH_FAN

_DIVIDERS = re.compile(r"[/\\:|>]|\.(?!\d)|(?<!\d)\.")  # a point between numbers belongs to the tag: 1.04
# Signs before spellings of a tag that are not its words alone.
_ZEROLESS, _WORDLESS = _KINDS = ("~", "#")
# No tag has more words.
_MOST_WORDS = 10


@dataclass(frozen=True)
class Owner:
    """The owner of a point, and the words of its name that are left to say what it measures.

    ``known`` is True where the tag stands in the schedule (or the point list); ``spelled`` is the tag as the name
    spells it.
    """

    tag: str | None
    air_handler: bool
    words: tuple[str, ...]
    known: bool
    spelled: str = ""


class TagFinder:
    """Finds tags in names: first the schedule's own, else by the words for equipment and the numbers after them."""

    def __init__(self, terminals: Iterable[str], air_handlers: Iterable[str]):
        self._terminals = _Index(terminals)
        self._air_handlers = _Index(air_handlers)
        self._spelling: dict[tuple[str, bool], str] = {}
        self._found: dict[tuple[str, str | None, bool], Owner] = {}
        self._looked_at: dict[str, dict[str, Owner | None]] = {"_known": {}, "_by_equipment": {}}
        self._rooms: set[str] = set()

    def learn_rooms(self, rooms: set[str]) -> None:
        """Take rooms with a name behind their number for tags."""
        new = {_key(tokens_of(room)) for room in rooms} - self._rooms
        if new:
            self._rooms |= new
            self._found.clear()
            self._looked_at["_by_equipment"].clear()

    def apart(self) -> TagFinder:
        """Return a finder of the same tags whose finds do not settle how this one spells what the schedule lacks."""
        other = TagFinder((), ())
        other._terminals, other._air_handlers = self._terminals, self._air_handlers
        other._looked_at["_known"] = self._looked_at["_known"]  # what the schedule lists is the same to both
        return other

    def find(self, name: str, hint: str | None = None, *, given: bool = False) -> Owner:
        """Find the owner of a point.

        Parameters
        ----------
        name : str
            The point's name without its unit.
        hint : str, optional
            What else may hold the tag: the file's name, a line above the header, a column of tags.
        given : bool
            Whether the hint is the tag, as in a column of tags: then no number in the name is.
        """
        if (name, hint, given) not in self._found:
            self._found[name, hint, given] = self._find(name, hint, given)
        return self._found[name, hint, given]

    def _find(self, name: str, hint: str | None, given: bool) -> Owner:
        tokens = tokens_of(name)
        hints = tokens_of(hint) if hint else ()
        known = (self._known,) if self._terminals.exact or self._air_handlers.exact else ()
        for look in (*known, self._by_equipment):
            owner = self._once(look, name, tokens)
            if owner is None and hint and hints:
                owner = self._of_hint(self._once(look, hint, hints), tokens)
            if owner:
                return owner
        if given and hint and hint.strip():
            rest = name.replace(hint, " ", 1)
            return self._of_text(hint.strip(), _low(tokens_of(rest)))
        owner = self._by_leftover(name, tokens)
        return self._of_text(hint.strip(), owner.words) if owner.tag is None and hint else owner

    def _of_text(self, text: str, words: tuple[str, ...]) -> Owner:
        """Take a text for a terminal's tag."""
        text = without_noun(text)
        return Owner(self._spell(text, False), False, words, False, text)

    def _once(self, look: Callable, text: str, tokens: Sequence[Token]) -> Owner | None:
        """Look for a tag in a text; a tidy table has few names and few hints, and many pairs of them."""
        seen = self._looked_at[look.__name__]
        if text not in seen:
            seen[text] = look(text, tokens)
        return seen[text]

    @property
    def knows_terminals(self) -> bool:
        """Whether the schedule lists any."""
        return bool(self._terminals.exact)

    def too_alike(self) -> tuple[str, str] | None:
        """Return two of the schedule's terminals whose words and numbers are the same, so that no name tells them."""
        return self._terminals.too_alike

    def only_air_handler(self) -> str | None:
        """Return the schedule's air handler where it has just one."""
        known = set(self._air_handlers.exact.values())
        return next(iter(known)) if len(known) == 1 else None

    def known_terminal(self, text: str) -> str | None:
        """Return the schedule's tag that a text spells, whatever its case, separators and leading zeros."""
        owner = self._once(self._known, text, tokens_of(text))
        return owner.tag if owner and not owner.air_handler else None

    def named(self, text: str) -> Owner | None:
        """Return the owner that a text names for sure: one of the schedule, or equipment with its number."""
        tokens = tokens_of(text)
        return self._once(self._known, text, tokens) or self._once(self._by_equipment, text, tokens)

    def spells(self, text: str, tag: str) -> bool:
        """Tell whether a text spells a tag as it is, but for the signs between its words."""
        return text == tag or [token.text for token in tokens_of(text)] == [token.text for token in tokens_of(tag)]

    def air_handler_in(self, text: str) -> str | None:
        """Return the air handler that a text names beside whatever else it names."""
        tokens = tokens_of(text)
        known = self._air_handlers.longest(_spellings(tokens))
        if known:
            return known[0]
        span = handler_in(tokens)
        return self._spell(_text(text, tokens, span), True) if span else None

    def _of_hint(self, owner: Owner | None, tokens: Sequence[Token]) -> Owner | None:
        return Owner(owner.tag, owner.air_handler, _low(tokens), owner.known, owner.spelled) if owner else None

    def _known(self, name: str, tokens: Sequence[Token]) -> Owner | None:
        spelled = _spellings(tokens)
        terminal, handler = self._terminals.longest(spelled), self._air_handlers.longest(spelled)
        if not terminal and not handler:
            return None
        spans = [found and found[1] for found in (terminal, handler)]
        words = _without_fan(tokens, terminal and terminal[1], _taken(tokens, *spans))
        if terminal:
            return Owner(terminal[0], False, words, True, _text(name, tokens, terminal[1]))
        if handler is None or terminal_in(tokens):
            return None  # a terminal that the schedule does not list, under its air handler's name
        return Owner(handler[0], True, words, True, _text(name, tokens, handler[1]))

    def _by_equipment(self, name: str, tokens: Sequence[Token]) -> Owner | None:
        terminal = terminal_in(tokens)
        handler = handler_in(tokens)
        span = terminal or handler
        if span is None:
            return None
        if terminal and _key(tokens[terminal[0] : terminal[1] + 1]) in self._rooms:
            terminal = (terminal[0], terminal[1] + 1)
        terminal = terminal and (floor_before(name, tokens, terminal[0]), terminal[1])
        words = _without_fan(tokens, terminal, _taken(tokens, terminal, handler))
        text = _text(name, tokens, terminal or span)
        text = without_noun(text) if terminal else text
        return Owner(self._spell(text, terminal is None), terminal is None, words, False, text)

    def _by_leftover(self, name: str, tokens: Sequence[Token]) -> Owner:
        """Take what the vocabulary does not explain as the tag, if it holds a number."""
        end = len(name) - len(unit_at_end(name))
        said = phrased(tuple(token.low for token in tokens))
        letter = _letter_of_tag(name, [token for token in tokens if token.end <= end])
        rest = [
            n
            for n, token in enumerate(tokens)
            if token.end <= end and (n == letter or token.is_number or not (n in said or is_quantity_word(token.low)))
        ]
        runs: list[list[int]] = []
        for n in rest:
            if runs and runs[-1][-1] == n - 1:
                runs[-1].append(n)
            else:
                runs.append([n])
        runs = [run for run in runs if any(tokens[n].is_number for n in run)]
        if not runs:
            return Owner(None, False, _low(tokens), False)
        run = max(runs, key=len)
        begin, end = run[0], run[-1] + 1
        text = _DIVIDERS.split(_text(name, tokens, (begin, end)))[-1]
        return self._of_text(text, _without(tokens, [(begin, end)]))

    def _spell(self, text: str, air_handler: bool) -> str:
        """Keep the first spelling of a tag for all its spellings: they differ in case and in the separators' signs."""
        key = _key(tokens_of(text)) or text.lower()
        return self._spelling.setdefault((key, air_handler), text)


def _letter_of_tag(name: str, tokens: Sequence[Token]) -> int:
    """Return where the letter of a tag such as ``t01`` or ``T-41`` stands, first or last; -1 where a name has none.

    It says nothing of what the other words measure.
    """
    for at in (0, len(tokens) - 2):
        if len(tokens) < 3 or len(tokens[at].text) != 1 or not tokens[at + 1].is_number:
            continue
        others = (*tokens[:at], *tokens[at + 2 :])
        words = tuple(token.low for token in others if concepts_of(token.low) != {"FRACTION"})
        between = name[tokens[at].end : tokens[at + 1].begin]
        if between in ("", "-", "_") and read_quantity(words, air_handler=False) is not None:
            return at
    return -1


def _text(name: str, tokens: Sequence[Token], span: tuple[int, int]) -> str:
    """Return what a name holds from the first word of a span to its last."""
    return name[tokens[span[0]].begin : tokens[span[1] - 1].end]


def _low(tokens: Sequence[Token]) -> tuple[str, ...]:
    return tuple(token.low for token in tokens)


def _without(tokens: Sequence[Token], spans: list[tuple[int, int]]) -> tuple[str, ...]:
    taken = {n for begin, end in spans for n in range(begin, end)}
    return tuple(token.low for n, token in enumerate(tokens) if n not in taken)


def _taken(
    tokens: Sequence[Token], terminal: tuple[int, int] | None, handler: tuple[int, int] | None
) -> list[tuple[int, int]]:
    """Return the spans of a name's tags; an air handler's word behind the terminal is left to say whose air it is."""
    if terminal and handler and handler[0] >= terminal[1] and names_air(tokens[handler[1] :]):
        handler = (handler[0] + 1, handler[1])
    return [span for span in (terminal, handler) if span]


def _without_fan(
    tokens: Sequence[Token], terminal: tuple[int, int] | None, spans: list[tuple[int, int]]
) -> tuple[str, ...]:
    """Leave out the "fan" of a ``Fan Box 1-04`` with its tag, where the other words say what is measured."""
    words = _without(tokens, spans)
    if terminal is None or tokens[terminal[0]].low not in WITH_FAN:
        return words
    before = terminal[0] - (terminal[0] > 0 and tokens[terminal[0] - 1].low == "powered") - 1
    if before < 0 or tokens[before].low != "fan":
        return words
    others = _without(tokens, [*spans, (before, terminal[0])])
    return others if read_quantity(others, air_handler=False) else words


class _Index:
    """Every unmistakable spelling of the tags: whatever the separators' signs and the case, without leading zeros,
    without its word. Where it stands between words and numbers a separator stays one: 1-11 is not 11-1.

    Attributes
    ----------
    exact : dict of str to str
        The tag of each spelling in its own case, which goes before all others.
    tags : dict of str to str
        The tag of each spelling.
    joined : dict of str to str
        The tag of each spelling without any separator.
    too_alike : tuple of str or None
        Two tags of one exact spelling.
    first : set of str
        The words with which a spelling begins, and whatever one in one piece begins with.
    lengths : dict of str to set of int
        How long the spellings of each kind are; the kind is the sign before them.
    most : int
        How long the longest is.
    """

    def __init__(self, tags: Iterable[str]):
        tags = [str(tag) for tag in tags]
        self.exact: dict[str, str] = {}
        self.too_alike: tuple[str, str] | None = None
        for tag in tags:
            other = self.exact.setdefault("-".join(token.text for token in tokens_of(tag)) or tag, tag)
            self.too_alike = self.too_alike or ((other, tag) if other != tag else None)
        self.tags: dict[str, str] = {}
        for spelling in (_key, _zeroless, _wordless):
            self.tags |= _unmistakable((spelling(tokens_of(tag)), tag) for tag in tags)
        self.joined = _unmistakable((_key(tokens_of(tag)).replace("-", ""), tag) for tag in tags)
        self.joined_lengths = {len(key) for key in self.joined}
        keys = [*self.tags, *(exact.lower() for exact in self.exact)]
        spelled = [(key[0], key[1:]) if key[0] in _KINDS else ("", key) for key in keys]
        self.first = {key.partition("-")[0] for _, key in spelled} | {
            token.low for tag in tags for token in tokens_of(tag)[:1]
        }
        self.first |= {key[:size] for key in self.joined for size in range(1, len(key) + 1)}
        self.lengths = {kind: {len(key) for sign, key in spelled if sign == kind} for kind in ("", *_KINDS)}
        self.most = max((len(key) for _, key in spelled), default=0) + 1  # a number in one piece may be two here

    def longest(self, spelled: tuple[list[str], list[str], list[str]]) -> tuple[str, tuple[int, int]] | None:
        """Find the longest run of words that spells a known tag; of each in its case, without it and without zeros."""
        if not self.exact:
            return None
        texts, lows, bare = spelled
        first, found, longest = self.first, None, 0
        for begin, low in enumerate(lows):
            if low not in first and bare[begin] not in first:
                continue
            text, word, zeroless = texts[begin], low, bare[begin]
            for end in range(begin + 1, min(begin + _MOST_WORDS, len(lows)) + 1):
                if end - begin > longest and (tag := self._spelled(text, word, zeroless)) is not None:
                    found, longest = (tag, (begin, end)), end - begin
                if end == len(lows) or (len(word) > self.most and len(zeroless) > self.most):
                    break
                text, word, zeroless = f"{text}-{texts[end]}", f"{word}-{lows[end]}", f"{zeroless}-{bare[end]}"
        return found

    def _spelled(self, text: str, word: str, zeroless: str) -> str | None:
        """Return the tag that words spell; most are of a length that no tag has, and are not looked up."""
        lengths, size = self.lengths, len(word)
        if size in lengths[""] and (tag := self.exact.get(text) or self.tags.get(word)) is not None:
            return tag
        if len(zeroless) in lengths[_ZEROLESS] and (tag := self.tags.get(_ZEROLESS + zeroless)) is not None:
            return tag
        if size in lengths[_WORDLESS] and (tag := self.tags.get(_WORDLESS + word)) is not None:
            return tag
        return self._in_one_piece(word) if size - word.count("-") in self.joined_lengths else None

    def _in_one_piece(self, word: str) -> str | None:
        """Return the tag that words spell where one of the two writes its numbers as one: VAV304 for VAV-3-04."""
        joined = word.replace("-", "")
        tag = self.joined.get(joined)
        if tag is None or (_numbers(word) == 1) == (_numbers(_key(tokens_of(tag))) == 1):
            return None  # where both say how their numbers part, they say different things
        return tag


def _numbers(key: str) -> int:
    return sum(word.isdigit() for word in key.split("-"))


def _unmistakable(pairs) -> dict[str, str]:
    found: dict[str, set[str]] = {}
    for key, tag in pairs:
        if key:
            found.setdefault(key, set()).add(tag)
    return {key: next(iter(tags)) for key, tags in found.items() if len(tags) == 1}


def _key(tokens: Sequence[Token]) -> str:
    return "-".join(token.low for token in tokens)


def _zeroless(tokens: Sequence[Token]) -> str:
    return _ZEROLESS + "-".join(map(_without_zeros, tokens))


def _spellings(tokens: Sequence[Token]) -> tuple[list[str], list[str], list[str]]:
    return (
        [token.text for token in tokens], [token.low for token in tokens], [_without_zeros(token) for token in tokens],
    )  # fmt: skip


def _without_zeros(token: Token) -> str:
    return token.low.lstrip("0") or "0" if token.is_number else token.low


def _wordless(tokens: Sequence[Token]) -> str:
    """Spell a tag by its numbers alone; only where they are long enough not to be met by chance."""
    rest = [token for token in tokens if token.low not in EQUIPMENT]
    digits = "".join(token.text for token in rest if token.is_number)
    return _WORDLESS + _key(rest) if len(digits) >= 3 and len(rest) < len(tokens) else ""
