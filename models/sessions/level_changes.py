"""Whether a player's level has changed of late, and since when: all clubs asked together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from rangeledger.models.clubs.current_level import PlayerLevel
from rangeledger.models.statistics.level_step import LevelStep, level_step

# A change may have come before one of so many last sessions.
SPLITS: Final = 6
# So many earlier sessions must be there to tell a change from a day.
LEAST_BEFORE: Final = 2
# One of a steady player's splits is below this chance in at most 5 of 100 players: the splits
# overlap, so that it lies between 5 % for one and 5 % / 6 for six apart. Set by simulation on the
# makes of players kept for tuning; the observed rate stands in DEVELOPERS.md.
FAMILY_RATE: Final = 0.05
CLAIM_BELOW: Final = 0.0125
# A change that rests on fewer new sessions is called provisional: one may be a bad day.
LEAST_AFTER: Final = 2


@dataclass(frozen=True, slots=True)
class NoticedChange:
    """A change of level that all clubs of a player show.

    Attributes
    ----------
    sessions : int
        Sessions since the change.
    step : LevelStep
        Its size.
    """

    sessions: int
    step: LevelStep

    @property
    def provisional(self) -> bool:
        """Whether it rests on too few sessions to be called more than likely."""
        return self.sessions < LEAST_AFTER


def noticed_change(player: PlayerLevel) -> NoticedChange | None:
    """Return the latest change of a player's level, where the sessions show one beyond doubt.

    Parameters
    ----------
    player : PlayerLevel
        The level that the player's groups share.

    Returns
    -------
    NoticedChange or None
        The split of the least chance among the last six; None where that is not below the chance
        which keeps claims to 5 % of players who have not changed.

    Notes
    -----
    A player who changes slowly is taken as steady here: what is claimed is that the last sessions
    differ from those before, not that it came at once.
    """
    visits = player.visits
    found = []
    for count in range(1, min(SPLITS, len(np.unique(visits.age)) - LEAST_BEFORE) + 1):
        step = level_step(visits, visits.age < count, player.grid, wanders=1)
        if step is not None:
            found.append(NoticedChange(count, step))
    best = min(found, key=lambda change: change.step.probability, default=None)
    if best is None or best.step.probability >= CLAIM_BELOW:
        return None
    return best
