"""One name for each player, however exports write it.

Letter case and blanks alone never make two players. Any other name that is the same player's is
told by the user, in `settings.toml` or with `rename`; names that merely look alike stay apart.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

UNKNOWN: Final = "unknown"
RENAME: Final = "rename"


def fold(name: str) -> str:
    """A name without what makes no difference: letter case, width of letters, extra blanks.

    Parameters
    ----------
    name : str

    Returns
    -------
    str
        Equal for two spellings of one name.
    """
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def other_names(
    in_settings: Mapping[str, Sequence[str]], decisions: Iterable[Mapping[str, Any]]
) -> dict[str, str]:
    """What each other name of a player stands for, as the settings and then the commands say.

    Parameters
    ----------
    in_settings : mapping of str to sequence of str
        Other names by player.
    decisions : iterable of mapping
        The lake's decisions, oldest first; those of kind `rename` hold `player` and `to`, which is
        None where a renaming was taken back.

    Returns
    -------
    dict of str to str
        Folded other name -> name of the player.
    """
    found = {fold(other): name for name, others in in_settings.items() for other in others}
    for decision in decisions:
        if decision.get("kind") != RENAME:
            continue
        reported, to = fold(str(decision["player"])), decision["to"]
        if to is None:
            found.pop(reported, None)
        else:
            found[reported] = str(to)
    return found


def resolved_names(reported: Sequence[str], others: Mapping[str, str]) -> dict[str, str]:
    """The player that each name of the lake stands for.

    Parameters
    ----------
    said : sequence of str
        Names as exports and notes write them, those of earlier loads first.
    others : mapping of str to str
        As `other_names` gives them.

    Returns
    -------
    dict of str to str
        Name as said -> name of the player. Of several spellings the first with small and capital
        letters stands for all, unless the user chose one.
    """
    spelled: dict[str, str] = {}
    for name in sorted(reported, key=lambda name: name.isupper() or name.islower()):
        spelled.setdefault(fold(name), name)
    spelled |= {fold(to): to for to in others.values()}
    return {name: spelled.get(last, name) for name in reported for last in [_last(name, others)]}


def _last(name: str, others: Mapping[str, str]) -> str:
    """The folded name at the end of a chain of renamings; a circle ends where it began."""
    place, seen = fold(name), set[str]()
    while place in others and place not in seen:
        seen.add(place)
        following = fold(others[place])
        if following == place:
            break
        place = following
    return place
