"""What the rows of a table say in words: players, clubs, swings, balls and what is left over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl
from rangeledger.pipelines.reader.normalising.swings import (
    asks_for_hours,
    club_and_swing,
    swing_by_hours,
    swing_of,
)
from rangeledger.pipelines.reader.normalising.words import (
    ball_of,
    flight_basis_of,
    hand_in_name,
    hand_of,
    name_of,
    player_of,
    surface_of,
    wind_height_of,
)
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned
from rangeledger.pipelines.reader.recognising.columns.companions import (
    club_in_two,
    club_of_heading,
    full_names,
    names_in_one,
)
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, distinct
from rangeledger.pipelines.reader.recognising.tables.stated import Given, Stated
from rangeledger.pipelines.reader.recognising.tables.word_columns import (
    as_json,
    blank_as_null,
    constant_text,
    filled_down,
    mapped,
    translated,
    without_dittos,
)
from rangeledger.pipelines.reader.recognising.words.facts import HAND
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.schemas.clubs import clubs_of
from rangeledger.schemas.words import fold, words_of

READ = {
    "ball": ball_of,
    "surface": surface_of,
    "swing": swing_of,
    "player": player_of,
    "flight_basis": flight_basis_of,
    "wind_height": wind_height_of,
    "monitor": name_of,
    "site": name_of,
}
# What a cell leaves open; None is filled from the settings of the home.
_DEFAULTS = {"swing": "full", "wind_height": None, "monitor": None, "site": None}


class TableWords:
    """Columns of words, one value a row.

    Parameters
    ----------
    profiles : sequence of Profile
        All columns of the table.
    columns : Mapping[str, Assigned]
        What the columns are.
    stated : Stated
        What lines beside the table say, row by row.
    given : Given
        Note, mapping, language.
    remarks : list
        Receives a remark where words were filled down.
    """

    def __init__(
        self,
        profiles: Sequence[Profile],
        columns: Mapping[str, Assigned],
        stated: Stated,
        given: Given,
        remarks: list[Remark | str],
    ) -> None:
        self.profiles, self.columns = profiles, columns
        self.stated, self.given, self.remarks = stated, given, remarks
        self.length = len(stated.block_of)

    def column(self, name: str) -> pl.Series:
        """A column of words: the cells', else a line's, else the note's."""
        read = READ[name]
        sources: list[pl.Series] = []
        joined = None
        if name == "player":
            joined = names_in_one(self.profiles)
            joined = full_names(dict(self.columns)) if joined is None else joined
        if joined is not None:
            sources.append(joined)
        elif name in self.columns:
            text = self.columns[name].profile.text
            text = self._filled_down(text, "player") if name == "player" else text
            text = self._merged_with_club(text) if name == "swing" else text
            if name == "swing" and asks_for_hours(self.columns[name].profile.heading.text):
                read = swing_by_hours
            sources.append(mapped(text, read))
        elif name == "monitor" and (named := self._named_by("monitor_keys")) is not None:
            sources.append(mapped(named, read))
        elif name == "swing" and "club" in self.columns:
            sources.append(mapped(self.columns["club"].profile.text, _swing_of_club))
        fact = self.stated.text_of(name)
        if fact is not None:
            sources.append(mapped(fact, read))
        note = self.given.constant(name)
        if isinstance(note, str):
            note = read(note) or note
            self.stated.remark_if_overruled(name, note, sources)
            self.stated.constants.setdefault(name, f"{note} (the note or mapping)")
            sources.append(constant_text(note, self.length))
        default = constant_text(_DEFAULTS.get(name, "unknown"), self.length)
        return pl.select(pl.coalesce([*sources, default])).to_series() if sources else default

    def _named_by(self, kind: str) -> pl.Series | None:
        """Cells of the one column of words whose heading is one of a kind of word."""
        keys = words_of(kind)
        found = [p for p in self.profiles if fold(p.heading.text) in keys and not p.is_number]
        return found[0].text if len(found) == 1 else None

    def clubs(self) -> pl.Series:
        """The clubs: the cells', else a line's, else the note's; null where none is named."""
        texts: list[pl.Series] = []
        in_two = club_in_two(self.profiles)
        if in_two is not None:
            texts.append(in_two)
        elif "club" in self.columns:
            club = self.columns["club"].profile
            spelt = club_of_heading(club)
            text = club.text if spelt is None else spelt
            texts.append(blank_as_null(self._filled_down(text, "club")))
        fact = self.stated.text_of("club")
        if fact is not None:
            texts.append(fact)
        note = self.given.constant("club")
        if isinstance(note, str):
            texts.append(constant_text(note, self.length))
        if not texts:
            putts = any("putt" in profile.heading.tags for profile in self.profiles)
            return constant_text("putter" if putts else None, self.length).alias("club")
        text = pl.select(pl.coalesce(texts)).to_series() if len(texts) > 1 else texts[0]
        alone = {t: parted[0] if (parted := club_and_swing(t)) else t for t in distinct(text)}
        clubs = clubs_of(alone.values(), self.given.language)
        names = {t: clubs[club].name for t, club in alone.items()}
        return translated(text, names).alias("club")

    def _merged_with_club(self, text: pl.Series) -> pl.Series:
        """Swings that stand once above their shots, where the club does so in the same cells.

        Elsewhere a blank cell means a full swing.
        """
        if "club" not in self.columns:
            return text
        cells, clubs = blank_as_null(text), blank_as_null(self.columns["club"].profile.text)
        above = cells.is_null() & clubs.is_not_null()
        if not clubs.has_nulls() or not cells.has_nulls() or above.any():
            return text
        return self._filled_down(text, "swing")

    def _filled_down(self, text: pl.Series, what: str) -> pl.Series:
        """Words that stand once above their shots hold for those below them, and that is told."""
        original, text = text, without_dittos(text)
        filled = filled_down(text, [p.text for p in self.profiles if p.text is not original])
        if filled is None:
            return text
        self.remarks.append(f"A {what} stands once above its shots; it was filled down.")
        return filled


def hands_of(profiles: Sequence[Profile], stated: Stated, given: Given) -> pl.Series | None:
    """The player's hand by row: a column's, else a line's or the name's, else the note's."""
    sources: list[pl.Series] = []
    for profile in profiles:
        if fold(profile.heading.text) in words_of("hand_headings"):
            sources.append(mapped(profile.text, hand_of))
        elif "player" in profile.heading.tags and not profile.is_number:
            sources.append(mapped(profile.text, hand_in_name))
    fact = stated.text_of(HAND)
    if fact is not None:
        sources.append(mapped(fact, hand_of))
    if given.note.hand:
        sources.append(constant_text(given.note.hand, len(stated.block_of)))
    hands = pl.select(pl.coalesce(sources)).to_series() if sources else None
    return None if hands is None or hands.null_count() == len(hands) else hands


def extras_of(unassigned: Sequence[Profile], length: int) -> pl.Series:
    """Columns without a canonical meaning, as a JSON object a row.

    Parameters
    ----------
    unassigned : sequence of Profile
        Those columns; empty ones are left out.
    length : int
        Number of rows.

    Returns
    -------
    pl.Series
        Text.
    """
    kept = [profile for profile in unassigned if not profile.empty]
    named = [(p.heading.text or f"column {p.place + 1}", p.text) for p in kept]
    return as_json(named, length)


def _swing_of_club(cell: str) -> str | None:
    parted = club_and_swing(cell)
    return parted[1] if parted else None
