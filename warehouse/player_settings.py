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


def player_settings(raw: object) -> dict[str, PlayerSettings]:
    """Settings by player, from the table [players] of the settings.

    Parameters
    ----------
    raw : object
        What the settings have under `players`.

    Raises
    ------
    ValueError
        With a sentence that says what to write, if something can't be used.
    """
    if not isinstance(raw, dict) or not all(isinstance(part, dict) for part in raw.values()):
        raise ValueError('write [players."Name of a player"] and below it handicap = 18')
    return {str(name): _settings(str(name), part) for name, part in raw.items()}


def _settings(name: str, raw: dict[str, object]) -> PlayerSettings:
    unknown = sorted(set(raw) - {"handicap", "dates", "names"})
    if unknown:
        raise ValueError(
            f'under [players."{name}"] {", ".join(unknown)} is not known; '
            "known are handicap, dates and names"
        )
    return PlayerSettings(
        _handicap(name, raw.get("handicap")),
        _dates(name, raw.get("dates", {})),
        _names(name, raw.get("names", [])),
    )


def _names(name: str, value: object) -> tuple[str, ...]:
    if isinstance(value, list) and all(isinstance(other, str) and other.strip() for other in value):
        return tuple(value)
    raise ValueError(
        f'under [players."{name}"] names must be a list: names = ["Player, Name of a", "N. Player"]'
    )


def _handicap(name: str, value: object) -> float | None:
    if value is None:
        return None
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if number and LEAST_HANDICAP <= value <= MOST_HANDICAP:  # type: ignore[operator]
        return float(value)  # type: ignore[arg-type]
    raise ValueError(
        f'under [players."{name}"] handicap must be a number from {LEAST_HANDICAP:.0f} to '
        f"{MOST_HANDICAP:.0f}, not {value!r}"
    )


def _dates(name: str, value: object) -> dict[date, str]:
    example = f'write [players."{name}".dates] and below it 2026-05-01 = "lesson"'
    if not isinstance(value, dict):
        raise ValueError(example)
    found = {}
    for day, what in value.items():
        try:
            when = date.fromisoformat(str(day))
        except ValueError as error:
            raise ValueError(f"{day!r} is no date: {example}") from error
        if not isinstance(what, str) or not what.strip():
            raise ValueError(f"{day} has no words: {example}")
        found[when] = what.strip()
    return dict(sorted(found.items()))
