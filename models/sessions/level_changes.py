"""Whether a player's level has changed of late, and since when: all clubs asked together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.arrays import BoolArray, FloatArray
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.current_level import PlayerLevel
from rangeledger.models.clubs.shot_groups import ShotGroups
from rangeledger.models.population import POPULATION
from rangeledger.models.statistics.level_step import LevelStep, level_step
from rangeledger.models.statistics.shared_level import STEP_SD, TAIL

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


_SCHEMA: Final[dict[str, pl.DataType | type[pl.DataType]]] = {
    "player": pl.String, "kind": pl.String, "since": pl.Datetime("ms"), "what": pl.String,
    "sessions_before": pl.Int64, "sessions_after": pl.Int64, "change": pl.Float64,
    "change_low": pl.Float64, "change_high": pl.Float64, "probability": pl.Float64,
    "changed": pl.Boolean, "provisional": pl.Boolean, "model_version": pl.String,
}  # fmt: skip


def level_changes(
    model: CarryModel, dates: Mapping[str, Mapping[date, str]] | None = None
) -> pl.DataFrame:
    """Return the changes of each player's level: noticed, and before and after named days.

    Parameters
    ----------
    model : CarryModel
        Fitted to shots with struck_at.
    dates : mapping of str to mapping of date to str, optional
        Days of each player, and what happened on them.

    Returns
    -------
    polars.DataFrame
        One row a change: player; `kind` `noticed` or `date`; `since` when the first session after
        it began, or the day [UTC]; `what` happened (null where noticed); `sessions_before`,
        `sessions_after`; `change` of carry of all clubs [%] with the ends of its 90 % interval
        `change_low`, `change_high`; `probability` of so much where nothing changed [1]; `changed`
        whether that is beyond doubt; `provisional` for a change that one session shows;
        model_version.

    Notes
    -----
    A noticed change is wrong for 5 % of players whose level never moved. A named day is one
    question: it has changed where the 90 % interval leaves out 0, and the interval allows for a
    level that wanders besides.
    """
    rows: list[dict[str, object]] = []
    for groups, players in model.levels_:
        for player in players:
            name = str(groups.keys["player"][int(groups.group_of_cell[player.cells[0]])])
            started = _started(groups, player)
            rows += _noticed_rows(name, player, started)
            rows += _dated_rows(name, player, started, (dates or {}).get(name, {}))
    table = pl.DataFrame(rows, schema=_SCHEMA, orient="row")
    return table.sort("player", "kind", "since")


def _started(groups: ShotGroups, player: PlayerLevel) -> FloatArray:
    """Return when each visit of a player began [s]; NaN where unknown."""
    place = player.visits.visit[player.row_of_cell]
    began = groups.started[groups.visit_of_cell[player.cells]]
    first = np.full(len(player.visits.age), np.inf)
    np.minimum.at(first, place, np.where(np.isfinite(began), began, np.inf))
    return np.where(np.isfinite(first), first, np.nan)


def _noticed_rows(
    name: str, player: PlayerLevel, started: FloatArray
) -> Iterator[dict[str, object]]:
    change = noticed_change(player)
    if change is None:
        return
    new = player.visits.age < change.sessions
    since = datetime.fromtimestamp(float(np.nanmin(started[new])), UTC)
    counts = _counts(player, new)
    yield {
        "player": name, "kind": "noticed", "since": since.replace(tzinfo=None), "what": None,
        **counts, **_size(change.step.shrunk(STEP_SD)), "probability": change.step.probability,
        "changed": True, "provisional": change.provisional, "model_version": _VERSION,
    }  # fmt: skip


def _dated_rows(
    name: str, player: PlayerLevel, started: FloatArray, dates: Mapping[date, str]
) -> Iterator[dict[str, object]]:
    for day, what in dates.items():
        since = datetime(day.year, day.month, day.day, tzinfo=UTC)
        new = np.nan_to_num(started, nan=-np.inf) >= since.timestamp()
        if new.all() or not new.any():
            continue
        step = level_step(player.visits, new, player.grid)
        if step is None:
            continue
        size, counts = _size(step), _counts(player, new)
        yield {
            "player": name, "kind": "date", "since": since.replace(tzinfo=None), "what": what,
            **counts, **size, "probability": step.probability,
            "changed": size["change_low"] > 0.0 or size["change_high"] < 0.0,
            "provisional": counts["sessions_after"] < LEAST_AFTER, "model_version": _VERSION,
        }  # fmt: skip


def _counts(player: PlayerLevel, new: BoolArray) -> dict[str, int]:
    days = player.visits.days
    return {
        "sessions_before": round(float(days[~new].sum())),
        "sessions_after": round(float(days[new].sum())),
    }


def _size(step: LevelStep) -> dict[str, float]:
    """Return the step with its interval in per cent of carry."""
    ends = step.mean, step.quantile(TAIL), step.quantile(1.0 - TAIL)
    names = ("change", "change_low", "change_high")
    return {name: 100.0 * float(np.expm1(end)) for name, end in zip(names, ends, strict=True)}


_VERSION: Final = POPULATION.model_version
