"""Canonical club names from the ways in which players and exports spell clubs.

`club_of` reads one spelling; `clubs_of` reads all spellings of a file together, which settles
letters that mean different clubs in different languages and keeps clubs apart that the player
named apart.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words, fold, words_of

LOFTS = range(46, 65)
_STRONG_LOFTS = range(38, 46)  # of pitching wedges that no canonical club is named for
NUMBERED = {"wood": range(2, 10), "hybrid": range(1, 10), "iron": range(1, 10)}
CANONICAL_CLUBS: tuple[str, ...] = (
    "driver",
    *(f"{number}-{kind}" for kind, numbers in NUMBERED.items() for number in numbers),
    "pitching-wedge",
    "gap-wedge",
    "sand-wedge",
    "lob-wedge",
    *(f"{loft}-wedge" for loft in LOFTS),
    "putter",
)
# `3:a trä`, `7th iron`, `5ème bois`: the ending says nothing.
_ORDINAL = re.compile(r"(?<=[0-9])(?::(?:an|a|e)|[èe]me|th|rd|nd|st|ª)\b", re.I)
_BRACKETED = re.compile(r"^[^()]+\(([^()]+)\)\s*$")  # `Big stick (driver)`
_CAMEL_JOINT = re.compile(r"(?<=[a-zß-ÿ])(?=[A-ZÀ-Þ])")
_DOTTED = re.compile(r"\b([^\W\d_]{1,6})\.(?=\s|[0-9]|$)")  # `ijz. 8`, `pitching w.`
_APPROACH = "gap-wedge_approach"
# `iron no 7`, `wedge de 56°`, `wedge of 56 degrees`
_NUMBER_WORDS = frozenset({"no", "nr", "num"})
_SMALL_WORDS = frozenset({"de", "of", "von", "mit", "di", "med", "av", "the", "my", "el", "le"})
_TENS = frozenset({"40", "50", "60"})  # `fifty six` is a loft in words
_SHORTEST_STEM = 3  # letters of a shortened kind beside a number: `ijz. 8`


@dataclass(frozen=True, slots=True)
class Club:
    """A club as the ledger names it.

    Parameters
    ----------
    name : str
        Canonical name, else the player's own word in lower case.
    known : bool
        Whether `name` is a canonical one.
    """

    name: str
    known: bool


@dataclass(frozen=True, slots=True)
class _Reading:
    """A spelling taken apart: the club, what settled it, and the loft named beside it."""

    name: str
    sense: str = ""
    loft: str = ""
    letter_languages: frozenset[str] = frozenset()


def _own_word(text: str) -> str:
    return " ".join(text.casefold().split())


def _tokens(text: str) -> list[str]:
    """Folded words and numbers: `7er-Eisen` -> [`7er`, `eisen`], `56°` -> [`56`, `deg`]."""
    marked = re.sub(r"(?<![0-9])(?:[#№]|\bn\.?\s?[°º])\s*(?=[0-9])", " ", text, flags=re.I)
    marked = _ORDINAL.sub("", marked)
    marked = re.sub(r"[°º˚]", " deg ", marked)
    marked = re.sub(r"(?<=[0-9]):(?:an|a|e)\b", " ", marked)  # the Swedish `7:a`
    return fold(marked).split()


@cache
def _letters(language: str) -> dict[str, str]:
    return dict(cell_words(language).by_kind.get("club_letters", {}))


@cache
def _numeral_suffixes() -> tuple[tuple[str, str], ...]:
    numerals = words_of("numerals").items()
    return tuple(sorted(numerals, key=lambda item: -len(item[0])))


def _split_compound(word: str) -> list[str]:
    """Part `7i`, `i7`, `iron7`, `trafyra`, `holz3` and `w56` into kind and number."""
    found = re.fullmatch(r"([0-9]{1,2})([a-z]+)", word)
    if found and word not in words_of("numerals"):
        return [found[1], found[2]]
    found = re.fullmatch(r"([a-z]+)([0-9]{1,2})", word)
    if found:
        return [found[1], found[2]]
    for numeral, digit in _numeral_suffixes():
        kind = word.removesuffix(numeral)
        if kind != word and kind in words_of("club_kinds"):
            return [kind, digit]
    return [word]


def _spread(tokens: list[str]) -> list[str]:
    numerals, counted = words_of("numerals"), any(token.isdigit() for token in tokens)
    parts: list[str] = []
    for token in tokens:
        # A word may be a kind here and a numeral there: beside digits it is the kind.
        is_kind = token in words_of("club_kinds") and (counted or token not in numerals)
        if token in words_of("clubs") or is_kind:
            parts.append(token)
        elif token in numerals and parts and parts[-1] in _TENS and len(numerals[token]) == 1:
            parts[-1] = parts[-1][0] + numerals[token]
        else:
            parts.extend(numerals.get(p, p) for p in _split_compound(token))
    return parts


def _numbered(kind: str, number: int, languages: frozenset[str] = frozenset()) -> _Reading | None:
    if kind == "wedge":
        return _Reading(f"{number}-wedge", loft=str(number)) if number in LOFTS else None
    if kind == "wood" and number == 1:
        return _Reading("driver", letter_languages=languages)
    if number in NUMBERED[kind]:
        return _Reading(f"{number}-{kind}", letter_languages=languages)
    return None


def _by_letter(letter: str, number: int) -> dict[str, _Reading]:
    """Readings of a letter beside a number, by language."""
    readings = {}
    for language in LANGUAGES:
        kind = _letters(language).get(letter)
        found = _numbered(kind, number, frozenset({language})) if kind else None
        if found:
            readings[language] = found
    return readings


def _split_loft(parts: list[str]) -> tuple[list[str], str]:
    """Split a loft such as `56 deg`, or a bare 46 to 64, from the other parts."""
    marks = words_of("loft_marks")
    rest, loft, index = [], "", 0
    while index < len(parts):
        part = parts[index]
        following = parts[index + 1] if index + 1 < len(parts) else ""
        is_number = part.isdigit() and len(part) <= 2
        if is_number and not loft and (following in marks or int(part) in LOFTS):
            loft = part
            index += 2 if following in marks else 1
        elif part in marks and index + 1 < len(parts) and following.isdigit():
            loft = loft or following
            index += 2
        else:
            rest.append(part)
            index += 1
    return rest, loft


def _without_half_degrees(text: str) -> str:
    """`10.5°` -> `10°`: a half degree of loft tells no clubs apart by itself."""
    return re.sub(r"([0-9]{1,2})[.,][0-9]+(?=\s*(?:°|º|deg|grad|loft))", r"\1", text, flags=re.I)


def _club_of_words(rest: list[str]) -> str | None:
    """The club that words name, also by initials or a short form of `wedge`: `S/W`, `gap wdg`."""
    clubs = words_of("clubs")
    if found := clubs.get(" ".join(rest)):
        return found
    if len(rest) > 1 and all(len(part) == 1 for part in rest):
        return clubs.get("".join(rest))
    kinds = words_of("club_kinds")
    short = {"w"} if len(rest) > 1 else set()  # `Pitching W.`
    return clubs.get(
        " ".join("wedge" if part in short or kinds.get(part) == "wedge" else part for part in rest)
    )


def _read_named(rest: list[str], loft: str) -> _Reading | None:
    """A club named by words alone, perhaps with its loft: `Sand Wedge`, `SW 56`, `Driver 10°`."""
    named = _club_of_words(rest)
    if named is None:
        return None
    sense = named
    name = named.split("_", 1)[0]
    if name.endswith("-wedge") and loft and int(loft) not in _STRONG_LOFTS:
        if int(loft) not in LOFTS:
            return None
        return _Reading(f"{loft}-wedge", sense=sense, loft=loft)
    return _Reading(name, sense=sense, loft=loft)


def _written_out(text: str) -> set[str]:
    """Spellings with a dotted short word written out, and what stands in brackets."""
    found = set(_BRACKETED.findall(text))
    if (parted := _CAMEL_JOINT.sub(" ", text)) != text:  # `sixIron`
        found.add(parted)
    short = _DOTTED.search(text)
    if short:
        begun = fold(short[1])
        words = [*words_of("club_kinds"), *words_of("clubs")]
        whole = {w for word in words for w in word.split() if w.startswith(begun) and w != begun}
        found |= {f"{text[: short.start()]} {word} {text[short.end() :]}" for word in whole}
    return found


@remembered
def _read(text: str) -> dict[str, _Reading]:
    """Readings of one spelling by language; the key `` holds the one that no language changes."""
    plain = _read_as_written(text)
    if plain:
        return plain
    written_out = [found for other in _written_out(text) if (found := _read_as_written(other))]
    names = {reading.name for found in written_out for reading in found.values()}
    return written_out[0] if len(names) == 1 else {}


def _read_as_written(text: str) -> dict[str, _Reading]:
    parts = _spread(_tokens(_without_half_degrees(text)))
    for without in (_NUMBER_WORDS, _NUMBER_WORDS | _SMALL_WORDS):
        parts = [part for part in parts if part not in without] or parts
        rest, loft = _split_loft(parts)
        named = _read_named(rest, loft)
        if named:
            return {"": named}
    kinds = words_of("club_kinds")
    if loft and (not rest or [kinds.get(part) for part in rest] == ["wedge"] or rest == ["w"]):
        reading = _numbered("wedge", int(loft))
        return {"": reading} if reading else {}
    digits = [part for part in rest if part.isdigit()]
    if len(digits) != 1 or (number := digits[0]) not in (rest[0], rest[-1]):
        return {}
    word = " ".join(part for part in rest if part is not number)
    kind = kinds.get(word) or _kind_begun(word)
    if kind:
        reading = _numbered(kind, int(number))
        return {"": replace(reading, loft=loft)} if reading else {}
    return {k: replace(r, loft=loft) for k, r in _by_letter(word, int(number)).items()}


@cache
def _kind_begun(word: str) -> str | None:
    """The kind that a shortened word can only stand for, `ijz` and `hyb`; None otherwise."""
    if len(word) < _SHORTEST_STEM:
        return None
    kinds = {kind for whole, kind in words_of("club_kinds").items() if whole.startswith(word)}
    return kinds.pop() if len(kinds) == 1 else None


def _pick(readings: dict[str, _Reading], language: str | None) -> _Reading | None:
    """The reading that holds whatever the language, else that of the language asked for."""
    if not readings:
        return None
    if len({reading.name for reading in readings.values()}) == 1 and language is None:
        return next(iter(readings.values()))
    if "" in readings:
        return readings[""]
    if language in readings:
        return readings[language]
    if "en" in readings:
        return readings["en"]
    if len({reading.name for reading in readings.values()}) == 1:
        return next(iter(readings.values()))
    return None


def club_of(text: str, language: str | None = None) -> Club:
    """The club that one spelling names.

    Parameters
    ----------
    text : str
        The spelling: `7i`, `7 Iron`, `Eisen 7`, `Bois 3`, `56°`, `SW`, …
    language : str or None
        Two-letter code of the file's language; it settles letters such as the H of `H7`.
        Without it the English meaning holds.

    Returns
    -------
    Club
        Canonical name, or the player's own word in lower case.
    """
    reading = _pick(_read(text), language)
    return Club(reading.name, True) if reading else Club(_own_word(text), False)


def _letter_language(every: dict[str, dict[str, _Reading]], language: str | None) -> str | None:
    """The language whose letters the file uses: `E7` beside `H3` says German, `M3` Spanish."""
    votes: defaultdict[str, int] = defaultdict(int)
    for readings in every.values():
        if readings and "" not in readings:
            for code in readings:
                votes[code] += 1
    if not votes:
        return language
    most = max(votes.values())
    best = [code for code, count in votes.items() if count == most]
    if language in best or not best:
        return language
    return best[0] if len(best) == 1 else ("en" if "en" in best else language)


def _settle_by_company(found: dict[str, _Reading | None]) -> None:
    """Read bare digits and single letters by the clubs around them.

    Bare digits are irons where other clubs are spelt out and no iron is. Single letters are
    wedges where two of them stand beside a club that is spelt out, or one beside a wedge.
    """
    names = {reading.name for reading in found.values() if reading}
    digits = [text for text in found if re.fullmatch(r"\s*#?\s*[2-9]\s*", text)]
    letters = {t: words_of("wedge_letters").get(fold(t)) for t in found if found[t] is None}
    wedges = {text: sense for text, sense in letters.items() if sense}
    if not names and not (digits and len(set(wedges.values())) > 1):
        return
    if not any(name.endswith("-iron") for name in names):
        found.update({text: _Reading(f"{text.strip(' #')}-iron") for text in digits})
    if len(set(wedges.values())) > 1 or any(name.endswith("-wedge") for name in names):
        for text, sense in wedges.items():
            name = sense.split("_", 1)[0]
            if name not in names:
                found[text] = _Reading(name, sense=sense)


def _distinctions(found: dict[str, _Reading | None]) -> set[str]:
    """Spellings that would fall together although the player told them apart."""
    by_name: defaultdict[str, list[tuple[str, _Reading]]] = defaultdict(list)
    for text, reading in found.items():
        if reading:
            by_name[reading.name].append((text, reading))
    apart: set[str] = set()
    for members in by_name.values():
        if len({reading.loft for _, reading in members if reading.loft}) > 1:
            apart.update(text for text, reading in members if reading.loft)
        senses = {reading.sense for _, reading in members}
        if _APPROACH in senses and "gap-wedge" in senses:
            apart.update(t for t, reading in members if reading.sense == _APPROACH)
        wedges = {s.split("_")[0] for s in senses if s}
        if len(wedges) > 1:
            apart.update(text for text, reading in members if reading.sense)
    return apart


def clubs_of(texts: Iterable[str], language: str | None = None) -> dict[str, Club]:
    """The clubs that the spellings of one file name.

    Parameters
    ----------
    texts : iterable of str
        All distinct spellings of the file.
    language : str or None
        Two-letter code of the file's language, where known.

    Returns
    -------
    dict[str, Club]
        One club a spelling. Letters are read in the language that most of the file's letters
        fit, bare digits and single letters by the clubs around them. Spellings that
        name two clubs apart (`Driver 9°` and `Driver 12°`) keep the player's own words.
    """
    spellings = list(dict.fromkeys(texts))
    every = {text: _read(text) for text in spellings}
    language = _letter_language(every, language)
    found = {text: _pick(readings, language) for text, readings in every.items()}
    _settle_by_company(found)
    apart = _distinctions(found)
    clubs = {}
    for text, reading in found.items():
        if reading is None or text in apart:
            clubs[text] = Club(_own_word(text), False)
        else:
            clubs[text] = Club(reading.name, True)
    return clubs
