"""The heading half of the vocabularies: parts of headings, unit words and words for a sign.

The words themselves are data, one file a language in `schemas/vocabulary`. A part of a heading
stands for one or more *tags* (`ball`, `speed`, `launch`, …); `schemas.compositions` says which
set of tags makes which column. A word that means different things in two languages keeps both
meanings; the other words of the heading and the values below it decide.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

METRIC_LANGUAGES = frozenset(LANGUAGES) - {"en"}  # metres and degrees Celsius where none is said
FILLER = "filler"
_LETTERS_WITHOUT_ACCENT = str.maketrans(
    {"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "’": "'", "º": "°", "˚": "°"}
)
_TOKEN = re.compile(r"[^\W_]+")
Meanings = frozenset[frozenset[str]]

# How units are written, whatever the language; letters are compared in lower case without
# spaces, dots and carets. A writing that can be two units lists both, the dimension decides.
UNIT_SYMBOLS: dict[str, tuple[str, ...]] = {
    "m": ("m", "mtr", "mt"),
    "cm": ("cm",),
    "km": ("km",),
    "yd": ("yd", "yds", "yrd", "yrds", "y"),
    "ft": ("ft", "'", "′", "feet"),
    "in": ("in", "inch", '"', "″"),
    "m/s": ("m/s", "mps", "ms-1", "m/sec", "ms⁻¹", "m*s-1", "m·s-1", "m·s⁻¹", "ms", "ms1"),
    "km/h": ("km/h", "kmh", "kph", "kmph", "kmh-1", "km/hr", "kmh⁻¹", "km·h⁻¹", "km·h-1", "kmperh"),
    "mph": ("mph", "mi/h", "mih", "miles/h", "mi/hr", "m/h", "miles/hr", "mileshour", "miles/hour"),
    "ft/s": ("ft/s", "fps", "ft/sec", "fts", "f/s", "ftsec", "fts-1", "ft·s⁻¹"),
    "kn": ("kn", "kt", "kts", "knt"),
    "deg": ("deg", "degs", "°", "dg", "deg°", "grd", "gr"),
    "rad": ("rad", "rads", "radian", "radians"),
    "rpm": (
        "rpm", "rev/min", "revmin", "revs/min", "r/min", "u/min", "umin", "1/min", "1min", "/min",
        "min-1", "min1", "min⁻¹", "rev/minute", "tr/min", "trmin", "trs/min", "v/min", "vmin",
        "varv/min",
        "upm", "tr/mn", "rpms", "r/m", "rev·min⁻¹", "turns/min",
    ),
    "krpm": (
        "krpm", "1000rpm", "rpm/1000", "krev/min", "rpmx1000", "rpm*1000", "x1000rpm", "rpm×1000",
        "1000/min", "×1000rpm", "1000×rpm", "1000u/min",
    ),
    "rev/s": ("rev/s", "rps", "revs/s", "1/s", "hz", "u/s", "tr/s"),
    "rad/s": ("rad/s", "rads-1", "rad/sec", "rads"),
    "s": ("s", "sec", "secs", "sek", "seg", "segs"),
    "ms": ("ms", "msec", "millis"),
    "degC": ("°c", "c", "degc", "celsius"),
    "degF": ("°f", "f", "degf", "fahrenheit"),
    "hPa": ("hpa", "mbar", "mb", "millibar"),
    "kPa": ("kpa",),
    "Pa": ("pa",),
    "inHg": ("inhg", '"hg', "″hg"),
    "mmHg": ("mmhg", "torr"),
    "psi": ("psi",),
    "%": ("%", "pct", "percent", "prc", "٪"),
}  # fmt: skip


def plain(text: str) -> str:
    """Text in lower case without accents; punctuation stays."""
    lowered = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS_WITHOUT_ACCENT))
    return "".join(c for c in lowered if not unicodedata.combining(c))


def tokens_of(text: str) -> tuple[str, ...]:
    """Words and numbers of a text, in lower case without accents."""
    return tuple(_TOKEN.findall(plain(text)))


def squeeze(text: str) -> str:
    """A unit's writing without spaces, dots and carets, in lower case."""
    return re.sub(r"[\s.^]", "", text.casefold().replace("′′", '"').replace("''", '"'))


@dataclass(frozen=True, slots=True)
class HeadingWords:
    """All heading words of all languages.

    Parameters
    ----------
    parts : Mapping[tuple[str, ...], frozenset[frozenset[str]]]
        Folded words of a part of a heading -> the sets of tags it can stand for.
    by_language : Mapping[str, Mapping[tuple[str, ...], frozenset[frozenset[str]]]]
        The same for each language alone.
    units : Mapping[str, tuple[str, ...]]
        Squeezed writing of a unit -> symbols of `rangeledger.schemas.units` that it can be.
    signs : Mapping[str, frozenset[str]]
        Folded word or sign -> any of `left right up down positive negative`.
    longest : int
        Number of words of the longest part.
    languages : Mapping[tuple[str, ...], frozenset[str]]
        Folded words of a part -> the languages that have it.
    """

    parts: Mapping[tuple[str, ...], frozenset[frozenset[str]]]
    by_language: Mapping[str, Mapping[tuple[str, ...], frozenset[frozenset[str]]]]
    units: Mapping[str, tuple[str, ...]]
    signs: Mapping[str, frozenset[str]]
    longest: int
    languages: Mapping[tuple[str, ...], frozenset[str]]

    def meanings(self, key: tuple[str, ...], language: str | None) -> Meanings | None:
        """What a part can stand for: in a language if it has the part, else in any."""
        known = self.by_language.get(language or "", {}).get(key)
        return known or self.parts.get(key)

    @property
    def single_words(self) -> frozenset[str]:
        """Parts that consist of one word."""
        return frozenset(key[0] for key in self.parts if len(key) == 1)


def _parts(table: Mapping[str, Iterable[str]]) -> Iterable[tuple[tuple[str, ...], frozenset[str]]]:
    for tags, words in table.items():
        for word in words:
            yield tokens_of(word), frozenset(tags.split("+"))


def _unit_writings(files: Iterable[dict[str, Any]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    tables = [UNIT_SYMBOLS, *(file.get("unit_words", {}) for file in files)]
    for table in tables:
        for symbol, writings in table.items():
            for writing in writings:
                known = found.setdefault(squeeze(plain(writing)), [])
                if symbol not in known:
                    known.append(symbol)
    return {writing: tuple(symbols) for writing, symbols in found.items()}


@cache
def heading_words() -> HeadingWords:
    """Read the vocabularies of all languages; the result is kept.

    Returns
    -------
    HeadingWords
        The words, folded.
    """
    files = {language: vocabulary(language) for language in LANGUAGES}
    parts: dict[tuple[str, ...], set[frozenset[str]]] = {}
    own: dict[str, dict[tuple[str, ...], set[frozenset[str]]]] = {}
    languages: dict[tuple[str, ...], set[str]] = {}
    signs: dict[str, set[str]] = {}
    for language, file in files.items():
        for key, tags in _parts(file.get("heading_parts", {})):
            parts.setdefault(key, set()).add(tags)
            own.setdefault(language, {}).setdefault(key, set()).add(tags)
            languages.setdefault(key, set()).add(language)
        for meaning, words in file.get("sign_words", {}).items():
            for word in words:
                signs.setdefault(plain(word), set()).add(meaning)
    return HeadingWords(
        {key: _without_filler(meanings) for key, meanings in parts.items()},
        {
            language: {key: _without_filler(meanings) for key, meanings in table.items()}
            for language, table in own.items()
        },
        _unit_writings(files.values()),
        {word: frozenset(meanings) for word, meanings in signs.items()},
        max(len(key) for key in parts),
        {key: frozenset(found) for key, found in languages.items()},
    )


def _without_filler(meanings: set[frozenset[str]]) -> Meanings:
    """A word that is only a filler word in one language keeps its meaning of another."""
    telling = {tags for tags in meanings if tags != frozenset({FILLER})}
    return frozenset(telling or {frozenset({FILLER})})


def unit_symbols(text: str) -> tuple[str, ...]:
    """Symbols of `rangeledger.schemas.units` that a text can stand for, empty if it is no unit.

    Parameters
    ----------
    text : str
        A writing such as `mph`, `[Km/h]` or `Grad`.

    Returns
    -------
    tuple[str, ...]
        Symbols; two where the writing is ambiguous and the dimension has to decide.
    """
    units = heading_words().units
    stripped = text.strip().strip("()[]{}<>|").strip()
    return units.get(squeeze(plain(stripped)), ())
