"""Legends and codebooks: what lines beside a table say that its short headings and codes mean."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.words.side_letters import letter_for, respelt
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.words import fold

# `BV = …` may stand anywhere in a line; `BV: …`, `BV ... …`, `BV - …` begin one.
_EQUALS = re.compile(r"^\W*(\w[\w.]{0,11}|#)\s*=\s*(\S[^\t]{0,90}?)[\s.,]*$")
_BEGINS = re.compile(
    r"^\W*(\w[\w.]{0,7}|\w+_\w{1,16}|#)\s*(?::|\.{2,}|\s[-–—]\s|-{2,}>?|=?>|→|\t|\s{2,})\s*(\S[^\t]{1,90}?)\s*$"
)
_NUMBERED = re.compile(r"^\W*(\d{1,2})[.):]?\s+([^\W\d].{1,40}?)\s*$")
_SCOPE = re.compile(r"^\W*([^=:;]{1,40}?)\s*[:\t]\s*(\S.*)$")
_PARTS = re.compile(
    r"\s*[;\n|]\s*|\s+/\s+(?![^(]*\))|,\s+(?=\w[\w.]{0,11}\s*=)|\s+(?=\w{1,3}\s*=\s)"
)
_FEWEST_NUMBERED, _FEWEST_CODES = 2, 3
_COUNTED_CODE = re.compile(r"^[\W_]*([A-Za-z]{1,4})(\d{1,2})[.:)]?\s+([^\W\d_].{2,80}?)\s*$")
# `Mark x = false reading`: a heading, then its code. Behind a full stop another column may begin.
_OF_A_HEADING = re.compile(
    r"^\W*([^\W\d_][^=:;,]{1,30}?)\s+['\"]?(\w{1,3}|[A-Z][A-Z0-9_]{2,15}|[*!?#])['\"]?\s*=\s*(\S[^=]{1,120}?)\s*$"
)
# `x in the first column = crossed out`, `* vor der Nummer = gestrichen`
_IN_A_COLUMN = re.compile(
    r"^(?:\W*([xX])|\W*?([*!?†]))\s+[^\d=:;,]{2,40}?\s*=\s*([^\W\d_][^=]{2,120}?)\s*$"
)
# A letter by itself that is no article, a mark, or up to three letters in quotes.
_LONE_MARK = re.compile(
    r"(?<!\w)(?:['\"(]([^\s'\"()]{1,3})['\")]|([*†!?#]|[b-df-hj-np-xzB-DF-HJ-NP-XZ]))(?!\w)"
)
_FOOTNOTE = re.compile(r"^\W*?([*†‡§!#]{1,3})\s*[:=]?\s*([^\W\d_][^=]{2,120})$")
_MOST_DIGITS = 6
_SCOPE_BEGINS = re.compile(r"\.\s+(?=[^\W\d_][^=:;.]{1,40}:\s+\S{1,12}\s*=)")
# `up / across: launch angle and launch direction in degrees`: two codes, two meanings.
_TWO = re.compile(
    r"^\W*(\w[\w.]{0,11})\s*(?:/|,|&|\band\b)\s*(\w[\w.]{0,11})\s*[:=]\s*"
    r"([^:=;]{2,40}?)\s*(?:/|,|&|\band\b)\s*([^:=;,/&]{2,40}?)\s*(?:;.*)?$"
)


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a legend says that a code means, and of which column it says so, if of any."""

    code: str
    words: str
    scope: str = ""
    of_heading: bool = False  # the heading stands right before its code: `Mark x = false reading`


def meanings_in(lines: Iterable[str]) -> list[Meaning]:
    """What lines explain.

    Parameters
    ----------
    lines : iterable of str
        Lines beside a table: `BV = ball speed, m/s`, `ball: X = premium, Y = range`,
        `Slots: 1 driver / 2 five wood`, `A ... what was swung`.

    Returns
    -------
    list of Meaning
        In the order of the lines.
    """
    lines = list(lines)
    parts = [part for line in lines for part in _SCOPE_BEGINS.split(line)]
    found = [meaning for part in parts for meaning in _in_line(part.strip())]
    return [*found, *_counted_codes(lines)]


def _counted_codes(lines: Sequence[str]) -> list[Meaning]:
    """`V1 club`, `V2 ball speed, miles per hour`: codes that count on from line to line."""
    matches = [match for line in lines if (match := _COUNTED_CODE.match(line))]
    numbers = [int(match[2]) for match in matches]
    if len(matches) < _FEWEST_CODES or len({match[1] for match in matches}) != 1:
        return []
    runs_on = numbers == list(range(numbers[0], numbers[0] + len(matches)))
    return [Meaning(match[1] + match[2], match[3]) for match in matches] if runs_on else []


def _in_line(line: str) -> list[Meaning]:
    uncounted = _uncounted_marks(line)
    if uncounted:
        return uncounted
    noted = _FOOTNOTE.match(line)
    if noted and says_no_shot(noted[2]):  # `* misread by the sensor`
        return [Meaning(noted[1], noted[2], of_heading=True)]
    placed = _IN_A_COLUMN.match(line)
    if placed:
        return [Meaning(placed[1] or placed[2], placed[3], of_heading=True)]
    of_heading = _OF_A_HEADING.match(line)
    if of_heading:
        return [Meaning(of_heading[2], of_heading[3], fold(of_heading[1]), of_heading=True)]
    scoped, two = _SCOPE.match(line), _TWO.match(line)
    if two and not re.search(r"\band\b", two[4]):
        return [Meaning(two[1], two[3]), Meaning(two[2], two[4])]
    scoped_codes = _codes(scoped[2], fold(scoped[1])) if scoped else []
    # `C: direction, plus = left` has a sign behind its mark, which is no code of a column `C`.
    begun = [found for part in re.split(r";\s+", line) if (found := _BEGINS.match(part))]
    return [*(scoped_codes or _codes(line, "")), *(Meaning(found[1], found[2]) for found in begun)]


def says_no_shot(text: str) -> bool:
    """Whether a legend's words say that what bears a mark is no shot, or none that counts."""
    kinds = {piece.kind for piece in pieces_of(text, ("no_shots", "not_counted", "denials"))}
    return bool(kinds & {"no_shots", "not_counted"}) and "denials" not in kinds


def _uncounted_marks(line: str) -> list[Meaning]:
    """`Balls with a w in the first column do NOT count`: marks of rows that are no shots."""
    # A row of the table has more digits than a sentence on its marks.
    if "=" in line or not _LONE_MARK.search(line) or sum(map(str.isdigit, line)) > _MOST_DIGITS:
        return []
    said = [p.text for p in pieces_of(line, ("not_counted",)) if p.kind == "not_counted"]
    marks = dict.fromkeys(found[1] or found[2] for found in _LONE_MARK.finditer(line))
    return [Meaning(mark, said[0], of_heading=True) for mark in marks] if said else []


def _codes(text: str, scope: str) -> list[Meaning]:
    """Codes with their meanings in a list: each with `=`, or each a number with words behind it."""
    if "=" not in text and not scope:
        return []
    parts = [part for part in _PARTS.split(text) if part.strip()]
    equal = [found for part in parts if (found := _EQUALS.match(part))]
    if equal:
        return [Meaning(found[1], found[2], scope) for found in equal]
    parts = [part for piece in parts for part in re.split(r",\s+", piece)]
    numbered = [_NUMBERED.match(part) for part in parts]
    if scope and len(numbered) >= _FEWEST_NUMBERED and all(numbered):
        return [Meaning(found[1], found[2], scope) for found in numbered if found]
    return []


def listed_codes(lines: Iterable[str], rows: Iterable[Sequence[str | None]]) -> dict[str, Meaning]:
    """What a sentence says of the short headings of a table, one after the other.

    Parameters
    ----------
    lines : iterable of str
        Lines beside the table: `cl club, v ball speed mph, up launch angle in degrees`.
    rows : iterable of sequences of str
        The first rows, of which one may be the heading.

    Returns
    -------
    dict of str to Meaning
        By code; empty unless most headings of such a row are explained.
    """
    codes = next((some for row in rows if (some := _short_codes(row))), set())
    for line in lines if codes else ():
        parts = [part.strip(" .").partition(" ") for part in _LISTED.split(line)]
        found = {
            code: Meaning(code, words.strip())
            for code, _, words in parts
            if code in codes and words
        }
        if len(found) >= max(_FEWEST_CODES, _MOSTLY_EXPLAINED * len(codes)):
            return found
    return {}


def _short_codes(row: Sequence[str | None]) -> set[str]:
    """The cells of a row that holds nothing but codes of a few letters."""
    cells = [(cell or "").strip() for cell in row]
    filled = [cell for cell in cells if cell]
    short = all(cell.isalpha() and len(cell) <= _LONGEST_CODE for cell in filled)
    return set(filled) if short and len(set(filled)) == len(filled) > _FEWEST_CODES else set()


def decoded(
    headings: Sequence[str], texts: Sequence[pl.Series], meanings: Sequence[Meaning]
) -> dict[int, pl.Series]:
    """Columns of codes in the words of the legend.

    Parameters
    ----------
    headings : sequence of str
        One a column.
    texts : sequence of pl.Series
        Their cells.
    meanings : sequence of Meaning
        As `meanings_in` gives them.

    Returns
    -------
    dict of int to pl.Series
        Place -> cells, where a legend explains every cell of a column.
    """
    found: dict[int, pl.Series] = {}
    meanings = _without_contradictions(meanings)
    for place, text in enumerate(texts) if meanings else ():
        words = _words_for(headings[place], meanings)
        codes = text.head(_MOST_CODES * _ROWS_A_CODE).drop_nulls().str.strip_chars().unique()
        filled = [code for code in codes if code]
        if filled and len(filled) <= _MOST_CODES and all(code in words for code in filled):
            cells = text.str.strip_chars()
            found[place] = cells.replace_strict(words, default=cells, return_dtype=pl.String)
        elif (sided := _with_sides(text, words)) is not None:
            found[place] = sided
        elif (clubs := _with_club_kinds(filled, words)) is not None:
            cells = text.str.strip_chars()
            found[place] = cells.replace_strict(clubs, default=cells, return_dtype=pl.String)
    return found


def _without_contradictions(meanings: Sequence[Meaning]) -> list[Meaning]:
    """Meanings of codes that no two lines give opposed sides."""
    sides: dict[str, set[str]] = {}
    for meaning in meanings:
        if (letter := letter_for(meaning.words)) is not None:
            sides.setdefault(meaning.code, set()).add(letter)
    return [m for m in meanings if len(sides.get(m.code, ())) < len(_SIDES)]


def _with_sides(text: pl.Series, words: Mapping[str, str]) -> pl.Series | None:
    """Numbers with codes for two sides, `3.4 D`, with `L` and `R` in their place."""
    codes = text.str.extract(_WITH_A_NUMBER, 1).drop_nulls().unique().to_list()
    letters = [(code.lower(), letter_for(words.get(code, ""))) for code in codes]
    lettered = [(code, letter) for code, letter in letters if letter and code not in ("l", "r")]
    both = len(lettered) == len(codes) == len({letter for _, letter in lettered}) == len(_SIDES)
    return respelt(text, tuple(lettered)) if both else None


def _with_club_kinds(codes: Sequence[str], words: Mapping[str, str]) -> dict[str, str] | None:
    """Codes of clubs, `I4`, with what a legend says that their letter stands for: `hybrid 4`.

    None unless the legend explains the letters of nearly every code and all are clubs then.
    """
    spelt: dict[str, str] = {}
    for code in codes:
        parted = _LETTERED_CLUB.match(code)
        kind = words.get(code) or (words.get(parted[1]) if parted else None)
        if kind is not None:
            number = f" {parted[2]}" if parted and code not in words else ""
            spelt[code] = f"{kind}{number}"
    clubs = spelt and all(club_of(name).known for name in spelt.values())
    return spelt if clubs and len(spelt) > _MOSTLY_EXPLAINED * len(codes) else None


_LETTERED_CLUB = re.compile(r"^([A-Za-z]{1,3})\s?([1-9][0-9]?)$")
_MOSTLY_EXPLAINED = 0.6
_LONGEST_CODE = 3  # letters
_LISTED = re.compile(r"[,;]\s+|:\s+")
_MOST_CODES, _ROWS_A_CODE = 20, 50
_SIDES = ("L", "R")
_WITH_A_NUMBER = r"^\s*[-+]?\d+(?:[.,]\d+)?\s*°?\s*(\pL{1,4})\s*$"


def _words_for(heading: str, meanings: Sequence[Meaning]) -> Mapping[str, str]:
    """Code -> words, of what is said of a column, else of none in particular.

    A bare number is a code only in a column of which the legend speaks by its name.
    """
    plain = fold(heading)
    stem = plain.rstrip("s")
    own = {m.code: m.words for m in meanings if m.scope and stem and _names(m.scope, stem)}
    if own:
        return own
    return {m.code: m.words for m in meanings if not m.code.isdigit()}


def _names(scope: str, stem: str) -> bool:
    return any(word.rstrip("s") in stem.split() for word in scope.split()) and (
        stem in scope or scope.rstrip("s") in stem or scope.split()[-1].rstrip("s") == stem
    )
