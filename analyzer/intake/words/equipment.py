"""Where the words for equipment, with their numbers, stand in a name."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from analyzer.intake.words.names import Token, is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.vocabulary import (
    AIR_HANDLER_EQUIPMENT,
    EQUIPMENT,
    PLACE_WORDS,
    TERMINAL_EQUIPMENT,
    TERMINAL_NOUNS,
    WEAK_EQUIPMENT,
)


def floor_before(name: str, tokens: Sequence[Token], begin: int) -> int:
    """Take a floor or a building that is written onto a tag into it: ``L2_FPB-07`` is not the ``FPB-07`` of ``L3``."""
    if begin < 2:
        return begin
    letters, number = tokens[begin - 2], tokens[begin - 1]
    glued = number.is_number and not letters.is_number and letters.end == number.begin
    between = name[number.end : tokens[begin].begin]
    if not glued or not between or between not in ("_", "-", " ") or letters.low in EQUIPMENT:
        return begin
    return begin if is_quantity_word(letters.low) else floor_before(name, tokens, begin - 2)


def _is_weak(tokens: Sequence[Token], span: tuple[int, int]) -> bool:
    return tokens[span[0]].low in WEAK_EQUIPMENT


def _numbered(tokens: Sequence[Token], equipment: frozenset[str]) -> tuple[int, int] | None:
    """Find an equipment word and the numbers (and single letters) after it; a strong word before a weak one."""
    found = None
    for begin, token in enumerate(tokens):
        if token.low not in equipment:
            continue
        end = _number_end(tokens, begin + 1)
        if end == begin + 1 and token.low not in WEAK_EQUIPMENT and _is_lettered(tokens, begin):
            end = _number_end(tokens, begin + 2)
        numbered = end > begin + 1
        while begin and tokens[begin - 1].low in equipment:
            begin -= 1  # "terminal unit 12"
        if numbered and (found is None or (_is_weak(tokens, found) and token.low not in WEAK_EQUIPMENT)):
            found = (begin, end)
    return found


def _is_lettered(tokens: Sequence[Token], at: int) -> bool:
    """Tell a tag such as ``VAV-T01``, whose letter is a quantity's by itself; the other words say what is measured."""
    letter, number = (*tokens[at + 1 : at + 3], None, None)[:2]
    if letter is None or number is None or len(letter.text) != 1 or not number.is_number:
        return False
    if letter.begin == tokens[at].end or letter.end != number.begin:
        return False
    others = tuple(token.low for token in (*tokens[:at], *tokens[at + 3 :]))
    return len(number.text) > 1 if not others else read_quantity(others, air_handler=False) is not None


def without_noun(text: str) -> str:
    """Take a word that only says that it is a terminal off a tag that has a word of its own: ``box PFX-12``.

    Examples
    --------
    >>> without_noun("caja CVV-01"), without_noun("Box 12"), without_noun("terminal unit 12")
    ('CVV-01', 'Box 12', 'terminal unit 12')
    """
    tokens = tokens_of(text)
    if len(tokens) < 3 or tokens[0].low not in TERMINAL_NOUNS or tokens[0].begin:
        return text
    word = tokens[1]
    own = not word.is_number and len(word.text) > 1 and word.low not in TERMINAL_NOUNS | PLACE_WORDS | WEAK_EQUIPMENT
    return text[word.begin :] if own and tokens[2].is_number else text


def terminal_in(tokens: Sequence[Token]) -> tuple[int, int] | None:
    """Find a terminal by its word and number; behind an air handler's a V with two digits will do: ``AH12_V1201``."""
    found = _numbered(tokens, TERMINAL_EQUIPMENT) or _lettered(tokens, TERMINAL_EQUIPMENT)
    handler = None if found else handler_in(tokens)
    if handler is None or not _begins_terminal(tokens, handler[1]):
        return found
    return handler[1], _number_end(tokens, handler[1] + 1)


def handler_in(tokens: Sequence[Token]) -> tuple[int, int] | None:
    """Find an air handler by its word and number, up to its terminal's."""
    span = _numbered(tokens, AIR_HANDLER_EQUIPMENT) or _lettered(tokens, AIR_HANDLER_EQUIPMENT)
    if span is None:
        return None
    end = next((n for n in range(span[0] + 2, span[1]) if _begins_terminal(tokens, n)), span[1])
    return span[0], end


def _lettered(tokens: Sequence[Token], equipment: frozenset[str]) -> tuple[int, int] | None:
    """Find equipment that a capital letter tells from the others: ``AHU B``, ``RTU/C``, ``VAV-A``."""
    for at, (word, letter) in enumerate(pairwise(tokens)):
        named = len(letter.text) == 1 and letter.text.isupper() and letter.begin > word.end
        if named and word.low in equipment - WEAK_EQUIPMENT and not is_quantity_word(letter.low):
            return at, at + 2
    return None


def _begins_terminal(tokens: Sequence[Token], at: int) -> bool:
    """Tell a V that stands apart and has two digits or more: with one it may be a valve."""
    if at + 2 >= len(tokens) or tokens[at].low != "v" or tokens[at].begin == tokens[at - 1].end:
        return False
    number = tokens[at + 1]
    return number.is_number and len(number.text) > 1 and number.begin == tokens[at].end


def _number_end(tokens: Sequence[Token], at: int) -> int:
    """Follow a tag's numbers and the letters among them: ``2-07``, ``N-112``, ``3E114``, ``207A``."""
    end, numbered = at, False
    while end < len(tokens):
        token = tokens[end]
        letter = len(token.text) <= (1 if numbered else 2) and not token.is_number and not is_quantity_word(token.low)
        before_number = letter and end + 1 < len(tokens) and tokens[end + 1].is_number
        glued = letter and len(token.text) == 1 and end > at and token.begin == tokens[end - 1].end
        if not (token.is_number or before_number or glued):
            break
        numbered |= token.is_number
        end += 1
    return end if numbered else at
