"""What the settings of a home say of its players: other names, handicap, dates to compare by."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Final

# From better than any tour player to the most that the game's rules give; beyond it is a slip.
LEAST_HANDICAP: Final = -10.0
MOST_HANDICAP: Final = 54.0


@dataclass(frozen=True, slots=True)
class PlayerSettings:
    """Settings of one player.

    Attributes
    ----------
    handicap : float or None
        Handicap [strokes]; None where nobody says.
    dates : dict of datetime.date to str
        Days before and after which shots are held against each other, and what happened.
    names : tuple of str
        Other names of the player, as exports write them.
    """

    handicap: float | None = None
    dates: dict[date, str] = field(default_factory=dict)
    names: tuple[str, ...] = ()
