"""Shots that the export itself marks: a column such as `Valid`, `Deleted`, `Gültig`, `Supprimé`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.normalising.words import flight_basis_of
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, distinct, mark_of
from rangeledger.pipelines.reader.recognising.tables.odd_cells import Rejection
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.legends import Meaning, says_no_shot
from rangeledger.schemas.compositions import DROPPED, KEPT, SHOT_NUMBER, column_dimension
from rangeledger.schemas.reasons import RowReason
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.words import fold, words_of

_NON_SHOT_TAGS = frozenset({"reference", "target", "mean", "spread", "extreme"})
_LAUNCHED = ("ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", "clubhead_speed_mps")
_SORTING = frozenset({"type", "shot", "number", "kept", "dropped", "swing"})
_COUNTING = frozenset({KEPT, "shot"})
_WORDED = (KEPT, DROPPED, "swing")
_PARTING = re.compile(r"\s*[,;()\[\]/:–—]\s*|\s-\s")
_BRACKETED = re.compile(r"[(\[]([^)\]]+)[)\]]")
_MOST_WORDS = 6  # of a cell that says that its row does not count; more are a remark
_FEWEST_LAUNCHED = 2
_MOST_KINDS = 12  # distinct words of a column that sorts its rows


def _marked_as_no_shots(profiles: Sequence[Profile]) -> list[Rejection]:
    """Rows that a column of words calls a practice swing, deleted, simulated, or a double."""
    rejections = []
    for profile in profiles:
        words = [] if profile.is_number else [*profile.sample, *_unread_cells(profile)]
        words = words if len(words) <= _MOST_KINDS else []
        simulated = [word for word in words if _is_simulated(word, profile)]
        against = [word for word in words if word in simulated or _means_no_shot(word, words)]
        # A word in every row marks none, unless it says that nobody struck a ball.
        blank = (profile.text.fill_null("").str.strip_chars() == "").any()
        in_all = len(against) == len(words) and not blank
        if not against or (in_all and len(simulated) < len(words)):
            continue
        rows = np.flatnonzero(profile.text.is_in(against).fill_null(False).to_numpy())
        labels: pl.Series = profile.text.gather(rows)
        heading = profile.heading.text
        sentences = [f"The row is no shot that was struck: {heading!r} says {c!r}." for c in labels]
        rejections.append(Rejection(RowReason.NOT_A_SHOT, rows, sentences))
    return rejections


def _unread_cells(profile: Profile) -> list[str]:
    """Cells such as `misread`, which stand for no value in a column of numbers."""
    if len(profile.sample) > _MOST_KINDS:
        return []
    cells = [cell for cell in distinct(profile.text) if cell not in profile.sample]
    return [cell for cell in cells if fold(cell) in words_of("no_shots")]


def _is_simulated(word: str, profile: Profile) -> bool:
    """Whether a cell says that nobody struck the ball of its row, in a column that sorts rows.

    Beside `Carry` or `Flight` such a word says how that value was won, of a ball that was struck.
    """
    best = profile.heading.best
    if profile.heading.tags - _SORTING or (best and column_dimension(best.column)):
        return False
    pieces = pieces_of(word, ("purposes",))
    return bool(pieces) and pieces[0].meaning in ("simulated", "dry")


def _modelled_twins(columns: Mapping[str, Assigned], extras: Sequence[Profile]) -> list[Rejection]:
    """Rows that reckon the flight of the row beside them, which measured it: of the same launch."""
    launched = [columns[name].profile.text for name in _LAUNCHED if name in columns]
    stated = [columns["flight_basis"].profile] if "flight_basis" in columns else extras
    bases = next((found for profile in stated if (found := _bases(profile)) is not None), None)
    if bases is None or len(launched) < _FEWEST_LAUNCHED:
        return []
    twins = np.zeros(len(bases), np.bool_)
    for step in (1, -1):
        same = bases.shift(step) == "measured"
        for cells in launched:
            same &= cells == cells.shift(step)
        twins |= ((bases == "modelled") & same).fill_null(False).to_numpy()
    rows = np.flatnonzero(twins)
    why = "The row reckons the flight of the shot beside it, which was measured."
    return [Rejection(RowReason.NOT_A_SHOT, rows, [why] * rows.size)] if rows.size else []


def _bases(profile: Profile) -> pl.Series | None:
    """`measured` or `modelled` by row, where a column of few words says both."""
    if profile.is_number or len(profile.sample) > _MOST_KINDS:
        return None
    bases = {cell: flight_basis_of(cell) for cell in profile.sample}
    if not {"measured", "modelled"} <= set(bases.values()):
        return None
    return profile.text.replace_strict(bases, default=None, return_dtype=pl.String)


def _clubs_marked(clubs: Profile) -> list[Rejection]:
    """Rows whose club says in brackets that the shot is none: `7 iron (deleted)`."""
    cells = [cell for cell in clubs.sample if (found := _BRACKETED.search(cell)) and found[1]]
    against = [cell for cell in cells if _means_no_shot(_BRACKETED.findall(cell)[-1], ())]
    if not against or len(against) == len(clubs.sample):
        return []
    rows = np.flatnonzero(clubs.text.is_in(against).fill_null(False).to_numpy())
    labels: pl.Series = clubs.text.gather(rows)
    sentences = [f"The row is no shot that counts: its club says {cell!r}." for cell in labels]
    return [Rejection(RowReason.NOT_A_SHOT, rows, sentences)]


def _means_no_shot(word: str, other_words: Sequence[str]) -> bool:
    """Whether a word says so; `normalised` and `ideal` do beside `measured` or `shot` alone."""
    parts = (word, *_PARTING.split(word))
    if len(word.split()) <= _MOST_WORDS and _is_uncounted(word):
        return True
    if any(fold(part) in words_of("no_shots") or _is_denied(part) for part in parts):
        return True
    heading = read_heading(word.strip())
    if heading.unknown:
        return False
    if heading.tags == {DROPPED}:
        return True
    others = [other for other in other_words if other != word]
    struck = any(
        flight_basis_of(o) == "measured" or read_heading(o).tags == {"shot"} for o in others
    )
    return struck and bool(heading.tags) and heading.tags <= _NON_SHOT_TAGS


def _is_denied(phrase: str) -> bool:
    """`not a valid shot`, `nicht gewertet`: the words for a shot that counts, denied, and no more.

    Words that nobody knows make it a remark, and a remark decides nothing.
    """
    if _denies_a_shot(phrase):
        return True
    pieces = pieces_of(phrase, ("denials", "fillers_said"))
    rest = " ".join(piece.text for piece in pieces if piece.kind is None)
    if not rest or all(piece.kind != "denials" for piece in pieces):
        return False
    heading = read_heading(rest)
    return not heading.unknown and KEPT in heading.tags <= _COUNTING


@remembered
def _is_uncounted(phrase: str) -> bool:
    """`Warm-up, does not count`."""
    return any(piece.kind == "not_counted" for piece in pieces_of(phrase, ("not_counted",)))


@remembered
def _denies_a_shot(phrase: str) -> bool:
    """`not a golf shot`: a shot, denied, and no more."""
    pieces = pieces_of(phrase, ("denials", "shots_said", "fillers_said"))
    rest = " ".join(piece.text for piece in pieces if piece.kind is None)
    heading = read_heading(rest) if rest else None
    bare = heading is None or not (heading.tags or heading.unknown)
    return bare and {"denials", "shots_said"} <= {piece.kind for piece in pieces}


def _dropped_shots(columns: Mapping[str, Assigned]) -> tuple[list[Rejection], list[str]]:
    """Rows marked as deleted or invalid, and remarks; a column that drops all marks no shot."""
    rejections, remarks = [], []
    for column in (KEPT, DROPPED):
        if column not in columns:
            continue
        profile = columns[column].profile
        cells = profile.text.drop_nulls().unique().to_list()
        against = [cell for cell in cells if mark_of(cell, column) is False]
        rows = np.flatnonzero(profile.text.is_in(against).fill_null(False).to_numpy())
        heading = profile.heading.text
        if rows.size == len(profile.text):
            remarks.append(f"Column {heading!r} marks every shot alike; it was left aside.")
        elif rows.size:
            labels: pl.Series = profile.text.gather(rows)
            sentences = [
                f"The export marks the shot as one that does not count: {heading!r} says {cell!r}."
                for cell in labels
            ]
            rejections.append(Rejection(RowReason.NOT_A_SHOT, rows, sentences))
    return rejections, remarks


def _codes_of_no_shots(profiles: Sequence[Profile], legend: Sequence[Meaning]) -> list[Rejection]:
    """Rows with a code that a line calls no shot: `SELFTEST = a metal ball, not a golf shot`."""
    codes = {
        meaning.code
        for meaning in legend
        if any(_means_no_shot(part, ()) for part in _PARTING.split(meaning.words))
        or says_no_shot(meaning.words)
    }
    signs = [code for code in codes if not any(map(str.isalnum, code))]
    rejections = []
    for profile in profiles if codes else ():
        cells = profile.text.fill_null("").str.strip_chars()
        marked = cells.is_in(list(codes))
        for sign in signs:  # `4*`, `7 iron *`
            marked |= cells.str.ends_with(sign) | cells.str.starts_with(sign)
        rows = np.flatnonzero(marked.to_numpy())
        if 0 < rows.size < len(cells):
            heading, labels = profile.heading.text, cells.gather(rows)
            sentences = [
                f"The row is no shot: {heading!r} says {c!r}, and a line calls that none."
                for c in labels
            ]
            rejections.append(Rejection(RowReason.NOT_A_SHOT, rows, sentences))
    return rejections


def no_shots(
    columns: Mapping[str, Assigned], extras: Sequence[Profile], legend: Sequence[Meaning] = ()
) -> tuple[list[Rejection], list[str]]:
    """Rows of which the export itself says that they are no shots, or none that count.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.
    extras : sequence of Profile
        Columns that nobody claims.
    legend : sequence of Meaning
        What lines beside the table say of codes.

    Returns
    -------
    tuple[list[Rejection], list[str]]
        The rows with a sentence each, and remarks. A column that would drop every shot marks
        something else, and drops none.
    """
    rejections, remarks = _dropped_shots(columns)
    worded = [columns[name].profile for name in _WORDED if name in columns]
    rejections += _marked_as_no_shots([*extras, *worded]) + _modelled_twins(columns, extras)
    if "club" in columns:
        rejections += _clubs_marked(columns["club"].profile)
        rejections += _codes_of_no_shots([columns["club"].profile], legend)
    if SHOT_NUMBER in columns:  # a number there is no code, whatever a code of that number means
        marks = [meaning for meaning in legend if not any(map(str.isalnum, meaning.code))]
        rejections += _codes_of_no_shots([columns[SHOT_NUMBER].profile], marks)
    rejections += _codes_of_no_shots(extras, legend)
    return rejections, remarks
