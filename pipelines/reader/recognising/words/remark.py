"""What a load noticed about an export, as a sentence with its place and what settles it."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that a load noticed about an export and took no shot for.

    Parameters
    ----------
    place : str
        Where: `line 3`, `column 'Vel'`; empty for the file as a whole.
    sentence : str
        What was not understood, left empty or assumed.
    settled_by : str
        What the user can do to settle it; empty where nothing need be done.
    """

    place: str
    sentence: str
    settled_by: str = ""

    def __str__(self) -> str:
        named = self.place.lower() in self.sentence.lower()  # also where there is none
        place = "" if named else f"{self.place[:1].upper()}{self.place[1:]}: "
        return " ".join(part for part in (f"{place}{self.sentence}", self.settled_by) if part)


# Sentences on a column that name it begin so.
_OF_A_COLUMN = re.compile(r"^Column (?P<heading>'[^']*'|\"[^\"]*\")")


def as_remark(remark: Remark | str) -> Remark:
    """A remark, with the column that a bare sentence speaks of as its place."""
    if isinstance(remark, Remark):
        return remark
    found = _OF_A_COLUMN.match(remark)
    return Remark(f"column {found['heading']}" if found else "", remark)
