"""Which ball was struck and off what, in words that may say both: `Range balls, off the mat`."""

from __future__ import annotations

from functools import cache, lru_cache

from rangeledger.schemas.words import fold, words_of

BALL, SURFACE = "ball", "surface"
_A_BALL = "•"  # stands for `ball`, `balls`, `Bälle`, so that one spelling serves all forms
_SHORTEST_HEAD = 3  # letters before `ball` in a compound such as `Rangeball`
_FILLERS = ("ball_dress", "fillers_said", "shots_said")
_LONGEST = 16  # words of a statement; what is longer tells a story


@cache
def _ball_endings() -> tuple[str, ...]:
    single = {word for word in words_of("ball_words") if " " not in word}
    return tuple(sorted(single, key=lambda word: (-len(word), word)))


@lru_cache(maxsize=8192)
def _parts(word: str) -> tuple[str, ...]:
    """`balls` -> `•`, `rangeballe` -> `range •`, all else as it is."""
    if word in _ball_endings():
        return (_A_BALL,)
    for ending in _ball_endings():
        head = word.removesuffix(ending)
        if head != word and len(head) >= _SHORTEST_HEAD:
            return head, _A_BALL
    return (word,)


def _in_parts(text: str) -> tuple[str, ...]:
    return tuple(part for word in fold(text).split() for part in _parts(word))


@cache
def _phrases() -> tuple[dict[tuple[str, ...], tuple[str, str]], int]:
    """Words in parts -> column and meaning, a blank column for words that say nothing."""
    found: dict[tuple[str, ...], tuple[str, str]] = {(_A_BALL,): ("", "")}
    for kind in _FILLERS:
        found |= {_in_parts(phrase): ("", "") for phrase in words_of(kind) if phrase}
    for column, kind in ((SURFACE, "surfaces"), (BALL, "balls")):
        for phrase, meaning in words_of(kind).items():
            found[_in_parts(phrase)] = (column, meaning)
    return found, max(map(len, found))


@lru_cache(maxsize=4096)
def ball_and_surface(text: str, asked: str | None = None) -> dict[str, str]:
    """Ball and surface that some words state which say nothing else.

    Parameters
    ----------
    text : str
        `yellow range balls`, `Off the grass, with our premium balls`.
    asked : str or None
        `ball` or `surface` where a key or a column asks for it: elsewhere a ball must be called
        one, and a surface needs a word beside it, as `Practice` is a visit and `Tee` a place.

    Returns
    -------
    dict[str, str]
        Canonical ball and surface; empty where a word is left over, and without what the words
        state in two ways.
    """
    words = _in_parts(text)
    if not 0 < len(words) <= _LONGEST:
        return {}
    matched = _meanings_in(words)
    denied = words[0] in words_of("denials") and _A_BALL in words  # `No range balls`
    if matched is None or denied:
        return {}
    named = {
        column: {meaning for kind, meaning in matched if kind == column}
        for column in (BALL, SURFACE)
    }
    counts = {
        BALL: asked == BALL or _A_BALL in words,
        SURFACE: asked == SURFACE or len(words) > 1 or _is_clear(words[0]),
    }
    return {
        column: next(iter(meanings))
        for column, meanings in named.items()
        if len(meanings) == 1 and counts[column]
    }


def _meanings_in(words: tuple[str, ...]) -> list[tuple[str, str]] | None:
    """What each phrase of some words stands for; None where a word stands for nothing."""
    phrases, longest = _phrases()
    matched: list[tuple[str, str]] = []
    place = 0
    while place < len(words):
        for length in range(min(longest, len(words) - place), 0, -1):
            meaning = phrases.get(words[place : place + length])
            if meaning is not None:
                matched.append(meaning)
                place += length
                break
        else:
            return None
    return matched


def _is_clear(word: str) -> bool:
    """Whether a surface by itself is no peg or teeing ground, and no club such as `Fairway`."""
    return words_of("surfaces").get(word) != "tee" and word not in words_of("club_kinds")
