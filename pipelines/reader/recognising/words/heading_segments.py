"""The stretches and brackets of a heading: which of them are units, signs, or words."""

from __future__ import annotations

import re
from dataclasses import dataclass

from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.pipelines.reader.recognising.words.signs import (
    is_side_letter,
    is_sign_word,
    positive_side,
)
from rangeledger.schemas.headings import unit_symbols
from rangeledger.schemas.units import ONLY_STATED
from rangeledger.schemas.words import fold, words_of

_BRACKETS = re.compile(r"[(\[{<]([^()\[\]{}<>]*)[)\]}>]")
_SEPARATORS = re.compile(r"[,;|]|(?<![,;:(\[])\s[-–—/]\s|\s(?=[/])")
_NUMBER_SIGN = re.compile(r"#|№|\bn\.?\s?[°º]", re.IGNORECASE)
_CAMEL_JOINT = re.compile(r"(?<=[a-zß-ÿ])(?=[A-ZÀ-Þ])|_")
# `vers le bas positif`, `towards left +`: words before a side, where a sign is stated.
_BEFORE_A_SIDE = frozenset({"vers", "hacia", "nach", "mot", "verso", "naar", "towards", "toward"})
# `(0-1)`, `(0 to 100)`: the scale of a share, which the numbers show by themselves.
_SCALE = re.compile(
    r"[(\[]\s*0\s*(?:-|–|\.\.\.?|to|bis|à|a|till)\s*1(?:00)?\s*[)\]]", re.IGNORECASE
)
# `(hh:mm)`, `(TT.MM.JJJJ)`: how the cells are written.
_WRITTEN_AS = re.compile(
    r"[(\[]\s*(?:([a-zå])\1{1,3})(?:[:./\-\s](?:([a-zå])\2{0,3})){1,5}\s*[)\]]", re.IGNORECASE
)
_CHOICES = re.compile(r"[/|,;]")
_UNIT_SIGNS = re.compile(r"[/^·⁻°]")
MOST_UNIT_WORDS = 4
SHORTEST_SPELT = 4  # letters of a unit that is written out


@dataclass(slots=True)
class Segments:
    """Words: all, those that say no sign, those before a sign, those of parts without one."""

    words: list[str]
    bare: list[str]
    before: list[str]
    elsewhere: list[str]
    units: tuple[str, ...]
    positive: str | None
    several: bool = False  # stretches that a sign of punctuation parts
    alone: bool = False  # nothing stands beside this stretch


def _take_segment(segment: str, found: Segments) -> None:
    """Sort one bracket or stretch of a heading into unit, sign or words."""
    text = segment.strip()
    if not text or fold(text) in words_of("instruments"):
        return
    side = positive_side(text)
    symbols = _divided_by(text) or unit_symbols(text)
    if symbols and found.alone and set(symbols) <= ONLY_STATED:
        symbols = ()  # a heading `dm` is a name
    if not side and symbols:
        found.units = found.units or symbols
        return
    text = _without_written_unit(text, found)
    first, _, rest = text.partition(" ")
    if found.several and rest and len(first) >= SHORTEST_SPELT and (s := unit_symbols(first)):
        found.units, text = found.units or s, rest  # `landed, yards off`
    words = words_in(text)
    signed = [k for k, w in enumerate(words) if side and (is_sign_word(w) or is_side_letter(w))]
    beside_a_side = _BEFORE_A_SIDE | words_of("hand_sides").keys() if side else frozenset()
    bare = tuple(w for k, w in enumerate(words) if k not in signed and w not in beside_a_side)
    if side:
        found.positive = found.positive or side
        if symbols := unit_symbols(" ".join(bare)):
            found.units = found.units or symbols
            found.words += [words[k] for k in signed]  # `left - / right + m` names nothing else
            return
    found.words += words
    found.bare += bare
    cut = next((k for k, w in enumerate(words) if k in signed or w in beside_a_side), 0)
    found.before += words[:cut] if side else words
    found.elsewhere += () if side else words  # `Side spin (+ curves left)`: verbs of a sign


def _divided_by(text: str) -> tuple[str, ...]:
    """The unit of `Side (+ right) / m`, where a quantity is divided by its unit.

    That is how ISO 80000-1 heads columns of numbers; `/ min` alone stays a rate.
    """
    symbols = unit_symbols(text[1:].strip(" ()[]")) if text.startswith("/") else ()
    return () if "min" in symbols else symbols


def _without_written_unit(text: str, found: Segments) -> str:
    """A stretch without the unit that it ends with, where that is written with signs: `1/min`."""
    pieces = text.split()
    for length in range(min(MOST_UNIT_WORDS, len(pieces) - 1), 0, -1):
        written = " ".join(pieces[-length:])
        symbols = unit_symbols(written) if _UNIT_SIGNS.search(written) else ()
        if symbols:
            found.units = found.units or symbols
            return " ".join(pieces[:-length])
    return text


def _written_as(bracket: re.Match[str]) -> str:
    """Nothing for the form of dates and times; a unit such as `(mm/s)` stays."""
    return bracket[0] if unit_symbols(bracket[0]) else " "


def _without_choices(bracket: re.Match[str]) -> str:
    """Nothing for a bracket that names what its cells may say: `(mat/tee/grass)`."""
    choices = [choice for choice in _CHOICES.split(bracket[1]) if choice.strip()]
    known = len(choices) > 1 and all(fold(c) in words_of("surfaces") for c in choices)
    return " " if known else bracket[0]


def segments_of(text: str) -> Segments:
    """Sort the stretches and brackets of a heading.

    Parameters
    ----------
    text : str
        `Carry (yds)`, `Side, m (+ right)`.

    Returns
    -------
    Segments
        Its words, the unit and the side that it states.
    """
    found = Segments([], [], [], [], (), None)
    text = _NUMBER_SIGN.sub(" number ", _WRITTEN_AS.sub(_written_as, _SCALE.sub(" ", text)))
    text = _BRACKETS.sub(_without_choices, text)
    for inner in _BRACKETS.findall(text):
        if symbols := unit_symbols(inner):
            found.units = found.units or symbols
    outside = _BRACKETS.sub(lambda m: "," if unit_symbols(m.group(1)) else f",{m.group(1)},", text)
    spaced = _CAMEL_JOINT.sub(" ", text)
    found.positive = positive_side(spaced)
    stretches = [part for part in _SEPARATORS.split(outside) if part.strip()]
    found.several = len(stretches) > 1
    found.alone = len(stretches) == 1 and not found.units
    rest = stretches[1:]
    lettered = bool(rest) and len(stretches[0].strip()) == 1
    if lettered and any(unit_symbols(part) for part in rest):
        found.elsewhere += words_in(stretches[0])  # `y (m, left)`: a letter, and then its unit
        stretches = rest
    for stretch in stretches:
        _take_segment(stretch, found)
    return found
