"""A text taken apart into phrases of the vocabulary: the longest first, nothing left unsaid."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from rangeledger.schemas.words import fold, words_of

NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Piece:
    """A phrase of a text: its words, the kind of words it is of, and what it means there.

    Parameters
    ----------
    text : str
        The words, folded.
    kind : str or None
        Kind of word of the vocabularies, `number` for digits, None for a word that none has.
    meaning : str
        What it means among the words of its kind; blank where it has no kind.
    """

    text: str
    kind: str | None
    meaning: str = ""


@cache
def _phrases(kinds: tuple[str, ...]) -> tuple[dict[tuple[str, ...], tuple[str, str]], int]:
    """Folded words -> kind and meaning, and the length of the longest phrase."""
    found: dict[tuple[str, ...], tuple[str, str]] = {}
    for kind in reversed(kinds):  # of one phrase in two kinds the first kind counts
        for phrase, meaning in words_of(kind).items():
            if phrase:
                found[tuple(phrase.split())] = (kind, meaning)
    return found, max((len(words) for words in found), default=1)


@lru_cache(maxsize=8192)
def pieces_of(text: str, kinds: tuple[str, ...]) -> tuple[Piece, ...]:
    """Take a text apart into phrases of some kinds.

    Parameters
    ----------
    text : str
        A line or a part of one.
    kinds : tuple of str
        Kinds of word, the one that counts first in front.

    Returns
    -------
    tuple of Piece
        In the order of the text, every word in exactly one piece.
    """
    phrases, longest = _phrases(kinds)
    words = fold(text).split()
    found: list[Piece] = []
    place = 0
    while place < len(words):
        for length in range(min(longest, len(words) - place), 0, -1):
            matched = phrases.get(tuple(words[place : place + length]))
            if matched is not None:
                found.append(Piece(" ".join(words[place : place + length]), *matched))
                place += length
                break
        else:
            kind = NUMBER if words[place].isdigit() else None
            found.append(Piece(words[place], kind))
            place += 1
    return tuple(found)


@cache
def any_of(kind: str, *meanings: str) -> str:
    """Words of a kind as one alternative of a regular expression, the longest first.

    Parameters
    ----------
    kind : str
        Kind of word.
    *meanings : str
        What they mean among the words of their kind; all of the kind where nothing is named.

    Returns
    -------
    str
        `(?:and|und|...)`, folded: in lower case and without accents.
    """
    words = [word for word, meaning in words_of(kind).items() if meaning in (meanings or {meaning})]
    ordered = sorted(words, key=lambda word: (-len(word), word))
    return "(?:" + "|".join(r"[\W_]?".join(map(re.escape, w.split())) for w in ordered) + ")"


def only(pieces: Sequence[Piece], kind: str, *beside: str) -> str | None:
    """The one meaning of a kind that a text states, if it holds nothing but that and fillers.

    Parameters
    ----------
    pieces : sequence of Piece
        The text, taken apart.
    kind : str
        Kind of word that is asked for.
    *beside : str
        Kinds of words that may stand beside it.

    Returns
    -------
    str or None
        None where a word is of another kind, or where two meanings are told.
    """
    meanings = {piece.meaning for piece in pieces if piece.kind == kind}
    rest = {piece.kind for piece in pieces} - {kind, *beside}
    return meanings.pop() if len(meanings) == 1 and not rest else None
