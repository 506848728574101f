"""What a table is for, as its title says: averages, a chart, goals, a plan, a simulation."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from rangeledger.pipelines.reader.normalising.phrases import NUMBER, Piece, pieces_of
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.words import fold, words_of

_KINDS = ("purposes", "shots_said", "visits", "fillers_said", "by_person", "between", "club_kinds")
_ABOUT = ("fillers_said", "by_person", "between", "club_kinds", "visits", "shots_said", NUMBER)
_PAIR = re.compile(r"^\s*([^:=]{2,60}?)\s*[:=]\s*(\S.*?)\s*$")
# Words of a title or of a sentence that says what the rows are; what is longer is a remark that
# may speak of anything. Common practice, no source.
_MOST_WORDS = 14

# What the rows are then, and whether a title alone says so or only one that fits its rows, as
# real shots may stand under `Summary of the session` or `Practice plan`.
_MEANINGS = {
    "averages": ("means of shots", FileReason.AVERAGES_ONLY, True),
    "summaries": ("summaries of shots", FileReason.AVERAGES_ONLY, False),
    "percentiles": ("percentiles of shots", FileReason.AVERAGES_ONLY, True),
    "bests": ("the best of many shots", FileReason.AVERAGES_ONLY, False),
    "chart": ("usual distances", FileReason.AVERAGES_ONLY, True),
    "goals": ("goals", FileReason.NO_SHOTS, True),
    "plan": ("planned", FileReason.NO_SHOTS, False),
    "simulated": ("computed by a model", FileReason.NO_SHOTS, True),
    "reference": ("values to compare with", FileReason.NO_SHOTS, True),
    "putting_log": ("a putting log", FileReason.NO_SHOTS, False),
    "score": ("scores", FileReason.NO_SHOTS, False),
    "uncounted": ("balls that do not count", FileReason.NO_SHOTS, True),
    "dry": ("swings without a ball", FileReason.NO_SHOTS, False),
}


@dataclass(frozen=True, slots=True)
class Purpose:
    """What a title says that the rows below it are.

    Parameters
    ----------
    name : str
        Kind of purpose of the vocabularies.
    title : str
        The title.
    whole : bool
        Whether it says nothing else, so that it holds whatever the rows look like.
    """

    name: str
    title: str
    whole: bool

    @property
    def rows_are(self) -> str:
        """What the rows are, for a sentence."""
        return _MEANINGS[self.name][0]

    @property
    def reason(self) -> FileReason:
        """Code of the refusal."""
        return _MEANINGS[self.name][1]


# A delimiter that parted a title leaves two blanks.
_CLAUSE = re.compile(r"[.;,()\[\]]\s*|\s[-–—]\s|\s{2,}")
_EXPLAINS = re.compile(r"\w\s*=\s*[^\W\d]")
_LONGEST_TITLE = 160
_MOST_WORDS_OF_ALL = 7
_MARK = re.compile(r"(?<!\w)(?:[*†!?#]|['\"][^'\"]{1,3}['\"]|[b-df-hj-np-xzB-DF-HJ-NP-XZ])(?!\w)|=")


@lru_cache(maxsize=2048)
def simulated_by(title: str) -> Purpose | None:
    """What a clause of a title says, if it is that nobody struck the balls of the rows below.

    Parameters
    ----------
    title : str
        `Model table: usual carries (computed by simulation; no ball was hit)`. A legend such as
        `sim = simulated` speaks of some rows only.

    Returns
    -------
    Purpose or None
        None where shots are spoken of before.
    """
    if _EXPLAINS.search(title) or len(title) > _LONGEST_TITLE:
        return None
    for clause in filter(None, map(str.strip, _CLAUSE.split(title))):
        found = purpose_of(clause)
        if found is not None and found.whole and found.name == "simulated":
            return Purpose(found.name, title.strip(), True)
        if any(piece.kind == "shots_said" for piece in pieces_of(clause, _KINDS)):
            return None
    return None


@lru_cache(maxsize=2048)
def purpose_of(title: str) -> Purpose | None:
    """What a title says that the rows below it are, None where it speaks of shots or of nothing.

    Parameters
    ----------
    title : str
        `Averages per club`, `Stock yardages`, `Content: goals 2026`; `Session goal: tempo` says
        what the player wanted, and nothing of the rows.

    Returns
    -------
    Purpose or None
        The first that it names; a title that says in any words that nobody struck a ball is one
        of simulated shots.
    """
    kinds = {p.kind for p in pieces_of(title, ("not_struck", "some_of_them", "not_counted"))}
    if "not_counted" in kinds and _speaks_of_all(title, kinds):
        return Purpose("uncounted", title.strip(), whole=True)
    if "not_struck" in kinds:
        # What explains a code, or speaks of some rows, says nothing of the others.
        of_some = kinds & {"some_of_them", NUMBER} or "=" in title
        return None if of_some else Purpose("simulated", title.strip(), whole=True)
    text = title.strip(" ,;\t|#*=-:")
    pair = _PAIR.match(text)
    if pair and _named(pieces_of(pair[1], _KINDS)) is not None:
        return None
    subject = pair[2] if pair else text
    pieces = pieces_of(subject, _KINDS)
    if not 0 < len(fold(subject).split()) <= _MOST_WORDS:
        return None
    named = _named(pieces)
    if named is None:
        return None
    name = pieces[named].meaning
    rest = [piece for place, piece in enumerate(pieces) if place != named]
    bare = all(p.kind in _ABOUT or p.meaning == name or _is_club(p) for p in rest)
    return Purpose(name, title.strip(), bare and _MEANINGS[name][2])


def _speaks_of_all(title: str, kinds: set[str | None]) -> bool:
    """Whether a title speaks of all rows below it, and not of those that bear a mark."""
    marked = _MARK.search(title) is not None or kinds & {"some_of_them", NUMBER}
    return not marked and len(fold(title).split()) <= _MOST_WORDS_OF_ALL


def _named(pieces: tuple[Piece, ...]) -> int | None:
    """Place of the purpose in a title; none where shots stand before it: `Shots and averages`."""
    for place, piece in enumerate(pieces):
        if piece.kind == "shots_said":
            return None
        if piece.kind == "purposes":
            return place
    return None


def _is_club(piece: Piece) -> bool:
    return piece.kind is None and piece.text in words_of("clubs")
