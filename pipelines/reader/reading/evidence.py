"""Which one-byte encoding a text was written in, by where its accented letters stand.

Exports hold few letters and many numbers, too few for statistics of a language. But an accented
letter stands beside letters, a capital begins a word, a degree sign follows a number or a bracket,
and box drawings, daggers or fractions stand in no heading. Of the encodings that offices have
used, only the right one makes a short heading look like that.
"""

from __future__ import annotations

import codecs
import re
from functools import lru_cache

# Windows-1252 leaves five bytes undefined; as in web browsers they stand for themselves.
_UNDEFINED = (0x81, 0x8D, 0x8F, 0x90, 0x9D)
_CP1252 = "".join(
    bytes([code]).decode("latin-1" if code in _UNDEFINED else "cp1252") for code in range(256)
)

# In the order of how usual they are: an earlier one wins a tie.
ONE_BYTE = ("cp1252", "cp850", "mac_roman")
# Encodings of other scripts that the library may name where none of these fits.
OTHERS = ("cp1250", "cp1251", "cp1253", "cp1254", "cp932", "cp949", "gb18030", "big5", "euc_jp")

_COMMON = frozenset("äöüßéêàâçñáíóúåô")
_RARE = frozenset("øæèëïîùûœãõìòÿ")
_ALPHABETS = ("äöüß", "åäöé", "æøåé", "éèêàâçîôûëïùœ", "áéíóúñü", "ãõáâàçéêíóôú", "àèéìòù")
_CAPITALS = frozenset("ÄÖÜÉÈÊÀÂÇÑÁÍÓÚÅØÆÎÔŒ")
_SIGNS = frozenset("°º²³±µ·×")
_MARKS = frozenset("’‘“”„–—…«»€£®™\xa0")
_DOUBTFUL = 0.5  # right encodings of headings score 0.9 and more, those of other scripts 0.3
_SAMPLE_LINES = 200
_LINE_BYTES = 2000  # looked at of a line
_FOREIGN = re.compile(rb"[\x80-\xff]")
# Two letters of another script in a row; one of them beside a Latin letter.
_SCRIPT = "[\\u0370-\\u058f\\u1100-\\uffef]"
_WORDS = re.compile(f"{_SCRIPT}{{2,}}")
_MIXED = re.compile(f"[A-Za-z]{_SCRIPT}|{_SCRIPT}[A-Za-z]")


def guess_encoding(raw: bytes) -> str:
    """Encoding of bytes that are not UTF-8.

    Parameters
    ----------
    raw : bytes
        Text in an encoding that agrees with ASCII in the lower half.

    Returns
    -------
    str
        Python's name of the encoding, `cp1252` where nothing speaks against it.
    """
    sample = foreign_lines(raw)
    scores = {encoding: _plausibility(to_text(sample, encoding)) for encoding in ONE_BYTE}
    best = max(scores, key=scores.__getitem__)
    if scores[best] > _DOUBTFUL:
        return best
    return _by_library(sample, scores["cp1252"]) or best


def foreign_lines(raw: bytes) -> bytes:
    """The first lines that hold bytes beyond ASCII, wherever in the text they are.

    Parameters
    ----------
    raw : bytes
        Encoded text.

    Returns
    -------
    bytes
        At most 200 lines, long ones cut.
    """
    lines: list[bytes] = []
    at = 0
    while len(lines) < _SAMPLE_LINES and (found := _FOREIGN.search(raw, at)):
        start = max(raw.rfind(b"\n", at, found.start()) + 1, at, found.start() - _LINE_BYTES)
        at = raw.find(b"\n", found.start(), found.start() + _LINE_BYTES) + 1
        at = at or found.start() + _LINE_BYTES
        lines.append(raw[start:at].rstrip(b"\r\n"))
    return b"\n".join(lines)


def to_text(raw: bytes, encoding: str) -> str:
    """Decode; Windows-1252 with its five gaps filled, others with U+FFFD for what does not fit.

    Parameters
    ----------
    raw : bytes
        Encoded text.
    encoding : str
        Python's name of the encoding.

    Returns
    -------
    str
        The text.
    """
    if encoding == "cp1252":
        return codecs.charmap_decode(raw, "strict", _CP1252)[0]
    return raw.decode(encoding, "replace")


def _plausibility(text: str) -> float:
    """Mean over the foreign characters of how well each fits its place, by one language."""
    padded = f"\n{text}\n"
    places = [at for at, letter in enumerate(padded) if letter > "\x7f"]
    fits = [
        _fit(padded[at - 1], padded[at], padded[at + 1])
        for at in places
        if padded[at] not in _MARKS or (padded[at - 1].isalpha() and padded[at + 1].isalpha())
    ]
    mean = sum(fits) / len(fits) if fits else 0.0
    return mean * _coherence(text) if mean > 0 else mean


def _coherence(text: str) -> float:
    """Largest share of the foreign letters that one language has."""
    letters = [
        letter
        for letter in text.lower()
        if letter > "\x7f" and letter.isalpha() and letter not in _SIGNS
    ]
    if not letters:
        return 1.0
    return max(sum(letter in alphabet for letter in letters) for alphabet in _ALPHABETS) / len(
        letters
    )


@lru_cache(maxsize=4096)
def _fit(before: str, letter: str, after: str) -> float:
    """How well a character fits between its neighbours, -1 to 1."""
    if letter in _COMMON or letter in _RARE:
        beside = before.isalpha() or after.isalpha()
        weight = 1.0 if letter in _COMMON else 0.8
        return weight if beside else -0.5
    if letter in _CAPITALS:
        ends_capitals = before.isupper() and not after.islower()
        begins = after.isalpha() and not before.islower()
        return 1.0 if begins or ends_capitals else -0.7
    if letter in _SIGNS:
        return _fit_of_sign(before, after)
    return 0.2 if letter == "’" else -1.0


def _fit_of_sign(before: str, after: str) -> float:
    """Degree, square, plus-minus: behind numbers, brackets and blanks, not inside words."""
    if before.isalpha() and after.isalpha():
        return -1.0
    return 0.9 if not before.isalpha() or not after.isalnum() else 0.0


def _by_library(sample: bytes, western: float) -> str | None:
    """An encoding of another script, where whole words are in it and Windows-1252 fits badly."""
    from charset_normalizer import from_bytes

    best = from_bytes(sample, cp_isolation=list(OTHERS)).best()
    if best is None or best.encoding not in OTHERS:
        return None
    if best.encoding in ("cp1250", "cp1254"):  # some letters differ from Windows-1252, no more
        return best.encoding if western < 0 else None
    text = to_text(sample, best.encoding)
    return best.encoding if len(_WORDS.findall(text)) > len(_MIXED.findall(text)) else None
