"""From the words of a heading to its tags: phrases, compound words, abbreviations, mild typos."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from itertools import product

from rangeledger.schemas.headings import FILLER, heading_words, plain
from rangeledger.schemas.words import words_of

_CAMEL = re.compile(r"[A-ZÀ-Þ]+(?=[A-ZÀ-Þ][a-zß-ÿ])|[A-ZÀ-Þ]?[a-zß-ÿ]+|[A-ZÀ-Þ]+|\d+")
_WORD = re.compile(r"[^\W_]+")
_DIGRAPHS = (("ae", "a"), ("oe", "o"), ("ue", "u"))
_LINKS = ("", "s", "es", "n", "en", "e", "er", "ns")
_ENDINGS = ("ens", "ets", "ns", "ernas", "arnas", "en", "et", "es", "er", "ar", "or", "s", "n", "e")
_SHORTEST_PIECE = 3
_SHORTEST_STEM = 4
_SHORTEST_TYPO = 5
_MOST_READINGS = 24
_COORDINATE = "y"  # at an end, as in `y_carry`, it is no Spanish `and`

Tags = frozenset[str]


@lru_cache(maxsize=8192)
def words_in(text: str) -> tuple[str, ...]:
    """Words of a heading, folded; camel case is taken apart."""
    words: list[str] = []
    for word in _WORD.findall(text):
        pieces = _CAMEL.findall(word) if not (word.isupper() or word.islower()) else [word]
        if "".join(pieces) != word or (len(pieces) > 1 and is_known(plain(word))):
            pieces = [word]
        words += [plain(piece) for piece in pieces]
    return tuple(word for word in words if word)


def is_known(word: str) -> bool:
    """Whether a vocabulary has a folded word as it stands."""
    return (word,) in heading_words().parts


@lru_cache(maxsize=8192)
def _spellings(word: str) -> tuple[str, ...]:
    """A word and the same with German digraphs written as one letter."""
    spelled = word
    for pair, letter in _DIGRAPHS:
        spelled = spelled.replace(pair, letter)
    return (word,) if spelled == word else (word, spelled)


@cache
def _words_of_file(language: str | None) -> frozenset[str]:
    """Single words of the file's language and of English, which all files mix in; else all."""
    words = heading_words()
    if language is None:
        return words.single_words
    own = {language, "en"}
    return frozenset(w for w in words.single_words if words.languages[(w,)] & own)


@lru_cache(maxsize=8192)
def _pieces(word: str) -> tuple[str, ...] | None:
    """Take a compound word apart into known words, the fewest that cover it."""
    known = heading_words().single_words
    best: dict[int, tuple[str, ...]] = {0: ()}
    for end in range(_SHORTEST_PIECE, len(word) + 1):
        for start in [s for s in best if end - s >= _SHORTEST_PIECE]:
            piece = word[start:end]
            for link in _LINKS:
                stem = piece.removesuffix(link) if link and end < len(word) else piece
                if len(stem) >= _SHORTEST_PIECE and stem in known:
                    longer = (*best[start], stem)
                    if end not in best or len(longer) < len(best[end]):
                        best[end] = longer
    found = best.get(len(word))
    return found if found and len(found) > 1 else None


@cache
def _one_letter_off() -> dict[str, set[str]]:
    """Known words by what is left of them when one letter is missing."""
    index: dict[str, set[str]] = {}
    for word in heading_words().single_words:
        if len(word) >= _SHORTEST_TYPO:
            for place in range(len(word)):
                index.setdefault(word[:place] + word[place + 1 :], set()).add(word)
    return index


def _is_swap_or_change(first: str, second: str) -> bool:
    """One letter added, missing, changed or swapped behind the first, which people get right."""
    if first[0] != second[0]:
        return False
    if abs(len(first) - len(second)) == 1:
        return True
    different = [i for i, (a, b) in enumerate(zip(first, second, strict=True)) if a != b]
    if len(different) == 1:
        return True
    return (
        len(different) == 2
        and different[1] == different[0] + 1
        and first[different[0]] == second[different[1]]
        and first[different[1]] == second[different[0]]
    )


@cache
def _staff() -> frozenset[str]:
    """Words for coaches and operators: `trainer` is no mistyped `trainee`."""
    return frozenset(plain(word) for word in words_of("staff"))


@lru_cache(maxsize=8192)
def _mistyped(word: str, language: str | None) -> str | None:
    """The one known word that differs by a letter added, missing, changed or swapped."""
    if len(word) < _SHORTEST_TYPO or word.isdigit() or word in _staff():
        return None
    index = _one_letter_off()
    near = set(index.get(word, ()))
    for place in range(len(word)):
        shorter = word[:place] + word[place + 1 :]
        if is_known(shorter) and len(shorter) >= _SHORTEST_TYPO:
            near.add(shorter)
        near |= {w for w in index.get(shorter, ()) if len(w) == len(word)}
    near &= _words_of_file(language)
    close = {w for w in near if _is_swap_or_change(word, w)}
    meanings = {heading_words().parts[(w,)] for w in close}
    return min(close) if len(meanings) == 1 else None


def _lookup(words: tuple[str, ...], language: str | None) -> frozenset[Tags] | None:
    for spelled in product(*(_spellings(word) for word in words)):
        found = heading_words().meanings(spelled, language)
        if found:
            return found
    return None


def _stem(word: str) -> str | None:
    """The known word of which this is the plural, genitive or definite form."""
    for ending in _ENDINGS:
        stem = word.removesuffix(ending)
        if stem != word and len(stem) >= _SHORTEST_STEM and is_known(stem):
            return stem
    return None


def _meanings_of_word(word: str, language: str | None) -> list[frozenset[Tags]] | None:
    """Meanings of a word that isn't in the vocabulary as it stands: a compound, a typo."""
    pieces: tuple[str, ...] = ()
    for spelled in _spellings(word):
        pieces = pieces or _pieces(spelled) or ()
    if not pieces:
        near = _stem(word) or _mistyped(word, language)
        pieces = (near,) if near else ()
    found = [heading_words().meanings((piece,), language) for piece in pieces]
    return [meanings for meanings in found if meanings] or None


@lru_cache(maxsize=8192)
def tag_readings(
    words: tuple[str, ...], language: str | None = None
) -> tuple[tuple[Tags, tuple[str, ...]], ...]:
    """All readings of a heading's words as a set of tags.

    Parameters
    ----------
    words : tuple[str, ...]
        Folded words, as `words_in` gives them.
    language : str or None
        The file's language: a word that it has is read in it alone.

    Returns
    -------
    tuple of (frozenset[str], tuple[str, ...])
        Tags without filler, and the words that nobody knows; several readings where a word
        means different things in different languages.
    """
    meanings: list[frozenset[Tags]] = []
    unknown: list[str] = []
    place = 0
    while place < len(words):
        if words[place] == _COORDINATE and place in (0, len(words) - 1) and len(words) > 1:
            unknown.append(words[place])
            place += 1
            continue
        for length in range(min(heading_words().longest, len(words) - place), 0, -1):
            found = _lookup(words[place : place + length], language)
            if found is not None:
                meanings.append(found)
                place += length
                break
        else:
            split = _meanings_of_word(words[place], language)
            meanings += split or []
            unknown += [] if split else [words[place]]
            place += 1
    combinations = list(product(*meanings))[:_MOST_READINGS]
    sets = {frozenset().union(*chosen) - {FILLER} for chosen in combinations}
    return tuple((tags, tuple(unknown)) for tags in sorted(sets, key=sorted))
