"""Columns that say something only together: a distance and its side, a first and a last name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import polars as pl
from rangeledger.pipelines.reader.normalising.around_numbers import letter_sides
from rangeledger.pipelines.reader.normalising.words import player_of
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.pipelines.reader.recognising.words.names_in_text import name_order
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT, viewpoint
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import FAMILY_NAME, GIVEN_NAME, SIDED, SIZE
from rangeledger.schemas.words import fold, words_of

_LETTER = {"left": "L", "right": "R"}
_SIDE_TAGS = frozenset({"side", "direction", "off", "curve", "launch", "axis", "target"})
_DISTANCES = ("carry_side_m", "total_side_m")
_MOST_WORDS = 8
_NUMBER_TAGS = frozenset({"number", "club", "loft", "type", "name"})
_BARE_NUMBER = re.compile(r"^\s*[0-9]{1,2}\s*$")
_MOST_SIGNED = 0.1  # share of values with a minus that may be slips or no shots


def _side_words(profile: Profile) -> dict[str, str | None] | None:
    """What the cells of a column of left and right say; None if it is none."""
    if profile.is_number or not 0 < len(profile.sample) <= _MOST_WORDS:
        return None
    lettered = letter_sides(profile.sample)
    found = {
        cell: lettered.get(cell) or _LETTER.get(words_of("sides").get(fold(cell), ""))
        for cell in profile.sample
    }
    sides = {side for side in found.values() if side}
    sided = bool(profile.heading.tags & _SIDE_TAGS)
    known = sum(side is not None for side in found.values())
    if known < len(found) - 1 or not sides or not (len(sides) == 2 or sided):
        return None
    return found


def _is_bare(assigned: Assigned) -> bool:
    """Whether a column holds sizes without a side: no sign and no letter in its cells."""
    numbers = assigned.profile.numbers
    if numbers is None or numbers.side is not None or assigned.profile.heading.positive:
        return False
    known = numbers.value.drop_nulls()
    return bool(len(known)) and int((known < 0.0).sum()) <= _MOST_SIGNED * len(known)


def _partners(profile: Profile, bare: dict[str, Assigned]) -> list[str]:
    """Which of the bare columns a column of left and right belongs to."""
    beside = [n for n, a in bare.items() if abs(a.profile.place - profile.place) == 1]
    before = [n for n in beside if bare[n].profile.place < profile.place]
    chosen = before or beside or (list(bare) if len(bare) == 1 else [])
    if not chosen and set(bare) <= set(_DISTANCES):
        chosen = list(bare)
    if chosen and chosen[0] in _DISTANCES:
        chosen += [n for n in _DISTANCES if n in bare and n not in chosen]
    return chosen


def join_sides(result: Assignment) -> list[str]:
    """Give bare sizes the side that a column of left and right beside them says.

    Parameters
    ----------
    result : Assignment
        The numbers of its sided columns are replaced.

    Returns
    -------
    list[str]
        A remark for each column of sides that was used.
    """
    remarks = []
    bare = {n: a for n, a in result.by_column.items() if n in SIDED and _is_bare(a)}
    for profile, _ in result.extras if bare else ():
        words = _side_words(profile)
        for name in _partners(profile, bare) if words else ():
            partner = bare.pop(name).profile
            assert partner.numbers is not None
            side = profile.text.replace_strict(words, default=None, return_dtype=pl.String)
            partner.numbers = replace(partner.numbers, side=side)
            partner.has_sides = True
            view = viewpoint(profile.heading.text)
            unclear = partner.heading.unclear or view == "unknown"
            partner.heading = replace(
                partner.heading, front=partner.heading.front or view == FRONT, unclear=unclear
            )
            remarks.append(
                f"Column {profile.heading.text!r} says on which side the values of "
                f"{partner.heading.text!r} lie."
            )
    for name in [n for n, a in bare.items() if SIZE in a.profile.heading.tags]:
        why = f"reads as the size of {name}, and nothing says on which side"
        result.extras.append((result.by_column.pop(name).profile, why))
    return remarks


def club_in_two(profiles: Sequence[Profile]) -> pl.Series | None:
    """Clubs put together from a column of kinds and one of numbers beside it, `7` and `Iron`.

    Parameters
    ----------
    profiles : sequence of Profile
        The columns of a table.

    Returns
    -------
    pl.Series or None
        The club's spelling by row; None unless every pair of cells names a club we know.
    """
    for profile in profiles:
        if not _is_kind(profile):
            continue
        for other in profiles:
            beside = abs(other.place - profile.place) == 1
            if beside and other.heading.tags <= _NUMBER_TAGS and not _counts_on(other):
                found = _joined(other.text, profile.text)
                if found is not None:
                    return found
    return None


def club_of_heading(profile: Profile) -> pl.Series | None:
    """Clubs of a column of bare numbers whose heading says the kind, `Iron no.`.

    Parameters
    ----------
    profile : Profile
        The column of clubs.

    Returns
    -------
    pl.Series or None
        The club's spelling by row; None unless every cell is a number that the kind has.
    """
    kinds = words_of("club_kinds")
    named = [word for word in words_in(profile.heading.text) if word in kinds]
    cells = [cell for cell in profile.sample if cell.strip()]
    if len(named) != 1 or not any(_BARE_NUMBER.match(cell) for cell in cells):
        return None
    spelt = {cell: _of_kind(named[0], cell.strip()) for cell in cells}
    if None in spelt.values():
        return None
    return profile.text.replace_strict(spelt, default=None, return_dtype=pl.String)


def _of_kind(kind: str, cell: str) -> str | None:
    """`5` below `Iron` -> `iron 5`; a club in full and the letter of a wedge stay what they are."""
    if _BARE_NUMBER.match(cell):
        spelling = f"{kind} {cell}"
        return spelling if club_of(spelling).known else None
    wedge = words_of("wedge_letters").get(fold(cell))
    if wedge is not None:
        return wedge.split("_")[0].replace("-", " ")
    return cell if club_of(cell).known else None


def _counts_on(profile: Profile) -> bool:
    """Whether a column numbers the shots, and not the clubs."""
    known = profile.known
    return known.size > 1 and bool((known[1:] > known[:-1]).all())


def _is_kind(profile: Profile) -> bool:
    """Whether all cells are kinds of club, or clubs that need no number."""
    if profile.is_number:
        return False
    cells = set(profile.sample)
    kinds = {cell for cell in cells if fold(cell) in words_of("club_kinds")}
    return bool(kinds) and all(club_of(cell).known for cell in cells - kinds)


def _joined(number: pl.Series, kind: pl.Series) -> pl.Series | None:
    pairs = pl.DataFrame({"number": number.fill_null(""), "kind": kind.fill_null("")})
    spelt = {
        pair: pair[1] if club_of(pair[1]).known else " ".join(pair).strip()
        for pair in pairs.unique().iter_rows()
    }
    if not all(club_of(text).known for text in spelt.values()):
        return None
    return pl.Series([spelt[pair] for pair in pairs.iter_rows()], dtype=pl.String)


def full_names(columns: dict[str, Assigned]) -> pl.Series | None:
    """Names put together from a column of first and one of last names.

    Parameters
    ----------
    columns : dict[str, Assigned]
        What the columns are.

    Returns
    -------
    pl.Series or None
        One a row; None where the export keeps no part of a name by itself.
    """
    plain = columns.get("player")
    if plain is not None and "player" in plain.profile.heading.tags:
        return None
    given = columns.get(GIVEN_NAME) or (plain if FAMILY_NAME in columns else None)
    family = columns.get(FAMILY_NAME) or (plain if GIVEN_NAME in columns else None)
    parts = [part.profile.text for part in (given, family) if part is not None]
    if GIVEN_NAME not in columns and FAMILY_NAME not in columns:
        return None
    frame = pl.DataFrame([part.alias(str(k)) for k, part in enumerate(parts)])
    joined = frame.select(pl.concat_str(pl.all(), separator=" ", ignore_nulls=True)).to_series()
    distinct = joined.unique().to_list()
    names = {text: player_of(text) for text in distinct if text is not None}
    return joined.replace_strict(names, default=None, return_dtype=pl.String)


def names_in_one(profiles: Sequence[Profile]) -> pl.Series | None:
    """Names of a column that gives them in two parts, whose order its heading states.

    Parameters
    ----------
    profiles : sequence of Profile
        The columns of a table.

    Returns
    -------
    pl.Series or None
        Given name before family name; None where no heading is like `Name, Vorname`.
    """
    for profile in profiles:
        order = name_order(profile.heading.text)
        if order is None or profile.is_number:
            continue
        return profile.text.replace_strict(
            {cell: _in_order(cell, order) for cell in profile.text.drop_nulls().unique()},
            default=None,
            return_dtype=pl.String,
        )
    return None


def _in_order(cell: str, given: int) -> str | None:
    parts = [part.strip() for part in cell.split(",")]
    return player_of(f"{parts[given]} {parts[1 - given]}" if len(parts) == 2 else cell)


def one_spelling(players: pl.Series) -> dict[str, str]:
    """Spellings that differ only in the case of letters, and the one that stands for all.

    Parameters
    ----------
    players : pl.Series
        Names, one a row.

    Returns
    -------
    dict[str, str]
        Spelling -> the most frequent one of its kind, of equals the first with small letters.
    """
    order = {name: k for k, name in enumerate(players.unique(maintain_order=True))}
    if len({name.casefold() for name in order if name is not None}) == len(order):
        return {}
    counts = players.drop_nulls().value_counts(name="rows").sort("rows", descending=True)
    chosen: dict[str, tuple[tuple[int, bool, int], str]] = {}
    for name, rows in counts.iter_rows():
        rank = (-rows, name.isupper() or name.islower(), order[name])
        key = name.casefold()
        chosen[key] = min(chosen.get(key, (rank, name)), (rank, name))
    return {
        name: chosen[name.casefold()][1]
        for name in order
        if name is not None and chosen[name.casefold()][1] != name
    }
