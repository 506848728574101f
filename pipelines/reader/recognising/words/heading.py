"""What a heading says: column, unit, positive side, and how a distance was measured."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from html import unescape

from rangeledger.pipelines.reader.recognising.words.heading_segments import (
    MOST_UNIT_WORDS,
    SHORTEST_SPELT,
    segments_of,
)
from rangeledger.pipelines.reader.recognising.words.heading_tags import (
    Tags,
    is_known,
    tag_readings,
    words_in,
)
from rangeledger.pipelines.reader.recognising.words.side_letters import side_letters
from rangeledger.pipelines.reader.recognising.words.signs import (
    OPPOSITE,
    is_sign_word,
    partly_stated,
    positive_side,
    side_by_hand,
)
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT, viewpoint, without_view
from rangeledger.schemas.compositions import (
    ALONG,
    MODELLED,
    OFF,
    SIDED,
    SIZE,
    STRAIGHT,
    column_dimension,
    compositions_for,
)
from rangeledger.schemas.headings import heading_words, unit_symbols
from rangeledger.schemas.units import ONLY_STATED, UNITS
from rangeledger.schemas.words import fold, words_of

_LEADING_NUMBER = re.compile(r"^\s*[0-9]{1,2}[.):]?\s+(?=[^\W\d]{3})")
_POSSESSIVE = re.compile(r"(?<=[^\W\d_])['’]s\b", re.IGNORECASE)
# `0 = not seen`, told within a heading of the numbers below it.
_STATED_NUMBER = re.compile(r"[;,]?\s*-?[0-9.]+\s*=\s*([^;,()\[\]=]+)(?=[;,)\]]|$)")
_MEAN_SIGN = re.compile(r"(?<!\w)(?:[Øø⌀∅]|[xX]\u0304)(?!\w)")
_ABOVE_ZERO, _BELOW_ZERO = re.compile(r">\s?0\b"), re.compile(r"<\s?0\b")
UNKNOWN_WORD_COST = 0.3
_MODELLED_COST = 0.12
_QUALIFIERS = frozenset({OFF, MODELLED, SIZE})
_SHORTEST_GLUED = 4
_LEAST_LETTERED = 0.6  # from here on a heading is sure to have a left and a right
_MEASURED_BY_WORDS = frozenset({STRAIGHT, ALONG})
_ACROSS = ("y", "z")  # axes across the line of the target, in whatever frame
_TARGET_LINE = frozenset({"target", "line"})
_ALONG_WITH = frozenset({"carry", "total", "flight", "landing"})
_MAY_HAVE_SIDES = frozenset({"carry", "total", "launch", "landing"})
_NOT_ALONG = frozenset({"side", "face", "direction"})


@dataclass(frozen=True, slots=True)
class Candidate:
    """A column that a heading may mean, and how telling its words are, 0 to 1."""

    column: str
    weight: float


@dataclass(frozen=True, slots=True)
class Heading:
    """What the words of one heading say.

    Parameters
    ----------
    text : str
        The heading as it stands in the export.
    candidates : tuple[Candidate, ...]
        Columns that it may mean, best first.
    units : tuple[str, ...]
        Unit symbols stated, two where the writing is ambiguous, empty where none is stated.
    positive : str or None
        Side counted as positive: `left`, `right`, `up`, `down`; `open` and `closed` are right and
        left for a right-handed player.
    straight, along : bool
        Whether a distance is said to be straight to the point, or along the target line.
    unknown : tuple[str, ...]
        Words that no vocabulary has.
    tags : frozenset[str]
        What the known words stand for.
    letters : tuple of (str, str)
        Letters that the cells write for a side, with `L` or `R`.
    unclear : bool
        Whether it speaks of signs or of a view and says nothing that can be understood.
    front : bool
        Whether sides that its cells name are seen from the target.
    """

    text: str
    candidates: tuple[Candidate, ...]
    units: tuple[str, ...]
    positive: str | None
    straight: bool
    along: bool
    unknown: tuple[str, ...]
    tags: Tags
    letters: tuple[tuple[str, str], ...] = ()
    unclear: bool = False
    front: bool = False

    @property
    def best(self) -> Candidate | None:
        """The most telling candidate, None if the heading isn't understood."""
        return self.candidates[0] if self.candidates else None

    @property
    def weight(self) -> float:
        """How telling the heading is, 0 if it isn't understood."""
        return self.candidates[0].weight if self.candidates else 0.0


def _candidates(
    tags: Tags, unknown: tuple[str, ...], units: tuple[str, ...]
) -> list[tuple[float, str, str | None]]:
    """Weighted columns of one reading; a stated unit must be one of the column's."""
    off, cost = OFF in tags, _MODELLED_COST if MODELLED in tags else 0.0
    tags -= _QUALIFIERS
    along = _means_along(tags)
    along = along or (ALONG in tags and not tags & _NOT_ALONG)
    core = tags - _MEASURED_BY_WORDS - (_TARGET_LINE if along else frozenset())
    dimensions = {UNITS[symbol].dimension for symbol in units}
    found = []
    for fit in compositions_for(core):
        dimension = column_dimension(fit.column)
        if core != tags and dimension != "length" and not along:
            continue
        if dimensions and not _fits(fit.column, dimension, dimensions, units):
            continue
        if fit.when and fit.when not in dimensions:
            continue
        if off and fit.column == "launch_direction_deg" and "launch" not in tags:
            continue
        weight = fit.weight - UNKNOWN_WORD_COST * len(unknown) - cost
        if weight > 0:
            found.append((weight, fit.column, dimension))
    return found


def _means_along(tags: Tags) -> bool:
    """`On the target line` beside a carry or total, not beside a side or a face."""
    return tags >= _TARGET_LINE and bool(tags & _ALONG_WITH) and not tags & _NOT_ALONG


def _fits(column: str, dimension: str | None, dimensions: set[str], units: tuple[str, ...]) -> bool:
    if dimension is None:
        return False
    if column == "air_temp_c" and "deg" in units:
        return True
    return dimension in dimensions


def _without_a_sentinel(found: re.Match[str]) -> str:
    words = fold(found[1])
    return "" if words in words_of("missing") or words in words_of("unmeasured") else found[0]


def _glued_unit(word: str) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """`CARRYM`, `sideyd`: a known word with its unit, where both together are no word."""
    if is_known(word):
        return None
    for length in (3, 2, 1):
        stem, symbols = word[:-length], unit_symbols(word[-length:])
        if symbols and len(stem) >= _SHORTEST_GLUED and is_known(stem):
            return (stem,), symbols
    return None


def _ending_unit(words: tuple[str, ...]) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Ways to take the last (or first) words of a heading as its unit, the longest first."""
    glued = _glued_unit(words[-1]) if len(words) == 1 else None
    ways = [glued] if glued else []
    parted = unit_symbols("/".join(words[-2:])) if len(words) > 2 else ()
    if any(UNITS[symbol].dimension == "speed" for symbol in parted):  # `ball_speed_m_s`
        ways.append((words[:-2], parted))
    for length in range(min(MOST_UNIT_WORDS, len(words)), 0, -1):
        for unit, rest in ((words[-length:], words[:-length]), (words[:length], words[length:])):
            symbols = unit_symbols(" ".join(unit))
            # `In the air`, `y_carry`: no unit stands in front as a letter or a preposition.
            first = rest == words[1:] and (unit == ("in",) or len(unit[0]) == 1)
            named = not rest and set(symbols) <= ONLY_STATED  # a heading `dm` is a name
            if symbols and not first and not named:
                ways.append((rest, symbols))
    return ways


def names_only_a_side(text: str) -> bool:
    """Whether a heading has no word but one for a side, beside its unit: `right_yd`."""
    words = [word for word in words_in(text) if not unit_symbols(word)]
    sides = [word for word in words if is_sign_word(word)]
    rest = tuple(word for word in words if word not in sides)
    return len(sides) == 1 and not any(next(iter(tag_readings(rest)), ()))


@dataclass(frozen=True, slots=True)
class _Reading:
    candidates: dict[str, float]
    tags: Tags
    unknown: tuple[str, ...]
    units: tuple[str, ...]

    @property
    def weight(self) -> float:
        return max(self.candidates.values(), default=0.0)


def _is_sided(reading: _Reading) -> bool:
    """Whether a column with a left and a right is the best that a reading gives."""
    best = max(reading.candidates, key=lambda name: reading.candidates[name], default="")
    return best in SIDED


def _read_words(words: tuple[str, ...], units: tuple[str, ...], language: str | None) -> _Reading:
    best: dict[str, float] = {}
    telling: tuple[float, Tags, tuple[str, ...]] = (-1.0, frozenset(), ())
    for tags, unknown in tag_readings(words, language):
        found = _candidates(tags, unknown, units)
        weight = max((w for w, _, _ in found), default=0.0)
        if weight > telling[0]:
            telling = (weight, tags, unknown)
        for w, column, _ in found:
            best[column] = max(best.get(column, 0.0), w)
    return _Reading(best, telling[1], telling[2], units)


def _best_reading(words: tuple[str, ...], units: tuple[str, ...], language: str | None) -> _Reading:
    """The surest reading, with or without unit words at either end of the heading's words."""
    ways = _ending_unit(words)
    if units:
        dimensions = {UNITS[symbol].dimension for symbol in units}
        same = [rest for rest, s in ways if dimensions & {UNITS[symbol].dimension for symbol in s}]
        readings = [_read_words(rest, units, language) for rest in (words, *same)]
    else:
        readings = [
            _best_reading(rest, symbols, language) for rest, symbols in ways if rest != words
        ]
        readings.append(_read_words(words, (), language))
    # A unit among the words makes their reading surer, so it wins a tie.
    return max(readings, key=lambda reading: reading.weight)


def _beside_the_line(words: tuple[str, ...]) -> tuple[str, tuple[str, ...]] | None:
    """`Right of the line`: the one side that is named counts as positive."""
    if any(STRAIGHT in tags for tags, _ in tag_readings(words)):
        return None  # `ligne droite` is a straight line, and no right of it
    signs = heading_words().signs
    side_words = [word for word in words if word in signs and len(word) >= SHORTEST_SPELT]
    rest = tuple(word for word in words if word not in side_words)
    if (
        len(side_words) != 1
        or not signs[side_words[0]] <= {"left", "right"}
        or len(signs[side_words[0]]) != 1
    ):
        return None
    if unit_symbols(" ".join(rest)) or not rest:
        return next(iter(signs[side_words[0]])), ("sideways", *rest)  # `right_yd`, `rechts (m)`
    tags = next(iter(tag_readings(rest)), (frozenset(), ()))
    if not any(tags):
        return next(iter(signs[side_words[0]])), ("sideways",)  # `A la izquierda`
    if tags[1] or not tags[0] & _TARGET_LINE or not tags[0] <= _TARGET_LINE | _ALONG_WITH:
        return None
    return next(iter(signs[side_words[0]])), (*rest, "sideways")


@lru_cache(maxsize=8192)
def read_heading(text: str, units_row: str = "", language: str | None = None) -> Heading:
    """Read one heading.

    Parameters
    ----------
    text : str
        The heading, in any of the vocabularies' languages, in any case and punctuation.
    units_row : str
        What the row of units says below it, if there is one.
    language : str or None
        The file's language, where known: a word that it has is read in it alone.

    Returns
    -------
    Heading
        What the words say; without candidates if they say nothing known.
    """
    plain_text = _POSSESSIVE.sub("", unescape(text) if "&" in text and ";" in text else text)
    plain_text = _MEAN_SIGN.sub(" mean ", plain_text)
    plain_text = _ABOVE_ZERO.sub("+", _BELOW_ZERO.sub("-", plain_text))
    plain_text = (
        _STATED_NUMBER.sub(_without_a_sentinel, plain_text) if "=" in plain_text else plain_text
    )
    lettered = side_letters(plain_text)
    if lettered is not None:
        heading = read_heading(lettered[0], units_row, language)
        if heading.best and heading.best.column in SIDED and heading.weight >= _LEAST_LETTERED:
            return replace(heading, text=text, letters=lettered[1])
    view = viewpoint(plain_text)
    if view is not None:
        seen = without_view(plain_text, seen=True)
        heading = read_heading("" if viewpoint(seen) else seen, units_row, language)
        if heading.best and heading.best.column in SIDED:
            turned = OPPOSITE.get(heading.positive or "") if view == FRONT else heading.positive
            unclear = turned is None or view == "unknown" or heading.unclear
            front = view == FRONT
            return replace(heading, text=text, positive=turned, unclear=unclear, front=front)
    by_hand = side_by_hand(plain_text)
    segments = segments_of(_LEADING_NUMBER.sub("", by_hand[1] if by_hand else plain_text))
    units = unit_symbols(units_row) or segments.units
    below = positive_side(units_row) if units_row else None
    positive = segments.positive or below
    ways = [tuple(segments.words)]
    beside = None if positive or by_hand else _beside_the_line(ways[0])
    if beside and _best_reading(ways[0], units, language).weight > _LEAST_LETTERED:
        beside = None  # `Carry (ligne droite)`: a straight line, and no side
    if beside:
        positive, ways = beside[0], [beside[1]]
    elif positive:
        named = _beside_the_line(tuple(segments.elsewhere))
        if named and named[0] == positive:  # `How far right (yards, minus is left)`
            ways.append(named[1])
        ways = [tuple(segments.bare), *ways]
        ways.append(tuple(w for w in segments.words if not is_sign_word(w)))
        ways += [tuple(segments.before), tuple(segments.elsewhere)]
    readings = [_best_reading(words, units, language) for words in ways]
    if positive in ("left", "right") and not _is_sided(max(readings, key=lambda r: r.weight)):
        # `phi_launch [deg; right+]`, `carry_y (+ right)`: what has a left and a right is a side,
        # though no word says so.
        sided = [
            _best_reading(("sideways", *(w for w in words if w not in _ACROSS)), units, language)
            for words in ways
            if any(tags & _MAY_HAVE_SIDES for tags, _ in tag_readings(words, language))
        ]
        readings = [*(reading for reading in sided if _is_sided(reading)), *readings]
    reading = max(readings, key=lambda found: found.weight)
    ordered = sorted(reading.candidates.items(), key=lambda item: -item[1])
    return Heading(
        text=text,
        candidates=tuple(Candidate(column, round(weight, 3)) for column, weight in ordered),
        units=reading.units or units,
        positive=by_hand[0] if by_hand else positive,
        straight=STRAIGHT in reading.tags,
        along=ALONG in reading.tags or _means_along(reading.tags),
        unknown=reading.unknown,
        tags=reading.tags,
        unclear=positive is None and by_hand is None and partly_stated(plain_text),
    )
