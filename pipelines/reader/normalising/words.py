"""Words in the cells: balls, surfaces, players, hands, yes and no, summary rows."""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache

from rangeledger.pipelines.reader.normalising.balls import BALL, SURFACE, ball_and_surface
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.phrases import only, pieces_of
from rangeledger.pipelines.reader.normalising.swings import clock_position
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.words import fold, words_of

LONGEST_NAME = 200
_SHORT = frozenset({"sd", "cv"})  # summaries behind a club's name: `7 iron SD`
_COUNTED = re.compile(r"\s*\bn [0-9]+$")  # what is left of `(n=6)`
_QUANTILE = re.compile(
    r"med\.?|mdn\.?|"
    r"p ?(?:0?5|10|20|25|50|75|80|90|95|99)|q ?[1-3]|[0-9]{1,2}(?:th|st|nd|rd)? percentile"
)
_SUMMARY_SIGNS = frozenset({"ø", "σ", "µ", "μ", "∑", "x̄", "±"})


def _meaning(kind: str, text: str | None, language: str | None = None) -> str | None:
    if text is None or is_missing(text):
        return None
    return words_of(kind, language).get(fold(text))


def ball_of(text: str | None) -> str | None:
    """Canonical ball of a cell: `premium`, `range`, `limited-flight`, `unknown`.

    Parameters
    ----------
    text : str or None
        The cell.

    Returns
    -------
    str or None
        None where missing or where the word is none we know (to be treated as unknown).
    """
    return _meaning("balls", text) or _dressed(BALL, text)


def surface_of(text: str | None) -> str | None:
    """Canonical surface of a cell: `grass`, `mat`, `tee`, `unknown`; None as in `ball_of`."""
    return _meaning("surfaces", text) or _dressed(SURFACE, text)


def _dressed(column: str, text: str | None) -> str | None:
    """What a cell says in more words than one: `yellow range balls`, `range ball off a mat`."""
    return None if text is None or is_missing(text) else ball_and_surface(text, column).get(column)


def flight_basis_of(text: str | None) -> str | None:
    """Canonical flight basis of a cell: `measured`, `modelled`, `unknown`; None otherwise."""
    return _meaning("flight_bases", text)


def wind_height_of(text: str | None) -> str | None:
    """Where a wind was taken: `weather`, `player` or `ball`; None otherwise."""
    folded = fold(text or "")
    return folded if folded in WIND_HEIGHTS else None


def name_of(text: str | None) -> str | None:
    """A name that stands for itself, such as a monitor's; None where missing."""
    return None if text is None or is_missing(text) else text.strip()[:LONGEST_NAME]


def hand_of(text: str | None) -> str | None:
    """`right` or `left` for a player's hand; None otherwise."""
    return _meaning("hands", text)


def flag_of(text: str | None, language: str | None = None) -> bool | None:
    """True for yes, False for no in any of the languages; None otherwise.

    Parameters
    ----------
    text : str or None
        The cell.
    language : str or None
        Whose meaning wins where languages disagree.

    Returns
    -------
    bool or None
        The flag.
    """
    meaning = _meaning("flags", text, language)
    return None if meaning is None else meaning == "yes"


def player_of(text: str | None) -> str | None:
    """A player's name as text: spaces and invisible characters cleaned, nothing else changed.

    Parameters
    ----------
    text : str or None
        The cell. Names that look like paths, formulas or HTML are just text.

    Returns
    -------
    str or None
        The name, at most `LONGEST_NAME` characters; None where missing.
    """
    if text is None:
        return None
    visible = "".join(
        " " if unicodedata.category(c) in ("Cc", "Zs", "Zl", "Zp") else c
        for c in unicodedata.normalize("NFC", text)
        if unicodedata.category(c) not in ("Cf", "Cs", "Cn", "Co")
    )
    name, _ = _name_and_hand(" ".join(visible.split())[:LONGEST_NAME].strip())
    return None if is_missing(name) or fold(name) in words_of("unnamed") else name


def _name_and_hand(name: str) -> tuple[str, str | None]:
    """`Ada Brook (left-handed)` -> `Ada Brook` and `left`: a hand so said is no part of a name."""
    found = re.fullmatch(r"(.*\S)\s*(?:[(\[]([^)\]]+)[)\]]|,\s*([^,]+))", name)
    word = (found[2] or found[3] or "").strip() if found else ""
    hand = hand_in_text(word) if len(word) > 1 else None
    return (found[1], hand) if found and hand else (name, None)


@lru_cache(maxsize=2048)
def hand_in_text(text: str) -> str | None:
    """`right` or `left` where words say a player's hand and nothing else, `plays left-handed`."""
    pieces = pieces_of(text, ("hands", "hand_headings", "fillers_said"))
    return only(pieces, "hands", "hand_headings", "fillers_said")


def hand_in_name(text: str) -> str | None:
    """`right` or `left` where a player's name comes with a hand, `Ada Brook (left-handed)`."""
    return _name_and_hand(text.strip())[1]


def _is_percentile(folded: str) -> bool:
    """`10 percentile`, `Perzentil 90`: a number beside the word, in any language."""
    words = [word for word in folded.split() if not word.isdigit()]
    return len(words) == 1 and words_of("purposes").get(words[0]) == "percentiles"


@remembered
def is_summary_word(text: str | None) -> bool:
    """Whether a cell marks a row of means, deviations or counts rather than a shot.

    Parameters
    ----------
    text : str or None
        The cell that stands where a row's name stands: club, number, time.

    Returns
    -------
    bool
        True for `Mean`, `SD`, `Mittelwert`, `écart type`, `promedio`, `medel`, `Ø`, and for
        such a word beside a club or in brackets (`Average (7 iron)`, `7i avg`).
    """
    if text is None or not text.strip():
        return False
    if text.strip().casefold() in _SUMMARY_SIGNS or _QUANTILE.fullmatch(text.strip().casefold()):
        return True
    summary = words_of("summary")
    folded = fold(text)
    if folded in summary or _is_percentile(folded):
        return True
    head = fold(re.split(r"[:(\[\-–—]", text.strip(), maxsplit=1)[0])
    words = folded.split() or [""]
    if clock_position(text):  # the Spanish `10 y media` is half past ten, no mean
        return False
    if head in summary or words[0] in _sure() or words[-1] in _sure() or words[-1] in _SHORT:
        return True
    return _sums_up_a_club(words, summary)


@cache
def _sure() -> frozenset[str]:
    """Words that can only be those of a summary."""
    names_too = words_of("summaries_or_names").keys()
    return frozenset(word for word in words_of("summary") if len(word) >= 3) - names_too


def _sums_up_a_club(words: list[str], summary: dict[str, str]) -> bool:
    """`Driver best`, `7 iron n 6 std dev`: one or two words of a summary beside a club."""
    for length in (1, 2):
        for label, rest in (
            (words[-length:], words[:-length]),
            (words[:length], words[length:]),
        ):
            if " ".join(label) in summary and club_of(_COUNTED.sub("", " ".join(rest))).known:
                return True
    return False
