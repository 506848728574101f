"""A player's bag from the database: the pattern and the launch of each club and swing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.nominal_carry import nominal_loft_deg
from rangeledger.models.clubs.shot_pattern import ShotPattern, pattern_of
from rangeledger.models.flight.launch_spread import LAUNCH_COLUMNS, LaunchSpread, launch_spread
from rangeledger.models.flight.typical_launch import typical_launch
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.practice_gain import PracticeClub
from rangeledger.schemas.errors import NotEnoughShotsError, UsageError

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection


@dataclass(frozen=True, slots=True)
class BagClub:
    """One club and swing of a player.

    Parameters
    ----------
    pattern : ShotPattern
        Pattern of the next shot in still air.
    launch : LaunchSpread
        Launch of clean strikes.
    shots, sessions : int
        What the model rests on [1].
    side_measured : bool
        Whether any shot had a side.
    """

    pattern: ShotPattern
    launch: LaunchSpread
    shots: int
    sessions: int
    side_measured: bool = True

    @property
    def option(self) -> Option:
        """The club and swing as a choice of target planning."""
        return Option(self.pattern, self.launch.stock)

    @property
    def practice(self) -> PracticeClub:
        """The club and swing as practice is advised on."""
        return PracticeClub(self.option, self.shots, self.sessions, self.side_measured)


def all_players(connection: DuckDBPyConnection) -> list[str]:
    """Players who have at least one club model, by name.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.

    Returns
    -------
    list of str

    Raises
    ------
    NotEnoughShotsError
        If there is none.
    """
    rows = connection.execute(
        "SELECT DISTINCT player FROM shot_distribution ORDER BY player"
    ).fetchall()
    if not rows:
        raise NotEnoughShotsError(
            "No player has a club with shots yet. Ingest a session first, then ask again."
        )
    return [str(row[0]) for row in rows]


def player_named(connection: DuckDBPyConnection, player: str | None) -> str:
    """The player meant by an option.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str or None
        Name, its beginning or that of one of its words, in any case; None where there is one.

    Returns
    -------
    str
        The name as the database has it.

    Raises
    ------
    UsageError
        If the name is not there, or none was given and there are several.
    """
    return player_among(all_players(connection), player)


def player_among(names: list[str], player: str | None) -> str:
    """The one of several names that is meant by a name or the beginning of its words.

    Raises
    ------
    UsageError
        If the name is not there, or none was given and there are several.
    """
    if player is None:
        if len(names) == 1:
            return names[0]
        raise UsageError(f"Which player? Add --player with one of: {_listed(names)}.")
    sought = player.casefold()
    found = [name for name in names if name == player]
    found = found or [name for name in names if name.casefold() == sought]
    found = found or [name for name in names if name.casefold().startswith(sought)]
    found = found or [name for name in names if f" {sought}" in name.casefold()]
    if len(found) != 1:
        several = "Several players are called" if found else "There is no player"
        raise UsageError(f"{several} '{player}'. Use one of: {_listed(found or names)}.")
    return found[0]


def _listed(names: list[str], most: int = 8) -> str:
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"


def bag_of(connection: DuckDBPyConnection, player: str, ball: str | None = None) -> list[BagClub]:
    """Clubs and swings of a player, longest first.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str
        Name as the database has it.
    ball : str or None
        Kind of ball; None takes the ball that the player hit most, and for a club that was
        never hit with it, the ball which that club was hit with most.

    Returns
    -------
    list of BagClub

    Raises
    ------
    NotEnoughShotsError
        If the player has no club with that ball.
    """
    fitted = connection.execute(
        "SELECT d.*, coalesce(c.drag_scale, 1) AS drag_scale, "
        "coalesce(c.lift_scale, 1) AS lift_scale "
        "FROM shot_distribution AS d "
        "LEFT JOIN ball_calibration AS c USING (player, club, ball) "
        "WHERE d.player = $1 AND d.ball = coalesce($2, d.ball) ORDER BY d.shots DESC, d.ball",
        [player, ball],
    ).pl()
    if fitted.is_empty():
        with_ball = f" with the ball '{ball}'" if ball else ""
        raise NotEnoughShotsError(
            f"{player} has no club model{with_ball}. Ingest a session with it first."
        )
    launches = _launches(connection, player)
    clubs = [_club(row, launches) for row in one_ball_each(fitted.to_dicts())]
    return sorted(clubs, key=lambda club: (-club.pattern.carry_m, club.pattern.name))


def one_ball_each(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One row a club and swing: of the ball hit most, else of the club's own most used ball.

    Parameters
    ----------
    rows : list of dict
        At least with `club`, `swing`, `ball` and `shots`.
    """
    totals: Counter[str] = Counter()
    for row in rows:
        totals[row["ball"]] += row["shots"]
    usual = max(totals, key=lambda ball: (totals[ball], ball), default=None)
    best: dict[tuple[str, str], dict[str, Any]] = {}
    for row in sorted(rows, key=lambda row: (row["ball"] != usual, -row["shots"], row["ball"])):
        best.setdefault((row["club"], row["swing"]), row)
    return list(best.values())


def _launches(connection: DuckDBPyConnection, player: str) -> pl.DataFrame:
    """Launches of a player's clean strikes."""
    columns = ", ".join(LAUNCH_COLUMNS)
    return connection.execute(
        f"SELECT club, swing, ball, {columns} FROM shots "
        "WHERE player = $1 AND strike = 'clean' AND NOT excluded "
        "ORDER BY session_id, shot_number",
        [player],
    ).pl()


def _club(row: dict[str, Any], launches: pl.DataFrame) -> BagClub:
    """One club of the bag."""
    import polars as pl

    pattern = pattern_of(row)
    own = launches.filter(
        (pl.col("club") == pattern.club)
        & (pl.col("swing") == pattern.swing)
        & (pl.col("ball") == pattern.ball)
    )
    usual = typical_launch(pattern.carry_m, nominal_loft_deg(pattern.club), pattern.side_m)
    usual = replace(usual, drag_scale=row["drag_scale"], lift_scale=row["lift_scale"])
    spread = launch_spread(own.select(LAUNCH_COLUMNS).cast(pl.Float64).to_numpy(), usual)
    return BagClub(
        pattern, spread, int(row["shots"]), int(row["sessions"]), bool(row["side_known"])
    )


def practice_clubs(
    connection: DuckDBPyConnection, player: str, bag: list[BagClub]
) -> list[PracticeClub]:
    """Clubs and swings as practice is advised on: visits that stand out do not count.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str
        Name as the database has it.
    bag : list of BagClub
        The player's bag.

    Returns
    -------
    list of PracticeClub
        In the order of the bag; a club that was hit on such visits alone has no shots.
    """
    shots = connection.execute(
        "SELECT player, club, swing, ball, session_id, shot_number, struck_at, still_carry_m, "
        "still_side_m, session_id IN (SELECT session_id FROM session_flags WHERE player = $1) "
        "AS unusual FROM shots WHERE player = $1 AND NOT excluded",
        [player],
    ).pl()
    if not shots["unusual"].any():
        return [club.practice for club in bag]
    fitted = CarryModel().fit(shots.filter(~shots["unusual"])).parameters_
    rows = {(row["club"], row["swing"], row["ball"]): row for row in fitted.to_dicts()}
    found = []
    for club in bag:
        row = rows.get((club.pattern.club, club.pattern.swing, club.pattern.ball))
        if row is None:
            found.append(replace(club.practice, shots=0, sessions=0))
        else:
            option = replace(club.option, pattern=pattern_of(row))
            counts = int(row["shots"]), int(row["sessions"])
            found.append(PracticeClub(option, *counts, bool(row["side_known"])))
    return found
