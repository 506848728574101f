"""Who played, in a line without a key: `Tamsin's session`, `Shots hit by Ada Brook`."""

from __future__ import annotations

import re
from functools import lru_cache

from rangeledger.pipelines.reader.normalising.characters import plain_characters
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import is_known
from rangeledger.schemas.headings import plain
from rangeledger.schemas.words import fold, words_of

_KINDS = ("staff", "lessons", "visits", "shots_said", "by_person", "fillers_said")
_OF_A_VISIT = frozenset({"visits", "lessons", "shots_said"})
_NO_NAMES = (
    *_KINDS, "no_persons", "other_days", "purposes", "months", "date_fillers", "balls", "surfaces",
    "clubs", "club_kinds", "feels", "weather", "person_details", "numerals",
)  # fmt: skip
_PARTICLES = frozenset(
    {"van", "von", "de", "der", "den", "la", "le", "di", "da", "del", "af", "av"}
)
_NAME = re.compile(r"[^\W\d_]+(?:(?:\.-?|['-])[^\W\d_]+)*\.?")
_POSSESSIVE = re.compile(r"^(.{2,60}?)(?:'s|(?<=s)')\s+(\S.*)$")
_TWO_NAMES = re.compile(r"^([^:=,]{2,30}),\s*([^:=,]{2,30}?)\s*[:=]\s*([^:=,]+),\s*([^:=,]+)$")
_MOST_NAMES = 4  # given names, particles and family names of one person
_NAMES_TOO = frozenset({"may", "max", "april", "june", "august", "mark"})


@lru_cache(maxsize=2048)
def person_in(text: str) -> str | None:
    """The player whom a line names that is no pair of key and value.

    Parameters
    ----------
    text : str
        The line, without days and times.

    Returns
    -------
    str or None
        None where nobody is named, where more than one reading is left, and where the words may
        speak of a coach, a fitter or whoever printed the page.
    """
    plain_text = plain_characters(text).strip(" ,;.-|/()")
    kinds = {piece.kind for piece in pieces_of(plain_text, _KINDS)}
    if "staff" in kinds:
        return None
    return _possessed(plain_text) or _behind_a_visit(plain_text) or _behind_a_key(plain_text)


# No columns: names by themselves in a line, and beside words for a visit.
LONE_NAME, TITLE_NAME = "lone_name", "title_name"
_OF_A_TITLE = ("visits", "shots_said", "fillers_said", "places")
_TITLE_PARTS = re.compile(r"\s+[-–—|]\s+|[:;,|]")


def is_full_name(text: str) -> bool:
    """Whether a text is written like a given and a family name, and means nothing else."""
    return len(text.split()) > 1 and is_name(text.strip())


def name_in_title(text: str) -> str | None:
    """A name beside words for a visit or its shots, most likely of who played.

    Parameters
    ----------
    text : str
        The line, without days and times: `Range session - Tamsin Orrelle`.

    Returns
    -------
    str or None
        None where nothing of the kind stands there, or more than one name.
    """
    parts = [part.strip() for part in _TITLE_PARTS.split(text) if part.strip(" .-()")]
    names = [part for part in parts if is_full_name(part)]
    rest = [piece for p in parts if p not in names for piece in pieces_of(p, _OF_A_TITLE)]
    told = len(names) == 1 and len(parts) > 1 and all(piece.kind for piece in rest)
    return names[0] if told else None


def _possessed(text: str) -> str | None:
    """`Tamsin's session`."""
    found = _POSSESSIVE.match(text)
    if found is None:
        return None
    kinds = [piece.kind for piece in pieces_of(found[2], _KINDS)]
    return found[1] if is_name(found[1]) and _OF_A_VISIT & set(kinds) else None


def _behind_a_visit(text: str) -> str | None:
    """`Session of Tamsin Orrelle`, `Shots hit by Tamsin Orrelle`."""
    words = text.split()
    for place in range(1, len(words)):
        name, before = " ".join(words[place:]).strip(" ,;.-"), " ".join(words[:place])
        pieces = pieces_of(before, _KINDS)
        if not is_name(name) or not pieces or pieces[-1].kind != "by_person":
            continue
        kinds = {piece.kind for piece in pieces}
        of_a_visit = bool(kinds & _OF_A_VISIT) and None not in kinds
        # `Lesson by` and `Session with` may name the coach.
        coached = pieces[-1].meaning == "with" or (
            pieces[-1].meaning == "by" and "lessons" in kinds
        )
        return name if of_a_visit and not coached else None
    return None


def _behind_a_key(text: str) -> str | None:
    """`Player Tamsin Orrelle`, `Player - Tamsin Orrelle`."""
    words = text.split()
    if len(words) < 2:
        return None
    key, name = words[0], " ".join(words[1:]).strip(" -")
    return name if read_heading(key).tags == {"player"} and is_name(name) else None


def is_name(text: str) -> bool:
    """Whether words are written like a person's name and mean nothing in any vocabulary."""
    words = text.replace(",", " ").split()
    if not 0 < len(words) <= _MOST_NAMES:
        return False
    names = [word for word in words if word.casefold() not in _PARTICLES]
    return bool(names) and all(
        _NAME.fullmatch(word) and word[0].isupper() and not _means_something(word) for word in names
    )


def _means_something(word: str) -> bool:
    folded = fold(word)
    if folded in _NAMES_TOO:
        return False
    return is_known(plain(word)) or any(folded in words_of(kind) for kind in _NO_NAMES)


@lru_cache(maxsize=2048)
def full_name(text: str) -> str | None:
    """The name that a line gives in two parts whose order its key states.

    Parameters
    ----------
    text : str
        `Name, Vorname: Orrelle, Tamsin`.

    Returns
    -------
    str or None
        The given name before the family name; None for any other line.
    """
    found = _TWO_NAMES.match(text)
    if found is None:
        return None
    order = given_name_place(found[1], found[2])
    if order is None:
        return None
    names = found[3].strip(), found[4].strip()
    return f"{names[order]} {names[1 - order]}"


def given_name_place(first: str, second: str) -> int | None:
    """Which of two keys asks for a given name beside a family name: 0, 1, or None for neither."""
    first, second = first.strip(), second.strip()
    in_order = words_of("name_order")
    roles = [in_order.get(fold(key)) for key in (first, second)]
    given = [
        "given" in read_heading(key).tags or word == "given"
        for key, word in zip((first, second), roles, strict=True)
    ]
    named = [
        bool(read_heading(key).tags & {"family", "name"}) or word == "family"
        for key, word in zip((first, second), roles, strict=True)
    ]
    if given == [False, True] and named[0]:
        return 1
    return 0 if given == [True, False] and named[1] else None


@lru_cache(maxsize=2048)
def name_order(heading: str) -> int | None:
    """Where a heading such as `Player (last, first)` says that the given name stands: 0 or 1."""
    inner = re.search(r"[(\[]([^)\]]+)[)\]]", heading)
    keys = re.split(r"\s*[,;/&|]\s*", inner[1] if inner else heading)
    return given_name_place(keys[0], keys[1]) if len(keys) == 2 else None


@lru_cache(maxsize=2048)
def bare_name(text: str) -> str:
    """A name as a key's value states it, without what is said of the person behind it.

    Parameters
    ----------
    text : str
        `Tamsin Orrelle (handicap 12)`, `Tamsin Orrelle, hcp 4`.

    Returns
    -------
    str
        The name, with its hand if one is told.
    """
    name = re.sub(r"\s*[(\[]([^)\]]*)[)\]]", lambda m: "" if _is_detail(m[1]) else m[0], text)
    head, mark, tail = name.partition(",")
    if mark and _is_detail(tail):
        name = head
    return name.strip(" ,;|/-–—")


def _is_detail(text: str) -> bool:
    kinds = {piece.kind for piece in pieces_of(text, ("person_details",))}
    return "person_details" in kinds and any(c.isdigit() for c in text)
