"""Codes of cells that a line beside the table explains: `1 driver / 2 five wood`, `sim = none`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import polars as pl
from rangeledger.pipelines.reader.recognising.heading import Heading, read_heading
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.words import fold

_TITLED = re.compile(r"^\s*([^:=]{2,40}?)\s*:\s*(\S.*)$")
_ENDS = re.compile(r"\s*[;/|,]\s*|\s{2,}|\.\s+|\s+(?=[^\s=:()]{1,12}\s*=\s)")
_CODED = re.compile(r"^\(?([^\s=:()]{1,12})\)?\s*[=:→]\s*(\S.*)$")
_NUMBERED = re.compile(r"^\(?([0-9]{1,2}|[A-Za-z])\)?[.\s]\s*(\S.*)$")
_FEWEST = 2  # entries of a list of codes; one alone may be any remark
_STEM = 4  # letters that two forms of one word share, `slot` and `Slots`


@dataclass(frozen=True, slots=True)
class Legend:
    """What the codes of a column mean.

    Parameters
    ----------
    title : str
        Words in front of the codes, blank where there are none.
    meanings : Mapping[str, str]
        Folded code -> its meaning as it stands there.
    """

    title: str
    meanings: Mapping[str, str]

    @property
    def of_clubs(self) -> bool:
        """Whether every code stands for a club."""
        return all(club_of(meaning).known for meaning in self.meanings.values())


def legends_in(lines: Iterable[str]) -> list[Legend]:
    """Legends among lines beside the table.

    Parameters
    ----------
    lines : iterable of str
        `Rack slots: 1 driver / 2 five wood`, `Origin: hit = struck; sim = simulated`.

    Returns
    -------
    list of Legend
        Each with two codes or more; lists without `=` are legends of clubs alone.
    """
    found = []
    for line in lines:
        titled = _TITLED.match(line)
        title, said = (titled[1], titled[2]) if titled else ("", line)
        entries = [entry for entry in _ENDS.split(said.strip()) if entry]
        for pattern in (_CODED, _NUMBERED):
            coded = [match for entry in entries if (match := pattern.match(entry))]
            legend = Legend(title, {fold(match[1]): match[2].strip() for match in coded})
            enough = _FEWEST <= len(legend.meanings) == len(coded) >= len(entries) - 1
            if enough and (pattern is _CODED or legend.of_clubs):
                found.append(legend)
                break
    return found


def spell_clubs_out(
    legends: Sequence[Legend], headings: list[Heading], texts: list[pl.Series]
) -> None:
    """Put clubs in place of the codes of the one column that a legend of clubs speaks of.

    Parameters
    ----------
    legends : sequence of Legend
        What lines beside the table explain.
    headings, texts : list
        Headings and cells of the table's columns; changed in place.
    """
    named = [k for k, h in enumerate(headings) if h.best and h.best.column == "club"]
    for legend in legends:
        if not legend.of_clubs:
            continue
        places = named or [k for k, h in enumerate(headings) if _speaks_of(legend.title, h.text)]
        coded = [place for place in places if _is_coded(texts[place], legend)]
        if len(coded) == 1:
            place = coded[0]
            cells = texts[place].drop_nulls().unique().to_list()
            clubs = {cell: legend.meanings.get(fold(cell), cell) for cell in cells}
            texts[place] = texts[place].replace_strict(clubs, default=None, return_dtype=pl.String)
            headings[place] = headings[place] if named else read_heading("Club")


def _is_coded(text: pl.Series, legend: Legend) -> bool:
    cells = [fold(cell) for cell in text.drop_nulls().unique() if cell.strip()]
    return bool(cells) and all(cell in legend.meanings for cell in cells)


def _speaks_of(title: str, heading: str) -> bool:
    """Whether a legend's title names a column, `Rack slots` and `Rack slot`."""
    told = [word[:_STEM] for word in fold(title).split()]
    asked = [word[:_STEM] for word in fold(heading).split()]
    return bool(told) and (set(asked) <= set(told) or set(told) <= set(asked)) and bool(asked)
