"""What a writing of a unit stands for: algebra over the unit words of all languages.

`km/h`, `kilometres per hour`, `Kilometer pro Stunde` and `km h^-1` are one length over one time,
whatever the words: a writing is taken apart into words, counts, powers and dividers, and is a unit
where their product is one of `schemas.units`. No list holds finished writings.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import islice, product

from rangeledger.schemas.folding import plain
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

# Letters that are written for a unit whatever the language. Several meanings of one are all
# tried: `m` is a minute in `r/m` and a mile in `m/h`, for no other reading is a unit then.
_LETTERS: dict[str, tuple[str, ...]] = {
    "m": ("m", "mt"), "dm": ("dm",), "cm": ("cm",), "mm": ("mm",), "km": ("km",),
    "yd": ("yd", "yds", "yrd", "yrds", "y"), "ft": ("ft", "'", "′"), "in": ("in", '"', "″"),
    "mi": ("mi", "m"), "s": ("s", "sec", "secs"), "ms": ("ms", "msec"),
    "min": ("min", "mins", "mn", "m"), "h": ("h", "hr", "hrs"), "rev": ("r", "rev", "revs"),
    "deg": ("deg", "degs", "°", "dg", "grd", "gr"), "mdeg": ("mdeg", "mdegs"),
    "rad": ("rad", "rads"),
    "mrad": ("mrad", "mrads"), "cdeg": ("cdeg", "centideg", "cdegs"), "K": ("°k", "kelvin", "k"),
    "m/s": ("mps", "ms"), "km/h": ("kmh", "kph", "kmph", "kmperh"), "mph": ("mph", "mih"),
    "ft/s": ("fps",), "kn": ("kn", "kt", "kts", "knt"), "rpm": ("rpm", "rpms"),
    "krpm": ("krpm",), "krev": ("krev",), "rev/s": ("rps", "hz"), "degC": ("°c", "c", "degc"),
    "degF": ("°f", "f", "degf"), "hPa": ("hpa", "mbar", "mb"), "kPa": ("kpa",), "Pa": ("pa",),
    "inHg": ("inhg", '"hg', "″hg"), "mmHg": ("mmhg", "torr"), "psi": ("psi",),
    "%": ("%", "pct", "prc", "٪"),
}  # fmt: skip
_PER, _HOURLY, _THOUSAND, _HUNDRED, _BESIDE = "per", "hourly", "thousand", "hundred", "beside"
_COUNTED = {1000.0: "krpm", 100.0: "100rpm"}
_SCALES = {_THOUSAND: 1000.0, _HUNDRED: 100.0}
_DIGITS = re.compile(r"^[\s(\[]*[0-9.,]+[\s)\]]*$")
_MOST_READINGS = 256
_LONGEST = 60
_SUPERSCRIPT = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_RAISED = re.compile(r"[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")
_TEN_TO = re.compile(r"\b(10|e)\s?\^\s?([23])(?!\d)")
_TOKEN = re.compile(
    r"(?P<word>°\s?[cfk]\b|[^\W\d_]+|[°'′\"″%٪](?:hg)?)(?P<power>\s?\^?-[12](?!\d)|\^[12](?!\d))?"
    r"|(?P<number>0[.,]0?1|\d+)|(?P<over>[/÷:])|(?P<rest>\S)"
)
# `in metres`: with other words `in` is no inch.
_IN_WITH_MORE = re.compile(r"[^\W\d_]\s+in\b(?!\s?hg)|\bin\s+(?!hg)[^\W\d_]")
_HARMLESS = set("()[]{}<>|.*·×^,-_")
# Between two writings of one unit; a slash without blanks divides.
_SPELT = re.compile(r"[^\W\d_]{2}")
_PARTED = re.compile(r"[,;=|(]|\s/\s")


@dataclass(frozen=True, slots=True)
class _Part:
    """Length, time and angle to their powers, times a factor; `symbol` where it is no product."""

    powers: tuple[int, int, int] = (0, 0, 0)
    factor: float = 1.0
    symbol: str | None = None
    over: bool = False  # a divider: what follows it is below the line


_POWERS = {
    "length": (1, 0, 0), "time": (0, 1, 0), "angle": (0, 0, 1), "speed": (1, -1, 0),
    "rotation": (0, -1, 1),
}  # fmt: skip
_RPM_IN_DEG_PER_S = 6.0
_TIMES_S = {"min": 60.0, "h": 3600.0}
_NOTHING = _Part()
_OVER = _Part(over=True)


def _part(symbol: str) -> _Part:
    if symbol in _TIMES_S:
        return _Part((0, 1, 0), _TIMES_S[symbol])
    if symbol in ("rev", "krev"):
        return _Part((0, 0, 1), 360.0 if symbol == "rev" else 360_000.0)
    if symbol == "mi":
        return _Part((1, 0, 0), 1609.344)
    unit = UNITS[symbol]
    powers = _POWERS.get(unit.dimension)
    if powers is None:
        return _Part(symbol=symbol)
    return _Part(powers, unit.factor * (_RPM_IN_DEG_PER_S if unit.dimension == "rotation" else 1.0))


@cache
def _phrases() -> re.Pattern[str]:
    """Writings of several words, the longest first."""
    tables = (vocabulary(language).get("unit_words", {}) for language in LANGUAGES)
    found = {plain(w) for table in tables for words in table.values() for w in words if " " in w}
    return re.compile(r"\b(?:" + "|".join(sorted(found, key=len, reverse=True)) + r")\b")


@cache
def _words() -> dict[str, tuple[_Part, ...]]:
    """Folded word -> what it may stand for, the letters of all languages together."""
    found: dict[str, list[_Part]] = {}
    tables = [_LETTERS, *(vocabulary(language).get("unit_words", {}) for language in LANGUAGES)]
    for table in tables:
        for symbol, writings in table.items():
            for writing in writings:
                known = found.setdefault(plain(writing).replace(" ", ""), [])
                known += [part for part in _parts_of(symbol) if part not in known]
    return {word: tuple(parts) for word, parts in found.items()}


def _parts_of(symbol: str) -> tuple[_Part, ...]:
    if symbol == _PER:
        return (_OVER,)
    if symbol == _HOURLY:
        return (_Part((0, -1, 0), 1.0 / _TIMES_S["h"]),)
    if symbol in _SCALES:
        return (_Part(factor=_SCALES[symbol]),)
    return (_NOTHING,) if symbol == _BESIDE else (_part(symbol),)


def _raised(part: _Part, power: int) -> _Part:
    first, second, third = part.powers
    return _Part((first * power, second * power, third * power), part.factor**power, part.symbol)


def _word_parts(word: str, power: int) -> tuple[_Part, ...]:
    """Meanings of a word; `ms-1` and `fts-1` are a length and a time to the power."""
    known = _words()
    found = [_raised(part, power) for part in known.get(word, ()) if not part.over]
    found += [part for part in known.get(word, ()) if part.over and power == 1]
    for cut in range(1, len(word)) if power < 0 else ():
        for first, second in product(known.get(word[:cut], ()), known.get(word[cut:], ())):
            if first.powers == (1, 0, 0) and second.powers == (0, 1, 0):
                found.append(_product((first, _raised(second, power))))
    return tuple(found)


def _product(parts: tuple[_Part, ...]) -> _Part:
    powers, factor, symbol, below = [0, 0, 0], 1.0, None, False
    for part in parts:
        if part.over:
            below = True
            continue
        if part.powers == (0, 0, 0) and part.symbol is None:
            factor *= part.factor
            below = below and part.factor == 1.0
            continue
        if part.symbol is not None:
            symbol = part.symbol if symbol in (None, part.symbol) else ""
        raised = _raised(part, -1) if below else part
        powers = [a + b for a, b in zip(powers, raised.powers, strict=True)]
        factor, below = factor * raised.factor, False
    return _Part((powers[0], powers[1], powers[2]), factor, symbol)


def _tokens(text: str) -> list[tuple[_Part, ...]] | None:
    """Meanings of each token, None where one is no part of a unit."""
    found: list[tuple[_Part, ...]] = []
    counted = False
    for token in _TOKEN.finditer(text):
        if word := token["word"]:
            power = int(token["power"].replace("^", "")) if token["power"] else 1
            meanings = _word_parts(word.replace(" ", ""), power)
            if not meanings and word == "x":
                continue
            if not meanings:
                return None
            if not found or found[-1] != meanings:  # `deg°` says it twice
                found.append(meanings)
        elif token["number"]:
            count = float(token["number"].replace(",", "."))
            twice = counted and count != 1.0  # `10³ 1/min` counts once
            if twice or count not in (0.01, 0.1, 1.0, 10.0, 100.0, 1000.0):
                return None
            counted = counted or count != 1.0
            found.append((_Part(factor=count),))
        elif token["over"]:
            found.append((_OVER,))
        elif token["rest"] not in _HARMLESS:
            return None
    return found


def _symbol(part: _Part) -> str | None:
    """The unit that a product is."""
    if part.symbol is not None:
        others = part.powers[0] or part.powers[1] or part.powers[2] not in (0, 1)
        return None if others or not part.symbol else part.symbol
    factor, powers = part.factor, part.powers
    if powers == (0, -1, 0):  # `1/min` counts turns
        powers, factor = (0, -1, 1), factor * 360.0
    for symbol, unit in UNITS.items():
        if _POWERS.get(unit.dimension) == powers:
            whole = unit.factor * (_RPM_IN_DEG_PER_S if unit.dimension == "rotation" else 1.0)
            if math.isclose(whole, factor, rel_tol=1e-6):
                return symbol
    return None


def _readings(tokens: list[tuple[_Part, ...]], *, spelt: bool) -> Iterator[_Part]:
    """Products of all meanings; then with each time below the line, as in `km h`, `rev min`.

    Two letters alone, as in a heading `t_s`, are a name and its unit.
    """
    chosen = [*islice(product(*tokens), _MOST_READINGS)]
    yield from map(_product, chosen)
    if any(token == (_OVER,) for token in tokens) or not spelt:
        return
    for parts in chosen:
        if len(parts) > 1 and any(part.powers[0] or part.powers[2] for part in parts):
            yield _product(tuple(_raised(p, -1) if p.powers == (0, 1, 0) else p for p in parts))


@lru_cache(maxsize=16384)
def unit_symbols(text: str) -> tuple[str, ...]:
    """Symbols of `rangeledger.schemas.units` that a text can stand for, empty if it is no unit.

    Parameters
    ----------
    text : str
        A writing such as `mph`, `[Km/h]`, `Grad` or `thousands of revolutions per minute`.

    Returns
    -------
    tuple[str, ...]
        Symbols; two where the writing is ambiguous and the dimension has to decide.
    """
    if not text.strip() or len(text) > _LONGEST:
        return ()
    if alike := _said_twice(text):
        return alike
    raised = _RAISED.sub(lambda found: "^" + found[0].translate(_SUPERSCRIPT), text)
    written = plain(raised).replace("''", '"').replace("′′", '"').replace("⁄", "/")
    written = re.sub(r"(?<=l)'(?=[a-z])", " ", written)  # `à l'heure`, `all'ora`
    if _IN_WITH_MORE.search(written):
        written = re.sub(r"\bin\b", " ", written)
    written = _TEN_TO.sub(lambda found: str(10 ** int(found[2])), written)
    written = re.sub(r"x\s?(?=\d)|(?<=\d)\s?x", " ", written)  # `rpm x 1000`
    written = re.sub(r"[−–—]", "-", written).strip().strip("()[]{}<>|").strip()
    tokens = _tokens(_phrases().sub(lambda found: found[0].replace(" ", ""), written))
    if not tokens:
        return ()
    found: list[str] = []
    for part in _readings(tokens, spelt=_SPELT.search(written) is not None):
        symbol = _symbol(part)
        if symbol and symbol not in found:
            found.append(symbol)
    return tuple(found) if found and found != ["K"] else (*found, *_bare_count(tokens, text))


def _said_twice(text: str) -> tuple[str, ...]:
    """What several writings of one unit say together: `tr/min, U/min`, `yd (yards)`."""
    writings = [part for part in _PARTED.split(text) if part.strip()]
    if len(writings) < 2:
        return ()
    each = [unit_symbols(part) for part in writings]
    return tuple(symbol for symbol in each[0] if all(symbol in other for other in each[1:]))


def _bare_count(tokens: list[tuple[_Part, ...]], text: str) -> tuple[str, ...]:
    """`x1000`, `in thousands`: of all quantities only turns are counted so."""
    if _DIGITS.match(text):
        return ()
    for parts in islice(product(*tokens), _MOST_READINGS):
        whole = _product(parts)
        if whole.powers == (0, 0, 0) and whole.symbol is None and whole.factor in _COUNTED:
            return (_COUNTED[whole.factor],)
    return ()
